r"""STEP for exchange with other CAD: exact solids with their names, in assembly position, mm.

Names are written as ISO 10303-21 asks: what is outside of printable ASCII goes into ``\X2\`` or
``\X4\`` runs of hexadecimal digits. The kernel's writer takes names byte by byte, which spoils
them, so that it is given plain marks, and the names take their places afterwards.
"""

from __future__ import annotations

import itertools
import re
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING

from fitkit.core.errors import WriteError

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from fitkit.parts.contract import Body, Part

__all__ = ["step_bytes", "step_string", "write_step"]

_USED = re.compile(r"(NEXT_ASSEMBLY_USAGE_OCCURRENCE\(')\d+'")


def step_string(text: str) -> str:
    r"""Write text as the inside of a string in a STEP file.

    Parameters
    ----------
    text : str

    Returns
    -------
    str
        Printable ASCII without outer quotes, as ISO 10303-21 (clause 6.4.3 in the edition of 2016)
        asks; number of the clause from memory.

    Examples
    --------
    >>> print(step_string("Größe it's a\\b"))
    Gr\X2\00F600DF\X0\e it''s a\\b
    >>> print(step_string("😀"))
    \X4\0001F600\X0\
    """

    def coded(run: re.Match[str]) -> str:
        signs = run[0]
        kind, digits = ("X2", 4) if max(map(ord, signs)) < 0x10000 else ("X4", 8)
        return f"\\{kind}\\{''.join(f'{ord(sign):0{digits}X}' for sign in signs)}\\X0\\"

    doubled = text.replace("\\", "\\\\").replace("'", "''")
    return re.sub(r"[^ -~]+", coded, doubled)


def write_step(path: Path, bodies: Sequence[Body], title: str) -> None:
    """Write the bodies as one assembly.

    Raises
    ------
    WriteError
        If the kernel could not write the file.
    """
    from build123d import Compound, Unit, export_step

    names = [title, *(body.name for body in bodies)]
    children = []
    for number, body in enumerate(bodies, start=1):
        copy = body.solid.moved(_nowhere())
        copy.label = _mark(number)
        children.append(copy)
    assembly = Compound(label=_mark(0), children=children)
    try:
        written = export_step(assembly, str(path), unit=Unit.MM)
        if written:
            text = path.read_text(encoding="ascii")
            for number, name in enumerate(names):
                text = text.replace(_mark(number), step_string(name))
            # The kernel counts these on from file to file: the same part is to give the same text.
            count = itertools.count(1)
            text = _USED.sub(lambda found: f"{found[1]}{next(count)}'", text)
            path.write_text(text, encoding="ascii", newline="\n")
    except (RuntimeError, OSError):  # how they tell of a full disk
        written = False
    if not written:
        raise WriteError(
            "this file cannot be written",
            where=path.name,
            code="export.not-written",
            remedy="Check that the disk has room and that you may write in the folder.",
        )


def step_bytes(part: Part, written: Iterable[Path] = ()) -> bytes:
    """Give the text of a STEP file of all bodies of a part.

    Parameters
    ----------
    part : Part
    written : paths
        Files of this part: its STEP file is taken if it is among them.

    Raises
    ------
    WriteError
        If there is no room to write it.
    """
    for path in written:
        if path.suffix == ".step":
            return path.read_bytes()
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "bodies.step"
        write_step(path, part.bodies, part.title)
        return path.read_bytes()


def _mark(number: int) -> str:
    return f"FITKIT-NAME-{number:04d}"


def _nowhere() -> object:
    """A move by nothing: a copy that shares the shape, so that naming it leaves the part alone."""
    from build123d import Location

    return Location()
