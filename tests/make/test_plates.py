"""Several parts on few plates, read back by lib3mf and trimesh; records as of single makes."""

import csv
from itertools import combinations

import numpy as np
import pytest
import shapely
import trimesh

from fitkit.core.errors import CheckError, FaultList, SheetError
from fitkit.core.staged import settle
from fitkit.journal import Journal
from fitkit.make import make_plates
from fitkit.workshop import begin_workshop
from tests.kill_points import forks, killed_at


@pytest.fixture(scope="module")
def shop(tmp_path_factory):
    """A workshop with three small sheets: two of one printer, and one in another material."""
    folder = tmp_path_factory.mktemp("shop")
    begin_workshop(folder)
    sheets = {
        "hook": ("hanger plate", "PETG", 'count = 1\nlabel = ""'),
        "post": ("spacer", "PETG", 'bore = "insert"\noutside = "12 mm"\nheight = "24 mm"'),
        "angle": ("bracket", "PLA", 'label = "A"'),
    }
    for name, (template, material, values) in sheets.items():
        (folder / f"{name}.toml").write_text(
            f'schema = 1\ntitle = "{name}"\ntemplate = "{template}"\n[printer]\n'
            f'generic = "{material}"\n[values]\n{values}\n[outputs]\nfiles = ["3mf"]\n'
        )
    return folder


@pytest.fixture(scope="module")
def job(shop):
    return make_plates([shop / "hook.toml", shop / "post.toml"], copies=3, into=shop / "job")


def laid(path):
    """Bodies of a 3MF as trimesh places them, by the name of the node."""
    scene = trimesh.load_scene(path)
    return scene.dump()


def test_each_copy_has_its_own_record_code_and_files(shop, job):
    codes = [part.code for part in job.parts]
    assert len(set(codes)) == 6
    assert [part.title for part in job.parts] == ["hook"] * 3 + ["post"] * 3
    journal = Journal(shop / "journal")
    for part in job.parts:
        record = journal.print_of(part.code)
        assert record.title == part.title
        assert record.bodies is not None
        assert record.extra["plates"] == {body: f"plate-{n}.3mf" for body, n in part.plates.items()}
        for file in record.files:
            assert (job.folder / file.name).is_file()


def test_every_body_lies_on_the_bed_and_apart_from_all_others(job):
    count = 0
    for path in job.plates:
        bodies = laid(path)
        count += len(bodies)
        outlines = [shapely.convex_hull(shapely.MultiPoint(b.vertices[:, :2])) for b in bodies]
        bed = shapely.box(0, 0, 220, 220)
        assert all(bed.covers(one) for one in outlines)
        assert all(a.distance(b) >= 6 - 1e-3 for a, b in combinations(outlines, 2))
        for body in bodies:
            assert body.is_watertight
            assert body.volume > 0
            assert body.bounds[0, 2] == pytest.approx(0, abs=1e-5)
    assert count == 6


def test_like_bodies_are_one_object_with_instances_and_labelled_ones_are_not(job):
    import lib3mf

    (path,) = job.plates
    model = lib3mf.get_wrapper().CreateModel()
    reader = model.QueryReader("3mf")
    reader.SetStrictModeActive(True)
    reader.ReadFromFile(str(path))
    assert reader.GetWarningCount() == 0
    names, marks, objects = set(), [], model.GetMeshObjects()
    while objects.MoveNext():
        names.add(objects.GetCurrentMeshObject().GetName())
    items = model.GetBuildItems()
    while items.MoveNext():
        marks.append(items.GetCurrent().GetPartNumber())
    hooks, posts = ([p.code for p in job.parts if p.title == t] for t in ("hook", "post"))
    # A hook without a label is the same thing three times; each post bears its own code.
    assert names == {"hook, plate", *(f"post {code}, spacer" for code in posts)}
    assert sorted(marks) == sorted(hooks + posts)


def test_a_copy_is_the_part_that_a_make_of_its_own_gives(shop, job, tmp_path):
    from fitkit.make import make

    alone = make(shop / "hook.toml", into=tmp_path / "alone")
    (single,) = laid(alone.files[0])
    (path,) = job.plates
    volumes = [body.volume for body in laid(path)]
    assert np.isclose(volumes, single.volume, rtol=1e-6).sum() == 3
    record, other = (
        Journal(shop / "journal").print_of(code) for code in (job.parts[0].code, alone.code)
    )
    assert record.drawn == other.drawn
    assert record.findings == other.findings
    assert record.cost.keys() == other.cost.keys()


def test_things_to_buy_are_summed_over_all_parts(job):
    rows = list(csv.DictReader((job.folder / "things-to-buy.csv").open()))
    counts = {row["what"]: int(row["count"]) for row in rows}
    # Four countersunk screws a hook, at its two sides; an insert at each end of a post.
    assert counts == {
        "countersunk screw M3, for what it stands on": 3 * 4,
        next(what for what in counts if what.startswith("heat-set insert M3, ")): 3 * 2,
    }
    assert sum(buy.count for buy in job.buys) == 18


def test_cost_is_the_sum_of_the_parts_costs(shop, job):
    journal = Journal(shop / "journal")
    records = [journal.print_of(part.code) for part in job.parts]
    for name in ("grams", "hours", "metres"):
        for k in (0, 1):
            assert job.cost[name][k] == pytest.approx(sum(r.cost[name][k] for r in records))


def test_two_materials_never_share_a_plate(shop):
    job = make_plates([shop / "hook.toml", shop / "angle.toml"], into=shop / "mixed")
    assert sorted(path.name for path in job.plates) == ["plate-1-petg.3mf", "plate-2-pla.3mf"]


def test_many_copies_fill_plates_before_they_begin_another(shop):
    job = make_plates([shop / "post.toml"], copies=2, into=shop / "few")
    assert len(job.plates) == 1


def test_all_that_is_wrong_is_one_message_and_nothing_is_written(shop):
    (shop / "wide.toml").write_text(
        'schema = 1\ntitle = "wide"\ntemplate = "bracket"\n[printer]\ngeneric = "PETG"\n'
        '[values]\nleg = "9 m"\n'
    )
    before = sorted(path.name for path in (shop / "journal").iterdir())
    with pytest.raises(FaultList) as caught:
        make_plates([shop / "hook.toml", shop / "wide.toml", shop / "gone.toml"], into=shop / "bad")
    assert "gone.toml" in str(caught.value)
    with pytest.raises(FaultList) as caught:
        make_plates([shop / "hook.toml", shop / "wide.toml"], into=shop / "bad")
    assert "9000" in str(caught.value) or "9 m" in str(caught.value)
    assert not (shop / "bad").exists()
    assert sorted(path.name for path in (shop / "journal").iterdir()) == before


def test_no_sheet_and_too_many_copies_are_refused(shop):
    with pytest.raises(SheetError, match="nothing to make"):
        make_plates([])
    with pytest.raises(SheetError, match="copies"):
        make_plates([shop / "hook.toml"], copies=501)


def test_sheets_of_two_journals_are_refused(shop, tmp_path):
    begin_workshop(tmp_path)
    (tmp_path / "hook.toml").write_text((shop / "hook.toml").read_text())
    with pytest.raises(SheetError, match="different journals"):
        make_plates([shop / "hook.toml", tmp_path / "hook.toml"])


def test_a_reason_for_a_stop_that_there_is_not_is_refused(shop):
    with pytest.raises(CheckError, match="no check called"):
        make_plates([shop / "hook.toml"], despite={"bed": "I know"}, into=shop / "never")
    assert not (shop / "never").exists()


@forks
@pytest.mark.slow
def test_kill_9_at_each_file_operation_leaves_all_records_and_files_or_none(tmp_path):
    import fitkit.make.warm  # noqa: F401  # loaded, not used: a used kernel's threads do not fork

    at = 0
    while True:
        at += 1
        room = tmp_path / f"room{at}"
        begin_workshop(room)
        (room / "post.toml").write_text(
            'schema = 1\ntitle = "post"\ntemplate = "spacer"\n[printer]\ngeneric = "PETG"\n'
            '[outputs]\nfiles = ["3mf"]\n'
        )
        folder = room / "job"
        died = killed_at(
            lambda room=room, folder=folder: make_plates(
                [room / "post.toml"], copies=3, into=folder
            ),
            room,
            at,
        )
        journal = Journal(room / "journal")
        journal.settle()
        settle(room)
        records = journal.records("print")
        assert len(records) == 3 * folder.exists(), at
        assert len(list((room / "journal" / "bodies").glob("*"))) == len(records), at
        for record in records:
            assert all((folder / file.name).is_file() for file in record.files), at
        left = [path.name for path in room.rglob(".*.p*") if path.suffix != ".lock"]
        assert left == [], at
        if not died:
            assert len(records) == 3
            break
    assert at > 15
