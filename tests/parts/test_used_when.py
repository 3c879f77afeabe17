"""A parameter that a variant is said not to use changes nothing of it: a panel leaves it away."""

import pytest

from fitkit.parts import templates
from fitkit.widgets.fields import fields_of


def unused():
    """Each parameter with a variant that does not use it, by the first other choice."""
    for kind in templates().values():
        fields = {one.name: one for one in fields_of(kind)}
        for one in fields.values():
            if not one.when or one.kind not in ("length", "count", "number", "switch", "choice"):
                continue
            for name in dict.fromkeys(name for when in one.when for name in when):
                other = fields[name]
                choices = other.choices or ((True, False) if other.kind == "switch" else ())
                choices = choices or (int(other.low), int(other.low) + 1)
                values = {key: field.default for key, field in fields.items()}
                for choice in choices:
                    if not one.used(values | {name: choice}):
                        yield pytest.param(
                            kind, one, {name: choice}, id=f"{kind.title}-{one.name}-{choice}"
                        )
                        break


def two_values(field):
    """Two values that differ, each within bounds."""
    if field.kind == "switch":
        return True, False
    if field.kind == "choice":
        return field.choices[0], field.choices[-1]
    low, high = field.low, min(field.high, field.low + 1 + 0.1 * (field.high - field.low))
    if field.unit:
        return f"{low:g} {field.unit}", f"{high:g} {field.unit}"
    return (low, high) if field.kind == "number" else (int(low), int(high))


@pytest.mark.parametrize(("kind", "field", "variant"), [*unused()])
def test_a_parameter_that_is_not_used_changes_nothing(kind, field, variant):
    shapes = []
    for value in two_values(field):
        made = kind.of(**variant, **{field.name: value})
        sizes = [(fit.name, fit.plain_mm) for fit in made.fit_sizes()]
        bodies = [(body.name, round(body.solid.volume, 4)) for body in made.build().bodies]
        shapes.append((sizes, bodies))
    assert shapes[0] == shapes[1]


def test_the_height_of_a_round_port_changes_nothing():
    kind = templates()["board case"]
    shapes = []
    for height in ("2 mm", "9 mm"):
        port = {"shape": "round", "width": "8 mm", "height": height, "above": "6 mm"}
        made = kind.of(ports=[port])
        sizes = [(fit.name, fit.plain_mm) for fit in made.fit_sizes()]
        shapes.append((sizes, [round(body.solid.volume, 4) for body in made.build().bodies]))
    assert shapes[0] == shapes[1]


def test_the_variants_name_parameters_and_choices_that_there_are():
    for kind in templates().values():
        fields = {one.name: one for one in fields_of(kind)}
        for name, when in kind.used_when.items():
            assert name in fields, (kind.title, name)
            for other, values in when.items():
                assert other in fields, (kind.title, other)
                if fields[other].choices:
                    assert set(values) <= set(fields[other].choices), (kind.title, name)
