"""Print the table: ``python -m studies.virtual_print [machines of each class]``."""

from __future__ import annotations

import sys

from studies.virtual_print.table import run, told

COUNT = 60


def main() -> None:
    """Run both classes of machines with fixed seeds."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else COUNT
    for odd, word in ((False, "Plain machines"), (True, "Odd machines")):
        print(told(run(count, odd=odd), head=f"{word}: {count} printers, seven parts each"))
        print()


if __name__ == "__main__":
    main()
