"""Hazard panels drawn: in a strip on the label itself, or on a label of their own."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from continuity_labels.biohazard import BREADTH, biohazard_marks
from continuity_labels.drawing import Drawing, Polygon, Rect, frame
from continuity_labels.errors import StockError
from continuity_labels.fitting import Box, Row, WriteIn, fit_rows
from continuity_labels.hazard import caution, panels
from continuity_labels.pictogram import (
    DIAGONAL,
    GOOD_SIDE_MM,
    LEAST_SIDE_MM,
    NAMES,
    pictogram_marks,
)

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
_STACKED: Final = {True: 4, False: 7}
_BESIDE: Final = {True: 2, False: 6}
_SIDES_MM: Final = (GOOD_SIDE_MM, 14.0, 12.0, LEAST_SIDE_MM)
_TAPE_LENGTHS_MM: Final = (25.0, 30.0, 40.0, 50.0)


def draw_strip(codes: Sequence[str], box: Box, stock: Stock, responsible: str | None) -> list[Mark]:
    """The panels in a box, side by side or on tape one below the other, biohazard the smaller.

    Raises:
        StockError: they do not fit legibly, pictograms and all.
    """
    gap = stock.dots(_BETWEEN_MM)
    stacked = stock.shape == "tape"
    along = (box.height if stacked else box.width) - gap * (len(codes) - 1)
    shares = [(_STACKED if stacked else _BESIDE)[panels()[code].biohazard] for code in codes]
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
    code: str,
    box: Box,
    stock: Stock,
    responsible: str | None,
    *,
    cautioned: bool = True,
    named: bool = False,
) -> list[Mark]:
    """One panel in its frame; orange and red only where the stock has colour.

    Args:
        code: of the panel.
        box: where, in dots.
        stock: what it is printed on.
        responsible: name and address of the responsible party; None leaves room to write.
        cautioned: whether it says that local codes decide; of several panels only the last does.
        named: whether pictograms may be named in words where they do not fit.

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
    return marks + _formaldehyde(panel, responsible, foot, inside, stock, named=named)


def draw_hazard_label(code: str, stock: Stock, responsible: str | None) -> Drawing:
    """A panel on a label of its own, for stocks too small to carry it beside the code.

    Raises:
        StockError: not even that is legible.
    """
    lengths = _TAPE_LENGTHS_MM if stock.shape == "tape" else (stock.height_mm,)
    tries = [(length, named) for named in (False, True) for length in lengths]
    for length, named in tries[:-1]:
        try:
            return _hazard_label(code, stock, length, responsible, named=named)
        except StockError:
            continue
    return _hazard_label(code, stock, lengths[-1], responsible, named=True)


def pictograms_fit(code: str, drawings: Sequence[Drawing]) -> bool:
    """Whether drawings of a label bear the panel's pictograms, rather than their names."""
    marks = [mark for drawing in drawings for mark in drawing.marks]
    frames = sum(isinstance(mark, Polygon) and mark.ink == "red" for mark in marks)
    return frames >= len(panels()[code].pictograms)


def _hazard_label(
    code: str, stock: Stock, height_mm: float, responsible: str | None, *, named: bool
) -> Drawing:
    width, height = stock.dots(stock.width_mm), stock.dots(height_mm)
    margin = stock.dots(stock.margin_mm)
    left = margin + stock.dots(stock.eyelet_mm)
    right = width // 2 if stock.fold else width
    box = Box(left, margin, right - left - margin, height - 2 * margin)
    marks = draw_panel(code, box, stock, responsible, named=named)
    if stock.fold:
        marks += [mark.moved(width // 2 - stock.dots(stock.eyelet_mm), 0) for mark in marks]
    return Drawing(width, height, stock.dpi, tuple(marks), colour=stock.colour)


def _formaldehyde(
    panel: Panel,
    responsible: str | None,
    foot: Sequence[Row],
    box: Box,
    stock: Stock,
    *,
    named: bool,
) -> list[Mark]:
    """Signal word and statements beside the pictograms, or below them; these as large as fit."""
    rows: list[Row | WriteIn] = [
        Row(panel.word, 1.6, bold=True),
        Row(panel.lines[0], 1.05, bold=True, lines=2),
        Row(". ".join(panel.lines[1:]) + ".", 0.9, lines=8),
        Row(responsible, 0.85, lines=2) if responsible else WriteIn(("Responsible",), 0.85),
    ]
    count = len(panel.pictograms)
    for side_mm in _SIDES_MM:
        side = stock.dots(side_mm)
        broad, gap = round(side * DIAGONAL), stock.dots(_BETWEEN_MM)
        across = broad * count
        beside = Box(box.x + across + gap, box.y, box.width - across - gap, box.height)
        below = Box(box.x, box.y + broad + gap // 2, box.width, box.height - broad - gap // 2)
        for words, top in ((beside, box.y + (box.height - broad) // 2), (below, box.y)):
            if broad > box.height or across > box.width or min(words.width, words.height) < broad:
                continue
            # Of all that stands here, who decides in the end is what a small label can leave out.
            for below_all in (foot, []) if foot else ([],):
                try:
                    set_ = fit_rows(
                        [*rows, *below_all], words, stock.dpi, largest_mm=_LARGEST_MM, centred=True
                    )
                except StockError:
                    continue
                marks: list[Mark] = []
                for number, code in enumerate(panel.pictograms):
                    x = box.x + broad * number + broad / 2
                    marks += pictogram_marks(code, x, top + broad / 2, side)
                return marks + set_
    if not named:
        raise StockError(
            f"the pictograms of {panel.code} do not fit {stock.name} beside its words at"
            f" {LEAST_SIDE_MM:g} mm; take a larger stock."
        )
    names = " · ".join(f"{code} {NAMES[code]}" for code in panel.pictograms)
    with_names = [rows[0], Row(names, 0.85, lines=2), *rows[1:]]
    try:
        return fit_rows([*with_names, *foot], box, stock.dpi, largest_mm=_LARGEST_MM, centred=True)
    except StockError:
        rows[0] = Row(" ".join((panel.word, *panel.pictograms)), 1.6, bold=True)
        return fit_rows(rows, box, stock.dpi, largest_mm=_LARGEST_MM, centred=True)


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
