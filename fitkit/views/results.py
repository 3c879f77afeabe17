"""What commands say with ``--json``: one model a result, from which its JSON Schema is made.

`RESULTS` is the only list of them. Lengths are in mm in keys that end in ``_mm``, chances and
shares from 0 to 1, unknown is null. `schema_version` rises when a key changes its meaning or goes;
keys may be added at any time. No figure here is rounded.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from pydantic import Field

from fitkit.views.result_base import Model, Result, number
from fitkit.views.results_bench import (
    BroughtInResult,
    CalibrateResult,
    CheckedResult,
    DecidedResult,
    FittedResult,
    HeardResult,
    MaterialResult,
    RecordedResult,
    SizeRead,
    WrittenResult,
)
from fitkit.views.results_jobs import (
    CouponResult,
    ExhibitResult,
    MadeResult,
    ManyResult,
    NewResult,
    PlatedResult,
    ReprintResult,
    StripsResult,
)

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from fitkit.calibration.history import Drift
    from fitkit.journal.lookup import Period
    from fitkit.journal.part_history import Version
    from fitkit.make.pieces import Weighed
    from fitkit.readings import ReadingTable
    from fitkit.readings.flags import Flag
    from fitkit.stats import Estimate

__all__ = [
    "RESULTS",
    "WITHOUT",
    "BroughtInResult",
    "CalibrateResult",
    "ChanceResult",
    "CheckedResult",
    "CompareResult",
    "CouponResult",
    "DecidedResult",
    "ExhibitResult",
    "FittedResult",
    "HeardResult",
    "HistoryResult",
    "LogResult",
    "Logged",
    "MadeResult",
    "ManyResult",
    "MaterialResult",
    "NewResult",
    "PlatedResult",
    "ReadingsResult",
    "RecordedResult",
    "ReprintResult",
    "Result",
    "SizeRead",
    "StripsResult",
    "SuccessResult",
    "WrittenResult",
    "result_schema",
]


class FitChance(Model):
    """How likely a fit is as wanted."""

    name: str
    p: float


class ActToTake(Model):
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


class FeatureRead(Model):
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

        Returns
        -------
        ReadingsResult
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
                    df=number(one.df),
                    notes=list(one.notes),
                )
                for item, found in estimates.items()
                for name, one in found.items()
            ],
            doubts=[str(flag) for flag in flags],
            faults=[str(fault) for fault in table.faults()],
            notes=list(table.notes),
        )


class TermMoved(Model):
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


class Logged(Model):
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


class PrintInLife(Model):
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


class PeriodOfPrints(Model):
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
    "begin": WrittenResult,
    "binder": WrittenResult,
    "bring-in": BroughtInResult,
    "broke": RecordedResult,
    "calibrate": CalibrateResult,
    "chance": ChanceResult,
    "changed": RecordedResult,
    "check-calipers": CheckedResult,
    "compare": CompareResult,
    "coupon": CouponResult,
    "decide": DecidedResult,
    "demo": MadeResult,
    "exhibit": ExhibitResult,
    "fitted": FittedResult,
    "history": HistoryResult,
    "inspection": WrittenResult,
    "ladder": MadeResult,
    "listen": HeardResult,
    "log": LogResult,
    "make": MadeResult,
    "make-many": ManyResult,
    "material": MaterialResult,
    "new": NewResult,
    "note": RecordedResult,
    "plate": PlatedResult,
    "readings": ReadingsResult,
    "reprint": ReprintResult,
    "share": WrittenResult,
    "strips": StripsResult,
    "success": SuccessResult,
    "tag": WrittenResult,
    "trial-piece": MadeResult,
    "withdraw": RecordedResult,
}
# Commands that take no --json, each with the reason.
WITHOUT: dict[str, str] = {
    "schema": "what it prints is JSON",
    "self-check": "its exit status is its result, and what it says is what to type",
    "show": "what it prints is JSON: the record",
}


def result_schema(command: str) -> dict[str, Any]:
    """Give the JSON Schema (2020-12) of what a command says with ``--json``.

    Parameters
    ----------
    command : str
        One of `RESULTS`.

    Returns
    -------
    dict
    """
    found = RESULTS[command].model_json_schema(mode="serialization")
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **found}
