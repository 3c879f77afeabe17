"""The page on the shell's commands: usage, what each does, its options; from the commands."""

from __future__ import annotations

from typing import TYPE_CHECKING

from generators.rst import entry, heading, plain

if TYPE_CHECKING:
    from collections.abc import Iterator


def pages() -> Iterator[tuple[str, str]]:
    """Give the page's path below ``reference/`` and its text."""
    import click

    from fitkit.views.shell import commands

    lines = [
        *heading("Commands"),
        "Each works as ``python3 run.py COMMAND`` from the project's folder, and as "
        "``fitkit COMMAND`` where fitkit is installed.",
        "",
    ]
    group = click.Context(commands, info_name="fitkit")
    for name, command in sorted(commands.commands.items()):
        context = click.Context(command, info_name=name, parent=group)
        usage = " ".join([context.command_path, *command.collect_usage_pieces(context)])
        text = (command.help or "").replace("\n\n", "\0").replace("\n", " ").replace("\0", "\n\n")
        body = [*plain(text).split("\n"), "", f"``{usage}``", ""]
        for option in command.get_params(context):
            record = option.get_help_record(context)
            if record:
                body += [f"``{record[0]}``", f"   {plain(record[1]) or 'See above.'}", ""]
        lines += [*heading(name, "-"), *entry("command", f"fitkit {name}", *body)]
    yield "commands.rst", "\n".join(lines)
