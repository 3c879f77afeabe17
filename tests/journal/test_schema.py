"""The fields of a record cannot change unless the number of its schema does.

Releases refuse fields that they do not know. Only the number tells an older release that a record
is newer than itself, and not damaged.
"""

from pathlib import Path
from typing import get_args

from pydantic import BaseModel

from fitkit.journal import CouponRecord, MachineRecord, NoteRecord, PrintRecord, TrialRecord
from fitkit.journal.records import SCHEMA

KEPT = Path(__file__).parents[1] / "data" / "journal" / "fields.txt"


def inner(annotation: object) -> list[type[BaseModel]]:
    """Models in an annotation."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return [annotation]
    return [model for part in get_args(annotation) for model in inner(part)]


def fields_of(model: type[BaseModel], before: str) -> list[str]:
    found = []
    for name, field in model.model_fields.items():
        found.append(f"{before}.{field.alias or name}")
        for below in inner(field.annotation):
            found += fields_of(below, found[-1] if below is not model else before)
    return found


def content() -> str:
    kinds = (CouponRecord, MachineRecord, NoteRecord, PrintRecord, TrialRecord)
    lines = [line for kind in kinds for line in fields_of(kind, kind.model_fields["kind"].default)]
    return "\n".join([f"schema {SCHEMA}", *sorted(lines)]) + "\n"


def test_the_fields_are_those_of_this_schema():
    assert KEPT.read_text(encoding="utf-8") == content(), (
        "The fields of a record have changed. If a release has this schema, raise SCHEMA and add a "
        "step to migrate.py. Then write the list: python -m tests.journal.test_schema"
    )


if __name__ == "__main__":
    KEPT.write_text(content(), encoding="utf-8")
