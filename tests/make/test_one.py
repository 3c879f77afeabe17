"""The main job, whole: readings in, files out, and the files say what the numbers say.

Files are read back by readers not ours: trimesh for meshes, lib3mf for the 3MF's own rules, the CAD
kernel for STEP.
"""

import json
from pathlib import Path

import numpy as np
import pytest
import trimesh

from fitkit.core.errors import FaultList
from fitkit.demo import copy_demo
from fitkit.flow import load_sheet
from fitkit.flow.earlier import feature_of
from fitkit.make import make
from fitkit.views.terminal import print_made

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def bench(tmp_path_factory) -> Path:
    """A copy of the demo's readings and shared files, where a test may write."""
    folder = tmp_path_factory.mktemp("bench")
    copy_demo(folder)
    return folder


@pytest.fixture(scope="module")
def made(bench):
    return make(bench / "measurements" / "sound_board.toml", into=bench / "made")


@pytest.fixture(scope="module")
def drawn(made):
    return made.plan.drawn


def file(made, ending: str) -> Path:
    return next(path for path in made.files if path.name.endswith(ending))


@pytest.fixture(scope="module")
def printed(made):
    """The bodies of the 3MF as trimesh reads them."""
    scene = trimesh.load_scene(file(made, ".3mf"))
    assert scene.units == "millimeter"
    return dict(scene.geometry)


def test_the_3mf_holds_tray_and_lid_closed_on_the_bed_and_apart(made, printed):
    assert set(printed) == {"tray", "lid"}
    for mesh in printed.values():
        assert mesh.is_watertight
        assert mesh.volume > 0
        assert mesh.bounds[0, 2] == pytest.approx(0, abs=1e-5)
    tray, lid = printed["tray"].bounds, printed["lid"].bounds
    assert np.maximum(tray[0] - lid[1], lid[0] - tray[1])[:2].max() > 3
    bed = made.plan.inputs.profile.bed_mm
    assert (np.concatenate([tray, lid])[:, :2] >= 0).all()
    assert (np.concatenate([tray, lid])[:, :2] <= bed[:2]).all()


def test_lib3mf_finds_nothing_to_warn_of_and_reads_the_trace_code(made):
    import lib3mf

    model = lib3mf.get_wrapper().CreateModel()
    reader = model.QueryReader("3mf")
    reader.SetStrictModeActive(True)
    reader.ReadFromFile(str(file(made, ".3mf")))
    assert reader.GetWarningCount() == 0
    group = model.GetMetaDataGroup()
    values = [group.GetMetaData(i).GetValue() for i in range(group.GetMetaDataCount())]
    assert made.code in values


def test_the_trays_box_is_pocket_and_walls_and_lugs(made, drawn, printed):
    wall = made.plan.template.wall
    x, y, _ = printed["tray"].extents
    assert y == pytest.approx(drawn["pocket width"] + 2 * wall, abs=0.35)  # pocket and flat bottom
    assert x > drawn["pocket length"] + 2 * wall + 10  # the two lugs stand out


def test_stl_and_3mf_hold_the_same_solids_as_the_kernel_knows(made, printed):
    for body in made.part.bodies:
        stl = trimesh.load_mesh(file(made, f"-{body.name}.stl"))
        assert stl.is_watertight
        # Facets of a file leave round faces by 0.005 mm at most; those of a view would miss this.
        assert stl.volume == pytest.approx(body.solid.volume, rel=8e-5)
        assert printed[body.name].volume == pytest.approx(stl.volume, rel=1e-5)


def test_standoff_holes_stand_where_span_less_diameter_puts_them(made, drawn):
    mesh = trimesh.load_mesh(file(made, "-tray.stl"))
    form_z = made.plan.template.floor + 1.0
    flat, to_3d = mesh.section([0, 0, form_z], [0, 0, 1]).to_2D()
    pilots = []
    for polygon in flat.polygons_full:
        for ring in polygon.interiors:
            points = np.asarray(ring.coords)
            size = np.ptp(points, axis=0)
            if np.allclose(size, drawn["screw pilot"], atol=0.06):
                pilots.append(
                    trimesh.transform_points(np.append(points[:-1].mean(axis=0), 0)[None], to_3d)[
                        0, :2
                    ]
                )
    assert len(pilots) == 4
    spans = np.ptp(np.array(pilots), axis=0)
    assert spans == pytest.approx(
        [drawn["standoff spacing x"], drawn["standoff spacing y"]], abs=0.01
    )


def test_opening_sizes_come_back_from_the_step_file(made, drawn):
    from build123d import GeomType, import_step

    assembly = import_step(str(file(made, ".step")))
    bodies = {child.label: child for child in assembly.children}
    assert set(bodies) == {"tray", "lid"}
    for name, body in bodies.items():
        assert body.volume == pytest.approx(made.part.body(name).solid.volume, rel=1e-6)
    radii = [face.radius for face in bodies["tray"].faces() if face.geom_type == GeomType.CYLINDER]
    for hole in ("screw pilot", "lug hole", "port 2 diameter"):
        assert min(abs(2 * radius - drawn[hole]) for radius in radii) < 1e-6


def test_the_sheet_is_one_page_with_pictures_and_every_size(made):
    text = file(made, ".html").read_text(encoding="utf-8")
    assert text.count("data:image/png;base64,") == 2
    assert "://" not in text
    for row in made.plan.rows:
        assert row.fit.name in text
        assert f"{row.size.drawn_mm:.3f}" in text


def test_the_record_holds_the_hash_of_every_file(made):
    import hashlib

    record = json.loads(Path(made.record).read_text(encoding="utf-8"))
    assert record["code"] == made.code
    hashes = {item["name"]: item["sha256"] for item in record["files"]}
    assert hashes == {
        path.name: hashlib.sha256(path.read_bytes()).hexdigest() for path in made.files
    }


def test_the_outlier_is_named_and_out_by_a_recorded_decision(made):
    notes = " ".join(made.page.notes)
    assert "68.520 mm" in notes
    assert "left out by decision" in notes
    assert made.plan.inputs.estimates["board length"].value_mm == pytest.approx(68.03, abs=0.03)


def test_centre_distance_keeps_the_correlation_of_span_and_hole(made):
    import GTC

    spacing = made.plan.parameters["hole_spacing_x"]
    span = made.plan.inputs.estimates["holes x far edges"]
    hole = made.plan.inputs.estimates["mounting hole"]
    assert GTC.get_correlation(span.uncertain, hole.uncertain) > 0.1
    assert spacing.value_mm == pytest.approx(span.value_mm - hole.value_mm, abs=1e-12)
    apart = np.hypot(span.u_mm, hole.u_mm)
    assert spacing.u_mm < apart


def test_the_part_fits_the_numbers_the_simulated_way_round(made):
    """Printing by the fitted profile and what prints taught gives the targets back.

    Sizes that fitted before are kept as they were, and miss by what has been learned since.
    """
    kept = {row.fit.name for row in made.plan.rows if row.size.notes[0].startswith("kept")}
    assert {"pocket length", "lug hole"} <= kept
    learned = made.plan.inputs.earlier.learned
    for row in made.plan.rows:
        printed = learned.predict(
            row.size.drawn_mm,
            kind=row.fit.kind,
            axis=row.fit.axis,
            feature=feature_of(made.plan.sheet.title, made.plan.sheet.template, row.fit.name),
            wall_mm=row.fit.wall_mm,
        )
        # What was learned since moves a kept size by less than the ± with which it fitted.
        off = row.size.U95_mm if row.fit.name in kept else 1e-8
        if row.fit.axis == "z":  # whole layers
            off = 0.5 * made.plan.inputs.profile.layer_height_mm + 1e-8
        assert printed.printed_mm == pytest.approx(row.size.target_mm, abs=off)


def test_the_records_path_is_printed_whole_and_the_record_says_where_the_sheet_is(made, capsys):
    print_made(made, quiet=True)
    assert f"record of the print: {made.record}\n" in capsys.readouterr().out
    extra = json.loads(made.record.read_text())["extra"]
    assert (made.record.parent / extra["sheet_folder"]).resolve() == made.plan.sheet.folder


def test_a_stop_finding_keeps_the_files_back_unless_told(bench, tmp_path):
    sheet = load_sheet(bench / "measurements" / "sound_board.toml")
    big = sheet.model_copy(update={"values": sheet.values | {"board_length": "290 mm"}})
    with pytest.raises(FaultList, match="bed"):
        make(big, into=tmp_path / "out")
    assert not (tmp_path / "out").exists()
