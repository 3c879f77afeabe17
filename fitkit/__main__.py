"""``python -m fitkit``: the same as the ``fitkit`` command."""

from fitkit.cli import main

main()
