"""Hazard panels drawn: in a strip on the label itself, or on a label of their own."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from continuity_labels.biohazard import BREADTH, biohazard_marks
from continuity_labels.drawing import Drawing, Rect, frame
from continuity_labels.errors import StockError
from continuity_labels.fitting import Box, Row, WriteIn, fit_rows
from continuity_labels.hazard import caution, panels

if TYPE_CHECKING:
    from collections.abc import Sequence

    from continuity_labels.drawing import Ink, Mark
    from continuity_labels.hazard import Panel
    from continuity_labels.stocks import Stock

_FRAME_MM: Final = 0.6
_PAD_MM: Final = 1.2
_BETWEEN_MM: Final = 1.0
_LARGEST_MM: Final = 4.0
_WIDE: Final = 2.2
_SHARES: Final = {True: 4, False: 7}
_TAPE_LENGTHS_MM: Final = (25.0, 30.0, 40.0, 50.0)


def draw_strip(codes: Sequence[str], box: Box, stock: Stock, responsible: str | None) -> list[Mark]:
    """The panels in a box, side by side or on tape one below the other, biohazard the smaller.

    Raises:
        StockError: they do not fit legibly.
    """
    gap = stock.dots(_BETWEEN_MM)
    stacked = stock.shape == "tape"
    along = (box.height if stacked else box.width) - gap * (len(codes) - 1)
    shares = [_SHARES[panels()[code].biohazard] for code in codes]
    marks: list[Mark] = []
    start = 0
    for code, share in zip(codes, shares, strict=True):
        long = along * share // sum(shares)
        within = (
            Box(box.x, box.y + start, box.width, long)
            if stacked
            else Box(box.x + start, box.y, long, box.height)
        )
        last = code == codes[-1]
        marks += draw_panel(code, within, stock, responsible, cautioned=last)
        start += long + gap
    return marks


def draw_panel(
    code: str, box: Box, stock: Stock, responsible: str | None, *, cautioned: bool = True
) -> list[Mark]:
    """One panel in its frame: told by symbol and word, orange only where the stock has it.

    Args:
        code: of the panel.
        box: where, in dots.
        stock: what it is printed on.
        responsible: name and address of the responsible party; None leaves room to write.
        cautioned: whether it says that local codes decide; of several panels only the last does.

    Raises:
        StockError: it does not fit legibly.
    """
    panel = panels()[code]
    ground: Ink = "orange" if panel.biohazard and stock.colour else "paper"
    marks: list[Mark] = [Rect(box.x, box.y, box.width, box.height, ground)]
    marks += frame(box.x, box.y, box.width, box.height, max(2, stock.dots(_FRAME_MM)))
    pad = stock.dots(_PAD_MM)
    inside = Box(box.x + pad, box.y + pad, box.width - 2 * pad, box.height - 2 * pad)
    foot = [Row(caution(), 0.7, lines=2)] if cautioned else []
    if panel.biohazard:
        return marks + _biohazard(panel, foot, inside, stock, ground)
    rows: list[Row | WriteIn] = [
        Row(panel.word, 1.6, bold=True),
        Row(panel.lines[0], 1.05, bold=True, lines=2),
        Row(". ".join(panel.lines[1:]) + ".", 0.9, lines=6),
        Row(responsible, 0.85, lines=2) if responsible else WriteIn(("Responsible",), 0.85),
        *foot,
    ]
    return marks + fit_rows(rows, inside, stock.dpi, largest_mm=_LARGEST_MM, centred=True)


def draw_hazard_label(code: str, stock: Stock, responsible: str | None) -> Drawing:
    """A panel on a label of its own, for stocks too small to carry it beside the code.

    Raises:
        StockError: not even that is legible.
    """
    if stock.shape == "tape":
        for length_mm in _TAPE_LENGTHS_MM[:-1]:
            try:
                return _hazard_label(code, stock, length_mm, responsible)
            except StockError:
                continue
        return _hazard_label(code, stock, _TAPE_LENGTHS_MM[-1], responsible)
    return _hazard_label(code, stock, stock.height_mm, responsible)


def _hazard_label(code: str, stock: Stock, height_mm: float, responsible: str | None) -> Drawing:
    width, height = stock.dots(stock.width_mm), stock.dots(height_mm)
    margin = stock.dots(stock.margin_mm)
    left = margin + stock.dots(stock.eyelet_mm)
    right = width // 2 if stock.fold else width
    box = Box(left, margin, right - left - margin, height - 2 * margin)
    marks = draw_panel(code, box, stock, responsible)
    if stock.fold:
        marks += [mark.moved(width // 2 - stock.dots(stock.eyelet_mm), 0) for mark in marks]
    return Drawing(width, height, stock.dpi, tuple(marks), colour=stock.colour)


def _biohazard(
    panel: Panel, foot: Sequence[Row], box: Box, stock: Stock, ground: Ink
) -> list[Mark]:
    """Symbol and word, side by side in a wide box, else one above the other."""
    rows = [
        Row(panel.word, 1.6, bold=True),
        *(Row(line, 0.9, lines=2) for line in panel.lines),
        *foot,
    ]
    pad = stock.dots(_PAD_MM)
    if box.width > _WIDE * box.height:
        side = round(min(box.height, box.width * 2 / 5) / BREADTH)
        broad = round(side * BREADTH)
        top = box.y + (box.height - side) // 2
        beside = box.x + broad + pad
        marks = biohazard_marks(box.x + broad / 2, top, side, ground=ground)
        text = Box(beside, box.y, box.x + box.width - beside, box.height)
        return marks + fit_rows(rows, text, stock.dpi, largest_mm=_LARGEST_MM, centred=True)
    side = round(min(box.width / BREADTH, box.height * 11 / 20))
    below = Box(box.x, box.y + side + pad // 2, box.width, box.height - side - pad // 2)
    marks = biohazard_marks(box.x + box.width / 2, box.y, side, ground=ground)
    return marks + fit_rows(
        rows, below, stock.dpi, largest_mm=_LARGEST_MM, anchor="middle", centred=True
    )
