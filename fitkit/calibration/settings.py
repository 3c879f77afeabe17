"""What a coupon was printed on and how, written out so that each reading carries it.

The readings file has a column ``item``; for a coupon it says all of the print in one line, filled
in by the empty readings file: ``bench printer A, PETG, layers 0.20 mm, first 0.24 mm, nozzle 0.40
mm, bed 220 x 220 x 240 mm, print 1``.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from fitkit.core.errors import CalibrationError

__all__ = ["PrintSettings", "parse_item"]


@dataclass(frozen=True, slots=True, kw_only=True)
class PrintSettings:
    """Printer, material and the settings that decide sizes; lengths in mm."""

    printer: str = "unnamed printer"
    material: str = "unknown"
    layer_height_mm: float = 0.2
    first_layer_mm: float = 0.2
    nozzle_mm: float = 0.4
    bed_mm: tuple[float, float, float] = (200.0, 200.0, 200.0)

    def item(self, print_number: int) -> str:
        """Write the line that stands in the readings' ``item`` column.

        Examples
        --------
        >>> PrintSettings(printer="A", material="PETG").item(2)
        'A, PETG, layers 0.20 mm, first 0.20 mm, nozzle 0.40 mm, bed 200 x 200 x 200 mm, print 2'
        """
        bed = " x ".join(f"{side:g}" for side in self.bed_mm)
        # A comma in a name would end it there.
        printer, material = (
            f'"{name}"' if "," in name else name for name in (self.printer, self.material)
        )
        return (
            f"{printer}, {material}, layers {self.layer_height_mm:.2f} mm, first "
            f"{self.first_layer_mm:.2f} mm, nozzle {self.nozzle_mm:.2f} mm, bed {bed} mm, "
            f"print {print_number}"
        )


_LENGTH = r"\s+(\d+(?:\.\d+)?)\s*mm"
_KEYS = {
    "layer_height_mm": re.compile("layers" + _LENGTH),
    "first_layer_mm": re.compile("first" + _LENGTH),
    "nozzle_mm": re.compile("nozzle" + _LENGTH),
}
_BED = re.compile(r"bed\s+([\d.]+)\s*x\s*([\d.]+)\s*x\s*([\d.]+)\s*mm")
_PRINT = re.compile(r"print\s+(\d+)$")


def parse_item(item: str) -> tuple[PrintSettings, int]:
    """Read an ``item`` line back: the settings and the number of the print.

    Only printer and material must be there; what is left out keeps its default, and the print
    is number 1.

    Raises
    ------
    CalibrationError
        If it does not name a printer and a material.

    Examples
    --------
    >>> settings, number = parse_item("bench printer A, PETG, print 3")
    >>> settings.material, number
    ('PETG', 3)
    """
    parts = _named(item)
    if len(parts) < 2 or not all(parts[:2]):
        raise CalibrationError(
            f"the item {item!r} does not name a printer and a material",
            code="calibration.item",
            where="column item",
            remedy="Write 'printer name, material, print 1', or give the settings to the fit.",
        )
    found: dict[str, float] = {}
    bed, number = (200.0, 200.0, 200.0), 1
    for part in parts[2:]:
        for key, pattern in _KEYS.items():
            if match := pattern.fullmatch(part):
                found[key] = float(match[1])
        if match := _BED.fullmatch(part):
            bed = (float(match[1]), float(match[2]), float(match[3]))
        if match := _PRINT.fullmatch(part):
            number = int(match[1])
    return PrintSettings(printer=parts[0], material=parts[1], bed_mm=bed, **found), number


_PART = re.compile(r'\s*(?:"([^"]*)"\s*|([^,]*))(?:,|$)')
# What a material is called, after ISO 1043-1 and the trade: to find it behind a printer's name that
# has a comma in it.
_PLASTIC = re.compile(r"(?:r?PLA|PET|PETG|ABS|ASA|P[AC]\d*|PP|PVA|HIPS|TPU|TPE)\b.*", re.IGNORECASE)


def _named(item: str) -> list[str]:
    """Part an item line at its commas; the printer's name keeps those that are its own."""
    parts = [
        (quoted or plain).strip()
        for quoted, plain in _PART.findall(item.strip())
        if (quoted or plain).strip()
    ]
    own = [part for part in parts if not _is_key(part)]
    if len(own) < 3 or '"' in item:
        return parts
    at = next((n for n, part in enumerate(own) if n and _PLASTIC.fullmatch(part)), 1)
    return [", ".join(own[:at]), *own[at:], *(part for part in parts if _is_key(part))]


def _is_key(part: str) -> bool:
    return any(one.fullmatch(part) for one in (*_KEYS.values(), _BED, _PRINT))
