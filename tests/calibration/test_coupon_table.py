"""From a readings file to a profile, faults of the file included."""

import csv
import datetime as dt
import io
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from simulator import Truth, print_once, read

from fitkit.calibration import coupon_features, fit_coupon, fit_profile, load_profile
from fitkit.calibration.order import blank_readings
from fitkit.calibration.settings import PrintSettings
from fitkit.core.errors import CalibrationError, FaultList
from fitkit.readings import Instrument, ReadingTable, load_instruments

ROOT = Path(__file__).parents[2]
SETTINGS = PrintSettings(printer="bench printer A", material="PETG")
CALIPERS = Instrument(
    name="calipers", resolution_mm=0.01, mpe_mm=0.0, zero_error_mm=-0.02, inside_face_mm=0.5
)


def rows_of(truth=None, *, prints=1, repeats=3, seed=1, zero_mm=0.0, face_mm=0.0):
    truth = truth or Truth()
    features = coupon_features()
    rng = np.random.default_rng(seed)
    text = blank_readings(
        features, settings=SETTINGS, prints=prints, repeats=repeats, instrument=CALIPERS.name
    )
    rows = list(csv.DictReader(io.StringIO(text)))
    shown = []
    for _ in range(prints):
        sizes = print_once(truth, features, rng)
        bore = np.array([f.kind in ("hole", "hole_lying") for f in features])
        sizes = np.where(bore, np.sqrt(sizes**2 - face_mm**2), sizes) + zero_mm
        shown += list(read(truth, sizes, rng, repeats).T.ravel())
    for row, value in zip(rows, shown, strict=True):
        row["reading"] = f"{value:.2f}"
    return rows


def table_of(rows, **options):
    return ReadingTable.of(rows, name="coupon.csv", **options)


def test_a_filled_file_gives_back_the_printer():
    truth = Truth(feature=0.004, reading=0.004)
    fit = fit_coupon(table_of(rows_of(truth, zero_mm=-0.02, face_mm=0.5)), instruments=[CALIPERS])
    profile = fit.profile
    assert (profile.printer, profile.material) == ("bench printer A", "PETG")
    assert profile.provenance.readings_count == 3 * len(coupon_features())
    assert profile.provenance.readings[0].startswith("coupon.csv, sha256 ")
    for kind, axis, size in (("outside", "x", 40), ("hole", "xy", 3), ("hole_lying", "z", 6)):
        mean, u_mm = profile.fitted(size, kind=kind, axis=axis)
        true = truth.mean(size, kind, axis)
        assert float(mean) == pytest.approx(true, abs=0.016)  # drawn a little to other printers
        assert float(mean) == pytest.approx(true, abs=float(u_mm))


def test_zero_and_jaws_left_uncorrected_would_show():
    """Without the instrument, the zero error of -0.02 mm stays in every offset."""
    truth = Truth(feature=0.004, reading=0.004)
    rows = rows_of(truth, zero_mm=-0.02, face_mm=0.5)
    with_it, without = (
        fit_profile(table_of(rows), instruments=given) for given in ([CALIPERS], None)
    )
    # Without the file usual calipers are assumed, whose zero may be off: some of the 0.02 mm is
    # laid to that, and the line width that outsides and insides share moves by it, too.
    assert with_it.coef[3] - without.coef[3] == pytest.approx(0.02, abs=0.008)
    holes = [float(p.fitted(2.6, kind="hole")[0]) for p in (with_it, without)]
    assert holes[0] - holes[1] == pytest.approx(0.02 + 0.5**2 / (2 * 2.4), abs=0.008)


def test_a_coupons_holes_are_round_by_name_unless_the_table_says_otherwise():
    """A bore of 2.7 mm reads sqrt(2.7² - 0.5²) = 2.653 between jaws of 0.5 mm."""
    rows = rows_of(Truth(feature=0.004, reading=0.004), zero_mm=-0.02, face_mm=0.5)
    unsaid = [row | {"round": ""} for row in rows]
    told, silent = (
        fit_coupon(table_of(given), instruments=[CALIPERS]).table() for given in (rows, unsaid)
    )
    assert silent["printed_mm"].to_numpy() == pytest.approx(told["printed_mm"].to_numpy(), abs=1e-9)
    flat = [row | {"round": "no"} for row in rows]
    other = fit_coupon(table_of(flat), instruments=[CALIPERS]).table()
    by_kind = (told["printed_mm"] - other["printed_mm"]).groupby(told["kind"]).min()
    assert by_kind["hole"] > 0.005
    assert by_kind["hole_lying"] > 0.005
    assert by_kind["outside"] == pytest.approx(0.0, abs=1e-9)


def test_the_profile_says_what_it_was_read_with():
    table = table_of(rows_of(zero_mm=-0.02, face_mm=0.5))
    described = [replace(CALIPERS, zero_checked=dt.date(2026, 3, 2), file="bench.toml")]
    assert fit_profile(table, instruments=described).provenance.instruments == (
        f"{CALIPERS.name} (bench.toml): zero error of 2026-03-02 -0.020 mm, jaw faces 0.5 mm",
    )
    (said,) = fit_profile(table).provenance.instruments
    assert said.startswith(f"instrument {CALIPERS.name!r} is not described: usual calipers are")


def test_usual_calipers_are_no_perfect_ones():
    """The limit of error of ± 0.03 mm has a share that every reading of a coupon has in common."""
    table = table_of(rows_of())
    perfect = replace(CALIPERS, mpe_mm=0.0, zero_u_mm=0.0, inside_face_mm=None)
    u_mm = [
        fit_profile(table, instruments=given).value("outside_offset")[1]
        for given in (None, [perfect])
    ]
    assert u_mm[0] > u_mm[1]


def test_prints_are_told_apart_by_their_item():
    fit = fit_coupon(table_of(rows_of(prints=2)))
    assert fit.profile.prints == 2
    assert len(set(fit.observations.prints)) == 2


def test_the_same_readings_have_the_same_hash_and_others_not():
    rows = rows_of()
    one = fit_profile(table_of(rows)).provenance.readings
    assert fit_profile(table_of(rows)).provenance.readings == one
    rows[0]["reading"] = f"{float(rows[0]['reading']) + 0.01:.2f}"
    assert fit_profile(table_of(rows)).provenance.readings != one


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("PETG", "PLA", r"material is 'PLA' here and 'PETG' in"),
        ("bench printer A", "bench printer B", "printer is 'bench printer B' here"),
        ("layers 0.20", "layers 0.30", "layer height is 0.3 here and 0.2"),
    ],
)
def test_mixed_prints_are_refused(old, new, says):
    rows = rows_of(prints=2)
    for row in rows[len(rows) // 2 :]:
        row["item"] = row["item"].replace(old, new)
    with pytest.raises(FaultList, match=says):
        fit_profile(table_of(rows))


def test_wrong_jaws_are_named():
    rows = rows_of()
    for row in rows:
        if row["feature"] == "hole 5":
            row["mode"] = "outside"
    with pytest.raises(FaultList, match=r"feature 'hole 5': it was read with outside jaws"):
        fit_profile(table_of(rows))


def test_a_coupon_in_inch_is_refused():
    rows = rows_of()
    for row in rows:
        row["reading"] = f"{float(row['reading']) / 25.4:.4f}"
    with pytest.raises(FaultList, match="inch readings entered as mm"):
        fit_profile(table_of(rows))
    for row in rows:
        row["unit"] = "in"
    assert fit_profile(table_of(rows)).provenance.features == len(coupon_features())


def test_rows_not_filled_in_are_counted_and_the_rest_fitted():
    rows = rows_of()
    for row in rows:
        if row["feature"].startswith("lying"):
            row["reading"] = ""
    profile = fit_profile(table_of(rows))
    assert "6 rows are empty, rejected or left out" in profile.provenance.notes
    assert "hole_lying" not in profile.valid_mm


def test_an_empty_file_says_so():
    rows = list(csv.DictReader(io.StringIO(blank_readings())))
    with pytest.raises(CalibrationError, match="no reading that counts"):
        fit_profile(table_of(rows))


def test_readings_that_were_all_rejected_are_told_with_the_reason():
    rows = [row | {"temperature": "45"} for row in rows_of()]
    with pytest.raises(
        CalibrationError,
        match=r"coupon.csv, row 2, feature 'bar x 10': the table holds no reading that counts: \d+ "
        r"are rejected, the first of them because temperature '45' is not such as '45 °C', or "
        r"is more than a thing has that is read. Mend that in every row",
    ):
        fit_profile(table_of(rows))


def test_a_warm_coupon_says_that_it_was_brought_to_20_degrees_and_not_that_it_was_cold():
    """With the temperature written down row by row."""
    warm = [row | {"temperature": "45 °C"} for row in rows_of()]
    notes = fit_profile(table_of(warm)).provenance.notes
    assert "read at 45 °C: sizes brought to 20 °C" in notes
    assert not any("let it cool" in note for note in notes)
    half = [row | {"temperature": "45 °C" if n % 2 else ""} for n, row in enumerate(rows_of())]
    assert any("readings without" in note for note in fit_profile(table_of(half)).provenance.notes)
    notes = fit_profile(table_of(rows_of())).provenance.notes
    assert "coupon taken to be at room temperature: let it cool before reading" in notes


def test_lying_holes_that_were_not_read_are_not_shown_as_measured():
    rows = [row for row in rows_of() if not row["feature"].startswith("lying")]
    profile = fit_profile(table_of(rows))
    said = {line.split(":")[0].strip(): line for line in profile.summary().splitlines()}
    assert "(as other printers do)" in said["lying round holes close in height by"]
    assert "(as other printers do)" not in said["upright round holes close by"]


def test_heights_that_are_no_whole_layers_are_doubted():
    rows = rows_of()
    odd = PrintSettings(printer="A", material="PETG", layer_height_mm=0.3, first_layer_mm=0.25)
    profile = fit_profile(table_of(rows), settings=odd)
    assert any("not whole layers of 0.3 mm" in note for note in profile.provenance.notes)
    plain = fit_profile(table_of(rows))
    at = plain.terms.index("height_offset")
    # A layer of 0.3 mm that nobody knows is 0.09 mm, 1 sd, on each of two heights.
    assert profile.cov[at, at] > 2.5 * plain.cov[at, at]


def test_the_shipped_profile_is_the_fit_of_the_shipped_readings():
    table = ReadingTable.read(ROOT / "measurements" / "readings" / "coupon_petg.csv")
    instruments = load_instruments(ROOT / "shared" / "instruments" / "bench.toml")
    made = fit_profile(table, instruments=instruments, name="bench-petg")
    kept = load_profile(ROOT / "shared" / "profiles" / "bench-petg.toml")
    assert kept.provenance.readings == made.provenance.readings
    np.testing.assert_allclose(kept.coef, made.coef, rtol=1e-6, atol=1e-9)
    np.testing.assert_allclose(kept.cov, made.cov, rtol=1e-4, atol=1e-12)
    assert not kept.generic
