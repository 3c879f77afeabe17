"""Pictures without what cameras write beside the picture: place, time, owner, device, small copies.

Blocks of the file are dropped; the picture itself is not coded again, so no pixel changes. Sources,
from memory: JPEG markers, ITU-T T.81 annex B; PNG chunks, W3C PNG specification; WebP container,
RFC 9649. Kept: colour profile, resolution, and which way up a picture is held.
"""

from __future__ import annotations

import struct

__all__ = ["without_data"]

# JPEG: application blocks that say how to read the colours (JFIF, ICC profile, Adobe).
_JPEG_KEPT = {0xE0: b"JFIF\0", 0xE2: b"ICC_PROFILE\0", 0xEE: b"Adobe"}
_PNG_KEPT = {b"IHDR", b"PLTE", b"IDAT", b"IEND", b"tRNS", b"gAMA", b"cHRM", b"sRGB", b"iCCP"}
_PNG_KEPT |= {b"sBIT", b"bKGD", b"pHYs", b"cICP"}
_WEBP_KEPT = {b"VP8 ", b"VP8L", b"VP8X", b"ALPH", b"ANIM", b"ANMF", b"ICCP"}


def without_data(raw: bytes, kind: str, *, orientation: int = 1) -> bytes:
    """Drop all but the picture from a file's content.

    Parameters
    ----------
    raw : bytes
        A whole picture file.
    kind : {"JPEG", "PNG", "WEBP"}
    orientation : int
        Which way up a JPEG is held, 1 to 8, as its Exif block said; 1 is upright.

    Returns
    -------
    bytes
        A file of the same kind.

    Raises
    ------
    ValueError
        If the file ends before its picture does, or is of another kind.
    """
    try:
        return {"JPEG": _jpeg, "PNG": _png, "WEBP": _webp}[kind](raw, orientation)
    except (IndexError, KeyError, struct.error) as error:
        raise ValueError("its blocks cannot be told apart") from error


def _jpeg(raw: bytes, orientation: int) -> bytes:
    if raw[:2] != b"\xff\xd8":
        raise ValueError("it does not begin as a JPEG file does")
    kept = [b"\xff\xd8"]
    if 1 < orientation <= 8:
        kept.append(_turned(orientation))
    at = 2
    while True:
        while raw[at + 1] == 0xFF:  # fill bytes
            at += 1
        mark = raw[at + 1]
        if raw[at] != 0xFF:
            raise ValueError("a block is missing")
        if mark == 0xD9:  # the end: what stands behind it is no part of this picture
            return b"".join([*kept, b"\xff\xd9"])
        length = int(struct.unpack(">H", raw[at + 2 : at + 4])[0])
        end = at + 2 + length
        if length < 2 or end > len(raw):
            raise ValueError("a block ends beyond the file")
        block = raw[at:end]
        if mark == 0xDA:  # the coded picture follows, up to the next marker
            stop = _end_of_scan(raw, end)
            kept.append(raw[at:stop])
            at = stop
            continue
        is_data = 0xE0 <= mark <= 0xEF or mark == 0xFE
        if not is_data or (mark in _JPEG_KEPT and block[4:].startswith(_JPEG_KEPT[mark])):
            kept.append(block)
        at = end


def _end_of_scan(raw: bytes, at: int) -> int:
    while True:
        at = raw.find(b"\xff", at)
        if at < 0 or at + 1 >= len(raw):
            raise ValueError("the picture does not end")
        follower = raw[at + 1]
        if follower == 0xFF:  # fill
            at += 1
        elif follower == 0 or 0xD0 <= follower <= 0xD7:  # a coded 255, or a restart mark
            at += 2
        else:
            return at


def _turned(orientation: int) -> bytes:
    """An Exif block that holds the orientation alone (tag 274, one short number)."""
    entries = struct.pack(">HHHIHHI", 1, 274, 3, 1, orientation, 0, 0)
    exif = b"Exif\0\0MM\0*" + struct.pack(">I", 8) + entries
    return b"\xff\xe1" + struct.pack(">H", len(exif) + 2) + exif


def _png(raw: bytes, orientation: int) -> bytes:
    at, kept = 8, [raw[:8]]
    while True:
        length, name = struct.unpack(">I4s", raw[at : at + 8])
        end = at + 12 + length
        if end > len(raw):
            raise ValueError("a block ends beyond the file")
        if name in _PNG_KEPT:
            kept.append(raw[at:end])
        if name == b"IEND":
            return b"".join(kept)
        at = end


def _webp(raw: bytes, orientation: int) -> bytes:
    (size,) = struct.unpack("<I", raw[4:8])
    if raw[8:12] != b"WEBP" or 8 + size > len(raw) + 1:
        raise ValueError("it does not begin as a WebP file does")
    at, kept = 12, []
    while at + 8 <= min(len(raw), 8 + size):
        name, length = struct.unpack("<4sI", raw[at : at + 8])
        end = at + 8 + length + length % 2
        block = bytearray(raw[at:end])
        if name == b"VP8X":
            block[8] &= ~0x0C & 0xFF  # it says that Exif and XMP follow
        if name in _WEBP_KEPT:
            kept.append(bytes(block))
        at = end
    body = b"WEBP" + b"".join(kept)
    return b"RIFF" + struct.pack("<I", len(body)) + body
