"""A part with a body split, and a template whose part is split."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from fitkit.core.errors import PartError
from fitkit.core.finding import Finding
from fitkit.parts.split.dovetail import dovetails
from fitkit.parts.split.dowels import dowels
from fitkit.parts.split.halves import halves_of, with_halves
from fitkit.parts.split.place import Place, Tools, laid
from fitkit.parts.split.plan import BEFORE, Split, SplitSizes, split_sizes
from fitkit.parts.split.screwed import NO_ROOM, with_screws
from fitkit.parts.split.tongue import tongue_and_groove

if TYPE_CHECKING:
    from collections.abc import Mapping

    from fitkit.parts.contract import Body, Builder, Part
    from fitkit.solids.mesh import Mesh

__all__ = ["SplitTemplate", "split_part"]

_TIES = (0.0, 0.17, -0.17, 0.31, -0.31)  # shifts that are tried where a tail would come loose


def split_part(
    part: Part, split: Split, drawn: Mapping[str, float] | None = None, *, shown: bool = True
) -> Part:
    """Split one body of a part.

    Parameters
    ----------
    part : Part
    split : Split
        Whole, as `resolved` gives it.
    drawn : mapping of size name to mm, optional
        Of the joint, as drawn.
    shown : bool
        Whether the joint's sizes are shown as key dimensions: each once in a part.

    Returns
    -------
    Part
        With two bodies ``NAME 1`` and ``NAME 2`` in place of the one.

    Raises
    ------
    PartError
        If there is no such body, the plane misses it, the joint finds no room, or a half would come
        apart.
    """
    if split.body not in [body.name for body in part.bodies]:
        raise PartError(
            f"there is no body {split.body!r}",
            where=part.title,
            at=("split", "body"),
            code="split.no-body",
            remedy=f"There are: {', '.join(body.name for body in part.bodies)}.",
        )
    body = part.body(split.body)
    sizes = split_sizes(split).drawn(drawn, where=part.title)
    mesh, rotation, shift = laid(body)
    axis = "xyz".index(split.along or "x")
    over = float(mesh.size[axis])
    if split.at_mm is None or not 1.0 <= split.at_mm <= over - 1.0:
        raise PartError(
            f"a plane at {split.at_mm or 0.0:g} mm along {split.along} does not cut {body.name}, "
            f"which is {over:.1f} mm long there as it lies",
            where=part.title,
            at=("split", "at"),
            code="split.misses",
            remedy=f"Give a place between 1 mm and {over - 1.0:.1f} mm.",
        )
    place = Place(mesh, rotation, shift, axis, float(mesh.bounds[0][axis]) + split.at_mm)
    error: PartError | None = None
    for tie in _TIES if split.joint == "dovetail" else (0.0,):
        tools = _joint(split, sizes, place, part.title, tie)
        if split.screw:
            tools = with_screws(tools, split, sizes, place, part.title, _beside(part, body, place))
        try:
            first, second = halves_of(body, place, tools, part.title)
        except PartError as caught:
            error = caught
            continue
        return with_halves(
            part, body, split, sizes if shown else None, place, tools, (first, second)
        )
    assert error is not None
    raise error


def _beside(part: Part, body: Body, place: Place) -> list[Mesh]:
    """The other bodies and what the part holds, as the body lies."""
    from fitkit.parts.meshed import mesh_of

    others = [one for one in (*part.bodies, *part.ghosts) if one is not body]
    return [mesh_of(one).moved(place.rotation, place.shift) for one in others]


def _joint(split: Split, sizes: SplitSizes, place: Place, title: str, tie: float) -> Tools:
    if split.joint == "dovetail":
        return dovetails(split, sizes, place, title, tie)
    if split.joint == "tongue and groove":
        return tongue_and_groove(split, sizes, place, title)
    return dowels(split, sizes, place, title)


@dataclass(frozen=True, slots=True)
class SplitTemplate:
    """A template whose part is split: it builds as a template does."""

    template: Builder
    splits: tuple[Split, ...]

    def build(self, drawn: Mapping[str, float] | None = None, *, title: str = "") -> Part:
        """Build the part, and split it.

        Parameters
        ----------
        drawn : mapping of size name to mm, optional
            Of the template and of the joint.
        title : str

        Returns
        -------
        Part
        """
        of_joint = {name: x for name, x in (drawn or {}).items() if name.startswith(BEFORE)}
        rest = {name: x for name, x in (drawn or {}).items() if name not in of_joint}
        part = self.template.build(rest if drawn is not None else None, title=title)
        refused: list[PartError] = []
        for number, split in enumerate(self.splits):
            try:
                part = split_part(part, split, of_joint, shown=number == 0)
            except PartError as error:
                if error.code != NO_ROOM:
                    raise
                refused.append(error)
                # A lid, say, that has no room for posts where the tray has.
                plain = replace(split, screw=None)
                given = {name: x for name, x in of_joint.items() if "screw" not in name}
                part = _said(split_part(part, plain, given, shown=number == 0), split, error)
        if refused and len(refused) == len(self.splits):
            raise refused[0]
        return part


def _said(part: Part, split: Split, error: PartError) -> Part:
    """Say that a body got no screws."""
    left_off = Finding(
        check="split",
        severity="note",
        text=f"{split.body} gets no screws across its cut: {error.what}.",
        basis="geometry of this part",
        body=f"{split.body} 1",
        remedy="Glue its joint.",
    )
    return replace(part, findings=(*part.findings, left_off))
