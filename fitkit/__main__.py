"""``python -m fitkit``: the same as the ``fitkit`` command."""

from fitkit.views.shell import main

main()
