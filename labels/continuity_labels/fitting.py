"""Rows of text set as large as their box allows, and never smaller than can be read."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from continuity_labels.drawing import Rect, Text
from continuity_labels.errors import StockError
from continuity_labels.spacing import BETWEEN, NO_BREAK
from continuity_labels.symbol import MM_PER_INCH
from continuity_labels.typeface import printable, width_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from continuity_labels.drawing import Anchor, Mark

LEAST_TEXT_MM: Final = 1.8
"""Smallest type, from line to line: five points, as small as gloved people read at arm's length."""

WRITING_MM: Final = 4.5
"""Height of a line to be written on by hand."""

_LEADING: Final = 1.22
_BASELINE: Final = 0.95
_SLACK: Final = 1.03
_ANY: Final = 9.0
_TIGHT: Final = 1.25
_LEAST_RULE: Final = 2.5


@dataclass(frozen=True)
class Row:
    """A row of text.

    Attributes:
        text: what it says.
        scale: its size beside the other rows.
        bold: whether it is set bold.
        lines: over how many lines it may be broken.
    """

    text: str
    scale: float = 1.0
    bold: bool = False
    lines: int = 1


@dataclass(frozen=True)
class WriteIn:
    """Labels each followed by a rule to write on, side by side."""

    labels: tuple[str, ...]
    scale: float = 0.85


@dataclass(frozen=True)
class Box:
    """Where rows may stand, in dots."""

    x: int
    y: int
    width: int
    height: int


def fit_rows(
    rows: Sequence[Row | WriteIn],
    box: Box,
    dpi: int,
    *,
    largest_mm: float,
    least_mm: float = LEAST_TEXT_MM,
    anchor: Anchor = "left",
    centred: bool = False,
) -> list[Mark]:
    """Set rows into a box, all to one measure, as large as they fit.

    Args:
        rows: from the top down.
        box: where.
        dpi: dots per inch.
        largest_mm: size of a row of scale 1 at the most.
        least_mm: size of a row of scale 1 at the least; no row is smaller than `LEAST_TEXT_MM`.
        anchor: left or middle.
        centred: whether they stand in the box's middle, rather than at its top.

    Raises:
        StockError: they do not fit even at the smallest size.
    """
    return fit_columns(
        [(rows, box)], dpi, largest_mm=largest_mm, least_mm=least_mm, anchor=anchor, centred=centred
    )


def fit_columns(
    columns: Sequence[tuple[Sequence[Row | WriteIn], Box]],
    dpi: int,
    *,
    largest_mm: float,
    least_mm: float = LEAST_TEXT_MM,
    anchor: Anchor = "left",
    centred: bool = False,
) -> list[Mark]:
    """Set rows into several boxes, all to the same measure; see `fit_rows`.

    Raises:
        StockError: they do not fit even at the smallest size.
    """
    floor = round(LEAST_TEXT_MM * dpi / MM_PER_INCH)
    smallest = max(floor, round(least_mm * dpi / MM_PER_INCH))
    sizes = range(round(largest_mm * dpi / MM_PER_INCH), smallest - 1, -1)
    for unit, tallest in (*((size, _ANY) for size in sizes), (smallest, _TIGHT)):
        measure = _Measure(unit, tallest, floor, round(WRITING_MM * dpi / MM_PER_INCH), anchor)
        marks: list[Mark] = []
        for rows, box in columns:
            placed = _set(rows, box, measure)
            if placed is None:
                break
            spare = (box.y + box.height - placed[1]) // 2 if centred else 0
            marks += [mark.moved(0, spare) for mark in placed[0]]
        else:
            return marks
    rows, box = columns[0]
    first = next((row.text for row in rows if isinstance(row, Row)), "it")
    raise StockError(
        f"{first[:40]!r} and what belongs to it do not fit {box.width * MM_PER_INCH / dpi:.0f} x "
        f"{box.height * MM_PER_INCH / dpi:.0f} mm legibly; take a larger stock or fewer words."
    )


@dataclass(frozen=True)
class _Measure:
    """Size of a row of scale 1, the largest scale, the smallest size, a written line's height."""

    unit: int
    tallest: float
    least: int
    writing: int
    anchor: Anchor

    def size(self, scale: float) -> int:
        return max(self.least, round(min(scale, self.tallest) * self.unit))


def _set(
    rows: Sequence[Row | WriteIn], box: Box, measure: _Measure
) -> tuple[list[Mark], int] | None:
    """The marks and the y below them; None where they do not fit at this size."""
    marks: list[Mark] = []
    y = float(box.y)
    x = box.x + (box.width // 2 if measure.anchor == "middle" else 0)
    for row in rows:
        size = measure.size(row.scale)
        if isinstance(row, WriteIn):
            height = max(measure.writing, round(size * _LEADING))
            written = _write_in(row, box, round(y) + height, size)
            if written is None:
                return None
            marks += written
            y += height
            continue
        lines = _broken(printable(row.text), size, box.width, bold=row.bold)
        if lines is None or len(lines) > row.lines:
            return None
        for line in lines:
            marks.append(Text(x, round(y + _BASELINE * size), line, size, row.bold, measure.anchor))
            y += size * _LEADING
    return (marks, round(y)) if y <= box.y + box.height else None


def _broken(text: str, size: int, width: int, *, bold: bool) -> list[str] | None:
    """The text in lines no wider than the width; None where one word is wider."""
    lines: list[str] = []
    for part in text.split(" "):
        word = part.replace(NO_BREAK, " ")
        longer = f"{lines[-1]} {word}" if lines else word
        if width_of(longer, size, bold=bold) * _SLACK <= width:
            lines[-1:] = [longer]
        elif lines and width_of(word, size, bold=bold) * _SLACK <= width:
            lines.append(word)
        else:
            return None
    return [line.removesuffix(f" {BETWEEN}") for line in lines]


def _write_in(row: WriteIn, box: Box, foot: int, size: int) -> list[Mark] | None:
    """Labels with a rule after each; None where the rules would be too short."""
    marks: list[Mark] = []
    labels = [printable(label) for label in row.labels]
    widths = [round(width_of(label, size, bold=False) * _SLACK) for label in labels]
    gap = size // 3
    rule = (box.width - sum(widths) - gap * (2 * len(labels) - 1)) // len(labels)
    if rule < _LEAST_RULE * size:
        return None
    x, y = box.x, foot - size // 4
    for label, width in zip(labels, widths, strict=True):
        marks.append(Text(x, y, label, size))
        marks.append(Rect(x + width + gap, y, rule, max(1, size // 16)))
        x += width + rule + 2 * gap
    return marks
