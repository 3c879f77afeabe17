"""Fit ladder: a plate with one hole or slot for each gap to try, each marked, and the piece to try.

Every hole is the size plus one gap; its mark is that gap in hundredths of a millimetre. Where the
pair is printed on both sides, the peg or tab comes along on a grip. The first layers' flare is kept
off the verdict: holes are wider by a relief where they stand on the bed, and the peg stands on its
grip. Try the piece in each hole, and write down the five verdicts' words.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, ClassVar, Literal, Self

from pydantic import Field, model_validator

from fitkit.core.errors import PartError
from fitkit.core.sizes import HOLE, OUTSIDE, PEG, POCKET
from fitkit.fits.trial import Behaviour, Pair  # noqa: TC001 - pydantic reads them at run time
from fitkit.parts.contract import Body, FitSize, KeyDimension, Length, Part, Template, Wall, size
from fitkit.parts.fit_size import SizeSet

if TYPE_CHECKING:
    from collections.abc import Mapping

    from build123d import Solid

    from fitkit.core.finding import Finding
    from fitkit.fits.ladder import Ladder
    from fitkit.solids.profiles import Profile

__all__ = ["FitLadder"]

# Wider all round, and over the first layers; common practice, no source.
RELIEF_MM, RELIEF_HIGH_MM = 0.5, 0.6

BREADTH_MM, BREADTH_PLAY_MM = 6.0, 1.0  # of a tab the other way, where it must not touch
GRIP_MM = 4.0
MARK_ROOM_MM = 7.0
ROW_MM = 180.0  # a longer ladder goes on in a second row

# Pairs whose holes are round; the others get slots. And those whose other half is not printed.
_ROUND = ("peg and hole", "screw hole", "heat-set insert", "ball and seat")
_OWN_PIECE = ("screw hole", "heat-set insert", "object in pocket", "ball and seat")


@dataclass(frozen=True, kw_only=True)
class LadderSizes(SizeSet):
    """Sizes of a fit ladder: its holes, and the piece to try."""

    holes: tuple[FitSize, ...]
    piece: FitSize | None = None


class FitLadder(Template):
    """A ladder of gaps to try, as `fitkit.fits.next_ladder` proposes them."""

    title: ClassVar[str] = "fit ladder"
    summary: ClassVar[str] = "Holes or slots with stepped gaps, each marked, to learn what fits."
    ordered_by: ClassVar[str] = "ladder"

    form: Literal["round", "flat"] = Field(
        default="round",
        description="Round holes with a peg, or slots with a tab.",
        json_schema_extra={"group": "Ladder"},
    )
    nominal: Length = size(
        "10 mm", low="1 mm", high="120 mm", help="Diameter, or width over the fitting faces."
    )
    gaps: tuple[Length, ...] = Field(
        default=(0.1, 0.2, 0.3, 0.4),
        min_length=1,
        max_length=12,
        description="Gaps to try, as printed, on the full size; negative is interference.",
        json_schema_extra={"group": "Ladder"},
    )
    depth: Length = size("8 mm", low="3 mm", high="40 mm", help="How deep the fit is.")
    wall: Length = size("3 mm", low="1.2 mm", high="10 mm", help="Plate left round each hole.")
    own_piece: bool = Field(
        default=False,
        description="You have the piece to try, so no peg or tab is printed.",
        json_schema_extra={"group": "Ladder"},
    )
    pair: Pair = Field(
        default="peg and hole",
        description="What its verdicts teach: the kind of pair.",
        json_schema_extra={"group": "Ladder"},
    )
    behaviour: Behaviour = Field(
        default="slides",
        description="What is wanted of the fit: the verdicts are about this.",
        json_schema_extra={"group": "Ladder"},
    )

    @classmethod
    def of_ladder(cls, ladder: Ladder, **values: object) -> Self:
        """Make the template that prints a proposed ladder.

        Parameters
        ----------
        ladder : Ladder
            From `fitkit.fits.next_ladder`.
        **values
            Other parameters, with units.
        """
        given: dict[str, object] = {
            "form": "round" if ladder.pair in _ROUND else "flat",
            "nominal": f"{ladder.size_mm!r} mm",
            "gaps": [f"{gap:.6f} mm" for gap in ladder.gaps_mm],
            "own_piece": ladder.pair in _OWN_PIECE,
            "pair": ladder.pair,
            "behaviour": ladder.behaviour,
        }
        return cls.of(**(given | values))

    @model_validator(mode="before")
    @classmethod
    def _pair_of_the_form(cls, given: Any) -> Any:
        """Take flat holes for slots where no pair is named."""
        if isinstance(given, dict) and given.get("form") == "flat":
            return {"pair": "tab and slot"} | given
        return given

    @model_validator(mode="after")
    def _pair_can_behave_so(self) -> Self:
        from fitkit.fits import behaviours_of

        can = behaviours_of(self.pair)
        if self.behaviour not in can:
            raise PartError(
                f"no band of gaps is known for a {self.pair} with the behaviour {self.behaviour!r}",
                at=("behaviour",),
                code="part.no-such-fit",
                remedy=f"It can be: {', '.join(can)}.",
            )
        return self

    @model_validator(mode="after")
    def _holes_are_left(self) -> Self:
        least = min(self.gaps)
        if self.nominal + least < 0.5:
            raise PartError(
                f"a gap of {least:g} mm leaves no hole at a size of {self.nominal:g} mm",
                at=("gaps",),
                code="part.no-hole-left",
                remedy="Give a gap nearer to 0 mm.",
            )
        if max(self.gaps) > self.nominal:
            raise PartError(
                f"a gap of {max(self.gaps):g} mm is larger than the size itself",
                at=("gaps",),
                code="part.gap-over-size",
                remedy="Give a smaller gap.",
            )
        return self

    def must_fit(self) -> LadderSizes:
        """Declare each hole, with the gap to try that it sets round the piece, and the piece."""
        inner = HOLE if self.form == "round" else POCKET
        outer = PEG if self.form == "round" else OUTSIDE
        axis: Literal["xy", "x"] = "xy" if self.form == "round" else "x"
        holes = tuple(
            FitSize(
                name=f"hole {i}",
                nominal_mm=self.nominal,
                of="nominal" if self.own_piece else None,
                sense=1,
                kind=inner,
                axis=axis,
                pair=self.pair,
                behaviour=self.behaviour,
                gap_mm=gap,
                mark=mark,
                mate=None if self.own_piece else self._piece,
            )
            for i, (gap, mark) in enumerate(zip(self.gaps, self.marks(), strict=True), 1)
        )
        if self.own_piece:
            return LadderSizes(holes=holes)
        piece = FitSize(name=self._piece, nominal_mm=self.nominal, kind=outer, axis=axis)
        return LadderSizes(holes=holes, piece=piece)

    @property
    def _piece(self) -> str:
        return "peg" if self.form == "round" else "tab"

    def marks(self) -> tuple[str, ...]:
        """Give what is sunk beside each hole: its gap in hundredths of a millimetre."""
        return tuple(f"{round(100 * gap):d}" for gap in self.gaps)

    def build(self, drawn: Mapping[str, float] | None = None, *, title: str = "") -> Part:
        """Make the plate, and the piece to try.

        Raises
        ------
        PartError
            If a drawn size is unknown, or the kernel cannot make it.
        """
        sizes = self.must_fit().drawn(drawn, where=self.title)
        widths = [hole.drawn_mm for hole in sizes.holes]
        places, pitch, row_high, columns, rows = self._grid(max(widths))
        plate, findings = self._plate(widths, places, (columns * pitch, rows * row_high))
        bodies = [Body(name="ladder", solid=plate)]
        dimensions = [
            _across(hole, place, "ladder", self.depth)
            for hole, place in zip(sizes.holes, places, strict=True)
        ]
        if sizes.piece:
            # Behind the plate: a label makes the plate longer in front.
            at = (0.0, 0.5 * (rows * row_high + self._grip_across()) + self.wall + 4.0)
            solid = self._piece_solid(sizes.piece.drawn_mm, at)
            bodies.append(Body(name=self._piece, solid=solid))
            dimensions.append(_across(sizes.piece, at, self._piece, GRIP_MM + self.depth))
        thinnest = pitch - max(widths) - 2 * RELIEF_MM
        x, y = places[0]
        return Part(
            title=title or self.title,
            template=self.title,
            bodies=tuple(bodies),
            dimensions=tuple(dimensions),
            walls=(
                Wall(
                    name="between holes",
                    body="ladder",
                    thickness_mm=thinnest,
                    at=(x + 0.5 * pitch, y, 0.5 * self.depth),
                ),
            ),
            findings=findings,
        )

    def _grid(self, widest: float) -> tuple[list[tuple[float, float]], float, float, int, int]:
        """Places of the holes, row by row about the middle; pitch, row height, columns, rows."""
        pitch = max(widest + 2 * RELIEF_MM + self.wall, 9.0)
        high = widest if self.form == "round" else BREADTH_MM + BREADTH_PLAY_MM
        row_high = high + 2 * RELIEF_MM + 2 * self.wall + MARK_ROOM_MM
        columns = max(1, min(len(self.gaps), int(ROW_MM // pitch)))
        rows = math.ceil(len(self.gaps) / columns)
        places = [
            (
                (i % columns - 0.5 * (columns - 1)) * pitch,
                (0.5 * (rows - 1) - i // columns) * row_high + 0.5 * MARK_ROOM_MM,
            )
            for i in range(len(self.gaps))
        ]
        return places, pitch, row_high, columns, rows

    def _hole(self, width: float, at: tuple[float, float], wider: float = 0.0) -> Profile:
        from fitkit.solids.profiles import circle, rectangle

        if self.form == "round":
            return circle(width + 2 * wider, at=at)
        breadth = BREADTH_MM + BREADTH_PLAY_MM + 2 * wider
        return rectangle(width + 2 * wider, breadth, at=at)

    def _plate(
        self,
        widths: list[float],
        places: list[tuple[float, float]],
        over: tuple[float, float],
    ) -> tuple[Solid, tuple[Finding, ...]]:
        from fitkit.solids.bodies import checked, extrude, fuse
        from fitkit.solids.label import fitted_text
        from fitkit.solids.profiles import rectangle
        from fitkit.solids.sunk import sink

        length, width = over[0] + 2 * self.wall, over[1] + 2 * self.wall
        if self.label:
            width += MARK_ROOM_MM
        middle = -0.5 * MARK_ROOM_MM if self.label else 0.0
        outline = rectangle(length, width, radius=2.0, at=(0.0, middle))
        spots = list(zip(widths, places, strict=True))
        bottom = outline.with_holes(*(self._hole(w, at, RELIEF_MM) for w, at in spots))
        upper = outline.with_holes(*(self._hole(w, at) for w, at in spots))
        shape = fuse(
            extrude(bottom, RELIEF_HIGH_MM),
            extrude(upper, self.depth - RELIEF_HIGH_MM, z=RELIEF_HIGH_MM),
        )
        texts: list[Profile] = []
        findings: list[Finding] = []
        pitch = over[0] / len({x for x, _ in places})
        for mark, (wide, (x, y)) in zip(self.marks(), spots, strict=True):
            half = 0.5 * (wide if self.form == "round" else BREADTH_MM + BREADTH_PLAY_MM)
            below = y - half - RELIEF_MM - 0.5 * MARK_ROOM_MM
            set_, said = fitted_text(
                mark,
                room=(pitch - 1.0, MARK_ROOM_MM - 1.0),
                at=(x, below),
                caps=4.0,
                body="ladder",
            )
            texts += set_
            findings += said
        if self.label:
            foot = middle - 0.5 * width + 0.5 * self.wall + 0.5 * MARK_ROOM_MM
            set_, said = fitted_text(
                self.label,
                room=(length - 4.0, MARK_ROOM_MM - 1.0),
                at=(0.0, foot),
                caps=4.0,
                body="ladder",
            )
            texts += set_
            findings += said
        if texts:
            shape = sink(shape, texts, z=self.depth, depth=0.4)
        volume = (
            bottom.area * RELIEF_HIGH_MM
            + upper.area * (self.depth - RELIEF_HIGH_MM)
            - 0.4 * sum(text.area for text in texts)
        )
        plate = checked(shape, "ladder", volume=volume, box=(length, width, self.depth))
        return plate, tuple(findings)

    def _grip_across(self) -> float:
        return self.nominal + 8.0 if self.form == "round" else BREADTH_MM + 8.0

    def _piece_solid(self, width: float, at: tuple[float, float]) -> Solid:
        from fitkit.solids.bodies import checked, extrude, fuse
        from fitkit.solids.profiles import circle, rectangle

        if self.form == "round":
            grip, piece = circle(width + 8.0, at=at), circle(width, at=at)
        else:
            grip = rectangle(width + 8.0, BREADTH_MM + 8.0, radius=2.0, at=at)
            piece = rectangle(width, BREADTH_MM, at=at)
        # It reaches through the plate's full depth, so that the whole fit is felt.
        shape = fuse(extrude(grip, GRIP_MM), extrude(piece, self.depth, z=GRIP_MM))
        volume = grip.area * GRIP_MM + piece.area * self.depth
        return checked(shape, self._piece, volume=volume)


def _across(fit: FitSize, at: tuple[float, float], body: str, z: float) -> KeyDimension:
    """Size along x about a place, at a height."""
    return KeyDimension.across(fit, (*at, z), body=body)
