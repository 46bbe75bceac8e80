"""The biohazard symbol as marks, from its published proportions.

The proportions are those of the symbol's first standard (printed in 29 CFR 1910.145(f)(8)(ii);
the figures here are from memory): gap 1, ring 3.5 wide, horns 4 apart, hole 6 across, lobes 30
across with centres 11 out, cut-outs 21 across with centres 15 out. The ring's place (7.5 to 11)
is measured from the usual drawing.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

from continuity_labels.drawing import Disc, Polygon

if TYPE_CHECKING:
    from continuity_labels.drawing import Ink, Mark

_GAP: Final = 1.0
_HORNS: Final = 4.0
_HOLE: Final = 3.0
_LOBE: Final = (11.0, 15.0)
_CUT: Final = (15.0, 10.5)
_RING: Final = (7.5, 11.0)
_EXTENT: Final = _LOBE[0] + _LOBE[1]
_DROP: Final = _LOBE[0] * math.sin(math.radians(30)) + _LOBE[1]
BREADTH: Final = 2 * (_LOBE[0] * math.cos(math.radians(30)) + _LOBE[1]) / (_EXTENT + _DROP)
"""Its breadth as a share of its height."""

_DIRECTIONS: Final = tuple(math.radians(angle) for angle in (90, 210, 330))
_STEPS: Final = 24


def biohazard_marks(x: float, y: float, height: float, *, ground: Ink = "paper") -> list[Mark]:
    """The symbol in black.

    Args:
        x: its middle, in dots.
        y: its upper edge, in dots.
        height: from the upper horns to the lowest point, in dots.
        ground: the ink of what it stands on, for its gaps.
    """
    unit = height / (_EXTENT + _DROP)
    middle = y + _EXTENT * unit

    def at(along: float, across: float, direction: float) -> tuple[float, float]:
        cos, sin = math.cos(direction), math.sin(direction)
        return x + unit * (along * cos - across * sin), middle - unit * (along * sin + across * cos)

    def cleared(start: float, end: float, width: float, direction: float) -> Polygon:
        corners = ((start, -width), (end, -width), (end, width), (start, width))
        return Polygon(tuple(at(along, across / 2, direction) for along, across in corners), ground)

    marks: list[Mark] = [
        Disc(*at(_LOBE[0], 0, direction), _LOBE[1] * unit) for direction in _DIRECTIONS
    ]
    for direction in _DIRECTIONS:
        marks.append(Disc(*at(_CUT[0], 0, direction), _CUT[1] * unit, ground))
        marks.append(cleared(_HOLE - 1, _CUT[0] - _CUT[1] + 1, _GAP, direction))
        marks.append(cleared(_EXTENT - 2, _EXTENT + 1, _HORNS, direction))
    marks.append(Disc(x, middle, _HOLE * unit, ground))
    for direction in _DIRECTIONS:
        outline = tuple(at(along, across, direction) for along, across in _ring_piece())
        marks.append(Polygon(outline))
    return marks


def _ring_piece() -> list[tuple[float, float]]:
    """The part of the ring that shows inside one cut-out, a gap away from its edge."""
    centre, radius = _CUT[0], _CUT[1] - _GAP

    def half_angle(ring: float) -> float:
        return math.acos((ring**2 + centre**2 - radius**2) / (2 * ring * centre))

    inner, outer = half_angle(_RING[0]), half_angle(_RING[1])

    def arc(ring: float, start: float, end: float) -> list[tuple[float, float]]:
        turns = [start + (end - start) * step / _STEPS for step in range(_STEPS + 1)]
        return [(ring * math.cos(turn), ring * math.sin(turn)) for turn in turns]

    return arc(_RING[1], -outer, outer) + arc(_RING[0], inner, -inner)
