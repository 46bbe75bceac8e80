"""The GHS hazard pictograms that a formaldehyde panel calls for, drawn from plain shapes.

A square set at a point with a red frame and a black symbol on white (Regulation (EC) No 1272/2008,
annex I 1.2.1.1 and annex V; 29 CFR 1910.1200 appendix C.2.3.1). Its measure is the side of the
frame: at least 10 mm and if possible 16 mm (annex I 1.2.1.4, table 1.3, up to three litres). The
symbols are drawn anew in the shapes by which they are known; they copy no published figure.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

from continuity_labels.drawing import Disc, Polygon

if TYPE_CHECKING:
    from continuity_labels.drawing import Mark

Point = tuple[float, float]

LEAST_SIDE_MM: Final = 10.0
GOOD_SIDE_MM: Final = 16.0
DIAGONAL: Final = math.sqrt(2)
"""How broad and how high one is whose side is one."""

NAMES: Final = {
    "GHS05": "corrosion",
    "GHS06": "skull and crossbones",
    "GHS07": "exclamation mark",
    "GHS08": "health hazard",
}
"""The pictograms there are, by their codes, the gravest first (annex V)."""


def pictogram_marks(code: str, x: float, y: float, side: float) -> list[Mark]:
    """One pictogram.

    Args:
        code: one of `NAMES`.
        x: its middle, in dots.
        y: its middle, in dots.
        side: of its frame, in dots.
    """
    half = side * DIAGONAL / 2
    drawn: list[Mark] = []
    for mark in (*_FRAME, *_SYMBOLS[code]):
        if isinstance(mark, Disc):
            drawn.append(Disc(x + half * mark.x, y + half * mark.y, half * mark.radius, mark.ink))
        else:
            points = tuple((x + half * px, y + half * py) for px, py in mark.points)
            drawn.append(Polygon(points, mark.ink))
    return drawn


# All below is drawn about the middle; the corners of the frame are one away from it, y downward.


def _diamond(reach: float) -> tuple[Point, ...]:
    return ((0, -reach), (reach, 0), (0, reach), (-reach, 0))


def _even(*half: Point) -> tuple[Point, ...]:
    """An outline alike on both sides, from its right half."""
    return (*half, *((-x, y) for x, y in reversed(half)))


def _bar(start: Point, end: Point, width: float) -> tuple[Point, ...]:
    dx, dy = end[0] - start[0], end[1] - start[1]
    across = width / 2 / math.hypot(dx, dy)
    ox, oy = -dy * across, dx * across
    (ax, ay), (bx, by) = start, end
    return ((ax + ox, ay + oy), (bx + ox, by + oy), (bx - ox, by - oy), (ax - ox, ay - oy))


def _star(x: float, y: float, reach: tuple[float, float], rays: int) -> tuple[Point, ...]:
    turns = [(reach[n % 2], math.pi * (n / rays - 0.5)) for n in range(2 * rays)]
    return tuple((x + r * math.cos(turn), y + r * math.sin(turn)) for r, turn in turns)


def _mirrored(points: tuple[Point, ...]) -> tuple[Point, ...]:
    return tuple((-x, y) for x, y in points)


def _exclamation() -> tuple[Disc | Polygon, ...]:
    stroke = _even((0.06, -0.58), (0.125, -0.52), (0.125, -0.4), (0.06, 0.14))
    return (Polygon(stroke), Disc(0, 0.38, 0.125))


def _skull() -> tuple[Disc | Polygon, ...]:
    marks: list[Disc | Polygon] = []
    for way in (1, -1):
        ends = (-0.37 * way, 0.13), (0.26 * way, 0.37)
        marks.append(Polygon(_bar(*ends, 0.1)))
        for x, y in ends:
            marks += [Disc(x - 0.02 * way, y - 0.05, 0.065), Disc(x + 0.01 * way, y + 0.06, 0.065)]
    jaw = _even((0.2, -0.1), (0.19, 0.1), (0.15, 0.26), (0.05, 0.29))
    rim = _even((0.25, -0.1), (0.24, 0.12), (0.19, 0.31), (0.05, 0.34))
    marks += [Disc(0, -0.24, 0.35, "paper"), Polygon(rim, "paper")]
    marks += [Disc(0, -0.24, 0.3), Polygon(jaw)]
    marks += [Disc(x, -0.17, 0.095, "paper") for x in (-0.135, 0.135)]
    marks.append(Polygon(((0, -0.09), (0.055, 0.03), (-0.055, 0.03)), "paper"))
    teeth = ((-0.075, 0), (0, 0), (0.075, 0))
    marks += [Polygon(_bar((x, 0.12), (x, 0.3), 0.028), "paper") for x, _ in teeth]
    return tuple(marks)


def _health() -> tuple[Disc | Polygon, ...]:
    head = Disc(0, -0.4, 0.165)
    bust = _even((0.075, -0.3), (0.09, -0.2), (0.3, -0.1), (0.37, 0.02), (0.39, 0.37), (0.22, 0.54))
    return (head, Polygon(bust), Polygon(_star(0, 0.14, (0.27, 0.09), 6), "paper"))


def _corrosion() -> tuple[Disc | Polygon, ...]:
    marks: list[Disc | Polygon] = []
    tube, hollow = (
        _bar((-0.06, -0.5), (-0.36, -0.26), 0.17),
        _bar((-0.1, -0.47), (-0.4, -0.23), 0.09),
    )
    liquid = _bar((-0.24, -0.355), (-0.37, -0.25), 0.09)
    drops = [
        (
            (-0.37, -0.22 + drop),
            (-0.335, -0.12 + drop),
            (-0.37, -0.08 + drop),
            (-0.405, -0.12 + drop),
        )
        for drop in (0.01, 0.18)
    ]
    for side in (lambda points: points, _mirrored):
        marks += [Polygon(side(tube)), Polygon(side(hollow), "paper"), Polygon(side(liquid))]
        marks += [Polygon(side(drop)) for drop in drops]
    plate = (
        (-0.57, 0.16),
        (-0.45, 0.16),
        (-0.41, 0.23),
        (-0.36, 0.2),
        (-0.31, 0.24),
        (-0.27, 0.16),
    )
    marks.append(Polygon((*plate, (-0.1, 0.16), (-0.1, 0.28), (-0.48, 0.28))))
    hand = (
        (0.57, 0.16), (0.45, 0.16), (0.42, 0.22), (0.37, 0.19), (0.32, 0.23), (0.29, 0.16),
        (0.2, 0.13), (0.16, 0.17), (0.22, 0.24), (0.02, 0.24), (0.0, 0.28), (0.03, 0.32),
        (0.1, 0.32), (0.08, 0.37), (0.12, 0.4), (0.3, 0.41), (0.46, 0.3),
    )  # fmt: skip
    marks.append(Polygon(hand))
    return tuple(marks)


_FRAME: Final = (Polygon(_diamond(1.0), "red"), Polygon(_diamond(0.86), "paper"))
_SYMBOLS: Final = {
    "GHS05": _corrosion(),
    "GHS06": _skull(),
    "GHS07": _exclamation(),
    "GHS08": _health(),
}
