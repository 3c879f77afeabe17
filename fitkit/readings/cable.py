"""What calipers send over a serial port, as the readings that their display shows.

Two kinds of lines are read, each ended by CR, LF or both:

- text, such as ``+012.34 mm``: an optional sign, the number, an optional unit;
- the 24 bits of common calipers with a clock and a data line, written as ``0`` and ``1`` in the
  order in which they come, without the start bit before them (a doubled bit would pass for it).
  From the lowest: 20 bits of magnitude in 0.01 mm or 0.0005 in, the sign, two bits that are not
  used, and 1 for inches. Known from accounts of people who have read such calipers, not from a
  standard: common practice, no source.

Whoever reads the clock with too slow a program loses or doubles bits. So a frame of another length,
or with an unused bit set, is refused, and a value of a stream counts when two frames in a row
agree. Calipers that send all the time are read when they rest: a value is taken once, and the next
after the jaws have moved away from it. Closed jaws are no reading.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from fitkit.core.errors import ReadingError

if TYPE_CHECKING:
    from collections.abc import Iterator
    from threading import Event

__all__ = ["Cable", "Sent", "bits_shown", "line_shown", "sent_by"]

_BITS = 24
_UNUSED = (21, 22)
_LINE = re.compile(r"\s*([+\-−]?)\s*(\d+(?:[.,]\d+)?)\s*(mm|in|inch|\")?\s*", re.IGNORECASE)
_ENDS = re.compile(rb"[\r\n]")
_MOST_HELD = 4096  # bytes without an end of line: that is no line
# A display that has stood still for so long is read. Common practice, no source.
REST_S = 0.5
# Jaws that have moved so far are on their way to another reading; closed ones read less.
AWAY_MM = 0.5
_AWAY_FRAMES = 3
CLOSED_MM = 0.1
_IN_MM = 25.4


@dataclass(frozen=True, slots=True, kw_only=True)
class Sent:
    """A value as the display shows it.

    Attributes
    ----------
    number : str
    unit : str
        ``mm`` or ``in``; empty if the line does not say it.
    """

    number: str
    unit: str

    @property
    def text(self) -> str:
        """Number and unit."""
        return f"{self.number} {self.unit}".strip()

    @property
    def mm(self) -> float:
        """The value in mm; a bare number is taken as mm."""
        return float(self.number) * (_IN_MM if self.unit == "in" else 1.0)


def bits_shown(bits: str) -> Sent | None:
    """Read a frame of bits; None if it cannot be one.

    Parameters
    ----------
    bits : str
        As they came, the lowest first.

    Returns
    -------
    Sent or None

    Examples
    --------
    >>> bits_shown("010010110000000000000000").text
    '2.10 mm'
    >>> bits_shown("01001011000000000000000") is None  # one bit was lost
    True
    """
    if len(bits) != _BITS or set(bits) - {"0", "1"} or any(bits[at] == "1" for at in _UNUSED):
        return None
    size = int(bits[19::-1], 2)
    sign = "-" if bits[20] == "1" and size else ""
    if bits[23] == "1":
        return Sent(number=f"{sign}{size / 2000:.4f}", unit="in")
    return Sent(number=f"{sign}{size / 100:.2f}", unit="mm")


def line_shown(line: str) -> Sent | None:
    """Read a line of text or of bits; None if it is neither."""
    plain = line.strip()
    if len(plain) >= _BITS - 4 and set(plain) <= {"0", "1"}:
        return bits_shown(plain)
    found = _LINE.fullmatch(plain)
    if not found:
        return None
    sign, digits, unit = found.groups()
    whole, _, part = digits.replace(",", ".").partition(".")
    number = str(int(whole)) + (f".{part}" if part else "")
    inches = (unit or "").lower() in ("in", "inch", '"')
    return Sent(
        number=("-" if sign in ("-", "−") and float(number) else "") + number,
        unit="in" if inches else "mm" if unit else "",
    )


class Cable:
    """Takes the bytes of a port, gives the readings among them.

    Parameters
    ----------
    stream : bool
        Whether the calipers send text all the time, rather than a line at each press. Bits are
        taken as a stream always.
    """

    def __init__(self, *, stream: bool = False) -> None:
        self.stream = stream
        self.refused = 0
        self._held = b""
        self._last: Sent | None = None  # the frame before
        self._rests: Sent | None = None  # what two frames agree on, since when
        self._since_s = 0.0
        self._taken: Sent | None = None
        self._armed = True
        self._away = 0  # frames in a row that lie elsewhere: a single one may be a slip

    def feed(self, data: bytes, at_s: float) -> list[Sent]:
        """Take in what has come.

        Parameters
        ----------
        data : bytes
        at_s : float, s
            When, by a clock that goes on evenly.

        Returns
        -------
        list of Sent
            Readings that are complete now.
        """
        *lines, self._held = _ENDS.split(self._held + data)
        self._held = self._held[-_MOST_HELD:]
        texts = (line.decode("ascii", "replace") for line in lines if line.strip())
        return [sent for text in texts if (sent := self._frame(text, at_s))]

    def _frame(self, text: str, at_s: float) -> Sent | None:
        sent = line_shown(text)
        if sent is None:
            self.refused += 1
            self._last = None
            return None
        if not self.stream and set(text.strip()) - {"0", "1"}:
            return sent  # a line at a press
        agrees = sent == self._last
        self._last = sent
        moved = self._taken is not None and abs(sent.mm - self._taken.mm) > AWAY_MM
        self._away = self._away + 1 if moved else 0
        self._armed = self._armed or self._away >= _AWAY_FRAMES
        return self._rested(sent, at_s) if agrees else None

    def _rested(self, sent: Sent, at_s: float) -> Sent | None:
        """Give a value that two frames agree on, once it has stood still for long enough."""
        if sent != self._rests:
            self._rests, self._since_s = sent, at_s
        if not self._armed or at_s - self._since_s < REST_S or abs(sent.mm) < CLOSED_MM:
            return None
        self._armed, self._taken = False, sent
        return sent


def sent_by(
    port: str, *, baud: int = 9600, stream: bool = False, ended: Event | None = None
) -> Iterator[Sent]:
    """Listen at a serial port, and give each reading as it comes.

    Parameters
    ----------
    port : str
        Its name, such as ``COM3`` or ``/dev/ttyUSB0``.
    baud : int
    stream : bool
        As for `Cable`.
    ended : threading.Event, optional
        Ends the listening once it is set; it goes on for ever without.

    Yields
    ------
    Sent

    Raises
    ------
    ReadingError
        If there is no such port, if it is taken away, or if the extra ``serial`` is not installed.
    """
    import time

    try:
        import serial
    except ImportError as error:
        raise ReadingError(
            "reading a serial port needs a library that is not installed",
            code="readings.no-serial",
            remedy="Install fitkit with its extra 'serial'.",
        ) from error
    cable = Cable(stream=stream)
    try:
        open_port: Any = serial.Serial(port, baud, timeout=0.1)
        with open_port:
            while ended is None or not ended.is_set():
                data = open_port.read(max(1, open_port.in_waiting))
                yield from cable.feed(data, time.monotonic())
    except (serial.SerialException, OSError) as error:
        raise ReadingError(
            f"the port {port!r} cannot be read",
            code="readings.no-port",
            remedy="See that the cable is in, that no other program reads it, and that you may "
            "read it.",
        ) from error
