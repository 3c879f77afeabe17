"""The virtual printer: deterministic, causes that show as they should, and a table that holds."""

import numpy as np
import pytest

from studies.virtual_print.calipers import Calipers
from studies.virtual_print.machine import LAYER_MM, Machine, machines
from studies.virtual_print.meshes import run_meshes, told_meshes
from studies.virtual_print.rounds import run_rounds, told_rounds
from studies.virtual_print.shapes import Shape
from studies.virtual_print.table import run, told

QUIET = {"night_wide": 0.0, "night_shrink": 0.0, "night_tall": 0.0, "rough": 0.0}


def mean_of(machine, *shapes):
    return np.mean([machine.printed(shapes, night=n) for n in range(400)], axis=0)


def test_a_wider_line_fattens_blocks_and_closes_gaps():
    thin, wide = (Machine(odd=False, seed=1, wide=w, **QUIET) for w in (0.0, 0.1))
    shapes = [Shape(name="b", sort="block", mm=20.0), Shape(name="g", sort="gap", mm=20.0)]
    change = mean_of(wide, *shapes) - mean_of(thin, *shapes)
    assert change == pytest.approx([0.1, -0.1], abs=1e-9)


def test_a_window_is_whole_layers_less_the_sag():
    machine = Machine(odd=False, seed=1, sag=0.05, **QUIET)
    window = Shape(name="w", sort="window", way="z", mm=3.7, floor_mm=4.0)
    # The roof at 7.7 mm lies in the middle of the 39th layer: 18 or 19 layers of 0.2 mm are open.
    open_mm = mean_of(machine, window)[0] + 0.05
    assert min(abs(open_mm - layers * LAYER_MM) for layers in (18, 19)) < 0.03


def test_calipers_read_a_bore_small_by_their_flat_jaws():
    calipers = Calipers(
        zero_mm=0.0, scale=0.0, flat_mm=0.6, noise_mm=0.0, slips=0.0, rng=np.random.default_rng(1)
    )
    bore = Shape(name="h", sort="bore", mm=3.0)
    assert calipers.read(bore, 3.0) == pytest.approx(np.sqrt(9.0 - 0.36), abs=0.005)


def test_the_same_seed_prints_the_same():
    shapes = [Shape(name="b", sort="bore", mm=5.0)]
    first, second = (machines(2, odd=True, seed=3)[1].printed(shapes, night=4) for _ in range(2))
    assert first == second


def test_a_machine_drifts_over_the_prints_that_are_named():
    machine = Machine(odd=True, seed=1, drift=0.002, **QUIET)
    block = [Shape(name="b", sort="block", mm=20.0)]
    early, late = (machine.printed(block, night=500, since=n)[0] for n in (1, 11))
    assert late - early == pytest.approx(0.02, abs=1e-9)
    assert machine.printed(block, night=500)[0] - early == pytest.approx(0.998, abs=1e-9)


@pytest.fixture(scope="module")
def tables():
    return {odd: run(12, odd=odd) for odd in (False, True)}


def test_intervals_hold_on_machines_of_both_classes(tables):
    # Standard errors over twelve machines are 0.01 and 0.02.
    for odd, least in ((False, 0.93), (True, 0.88)):
        tally = tables[odd]["fitkit, short coupon"]
        assert tally.all(tally.held).mean() >= least


def test_a_short_coupon_beats_offsets_and_scale_by_hand(tables):
    for found in tables.values():
        short, hand = found["fitkit, short coupon"], found["offsets and scale by hand"]
        ours, theirs = (np.mean(np.square(t.all(t.error))) for t in (short, hand))
        assert np.sqrt(ours / theirs) < 0.85
        assert short.all(short.part_fits).mean() > hand.all(hand.part_fits).mean()


def test_the_table_names_every_way(tables):
    text = told(tables[True], head="odd")
    assert all(name in text for name in tables[True])


def test_a_measured_print_brings_the_next_one_nearer(tables):
    for odd in (False, True):
        found = run_rounds(6, odd=odd)
        ours = found["fitkit, short coupon"]
        hand = found["offsets and scale by hand, then corrected"]
        bare = found["fitkit, nothing measured before"]
        assert ours.by(1) <= ours.by(2) <= ours.by(3)
        # Standard error of a mean over six machines of seven parts: about 0.1 of a print.
        assert ours.prints < hand.prints
        assert ours.prints < bare.prints < 2.2
        assert all(name in told_rounds(found, head="odd") for name in found)


def test_exported_templates_measure_as_drawn_and_print_as_expected():
    """Sizes of three templates on sections of their STL files, read by another library."""
    found = run_meshes(1, odd=False, titles=("sleeve", "box lid", "knob"))
    off = [one for rows in found.off_mesh_mm.values() for one in rows]
    assert len(off) == 6
    assert np.abs(off).max() < 0.005
    assert np.mean([held for rows in found.held.values() for held in rows]) >= 0.8
    assert "| all | 6 |" in told_meshes(found, head="plain")
