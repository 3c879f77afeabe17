"""What commands say with ``--json``: one model a result, from which its JSON Schema is made.

`RESULTS` is the only list of them. Lengths are in mm in keys that end in ``_mm``, chances and
shares from 0 to 1, unknown is null. `schema_version` rises when a key changes its meaning or goes;
keys may be added at any time. No figure here is rounded.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Literal

from pydantic import BaseModel, ConfigDict, Field

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from fitkit.calibration.history import Drift
    from fitkit.journal.lookup import Period
    from fitkit.journal.part_history import Version
    from fitkit.make import Made
    from fitkit.make.pieces import Weighed
    from fitkit.readings import ReadingTable
    from fitkit.readings.flags import Flag
    from fitkit.stats import Estimate

__all__ = ["RESULTS", "Result", "result_schema"]


class _Model(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class Result(_Model):
    """The result of a command."""

    schema_version: Literal[1] = 1


class FoundBy(_Model):
    """One thing that a check found."""

    check: str
    severity: Literal["stop", "warn", "note"]
    text: str
    value: float | None
    limit: float | None
    unit: str
    basis: str
    body: str | None
    remedy: str


class SizeMade(_Model):
    """A size that must fit, mm: from what was measured to what is expected of the print."""

    name: str
    measured_mm: float | None
    U95_measured_mm: float | None
    gap_mm: float | None = Field(description="Positive where there is clearance.")
    target_mm: float
    drawn_mm: float
    expected_mm: float
    U95_expected_mm: float
    wanted: str


class MadeResult(Result):
    """What was made: `make`, `trial-piece` and `ladder`."""

    code: str = Field(description="Trace code of the print.")
    title: str
    template: str
    folder: str
    files: list[str]
    record: str = Field(description="Path of the record in the journal.")
    sizes: list[SizeMade]
    findings: list[FoundBy]
    notes: list[str]
    told: list[str]

    @classmethod
    def of(cls, made: Made) -> MadeResult:
        """Say what was made."""
        return cls(
            code=made.code,
            title=made.part.title,
            template=made.part.template,
            folder=str(made.folder),
            files=[str(path) for path in made.files],
            record=str(made.record),
            sizes=[
                SizeMade(
                    name=row.fit.name,
                    measured_mm=row.measured.value_mm if row.measured else None,
                    U95_measured_mm=row.measured.U95_mm if row.measured else None,
                    gap_mm=row.gap_mm if row.fit.sense else None,
                    target_mm=row.size.target_mm,
                    drawn_mm=row.size.drawn_mm,
                    expected_mm=row.size.expected_mm,
                    U95_expected_mm=row.size.U95_mm,
                    wanted=row.wanted,
                )
                for row in made.plan.rows
            ],
            findings=[
                FoundBy(
                    check=one.check,
                    severity=one.severity,
                    text=one.text,
                    value=_number(one.value),
                    limit=_number(one.limit),
                    unit=one.unit,
                    basis=one.basis,
                    body=one.body,
                    remedy=one.remedy,
                )
                for one in made.findings
            ],
            notes=list(made.page.notes),
            told=list(made.told),
        )


class FitChance(_Model):
    """How likely a fit is as wanted."""

    name: str
    p: float


class ActToTake(_Model):
    """Something to do before the print."""

    says: str
    p_all: float = Field(description="Expected chance that all fits are as wanted afterwards.")
    minutes: float
    grams: float
    command: str


class ChanceResult(Result):
    """How likely a part fits, and what would raise that: `chance`."""

    title: str
    p_all: float
    fits: list[FitChance]
    left_out: list[str] = Field(description="Fits whose gap the sheet sets.")
    minutes: float
    grams: float
    acts: list[ActToTake]
    advice: str

    @classmethod
    def of(cls, weighed: Weighed) -> ChanceResult:
        """Say what was weighed."""
        chance = weighed.chance
        return cls(
            title=weighed.title,
            p_all=chance.p_all,
            fits=[FitChance(name=name, p=p) for name, p in chance.each.items()],
            left_out=list(chance.left_out),
            minutes=weighed.minutes,
            grams=weighed.grams,
            acts=[
                ActToTake(
                    says=act.says,
                    p_all=act.p_all,
                    minutes=act.minutes,
                    grams=act.grams,
                    command=act.typed,
                )
                for act in weighed.acts
            ],
            advice=weighed.advice,
        )


class FeatureRead(_Model):
    """A feature's best value, mm."""

    item: str
    name: str
    value_mm: float
    u_mm: float
    U95_mm: float
    k95: float
    df: float | None = Field(description="Degrees of freedom; null where they are unlimited.")
    notes: list[str]


class ReadingsResult(Result):
    """What a readings file says: `readings`."""

    file: str
    features: list[FeatureRead]
    doubts: list[str]
    faults: list[str] = Field(description="Rows that do not count, and why.")
    notes: list[str]

    @classmethod
    def of(
        cls,
        table: ReadingTable,
        flags: Sequence[Flag],
        estimates: Mapping[str, Mapping[str, Estimate]],
    ) -> ReadingsResult:
        """Say what was read, item by item.

        Parameters
        ----------
        table : ReadingTable
        flags : sequence of Flag
        estimates : mapping of item to mapping of feature to Estimate
        """
        return cls(
            file=table.name,
            features=[
                FeatureRead(
                    item=item,
                    name=name,
                    value_mm=one.value_mm,
                    u_mm=one.u_mm,
                    U95_mm=one.U95_mm,
                    k95=one.k95,
                    df=_number(one.df),
                    notes=list(one.notes),
                )
                for item, found in estimates.items()
                for name, one in found.items()
            ],
            doubts=[str(flag) for flag in flags],
            faults=[str(fault) for fault in table.faults()],
            notes=list(table.notes),
        )


class TermMoved(_Model):
    """A term that both profiles measured; mm, or a fraction for scales."""

    term: str
    difference: float
    u: float
    p: float


class CompareResult(Result):
    """Whether a printer drifted: `compare`."""

    p: float = Field(description="Chance of so large a difference if nothing had changed.")
    terms: list[TermMoved]
    text: str

    @classmethod
    def of(cls, drift: Drift) -> CompareResult:
        """Say how two profiles differ."""
        rows = [TermMoved(term=t, difference=d, u=u, p=p) for t, d, u, p in drift.rows]
        return cls(p=drift.p, terms=rows, text=drift.text)


class Logged(_Model):
    """A record of the journal in one line."""

    code: str
    date: str
    kind: str
    part: str
    printer: str
    material: str
    verdict: str


class LogResult(Result):
    """What was printed, newest first: `log`."""

    records: list[Logged]
    left_out: int = Field(description="Older records that are not listed.")


class PrintInLife(_Model):
    """One print of a part."""

    code: str
    title: str
    made_at: str
    verdict: str
    changes: list[str]
    lesson: str
    notes: list[str]


class HistoryResult(Result):
    """A part's life, oldest print first: `history`."""

    prints: list[PrintInLife]

    @classmethod
    def of(cls, versions: Sequence[Version]) -> HistoryResult:
        """Tell a life."""
        return cls(
            prints=[
                PrintInLife(
                    code=one.record.code,
                    title=one.record.title,
                    made_at=one.record.made_at.isoformat(),
                    verdict=one.verdict,
                    changes=[str(change) for change in one.changes],
                    lesson=one.lesson,
                    notes=list(one.notes),
                )
                for one in versions
            ]
        )


class PeriodOfPrints(_Model):
    """First prints of parts in one month or year; shares are null where none was tried."""

    period: str
    first_prints: int
    tried: int
    fitted: int
    share: float | None
    low: float | None
    high: float | None


class SuccessResult(Result):
    """How often first prints fitted: `success`."""

    periods: list[PeriodOfPrints]

    @classmethod
    def of(cls, periods: Sequence[Period]) -> SuccessResult:
        """Say how often."""
        names = PeriodOfPrints.model_fields
        return cls(
            periods=[
                PeriodOfPrints(**{name: getattr(one, name) for name in names}) for one in periods
            ]
        )


RESULTS: dict[str, type[Result]] = {
    "chance": ChanceResult,
    "compare": CompareResult,
    "history": HistoryResult,
    "ladder": MadeResult,
    "log": LogResult,
    "make": MadeResult,
    "readings": ReadingsResult,
    "success": SuccessResult,
    "trial-piece": MadeResult,
}


def result_schema(command: str) -> dict[str, Any]:
    """Give the JSON Schema (2020-12) of what a command says with ``--json``.

    Parameters
    ----------
    command : str
        One of `RESULTS`.
    """
    found = RESULTS[command].model_json_schema(mode="serialization")
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **found}


def _number(value: float | None) -> float | None:
    """Give a finite number; JSON has no sign for infinity."""
    return float(value) if value is not None and abs(float(value)) < float("inf") else None
