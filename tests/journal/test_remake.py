"""The same part from its record alone, whatever became of readings and profile."""

from dataclasses import replace
from typing import ClassVar

import pytest

from fitkit.calibration import generic_profile
from fitkit.calibration.compensation import compensate
from fitkit.core.errors import JournalError, PartError
from fitkit.journal import FitEntry, PrintRecord
from fitkit.journal.geometry import differences, geometry_of
from fitkit.make.remake import (
    changed_profile,
    compensated_again,
    profile_changed,
    rebuild,
    reprint,
)
from fitkit.parts import Body, FitSize, KeyDimension, Length, Part, Template, register, size


@register
class Block(Template):
    title: ClassVar[str] = "test block"
    span: Length = size("30 mm", low="5 mm", high="90 mm", help="Span.", measured=True)
    height: Length = size("8 mm", low="1 mm", high="50 mm", help="Height.")

    def fit_sizes(self):
        return (FitSize(name="span", nominal_mm=self.span, kind="outside", of="span"),)

    def build(self, drawn=None, *, title=""):
        from build123d import Box

        span = self.drawn_sizes(drawn)["span"]
        box = Box(span, 12.0, self.height)
        half = span / 2
        return Part(
            title=title or self.title,
            template=self.title,
            bodies=(Body(name="block", solid=box.solid()),),
            dimensions=(
                KeyDimension(
                    name="span", value_mm=span, body="block", start=(-half, 0, 0), end=(half, 0, 0)
                ),
            ),
        )


@pytest.fixture(scope="module")
def profile():
    return generic_profile("PETG")


@pytest.fixture
def record(profile):
    block = Block.of(span="31.415926535 mm", height="3/16 in")
    drawn = compensate("31.415926535 mm", profile, kind="outside", name="span")
    part = block.build({"span": drawn.drawn_mm}, title="shim")
    entry = FitEntry(
        name="span",
        kind="outside",
        target_mm=drawn.target_mm,
        drawn_mm=drawn.drawn_mm,
        expected_mm=drawn.expected_mm,
        U95_mm=drawn.U95_mm,
    )
    return PrintRecord.new(
        title="shim",
        template=block,
        profile=profile,
        fits=[entry],
        part=part,
        files={"shim.3mf": "0" * 64, "shim.step": "1" * 64, "shim.stl": "2" * 64},
    )


def test_geometry_is_equal_from_the_files_text_alone(journal, record):
    journal.add(record)
    read = journal.print_of(record.code)
    part = rebuild(read)
    assert read.values["height"] == "4.7625 mm"
    (body,) = geometry_of(part)
    # against plain arithmetic, not only against the record
    span = record.drawn["span"]
    assert body.volume_mm3 == pytest.approx(span * 12.0 * 4.7625, rel=1e-9)
    assert body.high_mm[0] - body.low_mm[0] == pytest.approx(span, abs=1e-6)
    assert differences(read.geometry, geometry_of(part)) == ()


def test_files_come_again_though_the_profile_is_gone(journal, record, tmp_path):
    import trimesh

    journal.add(record)
    again = reprint(journal.print_of(record.code), tmp_path / "again")
    assert again.differences == ()
    assert {path.suffix for path in again.files} == {".3mf", ".step", ".stl"}
    stl = next(path for path in again.files if path.suffix == ".stl")
    mesh = trimesh.load(stl)
    assert mesh.volume == pytest.approx(record.geometry[0].volume_mm3, rel=1e-6)


def test_differences_stand_in_the_order_of_the_record_in_every_process(record):
    (body,) = record.geometry
    names = ["tray", "lid", "clip", "foot", "arm", "post", "cap", "rail"]
    before = [body.model_copy(update={"name": name}) for name in names]
    now = [one.model_copy(update={"volume_mm3": one.volume_mm3 + 1.0}) for one in before]
    # eight names in a set come by chance in this order in one process of 40,320
    assert [text.split(":")[0] for text in differences(before, now[::-1])] == names


def test_a_template_that_changed_since_is_told(record, tmp_path):
    old = record.geometry[0]
    other = old.model_copy(update={"volume_mm3": old.volume_mm3 + 1.0})
    changed = record.model_copy(update={"geometry": (other,), "dimensions": {"span": 1.0}})
    again = reprint(changed, tmp_path / "again", kinds=["stl"])
    assert any(text.startswith("block: volume was") for text in again.differences)
    assert any(text.startswith("span: was 1.000000 mm, is 3") for text in again.differences)


def moved(profile, by):
    """The same profile, with every term known beforehand moved."""
    return replace(profile, prior=replace(profile.prior, mean=profile.prior.mean + by))


def keep_bodies(journal, part, code="K7M3PXA"):
    """Put the exact bodies of a part into a journal, as a make does."""
    from fitkit.core.files import write_atomic
    from fitkit.export.step import step_bytes
    from fitkit.journal.kept_bodies import packed_bodies

    bodies, path, packed = packed_bodies(journal.folder, step_bytes(part), code=code)
    write_atomic(path, packed)
    return bodies


@pytest.fixture
def kept(journal, record):
    """Give a record whose exact bodies lie in the journal."""
    held = record.model_copy(update={"bodies": keep_bodies(journal, rebuild(record))})
    journal.add(held)
    return journal.print_of(held.code)


def test_a_reprint_keeps_its_shape_when_the_template_changes_its_own(
    journal, kept, tmp_path, monkeypatch
):
    import trimesh

    shape = Block.build

    def other_shape(self, drawn=None, *, title=""):
        return shape(self.model_copy(update={"height": self.height + 1.0}), drawn, title=title)

    monkeypatch.setattr(Block, "build", other_shape)
    again = reprint(
        kept, tmp_path / "again", kinds=["stl", "step", "sheet"], journal=journal.folder
    )
    assert again.kept
    mesh = trimesh.load(next(path for path in again.files if path.suffix == ".stl"))
    assert mesh.extents[2] == pytest.approx(4.7625, abs=1e-5)
    assert any(text.startswith("block: volume was") for text in again.differences)
    present = reprint(kept, tmp_path / "now", kinds=["stl"], journal=journal.folder, present=True)
    assert not present.kept
    assert present.differences == again.differences
    assert trimesh.load(present.files[0]).extents[2] == pytest.approx(5.7625, abs=1e-5)


def test_a_reprint_needs_no_template_where_the_bodies_are_kept(
    journal, kept, tmp_path, monkeypatch
):
    from fitkit.parts import registry

    monkeypatch.delitem(registry._own, Block.title)
    again = reprint(kept, tmp_path / "again", kinds=["stl"], journal=journal.folder)
    assert again.kept
    assert any("was not built to compare" in note for note in again.notes)


def test_bodies_that_the_present_design_builds_too_are_taken_from_it(journal, kept, tmp_path):
    again = reprint(kept, tmp_path / "again", kinds=["stl"], journal=journal.folder)
    assert not again.kept
    assert again.differences == ()
    alone = reprint(kept, tmp_path / "alone", kinds=["stl"])
    assert again.files[0].read_bytes() == alone.files[0].read_bytes()


@pytest.fixture
def after_holes_moved(journal, kept, tmp_path, monkeypatch):
    """Keep a block with holes along it, move them in the template, and print the block again."""
    from build123d import Cylinder, Pos

    shape = Block.build

    def printed_again(before, after):
        places = before

        def holed(self, drawn=None, *, title=""):
            part = shape(self, drawn, title=title)
            solid = part.bodies[0].solid
            for x in places:
                solid = (solid - Pos(x, 0, 0) * Cylinder(2.0, 50.0)).solid()
            return replace(part, bodies=(replace(part.bodies[0], solid=solid),))

        monkeypatch.setattr(Block, "build", holed)
        part = rebuild(kept)
        bodies = keep_bodies(journal, part)
        held = kept.model_copy(update={"geometry": geometry_of(part), "bodies": bodies})
        places = after
        again = reprint(held, tmp_path / "again", kinds=["stl"], journal=journal.folder)
        assert again.kept
        return again.differences

    return printed_again


def test_a_hole_that_moved_by_itself_is_told(kept, after_holes_moved):
    """Volume, surface, box and key sizes agree; the centre of mass does not."""
    (text,) = after_holes_moved([0.0], [0.5])
    # A hole of area a and shift s moves the centre of the rest by a * s / (A - a).
    area = kept.drawn["span"] * 12.0
    hole = 3.141592653589793 * 4.0
    assert text.endswith(f"moved by {hole * 0.5 / (area - hole):.3g} mm")


def test_two_holes_that_moved_apart_are_told(after_holes_moved):
    """Volume, surface, box, key sizes and the centre of mass all agree."""
    assert "features have moved" in after_holes_moved([-6.0, 6.0], [-6.3, 6.3])[0]


def test_kept_bodies_that_were_changed_or_lost_are_told(journal, kept, tmp_path):
    from fitkit.journal.kept_bodies import FOLDER

    path = journal.folder / FOLDER / kept.bodies.name
    path.write_bytes(path.read_bytes()[:-9] + b"123456789")
    with pytest.raises(JournalError) as caught:
        reprint(kept, tmp_path / "again", journal=journal.folder)
    assert caught.value.code == "journal.bodies-damaged"
    path.unlink()
    with pytest.raises(JournalError, match="cannot be read"):
        reprint(kept, tmp_path / "again", journal=journal.folder)
    assert reprint(kept, tmp_path / "now", kinds=["stl"], journal=journal.folder, present=True)
    foreign = keep_bodies(journal, Block.of(height="2 mm").build(), "NX7GAU9")
    other = kept.model_copy(update={"bodies": foreign})
    with pytest.raises(JournalError, match="not those of the record"):
        reprint(other, tmp_path / "again", journal=journal.folder)


def test_a_record_without_bodies_says_that_it_was_rebuilt(journal, record, tmp_path):
    again = reprint(record, tmp_path / "again", kinds=["stl"], journal=journal.folder)
    assert not again.kept
    assert any("keeps no bodies" in note for note in again.notes)


def test_compensated_again_for_a_printer_that_has_changed(record, profile, tmp_path):
    now = replace(moved(profile, 0.002), name="bench-petg, new nozzle")
    assert profile_changed(record, now)
    assert not profile_changed(record, profile)
    sizes = compensated_again(record, now)
    (row,) = sizes.rows
    expected = compensate("31.415926535 mm", now, kind="outside")
    assert row.drawn_now_mm == expected.drawn_mm
    assert abs(row.shift_mm) > 1e-3
    assert f"{row.shift_mm:+.3f} mm" in sizes.summary()
    again = reprint(record, tmp_path / "anew", sizes=sizes, kinds=["stl"])
    assert again.part.dimensions[0].value_mm == row.drawn_now_mm
    same = compensated_again(record, profile)
    assert same.rows[0].shift_mm == pytest.approx(0.0, abs=1e-12)


def test_sizes_of_another_record_are_refused(record, profile, tmp_path):
    sizes = replace(compensated_again(record, profile), code="other")
    with pytest.raises(JournalError, match="are not for"):
        reprint(record, tmp_path / "x", sizes=sizes)
    assert not (tmp_path / "x").exists()


def test_a_template_that_is_gone_is_named(record):
    with pytest.raises(PartError, match="no such thing"):
        rebuild(record.model_copy(update={"template": "no such thing"}))


def test_a_profile_that_changed_is_found_by_the_name_inside_its_file(record, profile, tmp_path):
    from fitkit.calibration import save_profile

    save_profile(profile, tmp_path / "a.toml")
    (tmp_path / "b.toml").write_text("not = = toml")
    assert changed_profile(record, tmp_path) is None
    save_profile(moved(profile, 0.001), tmp_path / "a.toml")
    assert changed_profile(record, tmp_path) == tmp_path / "a.toml"
    save_profile(replace(profile, name="another"), tmp_path / "a.toml")
    assert changed_profile(record, tmp_path) is None


def test_the_command_makes_the_files_and_offers_the_variant(journal, record, profile, tmp_path):
    from click.testing import CliRunner

    from fitkit.calibration import save_profile
    from fitkit.views.shell_journal import commands

    journal.add(record)
    save_profile(moved(profile, 0.001), tmp_path / "now.toml")
    arguments = [record.code, "--journal", journal.folder, "--into", tmp_path / "out"]
    result = CliRunner().invoke(
        commands["reprint"], [*map(str, arguments), "--profiles", str(tmp_path)]
    )
    assert result.exit_code == 0, result.output
    assert "the same part: volumes" in result.output
    assert "now.toml has changed since this print" in result.output
    assert f"reprint {record.code} --profile" in result.output
    assert len(list((tmp_path / "out").iterdir())) == 3


def test_a_coupon_record_holds_the_fitted_profile(journal, profile, tmp_path):
    from fitkit.journal import CouponRecord

    path = tmp_path / "coupon.csv"
    path.write_text("x")
    record = CouponRecord.new(profile, [path], spool="grey")
    journal.add(record)
    assert journal.records("coupon") == [record]
    assert record.profile["terms"]
