"""The code on a bin's label, read by a library that knows nothing of the one that wrote it."""

from __future__ import annotations

import re

import numpy as np
import pytest
import zxingcpp

from fitkit.journal import tag_svg
from fitkit.journal.tag import tag_text


def modules(svg: str) -> np.ndarray:
    """Dark modules of the code's one path: moves to the right, and dark runs of whole modules."""
    side = int(re.search(r'viewBox="0 0 (\d+) \1" class="segno"', svg)[1])
    path = re.search(r'class="qrline" stroke="#000" d="([^"]+)"', svg)[1]
    dark = np.zeros((side, side), bool)
    x = y = 0.0
    for command, numbers in re.findall(r"([Mmh])([-\d. ]+)", path):
        values = [float(v) for v in numbers.split()]
        if command == "M":
            x, y = values
        elif command == "m":
            x, y = x + values[0], y + values[1]
        else:
            dark[int(y), int(x) : int(x + values[0])] = True
            x += values[0]
    return dark


@pytest.mark.parametrize("title", ["sound board case", "Größe <1> & „Deckel“", "x" * 200])
def test_the_code_on_the_label_says_code_and_title(made, title):
    record = made(title=title)
    dark = modules(tag_svg(record))
    pixels = np.kron(np.where(dark, 0, 255), np.ones((6, 6))).astype(np.uint8)
    (found,) = zxingcpp.read_barcodes(pixels)
    assert found.format == zxingcpp.BarcodeFormat.QRCode
    assert found.text == tag_text(record)
    assert found.text.startswith(record.code)


def test_a_blotted_code_is_still_read(made):
    """Level M bears 15 % of lost words (ISO/IEC 18004): a blot of 4 x 4 modules does no harm."""
    record = made(title="sound board case")
    dark = modules(tag_svg(record))
    middle = len(dark) // 2
    dark[middle - 2 : middle + 2, middle - 2 : middle + 2] = True
    pixels = np.kron(np.where(dark, 0, 255), np.ones((6, 6))).astype(np.uint8)
    (found,) = zxingcpp.read_barcodes(pixels)
    assert found.text == tag_text(record)
