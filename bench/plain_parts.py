"""Each template's part once more, as a plain build123d script that a user would write first.

Boxes, cylinders, cones and balls are joined and cut one after another, then edges are rounded or
chamfered. The scripts take a template's parameters and nothing else of it: their layouts are worked
out again from what the parts' help says, so that equal volumes speak for both. All sizes are drawn
at nominal. Exceptions: text is cut from the template's own outlines (another font would be another
part), and the coupon's script asks the template where it packed each feature.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any, NamedTuple

from build123d import (
    Axis,
    Box,
    Cone,
    Cylinder,
    Polygon,
    Pos,
    Rot,
    Sphere,
    chamfer,
    extrude,
    fillet,
    make_face,
)

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence

    from fitkit.parts.contract import Template
    from fitkit.solids.profiles import Profile

__all__ = ["PLAIN", "SMALL", "Plain", "bodies_of", "hold_equal"]

BED = 0.3  # chamfer at the bed


class Plain(NamedTuple):
    """A script, the parameters that it is compared with, and how near the volumes must be."""

    values: dict[str, Any]
    script: Callable[[Any], tuple[Any, ...]]
    close: float = 1e-6


def bodies_of(found: Template) -> tuple[Any, ...]:
    """Build it as users do; its bodies' solids."""
    return tuple(body.solid for body in found.build().bodies)


def hold_equal(title: str, close: float, mine: Iterable[Any], others: Iterable[Any]) -> None:
    """Hold each body's volume against its script's.

    Raises
    ------
    AssertionError
        If they are not the same solids.
    """
    for one, other in zip(mine, others, strict=True):
        if not math.isclose(one.volume, other.volume, rel_tol=close):
            raise AssertionError(f"{title}: {one.volume} is not {other.volume} mm³")


# --- what the scripts share --------------------------------------------------------------------


def block(x: tuple[float, float], y: tuple[float, float], z: tuple[float, float]) -> Any:
    """Box between two corners."""
    (a, b), (c, d), (e, f) = x, y, z
    return Pos((a + b) / 2, (c + d) / 2, (e + f) / 2) * Box(b - a, d - c, f - e)


def slab(
    x: float, y: float, low: float, high: float, radius: float = 0.0, at: Any = (0.0, 0.0)
) -> Any:
    """Box about the z axis, its upright edges rounded."""
    box = Pos(*at, (low + high) / 2) * Box(x, y, high - low)
    return fillet(box.edges().filter_by(Axis.Z), radius) if radius else box


def post(diameter: float, low: float, high: float, at: Any = (0.0, 0.0)) -> Any:
    """Upright cylinder."""
    return Pos(*at, (low + high) / 2) * Cylinder(diameter / 2, high - low)


def cone(low: tuple[float, float], high: tuple[float, float], at: Any = (0.0, 0.0)) -> Any:
    """Upright cone from (radius, z) to (radius, z)."""
    (a, z0), (b, z1) = low, high
    return Pos(*at, (z0 + z1) / 2) * Cone(a, b, z1 - z0)


def on_bed(solid: Any, leg: float = BED) -> Any:
    """Chamfer all edges that lie on the bed."""
    return chamfer(solid.faces().sort_by(Axis.Z)[0].edges(), leg)


def drilled(solid: Any, at: Any, hole: float, top: float, head: float) -> Any:
    """Drill from the top to the bed, countersunk by 90°, with a chamfer at the bed."""
    solid -= post(hole, 0, top, at)
    solid -= cone((hole / 2 + BED, 0), (hole / 2, BED), at)
    return solid - cone((hole / 2, top - (head - hole) / 2), (head / 2, top), at)


def tear(hole: float, length: float) -> Any:
    """Hole along -y from the origin, with a 45° roof to +z that ends at 1.1 radii."""
    r = hole / 2
    c, top = r / math.sqrt(2), 1.1 * r
    half = r * math.sqrt(2) - top
    roof = Polygon((-c, c), (c, c), (half, top), (-half, top), align=None)
    return Rot(X=90) * (Pos(0, 0, length / 2) * Cylinder(r, length) + extrude(roof, length))


def letters(profiles: Iterable[Profile], low: float, high: float) -> list[Any]:
    """Solids of letters between two heights."""
    found = []
    for letter in profiles:
        solid = extrude(_flat(letter.outer.corners), high - low)
        for hole in letter.holes:
            solid -= extrude(_flat(hole.corners), high - low)
        found.append(Pos(0, 0, low) * solid)
    return found


def _flat(corners: Sequence[tuple[float, float, float]]) -> Any:
    from build123d import Polyline

    return make_face(Polyline(*[(x, y) for x, y, _ in corners], close=True))


def screw_of(name: str) -> tuple[float, float]:
    """Diameter of a screw and of its countersunk head."""
    return float(name[1:]), 2.1 * float(name[1:])


# --- the parts ---------------------------------------------------------------------------------


def clip_tray(t: Any) -> tuple[Any, ...]:
    a, b, h = t.body_width / 2, t.body_length / 2, t.arm
    hole, head = screw_of(t.screw)
    cut, free, ear = 0.6, t.catch + 0.4, head + 3
    # The round end of the slot behind the arm still raises the strain a little.
    steep, flat = min(free / h, 0.3), max(free / h / 0.3, 1.0)
    notch = max(1.0, 0.9072 * steep ** (-1 / 3) * flat**-0.183)
    needed = math.sqrt(1.5 * h * t.catch * notch / (t.strain / 100))
    arm = min(2 * b - cut - 1 - free, max(1.1 * needed, 5.0))
    tip, long = -b + 1 + cut, min(max(arm / 3, 2.5), 8.0)
    root, far = tip + arm, a + h + free
    step = 2 * far + t.wall
    length, width = step * t.columns + t.wall, 2 * b + 2 * t.wall
    high = t.floor + t.body_height + 0.2
    tray = on_bed(slab(length + 2 * ear, width, 0, t.floor, 2.0))
    tray += slab(length, width, t.floor, high)
    for i in range(t.columns):
        x = step * (i - (t.columns - 1) / 2)
        tray -= block((x - a, x + a), (-b, b), (t.floor, high))
        for s in (-1, 1):

            def span(u: float, v: float, s: int = s, x: float = x) -> tuple[float, float]:
                return min(x + s * u, x + s * v), max(x + s * u, x + s * v)

            tray -= block(span(a, far), (tip - cut, tip), (0, high))
            tray -= block(span(a + h, far), (tip, root), (0, high))
            end = block(span(a + h, far), (root, root + free), (0, high))
            tray -= end & post(2 * free, 0, high, (x + s * far, root))
            straight = root + free - cut / 2
            tray -= block(span(a - cut, a), (tip - cut, straight), (0, t.floor))
            tray -= post(cut, 0, t.floor, (x + s * (a - cut / 2), straight))
            c, top = t.catch, high + t.catch + 0.8
            nose = [(a, high), (a - c, high + c), (a - c, top), (a, top + 1.2 * c)]
            nose += [(a + h, top + 1.2 * c), (a + h, high)]
            flat = Polygon(*[(s * u, z) for u, z in nose], align=None)
            tray += Pos(x, tip + long, 0) * (Rot(X=90) * extrude(flat, long))
        tray -= block((x - a + 1.5, x + a - 1.5), (-b - t.wall, -b), (t.floor, high))
        tray -= block((x - t.finger / 2, x + t.finger / 2), (b, b + t.wall), (t.floor, high))
    u, v = length / 2 + ear - head / 2 - 1.5, width / 2 - head / 2 - 2
    for at in ((-u, -v), (-u, v), (u, -v), (u, v)):
        tray = drilled(tray, at, hole, t.floor, head)
    return (tray,)


def ball_seat(t: Any) -> tuple[Any, ...]:
    """With its pad as low as it can be, which a strain of 6 % leaves it."""
    hole, head = screw_of(t.screw)
    r, mouth = t.ball / 2, t.ball / 2 - t.retention / 2
    bore, pad, floor = r * math.cos(math.radians(15)), 0.6 * r, t.plate + 0.8
    root = min(1.0, 0.4 * (bore - pad))
    edge = 1.1 * r - math.sqrt((1.1 * r) ** 2 - pad**2)  # of the pad, over its lowest point
    low = t.plate - 1
    low += max(0, floor + 0.2 - low - edge, floor + root - low - r + r * math.sin(math.radians(15)))
    middle = low + r
    leaves = middle - r * math.sin(math.radians(15))  # where the lip is straight from
    lip, outer = middle + math.sqrt(r * r - mouth * mouth), r + t.wall
    ring = outer + head / 2 + 1.5
    seat = on_bed(post(2 * (ring + head / 2 + 2), 0, t.plate))
    seat += post(2 * outer, t.plate, lip)
    groove = post(2 * bore, floor, leaves)
    seat -= fillet(groove.edges().sort_by(Axis.Z)[0], root)
    seat -= Pos(0, 0, middle) * Sphere(r) & post(3 * r, leaves, lip)
    seat += post(2 * pad, floor, low + edge)
    seat -= Pos(0, 0, low + 1.1 * r) * Sphere(1.1 * r) & post(2 * pad, 0, low + edge)
    count = min(max(2 * int(math.pi * t.ball / (5 + t.slit) / 2), 4), 12)
    for i in range(count):
        slit = block(((pad + bore - root) / 2, outer), (-t.slit / 2, t.slit / 2), (floor, lip))
        seat -= Rot(Z=180 / count + 360 * i / count) * slit
    for x in (-ring, ring):
        seat = drilled(seat, (x, 0), hole, t.plate, head)
    return (seat,)


def cradle(t: Any) -> tuple[Any, ...]:
    """Drawn standing on its end, as it prints: x across the cups, y up from the base."""
    hole, head = screw_of(t.screw)
    r = t.diameter / 2
    outer, up = r + t.wall, t.base + r
    pitch = 2 * outer + t.gap
    middles = [pitch * (i - (t.count - 1) / 2) for i in range(t.count)]
    ends = middles[-1] + outer + head + 3
    body = block((-ends, ends), (0, t.base), (0, t.length))
    for x in middles:
        body += post(2 * outer, 0, t.length, (x, up))
    foot = math.sqrt(outer * outer - r * r)
    feet = [
        edge
        for edge in body.edges().filter_by(Axis.Z)
        if math.isclose(edge.center().Y, t.base)
        and any(math.isclose(abs(edge.center().X - x), foot) for x in middles)
    ]
    body = on_bed(fillet(feet, 0.75 * t.wall))
    half = math.asin((r - t.grip) / r)
    side = outer / math.tan(half)
    for x in middles:
        body -= post(2 * r, 0, t.length, (x, up))
        body -= cone((r + BED, 0), (r, BED), (x, up))
        wedge = Polygon(
            (0, 0), (outer, side), (outer, outer), (-outer, outer), (-outer, side), align=None
        )
        body -= Pos(x, up, 0) * extrude(wedge, t.length)
    for x in (-ends + head / 2 + 1, ends - head / 2 - 1):
        ear = Pos(x, t.base, t.length / 2)
        body -= ear * tear(hole, t.base)
        body -= ear * (Rot(X=-90) * cone((hole / 2, -(head - hole) / 2), (head / 2, 0)))
    return (body,)


def panel(t: Any) -> tuple[Any, ...]:
    """Drawn as it prints: front on the bed, seen from behind."""
    hole, head = screw_of(t.screw)
    high = t.thickness
    plate = slab(t.length, t.width, 0, high, t.corner_radius)
    for c in t.cutouts:
        at = (-c.x, c.y)
        if c.shape == "rectangle":
            bezel = 2 * c.bezel
            plate -= slab(c.width, c.across, c.grip, high, at=at)
            plate -= slab(c.width - bezel, c.across - bezel, 0, high, at=at)
            continue
        plate -= post(c.width + 2 * c.around, c.grip, high, at)
        neck = post(c.width, 0, high, at)
        if c.shape == "double D":
            neck &= slab(c.across, c.width, 0, high, at=at)
        plate -= neck
    plate = on_bed(plate)
    x, y = t.length / 2 - head / 2 - 2, t.width / 2 - head / 2 - 2
    for at in ((-x, -y), (x, -y), (x, y), (-x, y)):
        plate -= post(hole, 0, high, at)
        plate -= cone((head / 2, 0), (hole / 2, (head - hole) / 2), at)
    return (plate,)


def bracket(t: Any) -> tuple[Any, ...]:
    """Drawn lying on its side, as it prints."""
    hole, _ = screw_of(t.screw)
    a, b, thick, w = t.leg, t.upright, t.thickness, t.width
    reach, head = 0.8 * (min(a, b) - thick), 2 * hole
    web = [(thick, thick), (thick + reach, thick), (thick, thick + reach)]
    body = block((0, a), (0, thick), (0, w)) + block((0, thick), (0, b), (0, w))
    body += extrude(Polygon(*web, align=None), t.gusset)
    corner = block((thick, thick + 2), (thick, thick + 2), (0, w))
    body += corner - post(4, 0, w, (thick + 2, thick + 2))
    body = on_bed(body)
    middle = (t.gusset + w) / 2
    for far, along in ((a, True), (b, False)):
        low, high = thick + head / 2 + 2, far - head / 2 - 2
        for i in range(t.holes):
            u = low + (high - low) * i / (t.holes - 1)
            if along:
                body -= Pos(u, thick, middle) * tear(hole, thick)
            else:
                body -= Pos(0, u, middle) * (Rot(Z=90) * tear(hole, thick))
    return (body,)


def spacer(t: Any) -> tuple[Any, ...]:
    hole, _ = screw_of(t.screw)
    return (on_bed(post(t.outside, 0, t.height) - post(hole, 0, t.height)),)


def hanger_plate(t: Any) -> tuple[Any, ...]:
    hole, big = screw_of(t.screw)
    wide, high = t.head + 1.2, t.web + t.head_height + 0.5
    aside = t.spacing / 2 + wide / 2 + 3 + big / 2
    tall, middle = t.travel + wide + 6, t.travel / 2
    plate = slab(2 * (aside + big / 2 + 3), tall + 6, 0, high, 3.0, (0, middle + 3))
    for x in (-t.spacing / 2, t.spacing / 2):
        for y in (0, t.travel):
            plate -= post(wide, t.web, high, (x, y))
        plate -= slab(wide, t.travel, t.web, high, at=(x, middle))
        plate -= post(t.head, 0, t.web, (x, 0))
        plate -= post(t.shank, 0, t.web, (x, t.travel))
        plate -= slab(t.shank, t.travel, 0, t.web, at=(x, middle))
    plate = on_bed(plate)
    y = tall / 2 - 3 - big / 2
    for at in [(x, middle + v) for x in (-aside, aside) for v in (-y, y)]:
        plate = drilled(plate, at, hole, high, big)
    return (plate,)


def sleeve(t: Any) -> tuple[Any, ...]:
    """The first end goes over its thing and is slit; the second goes into its own."""
    hole, _ = screw_of(t.screw)
    first, second = t.first / 2, t.second / 2 - t.wall
    low = t.first_length
    high = low + max(abs(second - first), t.wall)
    top = high + t.second_length

    def rod(a: float, b: float) -> Any:
        return post(2 * a, 0, low) + cone((a, low), (b, high)) + post(2 * b, high, top)

    tube = rod(first + t.wall, second + t.wall) - rod(first, second)
    head = {3.0: 5.6}[hole]  # a pan head of M3
    half, reach = t.slit / 2 + 4, first + t.wall + hole / 2 + head / 2 + 1
    tube += block((0, reach), (-half, half), (0, low)) - post(2 * first + t.wall, 0, low)
    tube = on_bed(tube - block((0, reach), (-t.slit / 2, t.slit / 2), (0, low)))
    tube -= Pos(first + t.wall + head / 2 + 0.5, half, low / 2) * tear(hole, 2 * half)
    return (tube,)


def knob(t: Any) -> tuple[Any, ...]:
    """Drawn as it prints: its top on the bed, the shaft's bore open upwards."""
    r, high = t.diameter / 2, t.shaft_length + t.top
    body = on_bed(post(t.diameter, 0, high), 0.6)
    share = 2 * math.pi / t.flutes
    # A flute goes through two points of the rim, and is so much deeper than their chord.
    chord, more = 2 * r * math.sin(share / 4), t.flute_depth - r * (1 - math.cos(share / 4))
    flute = more / 2 + chord**2 / (8 * more)
    away = r * math.cos(share / 4) - more + flute
    for i in range(t.flutes):
        x, y = away * math.cos(i * share), away * math.sin(i * share)
        body -= post(2 * flute, 0, high, (x, y))
    shaft = t.shaft / 2
    bore = post(t.shaft, t.top, high)
    bore &= block((-shaft, t.flat - shaft), (-shaft, shaft), (t.top, high))
    body -= bore
    body -= slab(t.diameter / 4, 1.2, 0, 0.6, at=(t.diameter / 4 - 0.5, 0))
    return (body,)


def box_lid(t: Any) -> tuple[Any, ...]:
    """Drawn as it prints, upside down."""
    length, width, r = t.box_length, t.box_width, t.corner_radius
    lid = slab(length + 2 * t.wall, width + 2 * t.wall, 0, t.plate + t.depth, r + t.wall)
    lid = on_bed(lid, 0.5)
    return (lid - slab(length, width, t.plate, t.plate + t.depth, r),)


def tray_insert(t: Any) -> tuple[Any, ...]:
    length, width, radius = t.drawer_length, t.drawer_width, t.corner_radius + 0.2
    tray = on_bed(slab(length, width, 0, t.height, radius))
    x = (length - 2 * t.wall - (len(t.columns) - 1) * t.divider) / len(t.columns)
    y = (width - 2 * t.wall - (len(t.rows) - 1) * t.divider) / len(t.rows)
    corner = max(t.inner_radius, radius - t.wall)
    last = len(t.columns) - 1, len(t.rows) - 1
    for i in range(len(t.columns)):
        for j in range(len(t.rows)):
            at = (
                -length / 2 + t.wall + x / 2 + i * (x + t.divider),
                -width / 2 + t.wall + y / 2 + j * (y + t.divider),
            )
            outer = i in (0, last[0]) and j in (0, last[1])
            tray -= slab(x, y, t.floor, t.height, corner if outer else t.inner_radius, at)
    return (tray,)


def fit_ladder(t: Any) -> tuple[Any, ...]:
    from fitkit.solids.label import fitted_text

    relief, room, widest = 0.5, 7.0, t.nominal + max(t.gaps)
    pitch = widest + 2 * relief + t.wall
    tall = widest + 2 * relief + 2 * t.wall + room
    count = len(t.gaps)
    plate = slab(count * pitch + 2 * t.wall, tall + 2 * t.wall, 0, t.depth, 2.0)
    for i, gap in enumerate(t.gaps):
        width, at = t.nominal + gap, ((i - (count - 1) / 2) * pitch, room / 2)
        plate -= post(width, 0, t.depth, at)
        plate -= post(width + 2 * relief, 0, 0.6, at)
        mark, _ = fitted_text(
            f"{round(100 * gap)}",
            room=(count * pitch / count - 1, room - 1),
            at=(at[0], at[1] - width / 2 - relief - room / 2),
            caps=4.0,
        )
        plate -= letters(mark, t.depth - 0.4, t.depth)
    peg = post(t.nominal + 8, 0, 4) + post(t.nominal, 4, 4 + t.depth)
    return plate, peg


def strips(t: Any) -> tuple[Any, ...]:
    snap = Box(t.snap_length, t.snap_width, t.snap_thickness)
    return Box(t.length, t.width, t.thickness), *[snap for _ in range(t.snaps)]


def coupon(t: Any) -> tuple[Any, ...]:
    from fitkit.parts.designs.coupon.bridge import Bridge
    from fitkit.parts.designs.coupon.captions import Caption
    from fitkit.parts.designs.coupon.comb import Comb
    from fitkit.parts.designs.coupon.kinds import items_of
    from fitkit.parts.designs.coupon.lying import LyingHoles
    from fitkit.parts.designs.coupon.packing import pack
    from fitkit.parts.designs.coupon.plate import Plate
    from fitkit.parts.designs.coupon.pocket import Pocket
    from fitkit.parts.designs.coupon.singles import Bar, Hole, Peg
    from fitkit.parts.designs.coupon.span import Span
    from fitkit.parts.designs.coupon.stairs import Stairs
    from fitkit.solids.label import fitted_text

    wide, deep, thick = max(t.bars_x), max(t.bars_y), min(t.heights)
    plate = block((0, wide), (0, deep), (0, thick))
    edges, texts = plate.edges().filter_by(Axis.Z), []
    if t.diagonal:
        corner = (wide + deep - math.sqrt(2) * t.diagonal) / 2
        plate = chamfer(edges, corner)
        texts.append(Caption("D1", wide - corner - 5, deep - 3.5, 8.0, thick))
        texts.append(Caption("D2", corner + 5, deep - 3.5, 8.0, thick))
    else:
        plate = chamfer(edges.sort_by_distance((0, 0, 0))[0], 3)
    top = thick + 6
    theirs = Plate.of(t)
    for item, x, y in pack(items_of(t.features(), theirs), theirs, where="coupon").placed:
        texts += item.captions(x, y, thick)
        size = item.feature.drawn_mm
        far = (y, y + item.d)
        match item:
            case Bar():
                plate += block((x, x + item.w), far, (thick, top))
            case Peg():
                plate += post(size, thick, top, (x + size / 2, y + size / 2))
            case Hole():
                plate -= post(size, 0, thick, (x + size / 2, y + size / 2))
            case Pocket():
                ring = block((x, x + item.w), far, (thick, top))
                plate += ring - block((x + 2, x + item.w - 2), (y + 2, y + item.d - 2), (0, top))
            case Bridge():
                roof = thick + size + 1.6
                plate += block((x, x + item.w), far, (thick, roof))
                plate -= block((x + 2.5, x + item.w - 2.5), far, (thick, thick + size))
            case Span():
                for r in item.ribs(x, y):
                    plate += block((r.x, r.x + r.w), (r.y, r.y + r.d), (thick, top))
            case Stairs():
                for n, step in enumerate(item.features):
                    plate += block((x + 9 * n, x + 9 * n + 9), far, (thick, step.drawn_mm))
            case Comb():
                for left, tooth in item.teeth(x):
                    filler = tooth.feature is None and tooth.width <= 4.0
                    if filler or (tooth.feature and tooth.feature.kind == "outside"):
                        plate += block((left, left + tooth.width), far, (thick, top))
            case LyingHoles():
                tall = max(f.drawn_mm for f in item.features) + 5
                plate += block((x, x + item.w), far, (thick, thick + tall))
                for hole, left in item.holes():
                    r = hole.drawn_mm / 2
                    at = Pos(x + left + r, y + item.d / 2, thick + 2.5 + r)
                    plate -= at * (Rot(X=90) * Cylinder(r, item.d))
    sunk = []
    for text in texts:
        profiles, _ = fitted_text(
            text.text, room=(text.room, 4.6), at=(text.x, text.y), caps=3.0, turn=text.turn
        )
        sunk += letters(profiles, text.z - 0.4, text.z)
    # All letters at once: one by one they take minutes.
    return (plate - sunk,)


_CUTOUTS = [
    {"x": "-42 mm", "y": "-8 mm", "fixing": "nut", "grip": "2.4 mm"},
    {"x": "42 mm", "y": "-8 mm", "fixing": "nut", "grip": "2.4 mm"},
    {"y": "-14 mm", "shape": "double D", "fixing": "nut", "width": "12 mm", "across": "10.4 mm"},
    {
        "y": "12 mm",
        "shape": "rectangle",
        "width": "38 mm",
        "across": "12 mm",
        "bezel": "2 mm",
        "grip": "1.6 mm",
    },
]

PLAIN: dict[str, Plain] = {
    "clip tray": Plain({"arm": "1.6 mm", "catch": "0.6 mm"}, clip_tray),
    "cradle": Plain({"hold": "arms", "wall": "2 mm", "grip": "0.4 mm", "strain": 2.0}, cradle),
    "ball seat": Plain({"strain": 6.0}, ball_seat),
    "panel": Plain(
        {"length": "130 mm", "width": "62 mm", "thickness": "3.6 mm", "cutouts": _CUTOUTS}, panel
    ),
    "bracket": Plain({}, bracket),
    "spacer": Plain({}, spacer),
    "hanger plate": Plain({"count": 2, "travel": "10 mm"}, hanger_plate),
    "sleeve": Plain({"clamp": True}, sleeve),
    "knob": Plain({}, knob),
    "box lid": Plain({}, box_lid),
    "tray insert": Plain({}, tray_insert),
    "fit ladder": Plain({}, fit_ladder),
    "test strips": Plain({}, strips),
    "calibration coupon": Plain({}, coupon),
}

# The same at a small size: the coupon with one or two of each kind of item.
SMALL: dict[str, Plain] = PLAIN | {
    "calibration coupon": Plain(
        {
            "pocket_x": "0 mm",
            "pocket_y": "0 mm",
            "bridges": [],
            "bars_x": ["60 mm", "12 mm"],
            "bars_y": ["60 mm", "12 mm"],
            "heights": ["4 mm", "8 mm"],
            "pegs": ["6 mm"],
            "holes": ["6 mm"],
            "lying_holes": ["6 mm"],
            "slots": ["3 mm"],
            "insides_x": ["10 mm"],
            "insides_y": ["10 mm"],
            "tabs": ["3 mm"],
            "diagonal": "76 mm",
        },
        coupon,
    ),
}
