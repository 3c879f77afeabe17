"""Files come back the same through readers not ours: trimesh, lib3mf, the kernel."""

import ctypes
import locale
import zipfile

import numpy as np
import pytest
import trimesh

from fitkit.core.errors import ExportError
from fitkit.export.bodies import file_name, place
from fitkit.export.stl import stl_bytes, write_stl
from fitkit.export.threemf import PlacedMesh, read_3mf, write_3mf
from fitkit.solids.mesh import Mesh
from fitkit.solids.read_3mf import MAX_BYTES, locale_kept


def block(size, at=(0, 0, 0)) -> Mesh:
    body = trimesh.creation.box(size)
    return Mesh(np.asarray(body.vertices + at, float), np.asarray(body.faces, np.int32))


@pytest.fixture
def bodies():
    return [
        PlacedMesh("tray", block((40, 30, 10))),
        PlacedMesh("lid", block((40, 30, 2), (0, 50, 0))),
    ]


def test_trimesh_reads_the_3mf_in_mm_with_both_bodies_closed(tmp_path, bodies):
    write_3mf(tmp_path / "a.3mf", bodies, {"Title": "case", "TraceCode": "ABC"})
    scene = trimesh.load_scene(tmp_path / "a.3mf")
    assert scene.units == "millimeter"
    assert set(scene.geometry) == {"tray", "lid"}
    for body, mesh in zip(bodies, scene.geometry.values(), strict=True):
        assert mesh.is_watertight
        assert mesh.volume == pytest.approx(body.mesh.volume(), rel=1e-6)


def test_metadata_comes_back_and_carries_the_trace_code(tmp_path, bodies):
    write_3mf(tmp_path / "a.3mf", bodies, {"Title": "Größe <1>", "TraceCode": "ABC"})
    _, metadata = read_3mf(tmp_path / "a.3mf")
    assert metadata["Title"] == "Größe <1>"
    assert metadata["TraceCode"] == "ABC"


def test_an_open_mesh_is_refused_by_name(tmp_path):
    whole = block((10, 10, 10))
    open_mesh = Mesh(whole.vertices, whole.triangles[:-1])
    with pytest.raises(ExportError, match="body 'cup' is not a closed solid"):
        write_3mf(tmp_path / "a.3mf", [PlacedMesh("cup", open_mesh)], {})


def test_an_inside_out_mesh_is_refused(tmp_path):
    whole = block((10, 10, 10))
    with pytest.raises(ExportError, match="mm³"):
        write_3mf(
            tmp_path / "a.3mf",
            [PlacedMesh("cup", Mesh(whole.vertices, whole.triangles[:, ::-1]))],
            {},
        )


@pytest.mark.parametrize(("unit", "mm"), [("inch", 25.4), ("foot", 304.8), ("micron", 0.001)])
def test_a_3mf_of_another_unit_and_a_shift_is_read_in_mm(tmp_path, bodies, unit, mm):
    write_3mf(tmp_path / "a.3mf", bodies[:1], {})
    with zipfile.ZipFile(tmp_path / "a.3mf") as archive:
        parts = {name: archive.read(name) for name in archive.namelist()}
    model = next(name for name in parts if name.endswith(".model"))
    text = parts[model].decode().replace('unit="millimeter"', f'unit="{unit}"')
    head, _, tail = text.partition("<item ")
    parts[model] = f'{head}<item transform="1 0 0 0 1 0 0 0 1 100 0 0" {tail}'.encode()
    with zipfile.ZipFile(tmp_path / "b.3mf", "w") as archive:
        for name, data in parts.items():
            archive.writestr(name, data)
    ((_, mesh),), _ = read_3mf(tmp_path / "b.3mf")
    assert mesh.size == pytest.approx(np.array([40, 30, 10]) * mm)
    assert mesh.bounds.mean(axis=0)[0] == pytest.approx(100 * mm)


def test_what_is_no_3mf_is_refused(tmp_path):
    (tmp_path / "a.3mf").write_text("no archive")
    with pytest.raises(ExportError, match="not an archive that can be read"):
        read_3mf(tmp_path / "a.3mf")
    with zipfile.ZipFile(tmp_path / "b.3mf", "w") as archive:
        archive.writestr("3D/3dmodel.model", "<model/>")
    with pytest.raises(ExportError, match="not a readable 3MF file"):
        read_3mf(tmp_path / "b.3mf")


def test_an_archive_that_unpacks_without_bound_is_refused_unread(tmp_path):
    with zipfile.ZipFile(tmp_path / "a.3mf", "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("3D/3dmodel.model", b"0" * (MAX_BYTES + 1))
    assert (tmp_path / "a.3mf").stat().st_size < MAX_BYTES / 500
    with pytest.raises(ExportError, match="unpacks to more than 268 MB"):
        read_3mf(tmp_path / "a.3mf")


def test_an_assembly_of_other_objects_is_refused_in_words(tmp_path):
    import lib3mf

    wrapper = lib3mf.get_wrapper()
    model = wrapper.CreateModel()
    assembly = model.AddComponentsObject()
    assembly.SetName("pair")
    model.AddBuildItem(assembly, wrapper.GetIdentityTransform())
    thing = model.AddMeshObject()
    points = [(0, 0, 0), (1, 0, 0), (0, 1, 0), (0, 0, 1)]
    faces = [(0, 2, 1), (0, 1, 3), (1, 2, 3), (0, 3, 2)]
    thing.SetGeometry(
        [lib3mf.Position((ctypes.c_float * 3)(*p)) for p in points],
        [lib3mf.Triangle((ctypes.c_uint32 * 3)(*f)) for f in faces],
    )
    assembly.AddComponent(thing, wrapper.GetIdentityTransform())
    with locale_kept():
        model.QueryWriter("3mf").WriteToFile(str(tmp_path / "a.3mf"))
    with pytest.raises(ExportError, match="object 'pair' is not a mesh"):
        read_3mf(tmp_path / "a.3mf")


def test_the_locale_outlives_writing_and_reading(tmp_path, bodies):
    before = locale.setlocale(locale.LC_ALL)
    try:
        locale.setlocale(locale.LC_ALL, "C.UTF-8")
    except locale.Error:
        pytest.skip("no C.UTF-8 here")
    try:
        write_3mf(tmp_path / "größe 1.3mf", bodies, {})
        read_3mf(tmp_path / "größe 1.3mf")
        assert locale.setlocale(locale.LC_ALL) == "C.UTF-8"
    finally:
        locale.setlocale(locale.LC_ALL, before)


def test_a_folder_that_is_not_there_is_told(tmp_path, bodies):
    with pytest.raises(ExportError, match=r"a\.3mf: this file cannot be written: No such"):
        write_3mf(tmp_path / "none" / "a.3mf", bodies, {})


def test_stl_reads_back_closed_once_points_are_merged(tmp_path):
    mesh = block((10, 20, 30))
    write_stl(tmp_path / "a.stl", mesh, "solid case")
    loose = trimesh.load_mesh(tmp_path / "a.stl", process=False)
    loose.merge_vertices()
    assert loose.is_watertight
    assert loose.volume == pytest.approx(6000)
    holed = trimesh.Trimesh(loose.vertices, loose.faces[:-1])
    assert not holed.is_watertight


def test_stl_has_the_length_that_the_format_fixes():
    # Binary STL: 80 bytes of header, 4 of count, 50 a triangle (the format's public description).
    assert len(stl_bytes(block((1, 1, 1)))) == 84 + 12 * 50


def test_placed_bodies_stand_on_the_bed():
    (plate,) = place({"a": block((10, 10, 10)), "b": block((20, 5, 4), (0, 0, 90))}, (100, 100))
    assert [body.mesh.bounds[0, 2] for body in plate] == pytest.approx([0, 0])


@pytest.mark.parametrize(
    "title", ["", "..", "a/b\\c", "\x00", "CON:", "ü" * 300, "../../etc/passwd"]
)
def test_any_title_gives_a_harmless_file_name(title):
    name = file_name(title)
    assert name
    assert set(name) <= set("abcdefghijklmnopqrstuvwxyz0123456789-")
    assert len(name) <= 60


def test_step_names_of_any_script_come_back(tmp_path):
    """ISO 10303-21 writes what is outside of ASCII in runs of digits; read by the kernel."""
    from build123d import Box, import_step

    from fitkit.export.step import write_step
    from fitkit.parts import Body

    path = tmp_path / "gr.step"
    write_step(path, [Body(name="Füße_日本_😀_it's", solid=Box(1, 2, 3).solid())], "Größe")
    assert path.read_bytes().isascii()
    read = import_step(path)
    assert read.label == "Größe"
    assert [child.label for child in read.children] == ["Füße_日本_😀_it's"]


def test_a_body_that_fits_only_when_turned_lies_turned_on_the_bed():
    """210 x 30 on 200 x 200: 240 / sqrt 2 = 169.7 mm at 45 degrees, by hand."""
    ((laid,),) = place({"panel": block((210, 30, 3))}, (200, 200))
    low, high = laid.mesh.bounds
    assert (low[:2] >= 2.0).all()
    assert (high[:2] <= 198.0).all()
    assert laid.mesh.size[0] == pytest.approx(240 / np.sqrt(2), abs=1e-3)


def test_bodies_are_turned_where_they_then_share_a_plate():
    plates = place({"a": block((190, 20, 3)), "b": block((20, 190, 3))}, (200, 200))
    assert len(plates) == 1
