"""The template file that a record keeps, as the print was made by, and what became of it since."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fitkit.core.errors import JournalError

if TYPE_CHECKING:
    from pathlib import Path

    from fitkit.journal.records import PrintRecord
    from fitkit.parts.trust import TemplateFile

__all__ = ["kept_template", "template_since"]


def kept_template(record: PrintRecord) -> TemplateFile | None:
    """Give the template file that a record keeps; None for other templates.

    Raises
    ------
    JournalError
        If the text is not the one that the print was made by.
    """
    from fitkit.parts.trust import TemplateFile

    kept = record.template_source
    if kept is None:
        return None
    file = TemplateFile(name=kept.name, text=kept.text, of=f"record {record.code}")
    if file.sha256 != kept.sha256:
        raise JournalError(
            f"the kept text of template file {kept.name} does not match its hash, so it has been "
            "changed since the print",
            where=f"record {record.code}",
            code="journal.template-damaged",
            remedy="Restore the record's file from a copy or the version history.",
        )
    return file


def template_since(record: PrintRecord, journal: Path) -> str:
    """Tell what became of the template file since the print; empty if it is as it was.

    Parameters
    ----------
    record : PrintRecord
    journal : Path
        The journal's folder, from which the record counts the file's place.
    """
    import hashlib

    from fitkit.core.files import read_plain

    kept = record.template_source
    if kept is None or not kept.place:
        return ""
    path = (journal / kept.place).resolve()
    try:
        same = hashlib.sha256(read_plain(path)).hexdigest() == kept.sha256
        what = "has changed since this print"
    except FileNotFoundError:
        same, what = False, "is no longer there"
    except OSError:
        same, what = False, "cannot be read"
    if same:
        return ""
    return f"the template file {path} {what}: made by the copy that the record keeps"
