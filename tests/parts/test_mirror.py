"""Left and right pairs: the mirror image of a part, judged on the meshes by trimesh."""

import numpy as np
import pytest
import trimesh

from fitkit.parts.carriers.case import Case
from fitkit.parts.mirror import MirrorTemplate, mirrored_part
from fitkit.parts.registry import template
from fitkit.parts.split import Split, SplitTemplate
from tests.parts import jobs

FLIP = np.diag([-1.0, 1.0, 1.0, 1.0])


def flipped(mesh):
    """Mirrored by trimesh, which turns the faces the right way itself."""
    found = mesh.copy()
    found.apply_transform(FLIP)
    return found


def same(a, b):
    away = trimesh.boolean.difference([a, b], engine="manifold").volume
    back = trimesh.boolean.difference([b, a], engine="manifold").volume
    return away + back


def lopsided(**more):
    return Case.of(
        things=({"name": "cell", "held": "round cell in saddles", "diameter": "18 mm",
                 "body_length": "50 mm", "hold": "rest"},),
        features=({"kind": "ear", "on": "left", "at": "8 mm"},),
        inside_length="80 mm", inside_width="50 mm", **more,
    )  # fmt: skip


def test_all_of_a_part_is_mirrored_and_what_must_fit_is_as_large():
    asked = lopsided()
    plain, other = asked.build(), MirrorTemplate(asked).build()
    for one in plain.bodies:
        made = jobs.mesh(other.body(one.name).solid)
        assert made.is_watertight
        assert made.volume > 0
        assert same(made, flipped(jobs.mesh(one.solid))) < 0.001 * made.volume
    for a, b in zip(plain.dimensions, other.dimensions, strict=True):
        assert (a.name, a.value_mm, a.body) == (b.name, b.value_mm, b.body)
        assert np.array(b.start) == pytest.approx(np.array(a.start) * [-1, 1, 1])
    (lug,) = other.lugs
    assert lug.along == pytest.approx((1.0, 0.0, 0.0))
    assert lug.at[0] > 0
    for a, b in zip(plain.ghosts, other.ghosts, strict=True):
        # Kept meshes may be of another fineness, and the outlines then differ by their facets.
        before = jobs.mesh(a.solid)
        assert same(jobs.mesh(b.solid), flipped(before)) < 0.003 * before.volume
    assert any("mirror image" in one.text for one in other.findings)


@pytest.mark.parametrize("turn", [(90.0, 0.0, 0.0), (0.0, 90.0, 0.0), (20.0, 35.0, 50.0)])
def test_a_mirrored_body_lies_as_the_mirror_image_of_how_it_lay(turn):
    from dataclasses import replace

    from fitkit.solids import tessellate
    from fitkit.solids.mesh import lay_flat

    part = lopsided().build()
    body = replace(part.bodies[0], print_turn=turn)
    (other,) = mirrored_part(replace(part, bodies=(body,))).bodies

    def laid(one):
        made = lay_flat(tessellate(one.solid), one.print_turn)[0]
        return trimesh.Trimesh(made.vertices, made.triangles, process=False)

    assert same(laid(other), flipped(laid(body))) < 0.1


@pytest.mark.parametrize(
    ("title", "values", "body", "outwards"),
    [
        ("case", {}, "lid", (0, 0, 1)),
        ("case", {}, "tray", (0, 0, 1)),
        ("spacer", {"outside": "40 mm", "height": "40 mm"}, "spacer", (0, -1, 0)),
        ("bracket", {}, "bracket", (0, -1, 0)),
        ("knob", {"diameter": "40 mm"}, "knob", (0, 0, 1)),
    ],
)
def test_letters_of_a_mirrored_part_can_be_read(title, values, body, outwards):
    """What letters take away, moved onto one another, is alike; their mirror image is not."""

    def kind(**more):
        return lopsided(**more) if title == "case" else template(title).of(**values, **more)

    def letters(builder, bare):
        with_text, without = (jobs.mesh(one.body(body).solid) for one in (builder, bare))
        found = trimesh.boolean.difference([without, with_text], engine="manifold")
        # Kept meshes may be of another fineness: slivers between their facets are no letters.
        found = trimesh.util.concatenate([one for one in found.split() if one.volume > 0.3])
        found.apply_translation(-found.bounds.mean(axis=0))
        return found

    def apart(one, other):
        """How much they differ at the best of four turns about the way out."""
        turns = [trimesh.transformations.rotation_matrix(np.pi / 2 * k, outwards) for k in range(4)]
        moved = [one.copy().apply_transform(turn) for turn in turns]
        return min(same(each, other) for each in moved)

    text = "FLR"
    plain = letters(kind(label=text).build(), kind().build())
    other = letters(MirrorTemplate(kind(label=text)).build(), MirrorTemplate(kind()).build())
    assert plain.volume > 1.0
    assert apart(other, plain) < 0.12 * plain.volume
    assert apart(flipped(plain), plain) > 0.3 * plain.volume


def test_texts_and_logos_of_a_mirrored_part_can_be_read(tmp_path):
    drawing = '<svg xmlns="http://www.w3.org/2000/svg"><path d="M0 0H12V4H4V20H0Z"/></svg>'
    path = tmp_path / "own.svg"
    path.write_text(drawing)
    cell = {"name": "cell", "held": "round cell in saddles", "diameter": "18 mm",
            "body_length": "50 mm", "hold": "rest"}  # fmt: skip
    for feature in (
        {"kind": "text", "text": "F", "caps": "8 mm"},
        {"kind": "logo", "file": str(path), "wide": "8 mm"},
    ):
        for on in ("front", "left", "lid", "floor"):
            roomy = {"things": (cell,), "inside_length": "80 mm", "inside_width": "60 mm"}
            asked = Case.of(features=({**feature, "on": on},), **roomy)
            bare = Case.of(**roomy).build()
            name = "lid" if on == "lid" else "tray"
            part = MirrorTemplate(asked).build()
            away = trimesh.boolean.difference(
                [jobs.mesh(mirrored_part(bare).body(name).solid), jobs.mesh(part.body(name).solid)],
                engine="manifold",
            )
            # The left wall has become the right one.
            away = trimesh.util.concatenate([one for one in away.split() if one.volume > 0.3])
            right = {"front": [1, 0, 0], "left": [0, 1, 0], "lid": [1, 0, 0], "floor": [-1, 0, 0]}
            # F's stem and the flag's pole stand at the left of who looks from outside.
            middle = (away.center_mass - away.bounds.mean(axis=0)) @ right[on]
            assert middle < -0.3, (feature["kind"], on)


def test_a_mirrored_part_is_split_after_it_is_mirrored():
    split = Split(body="tray", along="x", at_mm=30.0, joint="dovetail", tail_mm=8.0, deep_mm=4.0)
    made = SplitTemplate(MirrorTemplate(lopsided()), (split,)).build()
    names = [body.name for body in made.bodies]
    assert names == ["tray 1", "tray 2", "lid"]
    # The ear stands at the right now, on the second half.
    (lug,) = made.lugs
    assert lug.body == "tray 2"


def test_a_given_shape_is_mirrored_as_triangles():
    from fitkit.parts.contract import Body, Part
    from fitkit.solids.mesh import Mesh

    owl = trimesh.creation.annulus(3.0, 6.0, 4.0)
    owl.apply_translation([9.0, 2.0, 0.0])
    mesh = Mesh(owl.vertices.astype(np.float32), owl.faces.astype(np.int32))
    body = Body.of_mesh("owl", mesh, coarse=mesh)
    (other,) = mirrored_part(Part(title="owl", template="given shape", bodies=(body,))).bodies
    made = trimesh.Trimesh(other.mesh.vertices, other.mesh.triangles, process=False)
    assert made.volume == pytest.approx(owl.volume, rel=1e-5)
    assert made.bounds[:, 0] == pytest.approx([-15.0, -3.0], abs=1e-4)
