"""The exact bodies of a print, kept beside its record: a template may change its shape later.

They are the text of a STEP file, packed, in the journal's folder ``bodies`` under the print's trace
code: a file there belongs to one record, and comes with it. The text is read with a general reader
of STEP, so that a shape outlives fitkit too.
"""

from __future__ import annotations

import gzip
import hashlib
import zlib
from typing import TYPE_CHECKING

from fitkit.core.errors import JournalError
from fitkit.core.files import read_plain
from fitkit.journal.entries import KeptFile
from fitkit.journal.names import inside

if TYPE_CHECKING:
    from pathlib import Path

    from fitkit.journal.records import PrintRecord

__all__ = ["FOLDER", "kept_step", "packed_bodies"]

FOLDER = "bodies"
# The coupon, the largest part that is shipped, takes 13 MB unpacked and 2 MB packed.
MAX_BYTES = 200_000_000
_RESTORE = (
    "Restore the file from a copy or the version history, or ask for the present design, which is "
    "built from the record alone."
)


def packed_bodies(folder: Path, step: bytes, *, code: str) -> tuple[KeptFile, Path, bytes]:
    """Pack the text of a STEP file for a journal's folder; write nothing.

    Parameters
    ----------
    folder : Path
        The journal's.
    step : bytes
        The text of a STEP file of all bodies, in assembly position.
    code : str
        Trace code of the print.

    Returns
    -------
    kept : KeptFile
        For the record: the packed file's name in the folder `FOLDER`, the hash of the text and its
        size before packing.
    path : Path
        Where the packed file belongs.
    content : bytes
        What it holds.
    """
    kept = KeptFile(
        name=f"{code.lower()}.step.gz", sha256=hashlib.sha256(step).hexdigest(), size=len(step)
    )
    return kept, inside(folder, FOLDER, kept.name), gzip.compress(step, 6, mtime=0)


def kept_step(record: PrintRecord, folder: Path) -> bytes | None:
    """Read the text of the STEP file that a record keeps; None for records that keep none.

    Parameters
    ----------
    record : PrintRecord
    folder : Path
        The journal's.

    Raises
    ------
    JournalError
        If the file is gone, or is not the one that was kept.
    """
    kept = record.bodies
    if kept is None:
        return None
    path = inside(folder, FOLDER, kept.name)
    try:
        packed = zlib.decompressobj(wbits=31)
        step = packed.decompress(read_plain(path), MAX_BYTES)
    except (OSError, zlib.error) as error:
        step, why = b"", f"cannot be read ({error})"
    else:
        why = "is not the one that was kept"
    if hashlib.sha256(step).hexdigest() != kept.sha256:
        raise JournalError(
            f"the file with the exact bodies {why}",
            file=path,
            where=f"record {record.code}",
            code="journal.bodies-damaged",
            remedy=_RESTORE,
        )
    return step
