"""What a preset is: a template of one holder on a carrier of its own.

What the holder needs (parameters, sizes, geometry and numbers in its own frame) is written once, in
the holder's file, as a mixin of both: the holder adds its bit of plate, the preset a whole plate
with what fixes it. This file joins the numbers of both into a part. It loads no CAD kernel.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

from fitkit.parts.carrier import Pose, placed_fixture
from fitkit.parts.contract import Part, Template

if TYPE_CHECKING:
    from fitkit.parts.contract import Body
    from fitkit.parts.holder import Fixture

__all__ = ["Preset"]

_BOTH = ("ghosts", "dimensions", "walls", "arms", "bosses", "findings", "buys")


class Preset(Template):
    """Base of the templates that put one holder on a carrier of their own."""

    def joined(
        self, title: str, fixture: Fixture, *bodies: Body, up_mm: float = 0.0, **own: Any
    ) -> Part:
        """Make the part of a fixture and of what the carrier has beside it.

        Parameters
        ----------
        title : str
            The maker's name for the part; the template's title if empty.
        fixture : Fixture
            Of the holder, in its own frame; its levels and pieces are in the bodies already.
        *bodies : Body
            The first is the one that the fixture's numbers are about.
        up_mm : float, mm
            Height of the holder's plate in the assembly.
        **own
            The carrier's own numbers, by name of an attribute of `Part`: they come after those of
            the fixture.

        Returns
        -------
        Part
        """
        placed = placed_fixture(fixture, "", Pose(0.0, 0.0, up_mm, 0.0))
        body = bodies[0].name
        found: dict[str, Any] = {
            what: tuple(
                replace(one, body=body) if hasattr(one, "body") else one
                for one in getattr(placed, what)
            )
            + tuple(own.pop(what, ()))
            for what in _BOTH
        }
        return Part(title=title or self.title, template=self.title, bodies=bodies, **found, **own)
