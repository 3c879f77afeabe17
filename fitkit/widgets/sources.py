"""Where a panel's values start, and what they mean: a template by itself, or a part sheet.

A `Source` turns typed values into a template and drawn sizes: `TemplateSource` at nominal sizes,
`SheetSource` through readings, fits and the printer's profile. What has no reading yet is drawn at
its default, and named.
"""

from __future__ import annotations

import copy
from dataclasses import asdict, dataclass, field, replace
from typing import TYPE_CHECKING, Any, Protocol

from fitkit.core.format import NOTHING, fit_texts, with_doubt
from fitkit.widgets.fields import fields_of, plain

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from pydantic import BaseModel

    from fitkit.core.format import FitTexts
    from fitkit.flow import FitRow, Inputs, Plan
    from fitkit.flow.sheet import PartSheet
    from fitkit.parts.contract import Builder, Template

__all__ = [
    "SheetSource",
    "Solved",
    "Source",
    "TemplateSource",
    "spelled",
    "value_at",
    "without",
]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Solved:
    """Values that make sense, and what follows from them.

    Attributes
    ----------
    template : Template
    drawn : mapping of fit-size name to mm
    title : str
    rows : tuple of dict
        Fit rows as shown: name, measured, target, drawn, expected, wanted, notes.
    notes : mapping of parameter path to str
        Where a measured parameter comes from.
    basis : str
        What the drawn sizes rest on.
    plan : Plan or None
    waiting : mapping of parameter path to str
        Parameters whose readings are not there yet, drawn at their defaults; a sentence each.
    values : mapping
        What was solved: as typed, without those that wait.
    """

    template: Template
    drawn: Mapping[str, float]
    title: str
    rows: tuple[dict[str, Any], ...] = ()
    notes: Mapping[str, str] = field(default_factory=dict)
    basis: str = ""
    plan: Plan | None = None
    waiting: Mapping[str, str] = field(default_factory=dict)
    values: Mapping[str, Any] = field(default_factory=dict)

    @property
    def builder(self) -> Builder:
        """What builds the part of `drawn`."""
        return self.plan.builder if self.plan else self.template


class Source(Protocol):
    """Where a panel's values start, and what they mean."""

    kind: type[Template]
    title: str
    start: Mapping[str, Any]

    def solve(self, values: Mapping[str, Any]) -> Solved:
        """Work out what to draw; raise `FitkitError` in plain words."""

    def reading_for(self, path: str) -> str:
        """Give the expression of readings that a parameter can follow, empty if there is none."""


class TemplateSource:
    """A template by itself: sizes are drawn as typed.

    Parameters
    ----------
    template : type of Template, or a Template
        Of an instance, its values are the start.
    drawn : mapping of fit-size name to mm, optional
    title : str, optional
    """

    def __init__(
        self,
        template: type[Template] | Template,
        *,
        drawn: Mapping[str, float] | None = None,
        title: str = "",
    ) -> None:
        self.kind: type[Template] = template if isinstance(template, type) else type(template)
        self.start: Mapping[str, Any] = (
            {} if isinstance(template, type) else plain(template, "model")
        )
        self.drawn = dict(drawn or {})
        self.title = title or self.kind.title

    def solve(self, values: Mapping[str, Any]) -> Solved:
        """Check the values; draw every fit size at nominal unless given."""
        template = self.kind.of(**values)
        rows = tuple(
            _plain_row(fit.name, fit.plain_mm, self.drawn.get(fit.name))
            for fit in template.fit_sizes()
        )
        return Solved(
            template=template,
            drawn=self.drawn,
            title=self.title,
            rows=rows,
            basis="No readings and no printer: drawn at nominal unless given.",
            values=values,
        )

    def reading_for(self, path: str) -> str:
        """Give no expression: there are no readings."""
        return ""


class SheetSource:
    """A part sheet: values go through readings, fits and the printer's profile.

    Parameters
    ----------
    sheet : PartSheet
    inputs : Inputs, optional
        Read from the sheet's files if not given.
    trust_template : bool
        Say yes to running the sheet's template file.

    Raises
    ------
    TrustError
        If the sheet names a template file that nobody has said yes to.
    """

    def __init__(
        self, sheet: PartSheet, *, inputs: Inputs | None = None, trust_template: bool = False
    ) -> None:
        from fitkit.flow import read_inputs
        from fitkit.parts.trust import trust_template as say_yes

        own = sheet.template_text()
        if own and trust_template:
            say_yes(own)
        # The fields are those of the file as it was read, so the part stays that of this text.
        self.sheet = sheet.holding(own)
        self.kind = self.sheet.kind()
        self.inputs = inputs or read_inputs(sheet)
        self.title = sheet.title
        self.start: Mapping[str, Any] = sheet.parameters

    def read_again(self) -> None:
        """Take in readings that have changed since."""
        from fitkit.flow import read_inputs

        self.inputs = read_inputs(self.sheet)

    def with_values(self, values: Mapping[str, Any]) -> PartSheet:
        """Give the sheet with other values."""
        return self.sheet.with_parameters(copy.deepcopy(dict(values)))

    def solve(self, values: Mapping[str, Any]) -> Solved:
        """Solve the sheet with these values; what has no reading yet is drawn at its default."""
        from fitkit.flow import solve

        unread = self._unread(self.kind, values, "")
        known = without(values, unread)
        plan = solve(self.with_values(known), self.inputs)
        notes = {
            path: f"{with_doubt(estimate.value_mm, estimate.U95_mm)} mm, from {estimate.name}"
            for path, estimate in plan.parameters.items()
            if estimate.u_mm > 0
        }
        profile = self.inputs.profile
        made = "generic profile, not measured" if profile.generic else f"profile {profile.name}"
        return Solved(
            template=plan.template,
            drawn=plan.drawn,
            title=self.title,
            rows=tuple(_fit_row(row) for row in plan.rows),
            notes=notes,
            basis=f"Drawn for the {made}; ± is for 95 %.",
            plan=plan,
            waiting={path: text for path, text in unread.items() if text},
            values=known,
        )

    def reading_for(self, path: str) -> str:
        """Give the expression of features that a parameter starts with.

        Else the one that its template declares, if each feature in it has a reading; empty if there
        is neither.
        """
        from fitkit.flow.expressions import features_in

        declared = (one.text for one in self.kind.how_measured().sizes if one.parameter == path)
        start = value_at(self.start, path)
        if isinstance(start, str) and features_in(start, self._features()):
            return start
        for text in declared:
            named = features_in(text, self._features())
            if named and all(name in self.inputs.estimates for name in named):
                return text
        return ""

    def features_of(self, paths: Iterable[str], values: Mapping[str, Any]) -> list[str]:
        """Name the features that some parameters rest on, with these values.

        Parameters
        ----------
        paths : iterable of str
        values : mapping

        Returns
        -------
        list of str
            Each once.
        """
        from fitkit.flow.expressions import features_in

        texts = (value_at(values, path) for path in paths)
        found = [
            name
            for text in texts
            if isinstance(text, str)
            for name in features_in(text, self._features())
        ]
        return list(dict.fromkeys(found))

    def _features(self) -> list[str]:
        """Name the features that readings have, then those of the file and the template."""
        table = self.inputs.table
        asked = [] if table is None else [str(name) for name in table.frame["feature"].unique()]
        asked += [one.feature for one in self.kind.how_measured().readings]
        named = {spelled(name): name for name in reversed([*self.inputs.estimates, *asked])}
        return [name for name in reversed(named.values()) if name.strip()]

    def _unread(
        self, model: type[BaseModel], values: Mapping[str, Any], path: str
    ) -> dict[str, str]:
        """Say of each length that follows from readings which of these are missing.

        Of a parameter that the variant does not use, the sentence is empty.
        """
        from fitkit.flow.expressions import features_in

        found: dict[str, str] = {}
        fields = tuple(fields_of(model))
        now = {one.name: values.get(one.name, one.default) for one in fields}
        for one in fields:
            value, here = values.get(one.name), f"{path}{one.name}"
            if one.model is not None and isinstance(value, list):
                for number, item in enumerate(value):
                    found |= self._unread(one.model_of(item), item, f"{here}.{number}.")
            elif one.model is not None and isinstance(value, dict):
                found |= self._unread(one.model, value, f"{here}.")
            elif one.kind == "length" and isinstance(value, str):
                named = features_in(value, self._features())
                missing = [repr(name) for name in named if name not in self.inputs.estimates]
                if missing:
                    found[here] = (
                        f"No reading yet of {' and '.join(missing)}: "
                        f"drawn at {one.default or 'its default'}."
                        if one.used(now)
                        else ""
                    )
        return found


def spelled(name: str) -> str:
    """Spell a feature's name as names are compared: small letters, one kind of blank."""
    return " ".join(name.replace("_", " ").replace("-", " ").split()).casefold()


def without(values: Mapping[str, Any], paths: Iterable[str]) -> dict[str, Any]:
    """Give values without those at some paths, which then stand at their defaults."""
    left = copy.deepcopy(dict(values))
    for path in paths:
        *steps, name = path.split(".")
        place = value_at(left, ".".join(steps)) if steps else left
        if isinstance(place, dict):
            place.pop(name, None)
    return left


def _plain_row(name: str, target_mm: float, drawn_mm: float | None) -> dict[str, Any]:
    wanted = "at nominal" if drawn_mm is None else "drawn as given"
    drawn = target_mm if drawn_mm is None else drawn_mm
    return _shown(fit_texts(name, target_mm=target_mm, drawn_mm=drawn, wanted=wanted))


def _fit_row(row: FitRow) -> dict[str, Any]:
    notes = [*row.size.notes, *(row.gap.notes if row.gap else ())]
    if row.size.extrapolated:
        notes.insert(0, "Beyond the sizes that the coupon had.")
    texts = row.texts()
    if row.measured is not None and row.measured.u_mm == 0:
        texts = replace(texts, measured=f"{texts.measured} (typed)")  # nobody has read it
    paths = [path for path, _share in row.fit.rests_on] or [row.fit.of or ""]
    return _shown(texts, notes) | {"paths": [path for path in paths if path]}


def _shown(texts: FitTexts, notes: Sequence[str] = ()) -> dict[str, Any]:
    row = asdict(texts)
    gap = row.pop("gap")
    if gap != NOTHING:
        row["wanted"] += f", gap {gap}"
    return row | {"notes": list(notes), "paths": []}


def value_at(data: Any, path: str) -> Any:
    """Give what lies at a path of nested plain data; None if nothing does."""
    for step in path.split("."):
        try:
            data = data[int(step)] if step.isdigit() else data[step]
        except (KeyError, IndexError, TypeError):
            return None
    return data
