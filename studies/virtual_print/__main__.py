"""Print the tables: ``python -m studies.virtual_print [machines of each class]``."""

from __future__ import annotations

import sys

from studies.virtual_print.meshes import run_meshes, told_meshes
from studies.virtual_print.rounds import run_rounds, told_rounds
from studies.virtual_print.table import run, told

COUNT = 60
# Building and exporting seven templates takes seconds, so fewer machines go that way.
MESHED = 3


def main() -> None:
    """Run both classes of machines with fixed seeds."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else COUNT
    for odd, word in ((False, "Plain machines"), (True, "Odd machines")):
        print(told(run(count, odd=odd), head=f"{word}: {count} printers, seven parts each"))
        print()
        print(told_rounds(run_rounds(count, odd=odd), head=word))
        print()
        few = min(MESHED, count)
        print(told_meshes(run_meshes(few, odd=odd), head=f"{word}, {few} printers"))
        print()


if __name__ == "__main__":
    main()
