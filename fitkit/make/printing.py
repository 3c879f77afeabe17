"""How a part is to be printed, in words: for the box on its sheet, and as metadata of the 3MF.

Where the 3MF core has a name for it, that name is taken; the rest stands under names of our own.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from fitkit.core.finding import Finding
    from fitkit.solids.mesh import Mesh

__all__ = ["how_to_print", "metadata_of"]


def how_to_print(
    laid: Mapping[str, Mesh],
    findings: Sequence[Finding],
    *,
    material: str,
    layer_height_mm: float | None,
    first_layer_mm: float | None,
    nozzle_mm: float | None,
) -> tuple[tuple[str, str], ...]:
    """Say what the drawn sizes take for granted of how the part is printed.

    Parameters
    ----------
    laid : mapping of body name to Mesh, mm
        As printed.
    findings : sequence of Finding
        Of the checks.
    material : str
    layer_height_mm, first_layer_mm, nozzle_mm : float or None, mm
        None where nobody knows, as in old records.

    Returns
    -------
    tuple of (what, how)
    """
    from fitkit.checks.supports import supports_text

    known = {} if layer_height_mm is None else {"layer_height_mm": layer_height_mm}
    layers = [f"{layer_height_mm:g} mm"] if layer_height_mm is not None else []
    layers += [f"the first {first_layer_mm:g} mm"] if first_layer_mm is not None else []
    layers += [f"from a nozzle of {nozzle_mm:g} mm"] if nozzle_mm is not None else []
    found = (
        ("material", material),
        ("layers", ", ".join(layers)),
        ("way up", "as each body lies in the 3MF file"),
        (
            "size",
            "not scaled, and all compensation of outlines and holes left as it was for the coupon",
        ),
        ("supports", supports_text(laid, findings, **known)),
    )
    return tuple((what, how) for what, how in found if how)


def metadata_of(
    *,
    title: str,
    template: str,
    codes: Sequence[str],
    profile: str,
    settings: Sequence[tuple[str, str]],
) -> dict[str, str]:
    """Give the metadata of a 3MF file.

    Parameters
    ----------
    title, template : str
    codes : sequence of str
        Trace codes of what is in it.
    profile : str
        Name of the profile that the sizes were compensated for.
    settings : sequence of (what, how)
        From `how_to_print`.
    """
    from datetime import date

    from fitkit import __version__

    told = "; ".join(f"{what}: {how}" for what, how in settings)
    said = "trace code" if len(codes) == 1 else "trace codes"
    of = f"{template}, " if template else ""
    return {
        "Title": title,
        "Description": f"{of}{said} {', '.join(codes)}; all lengths in mm. {told}",
        "CreationDate": date.today().isoformat(),
        "Application": f"fitkit {__version__}",
        "TraceCode" if len(codes) == 1 else "TraceCodes": " ".join(codes),
        "Profile": profile,
        **{what.title().replace(" ", ""): how for what, how in settings},
    }
