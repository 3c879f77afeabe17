"""The part sheet: one TOML file that says which readings become which part, and how.

A sheet names its readings, the printer's profile, a template and its parameters (numbers with
units, or expressions of measured features), the wanted fits, the use that the part is put to, and
the files wanted. This file reads and writes sheets; what they mean is worked out in `flow`.
"""

from __future__ import annotations

from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Literal

from pydantic import (
    AfterValidator,
    BeforeValidator,
    ConfigDict,
    Field,
    PrivateAttr,
    field_serializer,
    model_validator,
)

from fitkit.checks.context import Prices, Use
from fitkit.core.errors import FitkitError, SheetError
from fitkit.core.models import StrictModel, load_model, load_toml
from fitkit.core.units import to_mm
from fitkit.export.formats import format_named, usual_formats
from fitkit.workshop import PrinterChoice, Workshop, nearest, workshop_of

if TYPE_CHECKING:
    from collections.abc import Mapping

    from fitkit.parts.contract import Template
    from fitkit.parts.split import Split
    from fitkit.parts.trust import TemplateFile

__all__ = ["Finish", "FitWish", "PartSheet", "PrinterChoice", "load_sheet", "save_sheet"]

# A sheet of one part is a page; more is a mistake or an attack.
MAX_BYTES = 1_000_000


class FitWish(StrictModel):
    """What a fit should do: a wanted behaviour, or a gap of one's own.

    Attributes
    ----------
    behaviour : str or None
        How the two are to go together, such as ``slides``.
    gap : str or None
        The size of the outer part less that of the inner one, with its unit.
    """

    behaviour: str | None = None
    gap: str | None = None

    @model_validator(mode="after")
    def _just_one(self) -> FitWish:
        if (self.behaviour is None) == (self.gap is None):
            raise ValueError("give either behaviour or gap")
        return self


class MeasuredObject(StrictModel):
    """What the thing that was read is made of, so that warm readings are brought to 20 °C.

    Attributes
    ----------
    material : str
        Name of a printed plastic, or any name beside `per_k`.
    per_k : float or None, 1/K
        Coefficient of linear expansion; left out, that of the material is taken from the table of
        printed plastics.
    u_per_k : float, 1/K
        Its standard uncertainty.
    """

    material: str
    per_k: float | None = Field(default=None, gt=0, lt=1e-3)
    u_per_k: float = Field(default=0.0, ge=0, lt=1e-3)


def _length(value: object) -> object:
    """Refuse what is not a length, and keep it as it was typed."""
    to_mm(value)
    return value


class Finish(StrictModel):
    """A coat of resin or paint, as a sheet's ``[finish]`` table declares it.

    Attributes
    ----------
    coat : str or None
        Its thickness on one face, with a unit; None for no coat.
    u : str
        Standard uncertainty of that thickness, with a unit.
    kind : {"resin", "paint"}
        What it is.
    """

    coat: Annotated[str | None, BeforeValidator(_length)] = None
    u: Annotated[str, BeforeValidator(_length)] = "0 mm"
    kind: Literal["resin", "paint"] = "paint"


def _known_format(name: str) -> str:
    """Refuse a file format that has no writer."""
    format_named(name)
    return name


class SplitWish(StrictModel):
    """A body that is printed in two halves, as a sheet's ``[split]`` table declares it.

    What is left out is proposed: the bodies that do not fit the bed, and the plane that cuts least
    of each so that both halves fit. Places count as the body lies on the bed.

    Attributes
    ----------
    body : str
        Which body; all that do not fit the bed if empty.
    along : {"x", "y", "z"} or None
        Axis that the plane is square to.
    at : str or None
        From the body's lowest point on that axis, with a unit.
    joint : {"dovetail", "dowels", "tongue and groove"} or None
        How the halves go together; dovetails in an upright plane and dowels in a level one if None.
    tail : str
        Width of a dovetail at its head, with a unit.
    deep : str
        How far a dovetail reaches, with a unit.
    dowel : str
        The thicker of two pins that are bought, with a unit; the other is 1 mm thinner.
    dowel_length : str
        Length of both pins, with a unit.
    tongue : str
        Thickness that a tongue has in walls of this part, with a unit, for its compensation.
    screw : {"M2", "M2.5", "M3", "M4", "M5", "M6"} or None
        Two screws across an upright plane besides the joint; none if None.
    screw_into : {"plastic", "insert"}
        What the screws go into.
    """

    body: str = ""
    along: Literal["x", "y", "z"] | None = None
    at: Annotated[str | None, BeforeValidator(_length)] = None
    joint: Literal["dovetail", "dowels", "tongue and groove"] | None = None
    tail: Annotated[str, BeforeValidator(_length)] = "14 mm"
    deep: Annotated[str, BeforeValidator(_length)] = "7 mm"
    dowel: Annotated[str, BeforeValidator(_length)] = "5 mm"
    dowel_length: Annotated[str, BeforeValidator(_length)] = "16 mm"
    tongue: Annotated[str, BeforeValidator(_length)] = "1.6 mm"
    screw: Literal["M2", "M2.5", "M3", "M4", "M5", "M6"] | None = None
    screw_into: Literal["plastic", "insert"] = "plastic"

    @model_validator(mode="after")
    def _within_bounds(self) -> SplitWish:
        for name, low, high in (
            ("tail", 5.0, 60.0),
            ("deep", 2.0, 30.0),
            ("dowel", 3.0, 20.0),
            ("dowel_length", 6.0, 80.0),
            ("tongue", 0.8, 10.0),
        ):
            if not low <= to_mm(getattr(self, name)) <= high:
                raise ValueError(f"{name} is not between {low:g} and {high:g} mm")
        return self

    def meant(self) -> Split:
        """Give it in mm."""
        from fitkit.parts.split import Split

        return Split(
            body=self.body,
            along=self.along,
            at_mm=None if self.at is None else to_mm(self.at),
            joint=self.joint,
            tail_mm=to_mm(self.tail),
            deep_mm=to_mm(self.deep),
            dowel_mm=to_mm(self.dowel),
            dowel_length_mm=to_mm(self.dowel_length),
            tongue_mm=to_mm(self.tongue),
            screw=self.screw,
            screw_into=self.screw_into,
        )


class Outputs(StrictModel):
    """Which files to make, and where.

    Attributes
    ----------
    files : tuple of str
        Formats, by the names that ``fitkit make`` knows.
    folder : str or None
        Where the files go; the workshop's folder if not given.
    """

    files: tuple[Annotated[str, AfterValidator(_known_format)], ...] = usual_formats()
    folder: str | None = None


def _template_or_carrier(schema: dict[str, Any]) -> None:
    """Say to editors that one of the two is needed."""
    schema["required"].remove("template")
    schema["anyOf"] = [{"required": ["template"]}, {"required": ["carrier"]}]


class PartSheet(StrictModel):
    """A part sheet's content; paths in it count from the sheet's own folder.

    Attributes
    ----------
    schema_version : int
        Form of the file.
    title : str
        The maker's name for the part.
    template : str
        Title of a template; that of the carrier where `carrier` is given.
    carrier : str or None
        Title of what carries several things, such as ``case``; then `things` lists them.
    things : tuple of dict
        One for each: its `name`, how it is `held`, its `place`, and its own values, as under
        `values`; `item` names the item of the readings whose features its expressions mean first.
    readings : str, list of str or None
        File, or files, of readings whose features the expressions name.
    unit : str or None
        Unit of bare numbers in the readings whose unit cell is empty.
    decimal : {".", ","} or None
        Decimal sign of the readings; the workshop's habit if not given, else found from each file.
    item : str or None
        Only the readings of this item of the files; all if not given.
    piece : str or None
        Name of a size that must fit: only the piece of the part that decides it is made, to be
        tried before the whole part is printed. What is judged on it counts for the part.
    keep_fitted : bool
        A size that fitted as wanted is drawn as it was then, as long as what it rests on is the
        same; False for sizes that are always calculated again.
    template_file : str or None
        File of one's own that holds this template; without it, the template is a shipped one, a
        registered one, or that of an installed package.
    thing : MeasuredObject or None
        Key ``object``: what was read is made of; without it, temperatures in the readings are not
        acted on, and the estimates say so.
    values : dict
        Parameters of the template.
    fits : dict of str to FitWish
        By fit size or by pair.
    mirrored : bool
        The part is made as its mirror image, the other one of a pair; its letters stay readable.
    split : SplitWish or None
        A body that is printed in two halves; an empty table has all proposed.
    finish : Finish
        A resin or paint coat.
    use : Use
        Material, handling, heat and the like: limits and cautions of the checks. Handling that
        the sheet does not name is the workshop's.
    prices : Prices or None
        Currency, tariff and the like, if the cost is wanted; None for the workshop's.
    printer : PrinterChoice or None
        The workshop's usual printer if None.
    instruments : str or None
        File of instruments; the workshop's if not given.
    journal : str or None
        Folder of the journal; the workshop's if not given.
    outputs : Outputs
        Files wanted.
    folder : Path
        Where the sheet lies; not written.
    workshop_named : Path or None
        A workshop named by hand, which wins over the one that the folder belongs to; not written.
    """

    model_config = ConfigDict(json_schema_extra=_template_or_carrier)

    schema_version: Literal[1] = Field(default=1, alias="schema")
    title: str = Field(min_length=1, max_length=80)
    template: str
    carrier: str | None = None
    readings: str | tuple[str, ...] | None = None
    item: str | None = None
    template_file: str | None = Field(default=None, min_length=1)
    unit: str | None = None
    decimal: Literal[".", ","] | None = None
    instruments: str | None = None
    journal: str | None = None
    printer: PrinterChoice | None = None
    thing: MeasuredObject | None = Field(default=None, alias="object")
    values: dict[str, Any] = Field(default_factory=dict)
    things: tuple[dict[str, Any], ...] = ()
    fits: dict[str, FitWish] = Field(default_factory=dict)
    piece: str | None = Field(default=None, min_length=1)
    keep_fitted: bool = True
    mirrored: bool = False
    split: SplitWish | None = None
    finish: Finish = Finish()
    use: Use = Use()
    prices: Annotated[Prices | None, BeforeValidator(lambda value: value or None)] = None
    outputs: Outputs = Outputs()
    folder: Path = Field(default=Path(), exclude=True)
    workshop_named: Path | None = Field(default=None, exclude=True)
    _held: TemplateFile | None = PrivateAttr(default=None)

    @model_validator(mode="before")
    @classmethod
    def _carrier_is_the_template(cls, content: Any) -> Any:
        """Take a carrier's title as the template's; a sheet names one of the two."""
        if not isinstance(content, dict) or content.get("carrier") is None:
            if isinstance(content, dict) and content.get("things"):
                raise SheetError(
                    "things need something that carries them",
                    at=("things",),
                    code="flow.things-without-carrier",
                    remedy='Write carrier = "case" in place of the template.',
                )
            return content
        if content.get("template") not in (None, content["carrier"]):
            raise SheetError(
                f"it says {content['carrier']!r} beside the template {content['template']!r}",
                at=("carrier",),
                code="flow.carrier-and-template",
                remedy="Keep one of the two.",
            )
        return content | {"template": content["carrier"]}

    @field_serializer("finish", "use", "prices")
    def _as_declared(self, section: StrictModel | None) -> dict[str, Any]:
        """Write what the sheet says, and not what it leaves to the workshop or to the defaults."""
        return section.model_dump(mode="json", exclude_unset=True) if section else {}

    @property
    def readings_files(self) -> tuple[str, ...]:
        """The files of readings as the sheet names them."""
        if self.readings is None:
            return ()
        return (self.readings,) if isinstance(self.readings, str) else self.readings

    @property
    def readings_paths(self) -> tuple[Path, ...]:
        """Where these files are: beside the sheet, or else in the workshop's own folder."""
        return tuple(
            nearest(self.path(name), self.workshop.root / name) for name in self.readings_files
        )

    def path(self, name: str) -> Path:
        """Resolve a path of the sheet."""
        return self.folder / name

    @cached_property
    def workshop(self) -> Workshop:
        """The workshop that the sheet belongs to, looked for once.

        Raises
        ------
        WorkshopError, FaultList
            If a workshop is named that is not there, or its file cannot be used.
        """
        return workshop_of(self.folder, named=self.workshop_named)

    @property
    def journal_folder(self) -> Path:
        """The journal that the sheet names, else the workshop's."""
        return self.path(self.journal) if self.journal else self.workshop.journal

    @property
    def instruments_file(self) -> Path | None:
        """The instruments that the sheet names, else the workshop's; None if it has none yet."""
        if self.instruments:
            return self.path(self.instruments)
        path = self.workshop.instruments
        return path if path.is_file() else None

    @property
    def printer_to_draw_for(self) -> PrinterChoice:
        """The printer that the sheet names, else the workshop's usual one; its paths are whole.

        A profile is looked for beside whoever names it, then in the workshop's folder of profiles.
        """
        chosen = self.printer or self.workshop.printer
        folder = self.folder if self.printer else self.workshop.root
        if chosen.coupon:
            return PrinterChoice(coupon=str(folder / chosen.coupon))
        if chosen.profile:
            beside, kept = folder / chosen.profile, self.workshop.profile_file(chosen.profile)
            return PrinterChoice(
                profile=str(beside if beside.exists() or not kept.exists() else kept)
            )
        return chosen

    @property
    def made_folder(self) -> Path:
        """Where the files go: the folder that the sheet names, else the workshop's."""
        return self.path(self.outputs.folder) if self.outputs.folder else self.workshop.made

    def template_text(self) -> TemplateFile | None:
        """Read the template file that the sheet names, without running it; None if it names none.

        Raises
        ------
        PartError
            If it cannot be read.
        """
        from fitkit.parts.trust import read_template_file

        if self._held is not None or self.template_file is None:
            return self._held
        return read_template_file(self.path(self.template_file))

    def with_thing(self, name: str, **values: Any) -> PartSheet:
        """Give the sheet with other values of one of its things.

        Parameters
        ----------
        name : str
            Of the thing.
        **values
            As the sheet has them under ``[[things]]``.

        Returns
        -------
        PartSheet

        Raises
        ------
        SheetError
            If no thing has the name: names those that there are.
        """
        names = [str(thing.get("name")) for thing in self.things]
        if name not in names:
            raise SheetError(
                f"no thing is called {name!r}",
                where=self.title,
                at=("things",),
                code="flow.no-such-thing",
                remedy=f"There are: {', '.join(names) or 'none'}.",
            )
        changed = [
            thing | values if thing.get("name") == name else dict(thing) for thing in self.things
        ]
        return self.changed(things=changed)

    def holding(self, file: TemplateFile | None) -> PartSheet:
        """Give the sheet with its template as it was read, whatever becomes of the file."""
        copy = self.model_copy()
        copy._held = file
        return copy

    def kind(self) -> type[Template]:
        """Find the template that the sheet names.

        Raises
        ------
        PartError
            If there is none of that title, or the template file holds another or cannot be run.
        TrustError
            If nobody has said yes to running the template file.
        """
        from fitkit.parts import template
        from fitkit.parts.own_file import template_of_file

        file = self.template_text()
        if file is None:
            return template(self.template)
        return template_of_file(file, title=self.template)

    def changed(self, **keys: Any) -> PartSheet:
        """Give the sheet with other values of some keys, checked as a sheet that is read.

        Parameters
        ----------
        **keys
            As a part sheet holds them; of a section such as `use`, what is not named stays.

        Returns
        -------
        PartSheet

        Raises
        ------
        FaultList
            All keys at fault.

        Examples
        --------
        >>> sheet = PartSheet(title="foot", template="spacer", use={"watts": 2})
        >>> sheet.changed(use={"handling": "handled"}).use.watts
        2.0
        """
        content = self.content()
        for key, value in keys.items():
            kept = content.get(key)
            if isinstance(kept, dict) and isinstance(value, dict):
                content[key] = kept | value
            else:
                content[key] = value
        again = sheet_of(content, path=self.folder / "sheet.toml", workshop=self.workshop_named)
        return again.holding(self._held)

    def content(self) -> dict[str, Any]:
        """Give the sheet as plain data, ready for a TOML file or a record."""
        content = self.model_dump(mode="json", by_alias=True, exclude_none=True)
        if not self.mirrored:
            content.pop("mirrored")
        if self.split is not None:  # an empty table asks for a proposal
            content["split"] = self.split.model_dump(mode="json", exclude_unset=True)
        if self.carrier is None:
            content.pop("things")
        else:
            content.pop("template")
            content["things"] = content.pop("things")  # tables come last in a file
        return content

    @property
    def parameters(self) -> dict[str, Any]:
        """What the template is given: the values, and the things where it carries some."""
        if self.carrier is None:
            return dict(self.values)
        return self.values | {"things": [dict(thing) for thing in self.things]}

    def with_parameters(self, parameters: Mapping[str, Any]) -> PartSheet:
        """Give the sheet with other values and things.

        Parameters
        ----------
        parameters : mapping
            As `parameters` gives them.

        Returns
        -------
        PartSheet
        """
        values = dict(parameters)
        update: dict[str, Any] = {"values": values}
        if self.carrier is not None:
            update["things"] = tuple(values.pop("things", ()))
        return self.model_copy(update=update)


def load_sheet(path: str | Path, *, workshop: str | Path | None = None) -> PartSheet:
    """Read a part sheet.

    Parameters
    ----------
    path : path
    workshop : path, optional
        A workshop that wins over the one in whose folders the sheet lies.

    Returns
    -------
    PartSheet

    Raises
    ------
    SheetError
        If the file is missing, too large, or not TOML (with line and column).
    FaultList
        All faults of its keys at once.
    """
    from fitkit.core.typed import command

    path = Path(path)
    content = load_toml(
        path,
        kind_of_file="part sheet",
        error=SheetError,
        max_bytes=MAX_BYTES,
        if_absent=f"Check the name, or make one with: {command('new', 'NAME OF THE PART')}",
    )
    return sheet_of(content, path=path, workshop=workshop)


def sheet_of(
    content: dict[str, Any], *, path: Path, workshop: str | Path | None = None
) -> PartSheet:
    """Check a sheet's content that was read from `path`.

    Raises
    ------
    FaultList
        A `SheetError` for each key at fault.
    """
    places = {
        "folder": path.parent,
        "workshop_named": None if workshop is None else Path(workshop),
    }
    content = {key: value for key, value in content.items() if key not in places}
    return load_model(
        content | places, PartSheet, kind_of_file="part sheet", error=SheetError, file=path
    )


def save_sheet(sheet: PartSheet, path: str | Path, *, like: str = "") -> None:
    """Write a part sheet, whole or not at all.

    Parameters
    ----------
    sheet : PartSheet
    path : path
        An older file of that name is replaced.
    like : str
        Text of the sheet as it was before: its comments and its order are kept, and only what has
        changed is written differently. Empty for a sheet that is written for the first time.
    """
    from fitkit.core.files import write_atomic

    write_atomic(Path(path), _text_like(sheet, like))


def _text_like(sheet: PartSheet, like: str) -> str:
    """Write a sheet as TOML, with the comments of an older text of it where it can be done."""
    import tomllib

    import tomlkit

    from fitkit.core.toml_text import changed_text

    content = sheet.content()
    if like:
        said = sheet.model_dump(mode="json", by_alias=True, exclude_none=True, exclude_unset=True)
        try:
            text = changed_text(like, content, said)
            again = sheet_of(tomllib.loads(text), path=sheet.folder / "sheet.toml")
        except (ValueError, FitkitError):  # not the text of a sheet
            return tomlkit.dumps(content)
        if again.content() == content:
            return text
    return tomlkit.dumps(content)
