import math

import numpy as np
import pytest

from fitkit.calibration import CouponSizes, coupon_features, parse_feature
from fitkit.calibration.choose import choose_features
from fitkit.core.errors import FaultList, PartError
from fitkit.core.units import ureg
from fitkit.parts.designs.coupon import CalibrationCoupon


@pytest.fixture(scope="module")
def coupon():
    return CalibrationCoupon.of_sizes(CouponSizes.thorough())


@pytest.fixture(scope="module")
def part(coupon):
    return coupon.build()


def test_it_has_just_the_default_features(coupon):
    assert coupon.features() == coupon_features(CouponSizes.thorough())
    assert CalibrationCoupon().features() == coupon_features()


def test_every_feature_is_a_dimension_of_its_drawn_length(coupon, part):
    rows = {row.name: row for row in part.dimensions}
    assert list(rows) == [feature.name for feature in coupon.features()]
    for feature in coupon.features():
        row = rows[feature.name]
        assert math.dist(row.start, row.end) == pytest.approx(feature.drawn_mm, abs=1e-9)
        assert row.value_mm == feature.drawn_mm
        assert row.kind == feature.kind


def test_it_is_one_valid_solid_within_100_mm(part):
    from fitkit.solids.bodies import box_of, is_valid, solids_in

    (body,) = part.bodies
    assert len(solids_in(body.solid)) == 1
    assert is_valid(body.solid)
    low, high = box_of(body.solid)
    assert low == pytest.approx((0, 0, 0), abs=1e-6)
    assert high[0] <= 100
    assert high[1] <= 100
    assert high[2] == pytest.approx(20.0)


def test_every_label_was_set(part):
    assert part.findings == ()


@pytest.fixture(scope="module")
def mesh(part):
    """The solid as an independent library sees it: closed, and asked with rays for its faces."""
    import trimesh

    from fitkit.solids import tessellate

    made = tessellate(part.bodies[0].solid)
    found = trimesh.Trimesh(made.vertices, made.triangles, process=True)
    assert found.is_watertight
    return found


@pytest.mark.parametrize(
    "name",
    [
        "bar x 30",
        "bar y 50",
        "bar x 96",
        "tab 5",
        "peg 8",
        "slot 6",
        "hole 4",
        "hole 16",
        "lying hole 6 width",
        "lying hole 6 height",
        "height 12",
        "diagonal 1 124",
    ],
)
def test_the_mesh_measures_what_the_name_says(part, mesh, name):
    row = next(r for r in part.dimensions if r.name == name)
    start, end = np.array(row.start), np.array(row.end)
    centre, along = 0.5 * (start + end), (end - start) / row.value_mm
    # Inside sizes are looked for from their middle, in air; outside ones from their middle, in
    # plastic. Either way the nearest face each way is half the size off.
    if row.kind in ("height", "hole_lying"):
        centre[1] += 1.0  # a little in from the face that the points lie on
    if row.kind == "outside" and name.startswith(("bar x 96", "diagonal")):
        reach = _span_from_outside(mesh, centre, along, row.value_mm)
    else:
        hits = [
            np.linalg.norm(
                mesh.ray.intersects_location([centre], [sign * along])[0] - centre, axis=1
            )
            for sign in (1, -1)
        ]
        reach = sum(h.min() for h in hits)
    assert reach == pytest.approx(row.value_mm, abs=0.03)


@pytest.mark.parametrize("name", ["inside x 30", "inside x 75", "inside y 30", "inside y 75"])
def test_jaws_reach_both_ribs_of_a_wide_inside(part, mesh, name):
    """A face at half the size each way, and none in the last 4 mm, where the jaws go down."""
    row = next(r for r in part.dimensions if r.name == name)
    start, end = np.array(row.start), np.array(row.end)
    centre, along = 0.5 * (start + end), (end - start) / row.value_mm
    for sign in (1, -1):
        met = mesh.ray.intersects_location([centre], [sign * along])[0]
        reach = np.linalg.norm(met - centre, axis=1) - 0.5 * row.value_mm
        assert np.abs(reach).min() < 0.01
        assert not ((reach > -4.0) & (reach < -0.01)).any()


def test_nothing_tall_stands_where_calipers_reach_over(part, mesh):
    """Between the ribs nothing is taller than they are: jaws come from above."""
    for row in part.dimensions:
        if not row.name.startswith("inside"):
            continue
        start, end = np.array(row.start), np.array(row.end)
        for share in np.linspace(0.02, 0.98, 40):
            at = start + share * (end - start)
            met = mesh.ray.intersects_location([[*at[:2], 100.0]], [[0, 0, -1.0]])[0]
            assert met[:, 2].max(initial=0.0) < 10.0 + 1e-6


def _span_from_outside(mesh, centre, along, size):
    """Distance between the first faces met when coming from far off on both sides."""
    far = [centre + sign * 2 * size * along for sign in (1, -1)]
    met = []
    for start in far:
        points = mesh.ray.intersects_location([start], [centre - start])[0]
        met.append(points[np.argmin(np.linalg.norm(points - start, axis=1))])
    return float(np.linalg.norm(met[0] - met[1]))


def test_a_chosen_set_of_features_can_be_drawn():
    chosen = choose_features(20).features
    coupon = CalibrationCoupon.of_features(chosen)
    assert {f.name for f in chosen} - {f.name for f in coupon.features()} == set()
    assert coupon.build().bodies


def test_too_much_for_the_plate_is_refused():
    crowded = CalibrationCoupon.of(holes=[f"{n} mm" for n in range(12, 24)])
    with pytest.raises(PartError, match=r"has no room left on 96 x 64 mm"):
        crowded.build()


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        ({"holes": ["0.1 mm"]}, "holes: a size is not between 0.8 mm"),
        ({"bars_x": ["10 mm"]}, "longest bar along x and along y is the plate"),
        ({"heights": ["12 mm"]}, "plate's thickness"),
        ({"diagonal": "135 mm"}, "would cut the corners"),
        ({"diagonal": "60 mm"}, "would cut the corners"),
        ({"holes": ["3"]}, "holes"),
        (
            {"bars_x": ["30 mm", "95.1234567 mm"]},
            r"coupon, bars_x 2: 95\.1234567 mm has more than the 6 digits that names on a coupon "
            r"hold\. Give 95\.1235 mm\.$",
        ),
        ({"diagonal": "124.12345 mm"}, r"diagonal: 124\.12345 mm has more.*Give 124\.123 mm"),
    ],
)
def test_sizes_that_cannot_be_are_named(wrong, says):
    with pytest.raises(FaultList, match=says):
        CalibrationCoupon.of(**wrong)


@pytest.mark.parametrize(
    ("typed", "held"),
    [("95.1235 mm", 95.1235), ("3 1/16 in", 77.7875), (ureg.Quantity(31.9 * 3, "mm"), 95.7)],
)
def test_sizes_are_held_as_their_names_tell_them(typed, held):
    """A sum comes out of binary numbers a little off: the plate would not know its own bar."""
    coupon = CalibrationCoupon.of(bars_x=[typed], bars_y=["80 mm"], diagonal="0 mm")
    assert coupon.bars_x == (held,)
    assert coupon.features()[0].drawn_mm == held
    again = CalibrationCoupon.of_features(coupon.features(), plate_mm=30.0)
    assert again == coupon


def test_the_default_features_make_the_default_coupon():
    # The default coupon has no diagonals, and its longest bars are the plate.
    made = CalibrationCoupon.of_features(coupon_features(), plate_mm=64.0)
    assert made == CalibrationCoupon()


OBLONG = ["bar x 96", "bar y 60", "bar x 96 at bed", "bar y 60 at bed", "hole 5"]


def test_an_oblong_plate_is_read_at_the_bed_along_both_sides():
    """Each side at its own length; the kernel builds what the dimensions tell."""
    features = [parse_feature(name) for name in OBLONG]
    coupon = CalibrationCoupon.of_features(features)
    assert set(features) <= set(coupon.features())
    rows = {row.name: row for row in coupon.build().dimensions}
    assert rows["bar x 96 at bed"].start == (0.0, 30.0, 0.0)
    assert rows["bar x 96 at bed"].end == (96.0, 30.0, 0.0)
    assert rows["bar y 60 at bed"].end == (48.0, 60.0, 0.0)


@pytest.mark.parametrize(
    ("names", "missing"),
    [
        (["centres x 50"], "'centres x 50'"),
        (["tab y 5", "slot y 6"], "'tab y 5', 'slot y 6'"),
        (["bar y 50 at bed", "bar y 96"], "'bar y 50 at bed'"),
        (["diagonal 1 120", "diagonal 2 124"], "'diagonal 1 120'"),  # the last one given is drawn
    ],
)
def test_features_that_the_coupon_has_not_are_refused_by_name(names, missing):
    with pytest.raises(PartError) as error:
        CalibrationCoupon.of_features(map(parse_feature, ["hole 5", "slot 6", *names]))
    assert str(error.value) == (
        f"calibration coupon: {missing} cannot be drawn. "
        "Leave out centres, tabs and slots along y, bars at the bed other than the longest "
        "(96 mm along x, 96 mm along y), and all diagonals and pockets but one pair."
    )


def test_a_slot_along_x_is_the_slot_that_has_no_direction_in_its_name():
    coupon = CalibrationCoupon.of_features([parse_feature("slot x 6")])
    assert coupon.slots == (6.0,)


def test_the_short_coupon_has_a_pocket_with_walls_of_a_case_and_a_bridge_over_air():
    """Rays inside the pocket meet its walls, and behind them air; the bridge's roof hangs free."""
    import trimesh

    from fitkit.solids import tessellate

    part = CalibrationCoupon().build()
    made = tessellate(part.bodies[0].solid)
    mesh = trimesh.Trimesh(made.vertices, made.triangles, process=True)
    rows = {row.name: row for row in part.dimensions}
    pocket = rows["pocket x 14 by 50"]
    middle = 0.5 * (np.array(pocket.start) + np.array(pocket.end))
    met = mesh.ray.intersects_location([middle], [[1.0, 0.0, 0.0]])[0][:, 0] - middle[0]
    assert np.sort(met)[:2] == pytest.approx([7.0, 9.0], abs=1e-6)
    bridge = rows["bridge 4"]
    low = np.add(bridge.start, (0.0, 1.0, 0.1))
    roof = mesh.ray.intersects_location([low], [[0.0, 0.0, 1.0]])[0][:, 2].min()
    assert roof - bridge.start[2] == pytest.approx(4.0, abs=1e-6)
    assert part.findings == ()


def test_the_short_coupon_takes_at_most_25_g():
    """As if it were solid throughout, in PETG of 1.27 g/cm³ (the materials table)."""
    from fitkit.solids.bodies import volume_of

    body = CalibrationCoupon().build().bodies[0].solid
    assert volume_of(body) * 1.27e-3 < 25.0


@pytest.mark.parametrize("sizes", [CouponSizes.second_printer(), CouponSizes.check_piece()])
def test_a_small_piece_has_its_features_labelled_in_little_plastic(sizes):
    small = CalibrationCoupon.of_sizes(sizes)
    part = small.build()
    assert [row.name for row in part.dimensions] == [f.name for f in coupon_features(sizes)]
    assert part.findings == ()
    volume = part.bodies[0].solid.volume
    assert volume * 1.27e-3 < 12.0  # g of PETG if it were solid


def test_the_front_left_corner_alone_is_cut_where_no_diagonal_is_read():
    """A coupon that can be laid down four ways shows which edge is its front."""
    import trimesh

    from fitkit.solids import tessellate

    made = tessellate(CalibrationCoupon().build().bodies[0].solid)
    mesh = trimesh.Trimesh(made.vertices, made.triangles, process=True)
    wide, deep = 96.0, 64.0
    corners = [(1, 1, 1), (wide - 1, 1, 1), (wide - 1, deep - 1, 1), (1, deep - 1, 1)]
    assert mesh.contains(np.array(corners, float)).tolist() == [False, True, True, True]
