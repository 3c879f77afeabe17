"""Whose template files may run: a yes is asked once and kept by the hash of the file's text.

Running somebody else's template is running their code. The yes is kept in the user's own state
folder (as the XDG Base Directory Specification and its kin on other systems name it), never in a
workshop: a folder that somebody sends must not be able to say yes to itself. It holds for the exact
text; a file that was changed by one letter is asked about again. What a template file imports from
elsewhere is outside the hash: hence templates of one file.
"""

from __future__ import annotations

import hashlib
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from fitkit.core.errors import PartError, StateError
from fitkit.core.files import read_plain
from fitkit.core.state import laid_out, state_folder

__all__ = [
    "SHOWN_DIGITS",
    "TemplateFile",
    "TrustError",
    "allow",
    "is_allowed",
    "printable",
    "read_template_file",
    "refuse_untrusted",
    "state_folder",
    "trust_template",
]

# A template is a page or two; a record keeps it whole.
MOST_BYTES = 200_000
# Digits of a hash that people are shown; the whole of it decides.
SHOWN_DIGITS = 12
_allowed: set[str] = set()


@dataclass(frozen=True, slots=True, kw_only=True)
class TemplateFile:
    """A template's text, as it lay in a file when it was read, or as a record kept it.

    Attributes
    ----------
    name : str
        Name of the file, without folders.
    text : str
    path : Path or None
        Where it lies; None of a record's own copy.
    of : str
        Which record kept it, in words; empty of a file on the disk.
    sha256 : str
        Hash of the text as UTF-8, which is that of the file.
    """

    name: str
    text: str
    path: Path | None = None
    of: str = ""
    sha256: str = field(init=False)

    def __post_init__(self) -> None:
        digest = hashlib.sha256(self.text.encode()).hexdigest()
        object.__setattr__(self, "sha256", digest)

    @property
    def shown(self) -> str:
        """What to call it in a message; letters that could hide another name are spelt out."""
        return printable(self.path) if self.path else f"{printable(self.name)} as kept in {self.of}"


class TrustError(StateError):
    """A template file that nobody has said yes to; whoever catches it can ask, and go on.

    Parameters
    ----------
    what, **parts
        As for `FitkitError`.
    template : TemplateFile
    read : Path
        Where its text can be read.
    """

    def __init__(self, what: str, *, template: TemplateFile, read: Path, **parts: Any) -> None:
        super().__init__(what, **parts)
        self.template = template
        self.read = read

    def parts(self) -> dict[str, Any]:
        """Keep the template file as well."""
        return super().parts() | {"template": self.template, "read": self.read}


def printable(name: str | Path) -> str:
    r"""Give a name as a terminal or page will show it, whatever control letters it holds.

    Examples
    --------
    >>> printable("cap.py"), printable("evil\x1b[2K.py")
    ('cap.py', "'evil\\x1b[2K.py'")
    """
    text = str(name)
    return text if text.isprintable() else ascii(text)


def read_template_file(path: str | Path) -> TemplateFile:
    """Read a template file; nothing of it is run.

    Raises
    ------
    PartError
        If it is not there, cannot be read, is too large, or is not UTF-8 text.
    """
    path = Path(path)
    try:
        text = read_plain(path, max_bytes=MOST_BYTES).decode("utf-8")
    except FileNotFoundError:
        raise PartError(
            "there is no such template file",
            where=printable(path),
            code="template.no-file",
            remedy="Put it back, or correct template_file in the part sheet; "
            "its path counts from the sheet.",
        ) from None
    except OSError as error:
        raise PartError(
            f"the template file cannot be read: {error.strerror}",
            where=printable(path),
            code="template.not-read",
            remedy="Check the file.",
        ) from error
    except UnicodeDecodeError as error:
        raise PartError(
            "the template file is not UTF-8 text",
            where=printable(path),
            code="template.not-utf-8",
            remedy="Save it as UTF-8.",
        ) from error
    return TemplateFile(name=path.name, text=text, path=path.resolve())


def trust_template(file: str | Path | TemplateFile) -> str:
    """Say yes to running a template file, now and later, as long as its text stays the same.

    Read the file first: its code runs with all your rights.

    Parameters
    ----------
    file : path

    Returns
    -------
    str
        SHA-256 of the text that may run.

    Raises
    ------
    PartError
        If the file cannot be read.
    """
    if not isinstance(file, TemplateFile):
        file = read_template_file(file)
    allow(file.sha256)
    # Where nothing can be kept, the yes holds for this process, and is asked for again in the next.
    with suppress(OSError):
        folder = state_folder()
        folder.mkdir(parents=True, exist_ok=True)
        at = datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")
        with (folder / _LIST).open("a", encoding="utf-8") as stream:
            stream.write(f"{file.sha256} {at} {file.shown!r}\n")
    return file.sha256


def allow(sha256: str) -> None:
    """Let a text run in this process, as a process does for one that it starts."""
    _allowed.add(sha256)


def is_allowed(sha256: str) -> bool:
    """Tell whether a text was said yes to, here or earlier."""
    if sha256 not in _allowed and any(line[0] == sha256 for line in _said_yes()):
        _allowed.add(sha256)
    return sha256 in _allowed


def refuse_untrusted(file: TemplateFile) -> None:
    """Stop before a template file is run that nobody said yes to.

    A record's own copy is written out first, so that it can be read.

    Raises
    ------
    TrustError
        Names the file, its hash and how to say yes.
    """
    if is_allowed(file.sha256):
        return
    digits, shown = file.sha256[:SHOWN_DIGITS], file.shown
    changed = any(line[-1] == repr(shown) for line in _said_yes())
    what = (
        "this template file has changed since you said yes to running it"
        if changed
        else "this template file has not been run by you before, and making the part runs its code"
    )
    read = file.path or _written_out(file)
    reading = "Read it" if file.path else f"Read it in {printable(read)}"
    raise TrustError(
        f"{what} (SHA-256 {digits}…)",
        where=shown,
        remedy=f"{reading}, then say yes: --trust-template in the shell, trust_template=True in "
        f"part_panel, or fitkit.parts.trust_template({str(read)!r}).",
        code="part.template-not-trusted",
        template=file,
        read=read,
    )


_LIST = "trusted-templates.txt"


def _said_yes() -> list[tuple[str, ...]]:
    """Lines of the list: hash, time, file as shown."""
    try:
        text = (state_folder() / _LIST).read_text(encoding="utf-8", errors="replace")
    except OSError:
        return []
    lines = (line.split(" ", 2) for line in text.splitlines())
    return [tuple(line) for line in lines if len(line) == 3]


def _written_out(file: TemplateFile) -> Path:
    """Put a record's own copy where it can be read, under a name that holds its hash."""
    stem, _, ending = file.name.rpartition(".")
    name = f"{stem or file.name}-{file.sha256[:SHOWN_DIGITS]}.{ending if stem else 'py'}"
    return laid_out(state_folder() / "templates", name, file.text)
