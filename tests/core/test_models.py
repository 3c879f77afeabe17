"""What pydantic finds becomes faults with a path of keys, a code and what mends it."""

from __future__ import annotations

from typing import Annotated, Any, Literal

import pytest
from pydantic import AfterValidator, Field, TypeAdapter, ValidationError, model_validator

from fitkit.core.errors import FaultList, InputError, NotFoundError, PartError, SheetError
from fitkit.core.models import StrictModel, faults_of, load_model


def _no_twelve(value: int) -> int:
    if value == 12:
        raise PartError("12 is not allowed", code="part.twelve", remedy="Take 13.")
    return value


class Port(StrictModel):
    width: float = Field(default=1.0, ge=1, le=50)
    shape: Literal["round", "flat"] = "round"


class Case(StrictModel):
    schema_: Literal[1] = Field(default=1, alias="schema")
    title: str
    count: Annotated[int, AfterValidator(_no_twelve)] = 1
    share: float = Field(default=0.5, gt=0, lt=1)
    ports: tuple[Port, ...] = ()
    named: dict[str, Port] = Field(default_factory=dict)
    spare: Port | str | None = None
    hidden: str = Field(default="", exclude=True)


class Other(StrictModel):
    kind: Literal["other"] = "other"
    size: int = 1


class Same(StrictModel):
    kind: Literal["same"] = "same"


def faults(content: dict[str, Any]) -> dict[str, str]:
    with pytest.raises(FaultList) as caught:
        load_model(content, Case, kind_of_file="case", file="case.toml", error=SheetError)
    assert all(type(fault) is SheetError and fault.file == "case.toml" for fault in caught.value)
    return {fault.path: fault.code for fault in caught.value}


def test_every_fault_of_a_file_is_told_at_once_at_its_path_with_its_code():
    assert faults(
        {
            "count": "many",
            "share": 1,
            "ports": [{}, {"width": 0, "shape": "oval"}],
            "named": {"left port": {"width": 51}},
            "colour": "red",
        }
    ) == {
        "title": "key.missing",
        "count": "key.wrong",
        "share": "key.too-high",
        "ports.1.width": "key.too-low",
        "ports.1.shape": "key.not-a-choice",
        "named.left port.width": "key.too-high",
        "colour": "key.unknown",
    }


def test_the_member_of_a_union_that_pydantic_tried_is_not_part_of_the_path():
    assert "spare.width" in faults({"title": "a", "spare": {"width": 0}})


def test_an_unknown_key_is_told_with_the_nearest_one_and_all_that_a_file_may_hold():
    with pytest.raises(FaultList) as caught:
        load_model({"tittle": "a", "title": "b"}, Case, kind_of_file="case")
    (fault,) = caught.value
    assert fault.remedy == (
        "Did you mean 'title'? The keys are: schema, title, count, share, ports, named, spare."
    )


def test_an_unknown_key_of_an_item_is_told_the_keys_of_such_an_item():
    with pytest.raises(FaultList) as caught:
        load_model({"title": "b", "ports": [{"hight": 2}]}, Case, kind_of_file="case")
    (fault,) = caught.value
    assert (fault.at, fault.remedy) == (("ports", 0, "hight"), "The keys are: width, shape.")


def test_an_error_raised_by_a_validator_keeps_its_code_and_remedy():
    with pytest.raises(FaultList) as caught:
        load_model({"title": "b", "count": 12}, Case, kind_of_file="case", at=("use",))
    (fault,) = caught.value
    assert (type(fault), fault.code, fault.remedy) == (InputError, "part.twelve", "Take 13.")
    assert fault.at == ("use", "count")


def test_a_validator_of_the_whole_that_names_a_key_is_shown_at_that_key():
    class Whole(StrictModel):
        wall: float = 1.0

        @model_validator(mode="after")
        def _thick(self) -> Whole:
            raise FaultList([PartError("too thin", at=("wall",), code="part.thin")])

    with pytest.raises(FaultList) as caught:
        load_model({}, Whole, kind_of_file="case")
    assert [(fault.path, fault.code) for fault in caught.value] == [("wall", "part.thin")]


@pytest.mark.parametrize(
    ("content", "path", "code"),
    [
        ({"kind": "poem"}, "kind", "key.not-a-choice"),
        ({}, "kind", "key.missing"),
        ({"kind": "other", "size": "x"}, "size", "key.wrong"),
        ({"kind": "other", "sise": 2}, "sise", "key.unknown"),
    ],
)
def test_one_of_several_kinds_is_told_by_its_keys_alone(content, path, code):
    kinds = Annotated[Other | Same, Field(discriminator="kind")]
    with pytest.raises(ValidationError) as caught:
        TypeAdapter(kinds).validate_python(content)
    (fault,) = faults_of(caught.value, model=kinds)
    assert (fault.path, fault.code) == (path, code)


@pytest.mark.parametrize(
    ("content", "code"),
    [
        (None, "file.absent"),
        (b"title = 'a'\n= nonsense", "file.not-toml"),
        (b"title = '\xff\xfe'", "file.not-utf8"),
        (b"#" * 200, "file.unreadable"),
    ],
)
def test_a_file_that_cannot_be_read_is_told_by_name_and_code(tmp_path, content, code):
    path = tmp_path / "case.toml"
    if content is not None:
        path.write_bytes(content)
    with pytest.raises(NotFoundError) as caught:
        load_model(path, Case, kind_of_file="case", error=NotFoundError, max_bytes=100)
    error = caught.value
    assert (error.code, error.file) == (code, str(path))
    assert error.remedy


def test_a_sound_file_becomes_the_model(tmp_path):
    path = tmp_path / "case.toml"
    path.write_text("schema = 1\ntitle = 'a'\n[[ports]]\nwidth = 3\n")
    case = load_model(path, Case, kind_of_file="case")
    assert (case.title, case.ports[0].width) == ("a", 3.0)
