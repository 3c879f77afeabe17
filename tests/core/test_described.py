"""Keys of files with their words, and the JSON schemas made of them, judged by jsonschema."""

import json
import tomllib
from pathlib import Path
from typing import Literal

import jsonschema
import pytest
from pydantic import Field

from fitkit.core.described import attributes_of, json_schema, keys_of
from fitkit.core.models import StrictModel
from fitkit.views.schemas import FILES, schema_of

ROOT = Path(__file__).parents[2]


class Inner(StrictModel):
    """A table.

    Attributes
    ----------
    depth, width : float, mm
        How far
        it reaches.
    """

    depth: float = Field(default=1.5, gt=0)
    width: float


class Outer(StrictModel):
    """A file.

    Attributes
    ----------
    kind : str
        Which one.
    """

    kind: Literal["a", "b"] = "a"
    one: Inner | None = None
    many: list[Inner] = Field(default_factory=list)


def test_attributes_that_share_a_text_each_have_it():
    assert attributes_of(Inner) == {"depth": "How far it reaches.", "width": "How far it reaches."}


def test_keys_of_tables_stand_in_their_place():
    keys = {key.name: key for key in keys_of(Outer)}
    assert list(keys) == ["kind", "one.depth", "one.width", "many[].depth", "many[].width"]
    assert keys["kind"].takes == '"a" or "b"'
    assert (keys["one.depth"].takes, keys["one.depth"].default) == ("number, above 0", "1.5")
    assert keys["one.width"].must
    assert not keys["kind"].must


def test_a_schema_tells_each_key_in_words():
    schema = json_schema(Outer, title="file")
    assert schema["properties"]["kind"]["description"] == "Which one."
    assert schema["$defs"]["Inner"]["properties"]["width"]["description"] == "How far it reaches."


@pytest.mark.parametrize("kind", FILES)
def test_a_schema_is_one(kind):
    schema = schema_of(kind)
    jsonschema.Draft202012Validator.check_schema(schema)
    assert json.dumps(schema)


@pytest.mark.parametrize(
    ("kind", "path"),
    [
        *(
            ("sheet", path)
            for path in sorted((ROOT / "measurements").glob("*.toml"))
            if path.stem != "workshop"
        ),
        ("workshop", ROOT / "measurements" / "workshop.toml"),
        ("instruments", ROOT / "shared" / "instruments" / "bench.toml"),
        ("material", ROOT / "shared" / "materials" / "petg.toml"),
    ],
    ids=lambda value: getattr(value, "stem", value),
)
def test_the_demos_files_hold_to_their_schema_and_a_misspelt_key_does_not(kind, path):
    content = json.loads(json.dumps(tomllib.loads(path.read_text("utf-8")), default=str))
    validator = jsonschema.Draft202012Validator(schema_of(kind))
    assert [error.message for error in validator.iter_errors(content)] == []
    assert list(validator.iter_errors(content | {"titel": "x"}))
