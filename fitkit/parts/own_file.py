"""The template that a file of one's own holds, run once a process under a name made of its hash.

What is run is the text that was hashed and said yes to, not whatever lies in the file a moment
later. No compiled copy is kept. Processes that we start are given the text, since a class can
travel there only as the name of a module that they have too.

Left out: templates of several files. What a file imports must be installed, because the record
keeps one text.
"""

from __future__ import annotations

import sys
import threading
import traceback
from contextlib import contextmanager
from importlib.abc import ExecutionLoader
from importlib.util import module_from_spec, spec_from_file_location
from typing import TYPE_CHECKING

from fitkit.core.errors import FitkitError, PartError
from fitkit.parts.trust import TemplateFile, refuse_untrusted

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator
    from types import ModuleType

    from fitkit.parts.contract import Template

__all__ = ["MODULE", "brought_along", "fault_of_file", "known_files", "template_of_file"]

MODULE = "_fitkit_template_"
_files: dict[str, TemplateFile] = {}  # by module name
_lock = threading.RLock()


def template_of_file(file: TemplateFile, *, title: str) -> type[Template]:
    """Give the one template that a file holds; run the file unless this process has.

    Parameters
    ----------
    file : TemplateFile
    title : str
        What the part sheet or the record calls the template.

    Raises
    ------
    TrustError
        If nobody said yes to this text.
    PartError
        If it cannot be run, holds no template or several, or one of another title.
    """
    from fitkit.parts.contract import Template

    refuse_untrusted(file)
    module = _module_of(file)
    found = [
        thing
        for thing in vars(module).values()
        if isinstance(thing, type)
        and issubclass(thing, Template)
        and thing.__module__ == module.__name__
        and getattr(thing, "title", None)
    ]
    found = list(dict.fromkeys(found))  # one class may have two names
    if not found:
        raise PartError(
            "holds no template",
            where=file.shown,
            code="template.none-in-file",
            remedy="Derive one class from fitkit.parts.Template, with title = '...' in it.",
        )
    if len(found) > 1:
        raise PartError(
            f"holds {len(found)} templates: {', '.join(cls.__name__ for cls in found)}",
            where=file.shown,
            code="template.several-in-file",
            remedy="Keep one template in a file; a base that they share needs no title.",
        )
    kind = found[0]
    if kind.title != title:
        raise PartError(
            f"holds the template {kind.title!r}, not {title!r}",
            where=file.shown,
            code="template.other-title",
            remedy=f'Write template = "{kind.title}" in the part sheet, or change the title.',
        )
    return kind


@contextmanager
def fault_of_file(file: TemplateFile | None) -> Iterator[None]:
    """Tell what a template file raises as one message with file and line.

    Without a file, errors go through: they are not the user's code.

    Raises
    ------
    PartError
        In place of any error that is not fitkit's.
    """
    try:
        yield
    except FitkitError:
        raise
    except Exception as error:
        if file is None:
            raise
        raise _told(file, error) from error


def known_files() -> tuple[TemplateFile, ...]:
    """Template files that this process has run, for a process that it starts."""
    return tuple(_files.values())


def brought_along(files: Iterable[TemplateFile]) -> None:
    """Run the files that the process which started this one has run already."""
    for file in files:
        _module_of(file)


def _module_of(file: TemplateFile) -> ModuleType:
    name = f"{MODULE}{file.sha256}"
    with _lock:
        if name in _files:
            return sys.modules[name]
        place = _code_name(file)
        spec = spec_from_file_location(name, place, loader=_Text(file))
        assert spec is not None  # a loader was given
        assert spec.loader is not None
        module = module_from_spec(spec)
        sys.modules[name] = module  # pydantic looks up annotations there
        try:
            spec.loader.exec_module(module)
        except (Exception, SystemExit) as error:
            del sys.modules[name]
            raise _told(file, error) from error
        except BaseException:
            del sys.modules[name]
            raise
        _files[name] = file
        return module


class _Text(ExecutionLoader):
    """Loads a module from a text at hand."""

    def __init__(self, file: TemplateFile) -> None:
        self._file = file

    def get_filename(self, fullname: str) -> str:
        return _code_name(self._file)

    def get_source(self, fullname: str) -> str:
        return self._file.text.removeprefix("\ufeff")

    def is_package(self, fullname: str) -> bool:
        return False


def _code_name(file: TemplateFile) -> str:
    return str(file.path) if file.path else f"<{file.shown}>"


def _told(file: TemplateFile, error: BaseException) -> PartError:
    """Say an error of a template file with the line that it came from."""
    code = _code_name(file)
    if isinstance(error, SyntaxError) and error.filename == code:
        line, said = error.lineno, error.msg
    else:
        frames = traceback.extract_tb(error.__traceback__)
        line = next((f.lineno for f in reversed(frames) if f.filename == code), None)
        said = str(error)
    return PartError(
        f"{type(error).__name__}: {said}",
        where=f"{file.shown}, line {line}" if line else file.shown,
        code="template.own-code",
        remedy="Correct the template file.",
    )
