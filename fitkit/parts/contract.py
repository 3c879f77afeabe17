"""What a template is and what it builds: the contract between parts, checks, export and views.

A template is a pydantic model of its parameters (lengths typed with units, with bounds and help)
with two methods: `Template.must_fit` declares the sizes that must fit, and `Template.build` makes a
`Part` with those sizes drawn as compensation says. A part holds solids for the kernel and, beside
them, the few plain numbers that checks need (walls, arms, lugs ...), so that no check has to guess
them back from a shape.

This file loads no CAD kernel: solids are only named in annotations.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import (
    TYPE_CHECKING,
    Annotated,
    Any,
    ClassVar,
    Literal,
    Protocol,
    Self,
    cast,
    get_args,
    get_origin,
)

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, ValidationError

from fitkit.core.errors import PartError
from fitkit.core.models import faults_of
from fitkit.core.sizes import OUTSIDE, Axis, SizeKind, kind_of
from fitkit.parts.fit_size import FitSize, SizeSet
from fitkit.parts.measuring import FromReadings, Measuring, Reading, UsedWhen

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from build123d import Solid

    from fitkit.core.finding import Finding
    from fitkit.solids.mesh import Mesh

__all__ = [
    "Angle",
    "Area",
    "Axis",
    "Body",
    "Boss",
    "Bridge",
    "Builder",
    "Buy",
    "FitSize",
    "Flat",
    "Held",
    "KeyDimension",
    "Length",
    "Lug",
    "Part",
    "Point",
    "SizeKind",
    "SizeSet",
    "SnapArm",
    "Template",
    "Vent",
    "Wall",
    "is_length",
    "size",
    "unit_of",
]

Point = tuple[float, float, float]


def _to_mm(value: object) -> float:
    from fitkit.core.units import to_mm

    return to_mm(value)


def _to_degrees(value: object) -> float:
    from fitkit.core.units import to_degrees

    return to_degrees(value)


def _to_mm2(value: object) -> float:
    from fitkit.core.units import to_mm2

    return to_mm2(value)


# A length parameter: typed with its unit ("2.4 mm", "0.1 in", a pint quantity, an estimate), held
# as mm.
Length = Annotated[float, BeforeValidator(_to_mm)]
# An angle parameter: typed with its unit ("30 deg"), held in degrees.
Angle = Annotated[float, BeforeValidator(_to_degrees)]


# An area parameter: typed with its unit ("300 mm²", "3 cm^2"), held in mm².
Area = Annotated[float, BeforeValidator(_to_mm2)]
_UNITS = {_to_mm: "mm", _to_degrees: "deg", _to_mm2: "mm²"}


def unit_of(annotation: object, metadata: Sequence[object] = ()) -> str:
    """Give the unit of a parameter's type, of the items of a row, or of what it is if not None.

    Returns
    -------
    str
        ``mm``, ``deg`` or ``mm²``; empty for what has no unit.
    """
    for item in metadata:
        if isinstance(item, BeforeValidator) and item.func in _UNITS:
            return _UNITS[item.func]
    if get_origin(annotation) is Annotated:
        return unit_of(float, get_args(annotation)[1:])
    return next(filter(None, map(unit_of, get_args(annotation))), "")


def is_length(annotation: object, metadata: Sequence[object] = ()) -> bool:
    """Tell whether a parameter's type is `Length`, a row of them, or `Length` or None."""
    return unit_of(annotation, metadata) == "mm"


def size(
    default: str, *, low: str, high: str, help: str, group: str = "Sizes", measured: bool = False
) -> Any:
    """Declare a length or angle parameter with its bounds, help and place in the panel.

    Parameters
    ----------
    default, low, high : str
        With unit, as a user would type them; bounds are inclusive.
    help : str
        One plain sentence.
    group : str
        Heading under which a panel lists it.
    measured : bool
        True if the value is a size of the real object, which comes from readings.

    Returns
    -------
    pydantic field
        A float in mm, or in degrees; typed `Any`, since a field stands where its value will.
    """
    from fitkit.core.units import parse_parameter

    low_value, high_value = parse_parameter(low), parse_parameter(high)
    return Field(
        default=parse_parameter(default),
        ge=low_value,
        le=high_value,
        description=help,
        json_schema_extra={"group": group, "measured": measured, "typed_default": default},
    )


def usual_size(usual: str, *, low: str, high: str, help: str, group: str = "Sizes") -> Any:
    """Declare a length that follows from the other parameters where it is not given.

    What is usual for a large thing need not go with a small one: a template works such a length
    out, so that nobody is refused for a value that they have not typed.

    Parameters
    ----------
    usual : str
        With unit: what it mostly is, as a new sheet offers it.
    low, high : str
        Bounds of what is given, with unit; inclusive.
    help : str
        One plain sentence, which says what counts where it is not given.
    group : str
        Heading under which a panel lists it.

    Returns
    -------
    pydantic field
        None where it is not given; typed `Any`, since a field stands where its value will.
    """
    from fitkit.core.units import parse_parameter

    return Field(
        default=None,
        ge=parse_parameter(low),
        le=parse_parameter(high),
        description=help,
        json_schema_extra={"group": group, "measured": False, "usual": usual},
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Body:
    """One solid of a part, in its place in the assembly.

    Attributes
    ----------
    name : str
        Plain words: ``tray``, ``lid``.
    solid : build123d.Solid
        In assembly position, mm.
    print_turn : tuple of 3 floats, degrees
        Turn about x, then y, then z, that lays the body as it should be printed; it is then
        dropped to z = 0.
    insertion : point or None
        For a ghost that goes in another way than the part's `Part.insertion`: its own direction.
    mesh, coarse : Mesh or None
        The triangles of a body that is made of a given mesh, and a coarser copy for views and
        checks; its `solid` then refuses to be used. `parts.meshed.mesh_of` gives the mesh of any
        body.
    """

    name: str
    solid: Solid
    print_turn: Point = (0.0, 0.0, 0.0)
    insertion: Point | None = None
    mesh: Mesh | None = None
    coarse: Mesh | None = None

    @classmethod
    def of_mesh(
        cls, name: str, mesh: Mesh, *, coarse: Mesh, print_turn: Point = (0.0, 0.0, 0.0)
    ) -> Body:
        """Make a body that is triangles and has no exact solid.

        Parameters
        ----------
        name : str
        mesh : Mesh
            Closed, in assembly position, mm: what files get.
        coarse : Mesh
            Of fewer triangles, for views and checks.
        print_turn : tuple of 3 floats, degrees

        Returns
        -------
        Body
        """
        solid = cast("Solid", _NoSolid(name))
        return cls(name=name, solid=solid, print_turn=print_turn, mesh=mesh, coarse=coarse)


class _NoSolid:
    """Stands where a body of triangles has no solid: whoever asks it for anything is told so."""

    def __init__(self, name: str) -> None:
        self._name = name

    def __getattr__(self, what: str) -> Any:
        if what.startswith("__"):
            raise AttributeError(what)
        raise PartError(
            "it is made of triangles, and this needs exact faces",
            where=self.__dict__.get("_name"),
            code="part.no-exact-solid",
            remedy="Take its 3MF or STL file.",
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class KeyDimension:
    """A size that a person would check on the printed part, with the two points it spans.

    Attributes
    ----------
    name : str
        Plain words; equal to a `FitSize` name where the two are the same size.
    value_mm : float, mm
        As drawn.
    body : str
        The body it is on.
    start, end : points, mm
        In assembly position; ``|end - start| == value_mm`` within rounding.
    kind : SizeKind
        What jaws would read it with.
    """

    name: str
    value_mm: float
    body: str
    start: Point
    end: Point
    kind: SizeKind = OUTSIDE

    @classmethod
    def of(cls, fit: FitSize, *, body: str, start: Point, end: Point) -> KeyDimension:
        """Show where a size that must fit is on the part; its name, kind and length are its own.

        Parameters
        ----------
        fit : FitSize
            As drawn.
        body : str
            Name of the body that it is measured on.
        start, end : (x, y, z), mm
            Where the two faces lie that calipers touch, in assembly position.

        Returns
        -------
        KeyDimension
        """
        return cls(
            name=fit.name, value_mm=fit.drawn_mm, body=body, start=start, end=end, kind=fit.kind
        )

    @classmethod
    def across(
        cls, fit: FitSize, at: Point, along: Literal["x", "y", "z"] = "x", *, body: str = ""
    ) -> KeyDimension:
        """Show a size that must fit by its middle: its two ends follow from its drawn length.

        Parameters
        ----------
        fit : FitSize
            As drawn.
        at : (x, y, z), mm
            Its middle, in assembly position.
        along : {"x", "y", "z"}
            The direction in which it spans.
        body : str
            Name of the body that it is measured on.

        Returns
        -------
        KeyDimension

        Examples
        --------
        >>> shown = KeyDimension.across(FitSize(nominal_mm=4.0, kind=OUTSIDE), (1, 2, 3), "y")
        >>> shown.start, shown.end
        ((1, 0.0, 3), (1, 4.0, 3))
        """
        x, y, z = at
        half = fit.drawn_mm / 2
        u, v, w = (half if axis == along else 0 for axis in ("x", "y", "z"))
        return cls.of(fit, body=body, start=(x - u, y - v, z - w), end=(x + u, y + v, z + w))

    def __post_init__(self) -> None:
        """Take the name of a kind, too."""
        object.__setattr__(self, "kind", kind_of(self.kind))


# How an edge of a wall is held. "joined" is one piece with a wall of like thickness, which gives a
# little: both clamped and simple are tried, and the worse counts.
Held = Literal["clamped", "joined", "simple", "free"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Flat:
    """The rectangle of a wall that a finger can press, with what holds its edges.

    Attributes
    ----------
    along_mm, across_mm : float, mm
        Free sides between what holds them. Where the wall stands as it is printed, `along_mm` runs
        along its layers and `across_mm` is its height.
    held : tuple of 4 words
        The edges at both ends of `along_mm`, then at both ends of `across_mm` (foot, then top):
        ``clamped``, ``joined``, ``simple`` or ``free``.
    layers : {"in its plane", "across it"}
        As printed: a wall that lies has its layers in its plane, and bending pulls along them; a
        wall that stands has them across it, and bending over its height pulls them apart.
    open_held : tuple of 4 words, or None
        The same while a lid or cover is off, if that is another matter.
    backed : bool
        It stands on something, so that no finger bends it.
    open_share : float
        Share of the section through its middle that cut-outs take away, 0 to below 1.
    """

    along_mm: float
    across_mm: float
    held: tuple[Held, Held, Held, Held]
    layers: Literal["in its plane", "across it"] = "in its plane"
    open_held: tuple[Held, Held, Held, Held] | None = None
    backed: bool = False
    open_share: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Wall:
    """A wall's least thickness.

    Attributes
    ----------
    name, body : str
    thickness_mm : float, mm
    at : point, mm
        On the wall, in assembly position.
    flat : Flat or None
        What a finger can press of it; None for a rib, rim or lip that no finger can press in.
    span_mm : float or None, mm
        The short form of `flat`: a square of this side, held simply, with its layers across it.
    """

    name: str
    body: str
    thickness_mm: float
    at: Point
    flat: Flat | None = None
    span_mm: float | None = None

    @property
    def pressed(self) -> Flat | None:
        """What a finger can press: `flat`, or the square that `span_mm` stands for."""
        if self.flat is not None or self.span_mm is None:
            return self.flat
        held: tuple[Held, Held, Held, Held] = ("simple", "simple", "simple", "simple")
        return Flat(along_mm=self.span_mm, across_mm=self.span_mm, held=held, layers="across it")


@dataclass(frozen=True, slots=True, kw_only=True)
class SnapArm:
    """A cantilever that bends when the parts go together.

    `layers_across` is True if, as printed, the layers cut across the arm. `taper` is tip over root
    thickness. `along` is the direction from root to tip in assembly position, if known: with it
    the checks can judge other ways to lay the body. `bending_thickness_mm` and `bending_width_mm`
    are those of the even rectangle that bends as the arm does, where its own section is another:
    a segment of a ring, or one that changes along the arm (`arms.bends_as`). `root_radius_mm` is
    the radius of the inside corner where the arm leaves its wall, 0 or little for one that is drawn
    sharp (`arms.notch_factor`); `root_thickness_mm` is the arm's thickness there, where it is not
    the one that bends.
    """

    name: str
    body: str
    length_mm: float
    thickness_mm: float
    width_mm: float
    deflection_mm: float
    at: Point
    taper: float = 1.0
    lead_angle_deg: float = 30.0
    release_angle_deg: float = 45.0
    layers_across: bool = False
    repeated: bool = True
    count: int = 1
    along: Point | None = None
    bending_thickness_mm: float | None = None
    bending_width_mm: float | None = None
    root_radius_mm: float | None = None
    root_thickness_mm: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Lug:
    """A screwed-down ear: a plate standing out from a wall, with a hole.

    `along` is the direction from wall to hole in assembly position, if known.
    """

    name: str
    body: str
    reach_mm: float
    width_mm: float
    thickness_mm: float
    hole_mm: float
    at: Point
    layers_across: bool = False
    along: Point | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Boss:
    """A post that takes a screw or insert.

    `insert_mm` is the hole's diameter that a heat-set or pressed insert grips, None for a screw
    that forms its own thread.
    """

    name: str
    body: str
    outer_mm: float
    hole_mm: float
    depth_mm: float
    screw_mm: float
    at: Point
    insert_mm: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Vent:
    """Free opening for air, mm², with its middle; low openings feed, high ones let out."""

    name: str
    body: str
    free_area_mm2: float
    height_mm: float
    at: Point


@dataclass(frozen=True, slots=True, kw_only=True)
class Warm:
    """What gives off heat in a part: its middle, in assembly position, and half of its sides, mm.

    The middle's height is that of its warm face, from which the air rises.
    """

    at: Point
    half_x_mm: float
    half_y_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Bridge:
    """A span that must print over air."""

    name: str
    body: str
    span_mm: float
    at: Point


@dataclass(frozen=True, slots=True, kw_only=True)
class Buy:
    """Something that has to be there before the part can be put together.

    Attributes
    ----------
    what : str
        As a shop or a drawer knows it: ``screw M3 for plastic, 8 mm or longer``.
    count : int
    why : str
        What it is for: ``sound board``.
    """

    what: str
    count: int
    why: str


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Part:
    """What a template built: solids, the measured object's ghost, and the numbers that checks need.

    Attributes
    ----------
    title : str
        Name of this part, in the maker's words.
    template : str
        Title of the template.
    bodies : tuple of Body
        Bodies to print, in assembly position.
    ghosts : tuple of Body
        The measured object, for the preview and the collision check; never exported to print.
    insertion : point or None
        Unit direction in which the ghosts are moved to go in.
    dimensions : tuple of KeyDimension
    walls, arms, lugs, bosses, vents, bridges : tuples
        What the checks look at.
    warm : Warm or None
        Where heat is given off, if the template knows it: vents count by how they lie to it.
    findings : tuple of Finding
        What the build itself had to leave out or shrink.
    cautions : tuple of str
        Names of cautions that what it holds calls for by itself, such as ``battery``.
    buys : tuple of Buy
        Screws, inserts and the like that it is put together with.
    """

    title: str
    template: str
    bodies: tuple[Body, ...]
    ghosts: tuple[Body, ...] = ()
    insertion: Point | None = None
    dimensions: tuple[KeyDimension, ...] = ()
    walls: tuple[Wall, ...] = ()
    arms: tuple[SnapArm, ...] = ()
    lugs: tuple[Lug, ...] = ()
    bosses: tuple[Boss, ...] = ()
    vents: tuple[Vent, ...] = ()
    bridges: tuple[Bridge, ...] = ()
    warm: Warm | None = None
    findings: tuple[Finding, ...] = field(default=())
    cautions: tuple[str, ...] = ()
    buys: tuple[Buy, ...] = ()

    def body(self, name: str) -> Body:
        """Find a body by its name.

        Raises
        ------
        PartError
            If there is none.
        """
        for body in (*self.bodies, *self.ghosts):
            if body.name == name:
                return body
        names = ", ".join(body.name for body in self.bodies)
        raise PartError(
            f"there is no body {name!r}",
            where=self.title,
            code="part.no-body",
            remedy=f"There are: {names}.",
        )


class Builder(Protocol):
    """What builds a part of drawn sizes: a template, or what mirrors or splits its part."""

    def build(self, drawn: Mapping[str, float] | None = None, *, title: str = "") -> Part:
        """Build the part, as `Template.build` does."""


class Template(BaseModel):
    """Base of all templates: a frozen, checked set of parameters that can build a part.

    A subclass sets `title` (its name in sheets and panels), declares parameters with `size` or
    `pydantic.Field(description=..., json_schema_extra={"group": ...})`, and writes `must_fit` and
    `build`. `measuring` says what calipers read for it; `ordered_by` names the command that makes
    it, where that is not a part sheet of one's own; `used_when` names the variants that use a
    parameter which others leave unused. Lengths given to the constructor carry units;
    inside they are floats in mm.
    """

    model_config = ConfigDict(frozen=True, extra="forbid", validate_default=False)

    title: ClassVar[str]
    summary: ClassVar[str] = ""
    measuring: ClassVar[Measuring] = Measuring()
    # What `measuring` says of variants need not be said here again.
    used_when: ClassVar[UsedWhen] = {}
    ordered_by: ClassVar[str] = ""

    label: str = Field(
        default="",
        max_length=80,
        description="Text sunk into the part; its trace code stands beside it, or alone where no "
        "text is given. Empty for none at all.",
        json_schema_extra={"group": "Label"},
    )

    @classmethod
    def how_measured(cls) -> Measuring:
        """Find how the template's object is measured.

        A template that declares nothing gets an outside reading for each parameter of its own that
        is marked as measured.
        """
        if cls.measuring.sizes:
            return cls.measuring
        fields = {
            name: info.description or ""
            for name, info in cls.model_fields.items()
            if isinstance(info.json_schema_extra, dict) and info.json_schema_extra.get("measured")
        }
        return replace(
            cls.measuring,
            readings=tuple(
                Reading(feature=name.replace("_", " "), note=help) for name, help in fields.items()
            ),
            sizes=tuple(FromReadings(parameter=name, text=name) for name in fields),
        )

    @classmethod
    def of(cls, /, **values: object) -> Self:
        """Make a template from values with units, all faults told at once in plain words.

        Raises
        ------
        FaultList
            A `PartError` for each parameter out of bounds, unknown or misspelt.
        """
        try:
            return cls.model_validate(values)
        except ValidationError as error:
            raise faults_of(
                error,
                model=cls,
                error=PartError,
                where=cls.title,
                thing="parameter",
                unit=lambda path: _unit(cls, path),
            ) from error

    def with_letters_mirrored(self) -> Self:
        """Give the same template with its label drawn as in a mirror, for a part to be mirrored."""
        from fitkit.solids.label import mirror_image

        return self.model_copy(update={"label": mirror_image(self.label)})

    def must_fit(self) -> SizeSet:
        """Declare the sizes that must fit, each an attribute of a set; none by default."""
        return SizeSet()

    def fit_sizes(self) -> tuple[FitSize, ...]:
        """Give the sizes that must fit, in the order of declaration."""
        return tuple(self.must_fit())

    def build(self, drawn: Mapping[str, float] | None = None, *, title: str = "") -> Part:
        """Make the part.

        Parameters
        ----------
        drawn : mapping of fit-size name to mm, optional
            Sizes to draw, after gap and compensation. A fit size that is absent is drawn at its
            nominal, with the gap that the template itself sets.
        title : str, optional
            The maker's name for the part; the template's title if empty.

        Returns
        -------
        Part
            With every solid valid and in assembly position.

        Raises
        ------
        PartError
            If the parameters cannot make a part: names the parameter, its value, the bound, what
            to change.
        """
        raise NotImplementedError

    def drawn_sizes(self, drawn: Mapping[str, float] | None) -> dict[str, float]:
        """Fit sizes by name: as drawn where given, at nominal otherwise."""
        sizes = {fit.name: fit.plain_mm for fit in self.fit_sizes()}
        unknown = sorted(set(drawn or ()) - set(sizes))
        if unknown:
            raise PartError(
                f"there is no size {unknown[0]!r} that must fit",
                where=self.title,
                code="part.no-size",
                remedy=f"There are: {', '.join(sizes)}." if sizes else "Leave it out.",
            )
        return sizes | dict(drawn or {})


def _unit(model: type[BaseModel], path: Sequence[int | str]) -> str:
    """Unit of the number at a path of parameters: mm, deg, mm²; empty if it has none."""
    annotation: object = model
    metadata: Sequence[object] = ()
    for step in path:
        if isinstance(step, int):  # one of a list
            annotation, metadata = get_args(annotation)[0], ()
        elif isinstance(annotation, type) and issubclass(annotation, BaseModel):
            if step not in annotation.model_fields:
                return ""
            info = annotation.model_fields[step]
            annotation, metadata = info.annotation, info.metadata
    return unit_of(annotation, metadata)
