"""The mirror image of a part: the left one of a pair whose right one is drawn.

A step after a part is built, as a split is: all is mirrored in the plane x = 0, bodies, numbers and
the ways things go in. Labels and texts are drawn as in a mirror beforehand, so that they can be
read afterwards. What must fit is as large as before, and is compensated alike.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from fitkit.core.finding import Finding
from fitkit.parts.contract import Body

if TYPE_CHECKING:
    from collections.abc import Mapping

    from fitkit.parts.contract import Part, Point, Template
    from fitkit.solids.mesh import Mesh

__all__ = ["MirrorTemplate", "mirrored_part"]

_PLACED = ("walls", "arms", "lugs", "bosses", "vents", "bridges")


@dataclass(frozen=True, slots=True)
class MirrorTemplate:
    """A template whose part is mirrored: it builds as a template does."""

    template: Template

    def build(self, drawn: Mapping[str, float] | None = None, *, title: str = "") -> Part:
        """Build the part's mirror image, its letters to be read as they are.

        Parameters
        ----------
        drawn : mapping of size name to mm, optional
        title : str

        Returns
        -------
        Part
        """
        return mirrored_part(self.template.with_letters_mirrored().build(drawn, title=title))


def mirrored_part(part: Part) -> Part:
    """Mirror a part in the plane x = 0.

    Parameters
    ----------
    part : Part

    Returns
    -------
    Part
        With a note where it holds something: that must be a mirror image, too.
    """
    said: tuple[Finding, ...] = ()
    if part.ghosts:
        said = (
            Finding(
                check="build",
                severity="note",
                text="This is the mirror image of what its sheet describes. What it holds must be "
                "a mirror image too, or the same from both sides: a board with plugs is neither.",
                basis="geometry of this part",
                remedy="Leave 'mirrored' out for the part as it is described.",
            ),
        )
    moved: dict[str, Any] = {name: tuple(map(_placed, getattr(part, name))) for name in _PLACED}
    return replace(
        part,
        bodies=tuple(map(_body, part.bodies)),
        ghosts=tuple(map(_body, part.ghosts)),
        insertion=_flipped(part.insertion),
        dimensions=tuple(
            replace(one, start=_point(one.start), end=_point(one.end)) for one in part.dimensions
        ),
        warm=None if part.warm is None else replace(part.warm, at=_point(part.warm.at)),
        findings=(
            *(replace(one, at=tuple(map(_point, one.at))) for one in part.findings),
            *said,
        ),
        **moved,
    )


def _point(at: Any) -> Point:
    x, y, z = at
    return 0.0 - x, y, z


def _flipped(way: Point | None) -> Point | None:
    return None if way is None else _point(way)


def _placed(one: Any) -> Any:
    if hasattr(one, "along"):
        return replace(one, at=_point(one.at), along=_flipped(one.along))
    return replace(one, at=_point(one.at))


def _body(body: Body) -> Body:
    # Mirrored, turns about the two axes in the plane of the mirror go the other way.
    x, y, z = body.print_turn
    turn = (x, 0.0 - y, 0.0 - z)
    if body.mesh is not None:
        coarse = body.mesh if body.coarse is None else body.coarse
        made = Body.of_mesh(body.name, _mesh(body.mesh), coarse=_mesh(coarse), print_turn=turn)
        return replace(made, insertion=_flipped(body.insertion))
    from build123d import Solid

    from fitkit.solids.bodies import mirrored, solids_in

    (solid,) = solids_in(mirrored(body.solid, across="x"))
    return replace(body, solid=Solid(solid), print_turn=turn, insertion=_flipped(body.insertion))


def _mesh(mesh: Mesh) -> Mesh:
    import numpy as np

    from fitkit.solids.mesh import Mesh

    # The other way round, so that its faces still look outwards.
    flipped = mesh.vertices * np.array([-1.0, 1.0, 1.0], mesh.vertices.dtype)
    return Mesh(flipped, np.ascontiguousarray(mesh.triangles[:, ::-1]))
