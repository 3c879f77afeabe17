"""What a library says of a wrong value never reaches a panel: it has words of its own."""

import re

import pytest

from fitkit.parts import templates
from fitkit.widgets.fields import fields_of
from fitkit.widgets.panel_model import PanelModel
from fitkit.widgets.sources import TemplateSource

TYPED = (
    "x" * 300, "abc", "-5", "1e400", "NaN", "inf", "0x10", "5 kg", "1;2;a", "", "  ", "9" * 30,
    "2.5", "\u221e", "${x}", "yes", "3 mm 4", "1e-400", "0", "1;" * 180, "\0",
)  # fmt: skip
LIBRARY = re.compile(
    r"Input should|should (be|have)|valid (integer|number|string|boolean)|type=|Error\b|Traceback|"
    r"pydantic|NoneType|Tuple|Errno"
)


@pytest.mark.parametrize("kind", templates().values(), ids=lambda kind: kind.title)
def test_every_field_refuses_in_plain_words(kind):
    model = PanelModel(TemplateSource(kind))

    def walk(of, path):
        for field in fields_of(of):
            here = f"{path}{field.name}"
            if field.model is not None:
                model.add(here)
                walk(field.model, f"{here}." if field.kind == "model" else f"{here}.0.")
                continue
            for text in TYPED:
                model.set(here, text)
                said = " ".join((*model.messages.values(), model.trouble))
                assert not LIBRARY.search(said), (here, text, said)
                model.undo()

    walk(kind, "")


def test_a_long_label_is_told_its_length_and_the_most():
    model = PanelModel(TemplateSource(templates()["board case"]))
    model.set("label", "a" * 81)
    assert model.messages["label"].endswith("has 81 letters, over 80. Shorten it.")
