"""What the dimensioned sheet says about a part: its rows, notes, pictures and sources, as text."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING

import numpy as np

from fitkit.core.notes import gathered
from fitkit.export.bodies import place
from fitkit.export.sheet import SheetPage
from fitkit.flow.built import FILE_TOLERANCE_MM
from fitkit.make.checking import unread
from fitkit.make.printing import how_to_print

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from PIL.Image import Image

    from fitkit.core.finding import Finding
    from fitkit.drawings import Drawing
    from fitkit.flow import Plan
    from fitkit.flow.built import Built
    from fitkit.solids.mesh import Mesh

__all__ = ["draw_apart", "lifted_apart", "settings_of", "sheet_page"]

PICTURE = (720, 540)


def sheet_page(
    plan: Plan, built: Built, findings: Sequence[Finding], *, code: str, files: Sequence[str]
) -> SheetPage:
    """Gather all that the dimensioned sheet of a part shows."""
    profile = plan.inputs.profile
    return SheetPage(
        title=plan.sheet.title,
        template=plan.sheet.template,
        code=code,
        made_on=datetime.now().astimezone().strftime("%Y-%m-%d %H:%M"),
        printer=f"a generic {profile.material} printer" if profile.generic else profile.printer,
        rows=tuple(row.texts() for row in plan.rows),
        notes=_notes(plan),
        dimensions=built.part.dimensions,
        findings=findings,
        files=files,
        provenance=_provenance(plan),
        pictures=_pictures(plan, built),
        drawings=_drawings(plan, built, code),
        settings=settings_of(plan, built, findings),
    )


def settings_of(
    plan: Plan, built: Built, findings: Sequence[Finding]
) -> tuple[tuple[str, str], ...]:
    """Say how a planned part is to be printed, as `how_to_print` does.

    Parameters
    ----------
    plan : Plan
    built : Built
    findings : sequence of Finding
        Of the checks.

    Returns
    -------
    tuple of (what, how)
        For the box on the sheet, and for the metadata of the 3MF file.
    """
    profile = plan.inputs.profile
    return how_to_print(
        built.laid,
        findings,
        material=profile.material,
        layer_height_mm=profile.layer_height_mm,
        first_layer_mm=profile.first_layer_mm,
        nozzle_mm=profile.nozzle_mm,
    )


def _drawings(plan: Plan, built: Built, code: str) -> tuple[Drawing, ...]:
    from fitkit.drawings import TitleBlock, drawings_of

    profile = plan.inputs.profile
    block = TitleBlock(
        title=plan.sheet.title,
        code=code,
        material=profile.material,
        printer="generic, not measured" if profile.generic else profile.printer,
        date=datetime.now().astimezone().strftime("%Y-%m-%d"),
        projection=plan.sheet.workshop.projection,
    )
    return drawings_of(built.part, block)


def _notes(plan: Plan) -> tuple[str, ...]:
    of_sizes = (
        (row.fit.name, note)
        for row in plan.rows
        for note in (*row.size.notes, *(row.gap.notes if row.gap else ()))
    )
    of_readings = (
        (name, note) for name, estimate in plan.inputs.estimates.items() for note in estimate.notes
    )
    damaged = plan.inputs.earlier.damaged
    return (*([unread(damaged)] if damaged else []), *gathered((*of_sizes, *of_readings)))


def _provenance(plan: Plan) -> tuple[str, ...]:
    from fitkit import __version__

    sheet, profile = plan.sheet, plan.inputs.profile
    lines = []
    if sheet.readings_files:
        files = ", ".join(sheet.readings_files)
        of_item = f" of {sheet.item}" if sheet.item else ""
        lines.append(f"readings {files}, {len(plan.inputs.estimates)} features{of_item}")
    lines.append(
        f"GENERIC profile for {profile.material}: published ranges, not this printer"
        if profile.generic
        else f"profile {profile.name} of {profile.printer}, {profile.material}"
    )
    lines += dict.fromkeys(f"gap, {row.gap.pair}: {row.gap.basis}" for row in plan.rows if row.gap)
    if plan.coat:
        lines.append(f"drawn for a finish coat of {plan.coat} a face")
    lines.append(
        "holes in 3MF and STL are polygons with at most "
        f"{2 * FILE_TOLERANCE_MM:g} mm less over their flats"
    )
    lines.append(f"fitkit {__version__}")
    return tuple(lines)


def _pictures(plan: Plan, built: Built) -> tuple[tuple[str, Image], ...]:
    from fitkit.solids.picture import picture

    plate = [body.mesh for body in place(built.laid, plan.inputs.profile.bed_mm)[0]]
    return (
        ("the bodies, lifted apart", draw_apart(built)),
        ("as they lie on the bed", picture(plate, size=PICTURE)),
    )


def draw_apart(built: Built) -> Image:
    """Draw a part's bodies in the assembly, lifted apart so that each is seen."""
    from fitkit.solids.picture import picture

    return picture([mesh for mesh, _ in lifted_apart(built.assembled).values()], size=PICTURE)


def lifted_apart(meshes: Mapping[str, Mesh]) -> dict[str, tuple[Mesh, float]]:
    """Stack bodies with a gap, in the order of their own height, so that each is seen.

    Parameters
    ----------
    meshes : mapping of body name to Mesh, mm
        As assembled.

    Returns
    -------
    dict of body name to (Mesh, float), mm
        The lifted mesh, and by how much it is lifted; the lowest first.
    """
    top = None
    found = {}
    for name, mesh in sorted(meshes.items(), key=lambda one: float(one[1].bounds[:, 2].mean())):
        low, high = mesh.bounds[:, 2]
        lift = 0.0 if top is None else max(0.0, top + 0.4 * mesh.size.max() ** 0.8 - low)
        found[name] = (mesh.moved(np.eye(3), np.array([0.0, 0.0, lift])), float(lift))
        top = high + lift
    return found
