"""A drawing as a list of marks, which the page writes as SVG and the printed page as PDF.

Lengths are in units of 1/960 of the drawing's width; y grows downward. A mark's look has a name;
the page's style sheet and the printed page's table each say what that name looks like.
"""

from __future__ import annotations

from dataclasses import dataclass

WIDTH = 960


@dataclass(frozen=True, slots=True)
class Line:
    """A line through points."""

    points: tuple[tuple[float, float], ...]
    look: str


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle; `round` is the radius of its corners."""

    x: float
    y: float
    width: float
    height: float
    look: str
    round: float = 0
    says: str | None = None


@dataclass(frozen=True, slots=True)
class Dot:
    """A circle."""

    x: float
    y: float
    radius: float
    look: str


@dataclass(frozen=True, slots=True)
class Text:
    """A text; `x` is its start, middle or end, `y` its base line, `room` the width it may take."""

    x: float
    y: float
    words: str
    look: str
    anchor: str = "start"
    room: float | None = None


Mark = Line | Box | Dot | Text


@dataclass(frozen=True, slots=True)
class Drawing:
    """Marks on a sheet of `WIDTH` by `height`, with what it shows for those who cannot see it."""

    title: str
    summary: str
    height: float
    marks: tuple[Mark, ...]


def shorten(words: str, room: float, size: float) -> str:
    """The words as far as the room goes, reckoned with broad letters of this size."""
    most = max(1, int(room / (size * 0.56)))
    return words if len(words) <= most else words[: max(1, most - 1)].rstrip() + "…"
