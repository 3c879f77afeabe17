"""Pieces let into a plate: small finished bodies that bring their own bit of the plate along.

A piece stands on an outline and goes through the plate from its upper face to its underside. It is
made and analysed once, by any means, and then let into any plate: the sides that piece and plate
would share are left out, the piece's two rims become holes in the plate's two faces, and the shell
is closed. Nothing is joined by a boolean, so twelve pieces cost a few milliseconds. The volume is
the plate's, less the plate under the outlines, plus the pieces'.

Where boxes and corners do not prove that the outlines lie inside the plate's faces and apart from
all else there, a boolean lets the pieces in instead.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, NamedTuple

from fitkit.solids.bodies import (
    Shape,
    cut,
    extrude,
    fuse,
    kernel_names,
    moved,
    solids_in,
    turned,
    volume_of,
)
from fitkit.solids.faces import (
    Box,
    apart,
    faces_of,
    flat_box,
    holder,
    level_faces,
    solid_of,
    wires_of,
    with_holes,
)
from fitkit.solids.kept import Same
from fitkit.solids.profiles import Loop, Profile

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

__all__ = ["Piece", "let_in"]

_SAME_MM = 1e-5


@dataclass(frozen=True, slots=True, eq=False)
class Piece:
    """A body with its own bit of plate.

    Attributes
    ----------
    solid : kernel shape of one solid
        From the plate's underside up; its level faces at the plate's two heights are bounded by the
        outline, and nothing else of it touches the outline.
    outline : Loop
        Round the bit of plate, mm.
    """

    solid: Shape
    outline: Loop
    # Shared by all placed copies: what was worked out of the solid once.
    _known: dict[str, float] = field(default_factory=dict, repr=False)

    @property
    def key(self) -> tuple[object, ...]:
        """What tells it from other pieces and places: which one it is a copy of, and where."""
        placed = self.solid.Location().Transformation()
        place = tuple(placed.Value(row, column) for row in (1, 2, 3) for column in (1, 2, 3, 4))
        return Same(self._known), place

    def placed(self, x: float, y: float, z: float = 0.0, turn: float = 0.0) -> Piece:
        """Give the piece turned about its own z axis and then shifted; its faces are shared.

        Parameters
        ----------
        x, y, z : float, mm
        turn : float, degrees
            Counter-clockwise, seen from above.

        Returns
        -------
        Piece
        """
        solid = turned(self.solid, z=turn) if turn else self.solid
        outline = self.outline.turned(turn).moved(x, y)
        return Piece(moved(solid, x, y, z), outline, self._known)

    def volume(self, thickness_mm: float) -> float:
        """Volume that letting it into a plate of a thickness adds, mm³; below 0 if it takes some.

        Parameters
        ----------
        thickness_mm : float, mm

        Returns
        -------
        float, mm³
        """
        if "volume" not in self._known:
            self._known["volume"] = volume_of(self.solid)
        return self._known["volume"] - abs(self.outline.signed_area) * thickness_mm


class _Rims(NamedTuple):
    """What of a piece joins the plate: its faces without the shared sides, and its two rims."""

    faces: list[Shape]
    top: Shape
    bottom: Shape


def let_in(plate: Shape, pieces: Sequence[Piece], *, top: float, bottom: float = 0.0) -> Shape:
    """Let pieces into a plate between its face at `top`, which looks up, and its underside.

    Parameters
    ----------
    plate : kernel shape of one solid
    pieces : sequence of Piece
        In their places, apart from one another.
    top, bottom : float, mm
        Heights of the plate's two faces.

    Returns
    -------
    kernel shape
        Of one solid. What lies between the two faces is not looked at: they must be a plate's.
    """
    if not pieces:
        return plate
    made = _closed(plate, pieces, top, bottom)
    if made is not None:
        return made
    holes = [extrude(Profile(p.outline), top - bottom + 0.2, z=bottom - 0.1) for p in pieces]
    return fuse(cut(plate, *holes), *(piece.solid for piece in pieces))


def _closed(plate: Shape, pieces: Sequence[Piece], top: float, bottom: float) -> Shape | None:
    kept = list(faces_of(solids_in(plate)[0]))
    level = level_faces(kept)
    faces_at = {
        up: [(i, kept[i], z) for i, z, u in level if u is up and abs(z - at) < 1e-6]
        for up, at in ((True, top), (False, bottom))
    }
    boxes: list[Box] = [piece.outline.box for piece in pieces]
    if not apart(boxes):
        return None
    holed: dict[int, list[Shape]] = {}
    added: list[Shape] = []
    for piece, box in zip(pieces, boxes, strict=True):
        rims = _rims(piece, box, top, bottom)
        above, below = holder(faces_at[True], box), holder(faces_at[False], box)
        if rims is None or above is None or below is None:
            return None
        holed.setdefault(above, []).append(rims.top.Reversed())
        holed.setdefault(below, []).append(rims.bottom.Reversed())
        added += rims.faces
    for index, wires in holed.items():
        kept[index] = with_holes(kept[index], wires)
    return solid_of(kept + added)


def _rims(piece: Piece, box: Box, top: float, bottom: float) -> _Rims | None:
    """Find a piece's rims in its level faces, and leave out the sides between them."""
    faces = list(faces_of(solids_in(piece.solid)[0]))
    level = level_faces(faces)
    rims = [
        _rim([faces[i] for i, z, u in level if u is up and abs(z - at) < 1e-6], box)
        for up, at in ((True, top), (False, bottom))
    ]
    above, below = rims
    if above is None or below is None:
        return None
    edges = list(_edges(above[1]))
    sides = [
        face
        for face in faces
        if not face.IsSame(above[0]) and any(e.IsSame(s) for e in edges for s in _edges(face))
    ]
    # Each side ends at both rims: what stands on the outline, or cuts into it, is no plain bit.
    low = list(_edges(below[1]))
    if len(sides) != len(low) or not all(
        any(e.IsSame(s) for e in low for s in _edges(face)) for face in sides
    ):
        return None
    kept = [face for face in faces if not any(face.IsSame(side) for side in sides)]
    return _Rims(kept, above[1], below[1])


def _rim(faces: Sequence[Shape], box: Box) -> tuple[Shape, Shape] | None:
    """Find the face whose outer edge goes round a box, and that edge as it runs in the face."""
    k = kernel_names()
    for face in faces:
        around = k.BRepTools.OuterWire_s(face)
        found = flat_box(around)
        if all(abs(a - b) < _SAME_MM for a, b in zip(found, box, strict=True)):
            return face, next(wire for wire in wires_of(face) if wire.IsSame(around))
    return None


def _edges(shape: Shape) -> Iterator[Shape]:
    k = kernel_names()
    walk = k.TopExp_Explorer(shape, k.TopAbs_EDGE)
    while walk.More():
        yield walk.Current()
        walk.Next()
