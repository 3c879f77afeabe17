"""What all results of commands have in common, and what several of them hold."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

from pydantic import BaseModel, ConfigDict, Field

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from fitkit.core.finding import Finding

__all__ = ["FoundBy", "Model", "Result", "found_by", "number", "paths_said"]


class Model(BaseModel):
    """A piece of a result."""

    model_config = ConfigDict(extra="forbid", frozen=True)


class Result(Model):
    """The result of a command."""

    schema_version: Literal[1] = 1


class FoundBy(Model):
    """One thing that a check found."""

    check: str
    severity: Literal["stop", "warn", "note"]
    text: str
    value: float | None
    limit: float | None
    unit: str = Field(description="Of value and limit.")
    basis: str
    body: str | None
    remedy: str


def found_by(findings: Sequence[Finding]) -> list[FoundBy]:
    """Say what checks found."""
    return [
        FoundBy(
            check=one.check,
            severity=one.severity,
            text=one.text,
            value=number(one.value),
            limit=number(one.limit),
            unit=one.unit,
            basis=one.basis,
            body=one.body,
            remedy=one.remedy,
        )
        for one in findings
    ]


def number(value: float | None) -> float | None:
    """Give a finite number; JSON has no sign for infinity."""
    return float(value) if value is not None and abs(float(value)) < float("inf") else None


def paths_said(paths: Sequence[Path]) -> list[str]:
    """Write paths as text."""
    return [str(path) for path in paths]
