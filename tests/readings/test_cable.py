"""Readings that come over a serial port: frames as bits and as text, slipped, doubled and torn."""

from __future__ import annotations

import csv
import os
import sys
import threading
import time

import numpy as np
import pytest

from fitkit.core.errors import ReadingError
from fitkit.readings.blank import blank_table
from fitkit.readings.cable import Cable, Sent, bits_shown, line_shown, sent_by
from fitkit.readings.waiting import fill_next

MM = {"unit": "mm", "instrument": "bench calipers"}


def bits(size: int, *, minus: bool = False, inches: bool = False) -> str:
    """A frame as calipers send it, the lowest bit first."""
    number = size | minus << 20 | inches << 23
    return "".join(str(number >> n & 1) for n in range(24))


@pytest.mark.parametrize(
    ("frame", "text"),
    [
        # By the account of D. Marthal's "Arduino reads digital caliper": 1.5 mm is 150; bit 21,
        # counted from the start bit as 0, is the sign.
        (bits(150), "1.50 mm"),
        (bits(150, minus=True), "-1.50 mm"),
        (bits(0, minus=True), "0.00 mm"),
        (bits(1), "0.01 mm"),
        (bits(15000), "150.00 mm"),
        (bits(2001, inches=True), "1.0005 in"),
    ],
)
def test_a_frame_of_bits_is_what_the_display_shows(frame, text):
    assert bits_shown(frame).text == text


@pytest.mark.parametrize(
    "frame",
    ["", "01", bits(150)[1:], bits(150) + "0", "1" + bits(151), bits(150 | 1 << 21),
     bits(150 | 1 << 22), "x" * 24],
)  # fmt: skip
def test_a_frame_that_cannot_be_right_is_refused(frame):
    assert bits_shown(frame) is None


@pytest.mark.parametrize(
    ("line", "text"),
    [
        ("+012.34 mm", "12.34 mm"),
        ("-0.58mm", "-0.58 mm"),
        ("12,34", "12.34"),
        (" 0.4860 in ", "0.4860 in"),
        ('1.0005"', "1.0005 in"),
        ("-0.00 mm", "0.00 mm"),
    ],
)
def test_a_line_of_text_is_what_the_display_shows(line, text):
    assert line_shown(line).text == text


@pytest.mark.parametrize("line", ["", "ERR", "12.34.5 mm", "12.34 kg", "--1", "12 34"])
def test_a_line_that_is_no_reading_is_refused(line):
    assert line_shown(line) is None


def test_of_ten_thousand_pairs_of_frames_with_slipped_bits_none_is_misread():
    """One bit in a hundred is lost or comes twice; the next frame has slips of its own."""
    draw = np.random.default_rng(20)

    def slipped(frame: str) -> str:
        out = []
        for bit, chance in zip(frame, draw.random(len(frame)), strict=True):
            out.append("" if chance < 0.005 else bit * 2 if chance < 0.01 else bit)
        return "".join(out)

    right = wrong = 0
    for _ in range(10_000):
        frame = bits(int(draw.integers(0, 15_000)), inches=bool(draw.random() < 0.2))
        one, two = (bits_shown(slipped(frame)) for _ in range(2))
        if one is None or one != two:
            continue  # refused, or they do not agree
        if one == bits_shown(frame):
            right += 1
        else:
            wrong += 1
    assert wrong == 0
    assert right > 5_000  # and most pairs are read


def stream(cable: Cable, frames: list[str], *, from_s: float = 0.0, every_s: float = 0.1):
    """Send frames one after the other; what was taken."""
    taken = []
    for n, frame in enumerate(frames):
        taken += cable.feed(f"{frame}\r\n".encode(), from_s + n * every_s)
    return [sent.text for sent in taken]


def test_a_stream_is_read_when_it_rests_and_once_until_the_jaws_have_moved():
    cable = Cable()
    on_its_way = [bits(size) for size in range(0, 5_800, 200)]
    first = stream(cable, [*on_its_way, *[bits(5801)] * 12])
    again = stream(cable, [bits(5801)] * 20, from_s=10)  # still held there
    slipped = [*[bits(5801)] * 5, bits(1450), *[bits(5801)] * 12]
    again += stream(cable, slipped, from_s=15)
    opened = stream(cable, [bits(7000), bits(6500), bits(6100), *[bits(5803)] * 12], from_s=20)
    closed = stream(cable, [*[bits(6500)] * 2, *[bits(0)] * 20], from_s=30)
    assert first == ["58.01 mm"]
    assert again == []
    assert opened == ["58.03 mm"]
    assert closed == []


def test_a_display_that_trembles_by_its_last_digit_is_read_when_it_stands():
    cable = Cable(stream=True)
    trembling = ["12.34 mm", "12.35 mm"] * 10
    assert stream(cable, trembling) == []
    assert stream(cable, ["12.35 mm"] * 8, from_s=5) == ["12.35 mm"]


def test_a_line_at_a_press_is_a_reading_each_time_however_it_is_cut_up():
    cable = Cable()
    assert cable.feed(b"12.3", 0.0) == []
    assert [sent.text for sent in cable.feed(b"4 mm\r\n12.34 mm\r", 0.1)] == ["12.34 mm"] * 2
    assert cable.feed(b"\nnoise\n", 0.2) == []
    assert cable.refused == 1


@pytest.mark.skipif(sys.platform == "win32", reason="needs a pseudo-terminal")
def test_a_port_is_read_through_a_pseudo_terminal():
    import tty

    pytest.importorskip("serial")
    ours, theirs = os.openpty()
    tty.setraw(theirs)
    seen: list[Sent] = []
    ended = threading.Event()

    def follow() -> None:
        try:
            for sent in sent_by(os.ttyname(theirs)):
                seen.append(sent)
                if sent.unit == "in":
                    break
        finally:
            ended.set()

    listener = threading.Thread(target=follow, daemon=True)
    listener.start()
    deadline = time.monotonic() + 60
    while not seen and time.monotonic() < deadline:
        # What came before the port was opened is thrown away by it.
        os.write(ours, b"58.01 mm\r\n")
        time.sleep(0.05)
    os.write(ours, b"+058.03 mm\r\n2.2835 in\r\n")
    assert ended.wait(60)
    os.close(ours)
    os.close(theirs)
    assert {sent.text for sent in seen[:-2]} == {"58.01 mm"}
    assert [sent.text for sent in seen[-2:]] == ["58.03 mm", "2.2835 in"]
    assert seen[-1].mm == pytest.approx(58.0009)


def test_a_port_that_is_not_there_is_said_in_plain_words():
    pytest.importorskip("serial")
    with pytest.raises(ReadingError, match="cannot be read"):
        next(sent_by("/dev/no-such-port"))


def test_readings_fill_the_rows_that_wait_and_leave_all_else(tmp_path):
    path = tmp_path / "board.csv"
    hole = MM | {"feature": "hole", "mode": "inside", "note": "lower left"}
    path.write_text(blank_table([hole, hole | {"reading": "3.20"}, hole, MM | {"feature": "lid"}]))
    before = path.read_text().splitlines()
    one = fill_next(path, Sent(number="3.21", unit="mm"))
    assert (one.feature, one.note, one.repeat, one.of, one.left) == ("hole", "lower left", 1, 3, 2)
    fill_next(path, Sent(number="0.1260", unit="in"))
    three = fill_next(path, Sent(number="58.01", unit=""))
    assert (three.feature, three.left) == ("lid", 0)
    rows = list(csv.DictReader(path.open()))
    assert [row["reading"] for row in rows] == ["3.21", "3.20", "0.1260 in", "58.01"]
    assert [bool(row["taken_at"]) for row in rows] == [True, False, True, True]
    assert path.read_text().splitlines()[2] == before[2]
    with pytest.raises(ReadingError, match="no row waits"):
        fill_next(path, Sent(number="1.00", unit="mm"))
