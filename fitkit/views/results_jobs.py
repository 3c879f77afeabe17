"""What commands say with ``--json`` that make files: parts, plates, coupons, prints again."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Self

from pydantic import Field

from fitkit.views.result_base import FoundBy, Model, Result, found_by, paths_said

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path

    from fitkit.make import Made, Plated
    from fitkit.make.exhibit import Standing
    from fitkit.make.many import Outcome
    from fitkit.make.new import Offer
    from fitkit.make.orders import CouponOrder, StripOrder
    from fitkit.make.remake import Again, CompensatedAgain
    from fitkit.parts.holder import Holder

__all__ = [
    "CouponResult",
    "ExhibitResult",
    "MadeResult",
    "ManyResult",
    "NewResult",
    "PlatedResult",
    "ReprintResult",
    "StripsResult",
]


class SizeMade(Model):
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
    """What was made: `make`, `demo`, `trial-piece` and `ladder`."""

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
    def of(cls, made: Made, **more: Any) -> Self:
        """Say what was made.

        Parameters
        ----------
        made : Made
        **more
            What a result of this kind has besides.

        Returns
        -------
        MadeResult
        """
        return cls(
            code=made.code,
            title=made.part.title,
            template=made.part.template,
            folder=str(made.folder),
            files=paths_said(made.files),
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
            findings=found_by(made.findings),
            notes=list(made.page.notes),
            told=list(made.told),
            **more,
        )


class KindToLearn(Model):
    """What a coupon should teach of a kind of size: the ± of the mean over prints, mm."""

    kind: str
    U95_before_mm: float
    U95_expected_mm: float


class CouponResult(MadeResult):
    """A calibration coupon and its papers: `coupon`."""

    readings: str = Field(description="The readings file to fill.")
    order: str = Field(description="The order sheet to print.")
    form: str | None = Field(description="The form of test strips on the same plate.")
    teaches: list[KindToLearn] = Field(description="Only where --measure chose the features.")
    then: list[str]

    @classmethod
    def ordered(cls, order: CouponOrder, then: Sequence[str]) -> CouponResult:
        """Say what was made, and which files are to be filled.

        Parameters
        ----------
        order : CouponOrder
        then : sequence of str
            Commands to type next.

        Returns
        -------
        CouponResult
        """
        choice = order.choice
        return cls.of(
            order.made,
            readings=str(order.readings),
            order=str(order.order),
            form=order.form and str(order.form),
            teaches=[
                KindToLearn(kind=kind, U95_before_mm=choice.before_U95_mm[kind], U95_expected_mm=U)
                for kind, U in choice.expected_U95_mm.items()
            ]
            if choice
            else [],
            then=list(then),
        )


class StripsResult(MadeResult):
    """Test strips and their form: `strips`."""

    form: str
    then: list[str]

    @classmethod
    def ordered(cls, order: StripOrder, then: Sequence[str]) -> StripsResult:
        """Say what was made, and which form is to be filled.

        Parameters
        ----------
        order : StripOrder
        then : sequence of str
            Commands to type next.

        Returns
        -------
        StripsResult
        """
        return cls.of(order.made, form=str(order.form), then=list(then))


class CopyMade(Model):
    """One copy of a part on the plates."""

    code: str
    title: str
    record: str
    plates: dict[str, int] = Field(description="Number of the plate of each body, from 1.")


class ToBuy(Model):
    """Something that has to be at hand."""

    count: int
    what: str
    why: str


class PlatedResult(Result):
    """Several parts on few plates: `plate`."""

    folder: str
    plates: list[str] = Field(description="Files to print from.")
    files: list[str]
    parts: list[CopyMade]
    findings: dict[str, list[FoundBy]] = Field(description="By the title of the part.")
    buys: list[ToBuy]
    cost: dict[str, tuple[float, float]] = Field(
        description="Low and high sum of grams, metres, hours, kwh and price, where known of all."
    )
    currency: str | None
    without_cost: list[str]
    told: list[str]

    @classmethod
    def of(cls, job: Plated) -> PlatedResult:
        """Say what a job made."""
        return cls(
            folder=str(job.folder),
            plates=paths_said(job.plates),
            files=paths_said(job.files),
            parts=[
                CopyMade(code=p.code, title=p.title, record=str(p.record), plates=p.plates)
                for p in job.parts
            ],
            findings={title: found_by(found) for title, found in job.findings.items()},
            buys=[ToBuy(count=buy.count, what=buy.what, why=buy.why) for buy in job.buys],
            cost={key: span for key, span in job.cost.items() if key != "currency"},
            currency=job.cost.get("currency"),
            without_cost=list(job.without_cost),
            told=list(job.told),
        )


class PartStands(Model):
    """How one part of an exhibit stands."""

    name: str
    sheet: str
    state: str
    code: str
    why: str


class ExhibitResult(Result):
    """The parts of an exhibit: `exhibit`."""

    title: str
    parts: list[PartStands]
    changed: list[str] = Field(description="What was added, set back or brought up to date.")

    @classmethod
    def of(cls, title: str, stands: Sequence[Standing], changed: Sequence[str]) -> ExhibitResult:
        """Say how the parts stand.

        Parameters
        ----------
        title : str
        stands : sequence of Standing
        changed : sequence of str

        Returns
        -------
        ExhibitResult
        """
        return cls(
            title=title,
            parts=[
                PartStands(
                    name=one.part.name,
                    sheet=one.part.sheet,
                    state=one.state,
                    code=one.part.code,
                    why=one.why,
                )
                for one in stands
            ],
            changed=list(changed),
        )


class RowMade(Model):
    """How a row of the table ended."""

    row: int
    title: str
    state: str = Field(description="made, kept from an earlier run, or refused.")
    code: str
    folder: str
    message: str


class ManyResult(Result):
    """A part for each row of a table: `make-many`. Its exit status is 2 if a row was refused."""

    rows: list[RowMade]
    refused: int
    report: str

    @classmethod
    def of(cls, outcomes: Sequence[Outcome], report: Path) -> ManyResult:
        """Say how each row ended.

        Parameters
        ----------
        outcomes : sequence of Outcome
        report : path

        Returns
        -------
        ManyResult
        """
        names = RowMade.model_fields
        rows = [RowMade(**{name: getattr(one, name) for name in names}) for one in outcomes]
        refused = sum(one.state == "refused" for one in outcomes)
        return cls(rows=rows, refused=refused, report=str(report))


class ToStartWith(Model):
    """Something that a part can be started with, or hold."""

    name: str
    summary: str
    ordered_by: str = Field(description="The command that makes it, where that is not `new`.")


class NewResult(Result):
    """A part that was started, or with --list what it can be started with: `new`."""

    files: list[str]
    workshop: str | None = Field(description="The file of a workshop that was begun for it.")
    then: list[str]
    templates: list[ToStartWith]
    holders: list[ToStartWith]
    features: list[ToStartWith]

    @classmethod
    def started(cls, files: Sequence[Path], then: str) -> NewResult:
        """Say what was written, and what to type next.

        Parameters
        ----------
        files : sequence of path
        then : str

        Returns
        -------
        NewResult
        """
        from fitkit.workshop import FILE_NAME

        begun = next((str(path) for path in files if path.name == FILE_NAME), None)
        said = paths_said(files)
        return cls(files=said, workshop=begun, then=[then], templates=[], holders=[], features=[])

    @classmethod
    def listed(
        cls,
        offers: Sequence[Offer],
        holders: Mapping[str, type[Holder]],
        features: Mapping[str, type[Holder]],
    ) -> NewResult:
        """Say what a part can be started with.

        Parameters
        ----------
        offers : sequence of Offer
        holders, features : mapping of name to class
            Ways to hold a thing, and what is made on a given shape.

        Returns
        -------
        NewResult
        """
        ways, more = (
            [ToStartWith(name=way, summary=kind.summary, ordered_by="") for way, kind in of.items()]
            for of in (holders, features)
        )
        return cls(
            files=[],
            workshop=None,
            then=[],
            templates=[
                ToStartWith(name=one.title, summary=one.summary, ordered_by=one.ordered_by)
                for one in offers
            ],
            holders=ways,
            features=more,
        )


class SizeAgain(Model):
    """A size drawn then and drawn for the printer as it is now, mm."""

    name: str
    target_mm: float
    drawn_then_mm: float
    drawn_now_mm: float
    expected_now_mm: float
    U95_now_mm: float


class ReprintResult(Result):
    """The files of a print again, or with --compare what would be drawn otherwise: `reprint`."""

    code: str
    files: list[str]
    same: bool | None = Field(
        description="Whether the part is the recorded one; null where nothing was compared."
    )
    kept: bool = Field(description="Whether the files hold the bodies that the record keeps.")
    differences: list[str]
    profile: str | None = Field(description="The profile that sizes are compensated again for.")
    sizes: list[SizeAgain]
    changed_profile: str | None = Field(
        description="The printer's profile, where it has changed since; sizes are then for it."
    )
    notes: list[str]

    @classmethod
    def of(
        cls,
        code: str,
        *,
        again: Again | None = None,
        sizes: CompensatedAgain | None = None,
        changed: Path | None = None,
        same: bool | None = None,
    ) -> ReprintResult:
        """Say what was made, and what is drawn otherwise.

        Parameters
        ----------
        code : str
        again : Again, optional
        sizes : CompensatedAgain, optional
        changed : path, optional
        same : bool, optional

        Returns
        -------
        ReprintResult
        """
        return cls(
            code=code,
            files=paths_said(again.files) if again else [],
            same=same,
            kept=bool(again and again.kept),
            differences=list(again.differences) if again else [],
            profile=sizes.profile if sizes else None,
            sizes=[
                SizeAgain(**{name: getattr(row, name) for name in SizeAgain.model_fields})
                for row in (sizes.rows if sizes else ())
            ],
            changed_profile=changed and str(changed),
            notes=[*(again.notes if again else ()), *(sizes.notes if sizes else ())],
        )
