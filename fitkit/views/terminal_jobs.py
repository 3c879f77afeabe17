"""What the commands for jobs print: plates, things to buy, an exhibit's parts; computes nothing."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from fitkit.views.output import shown
from fitkit.views.tables import print_table, the_console
from fitkit.views.terminal import print_findings

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from fitkit.make import Plated
    from fitkit.make.exhibit import Standing

__all__ = ["print_exhibit", "print_plated"]

_UNITS = (("grams", "g"), ("metres", "m of filament"), ("hours", "h"), ("kwh", "kWh"))


def print_plated(job: Plated, *, quiet: bool = False) -> None:
    """Print what a job made: parts by plate, findings, cost, what to buy, files.

    Parameters
    ----------
    job : Plated
    quiet : bool
        Print trace codes and files alone.
    """
    out = the_console()
    if not quiet:
        for title, findings in job.findings.items():
            out.print(f"\n[bold]{shown(title)}[/bold]", soft_wrap=True)
            print_findings(findings, out)
    print_table(
        ("trace code", "part", "plates"),
        [
            (part.code, part.title, ", ".join(map(str, sorted(set(part.plates.values())))))
            for part in job.parts
        ],
        console=out,
    )
    if not quiet:
        if job.cost:
            out.print(f"the whole job: {_cost(job.cost)}", soft_wrap=True)
        for title in job.without_cost:
            out.print(f"not counted in it, since its material is not known: {shown(title)}")
        if job.buys:
            out.print("to have at hand:")
        for buy in job.buys:
            out.print(f"  {buy.count} x {shown(buy.what)} ({shown(buy.why)})", soft_wrap=True)
    out.print(f"files in {shown(str(job.folder))}:", soft_wrap=True)
    for path in (*job.plates, *job.files):
        out.print(f"  {shown(path.name)}", soft_wrap=True)
    for line in job.told:
        out.print(f"  {shown(line)}", soft_wrap=True)


def _cost(cost: Mapping[str, Any]) -> str:
    from fitkit.checks.cost import money

    said = [
        f"{low:.3g} to {high:.3g} {unit}"
        for name, unit in _UNITS
        if name in cost
        for low, high in [cost[name]]
    ]
    if "price" in cost:
        said.append(money(cost["price"], cost["currency"]))
    return ", ".join(said)


def print_exhibit(title: str, stands: Sequence[Standing]) -> None:
    """Print the parts of an exhibit.

    Parameters
    ----------
    title : str
    stands : sequence of Standing
    """
    print_table(
        ("part", "state", "trace code", "by"),
        [(one.part.name, one.state, one.part.code, one.why) for one in stands],
        title=title,
    )
