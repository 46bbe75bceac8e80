"""A face on a stock: the symbol at the left, words beside it, the code in groups below."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from continuity_labels.drawing import Disc, Drawing, SymbolMark
from continuity_labels.errors import StockError
from continuity_labels.face import FaceKind
from continuity_labels.fitting import (
    LEAST_TEXT_MM,
    Box,
    Row,
    WriteIn,
    fit_columns,
    fit_rows,
)
from continuity_labels.hazard import (
    colour_advice,
    panels,
    panels_for,
    red_advice,
    sticker_advice,
)
from continuity_labels.panel import draw_hazard_label, draw_strip, pictograms_fit
from continuity_labels.spacing import BETWEEN, NO_BREAK
from continuity_labels.symbol import fit_symbol

if TYPE_CHECKING:
    from collections.abc import Sequence

    from continuity_labels.drawing import Mark
    from continuity_labels.face import Face
    from continuity_labels.stocks import Stock

_GAP_MM: Final = 1.0
_LARGEST_WORDS_MM: Final = 5.0
_LARGEST_CODE_MM: Final = 5.0
_LEAST_CODE_MM: Final = 2.5
_CODE_EMS: Final = 17
_CODE_SHARE: Final = 8
_TWO_COLUMNS: Final = 4
_STRIP_MM: Final = (15.0, 18.0, 20.0, 22.0, 24.0, 26.0)
_TAPE_STRIP_MM: Final = ((20.0, 25.0, 30.0, 35.0, 40.0), (40.0, 45.0, 50.0, 60.0, 70.0))
_PUNCH_MM: Final = 2.5
_PUNCH_LINE_MM: Final = 0.2
_TAPE_LEAST_MM: Final = 30.0
_TAPE_STEP_MM: Final = 5.0
_TAPE_WORDS_MM: Final = 2.4
_BRIEF: Final = 40
"""Letters of what is set large; a longer description must not make all beside it small."""


@dataclass(frozen=True)
class _Strip:
    """Hazard panels along the lower edge: none, or so many millimetres high."""

    codes: tuple[str, ...] = ()
    height_mm: float = 0.0


def draw_label(face: Face, stock: Stock) -> tuple[Drawing, ...]:
    """The label, and where the stock is too small for its hazard panels, one more for each.

    Raises:
        StockError: the stock is too small for the symbol, the words or a panel.
        FaceError: a text holds what cannot be printed.
    """
    codes = panels_for(face.hazard) if face.hazard is not None else ()
    heights = _TAPE_STRIP_MM[len(codes) > 1] if stock.shape == "tape" else _STRIP_MM
    for height in heights if codes else ():
        try:
            return (_label(face, stock, _Strip(codes, height)),)
        except StockError:
            continue
    own = tuple(draw_hazard_label(code, stock, face.responsible) for code in codes)
    return (_label(face, stock, _Strip()), *own)


def print_advice(face: Face, stock: Stock, drawings: Sequence[Drawing]) -> tuple[str, ...]:
    """What to tell whoever prints this face on this stock.

    Args:
        face: what the label says.
        stock: what it is printed on.
        drawings: as `draw_label` gave them.
    """
    codes = panels_for(face.hazard) if face.hazard is not None else ()
    advice = []
    if "biohazard" in codes and not (stock.orange or stock.colour):
        advice.append(colour_advice())
    pictured = [code for code in codes if panels()[code].pictograms]
    if pictured and not all(pictograms_fit(code, drawings) for code in pictured):
        advice.append(sticker_advice())
    elif pictured and not stock.colour:
        advice.append(red_advice())
    return tuple(advice)


def _label(face: Face, stock: Stock, strip: _Strip) -> Drawing:
    if stock.shape == "tape":
        return _tape(face, stock, strip)
    width, height = stock.dots(stock.width_mm), stock.dots(stock.height_mm)
    if not stock.fold:
        marks = _face_marks(face, stock, (width, height), strip)
    else:
        half = width // 2
        marks = _face_marks(face, stock, (half, height), strip)
        room = half - stock.dots(stock.eyelet_mm)
        marks += [mark.moved(half, 0) for mark in _back_marks(face, stock, (room, height))]
        marks += _punch_rings(stock, width, height)
    return Drawing(width, height, stock.dpi, tuple(marks), colour=stock.colour)


def _tape(face: Face, stock: Stock, strip: _Strip) -> Drawing:
    """The shortest piece, in steps, on which all is set at a comfortable size."""
    width = stock.dots(stock.width_mm)
    length_mm = _TAPE_LEAST_MM + strip.height_mm
    while True:
        height = stock.dots(length_mm)
        try:
            marks = _face_marks(face, stock, (width, height), strip)
        except StockError:
            length_mm += _TAPE_STEP_MM
            if length_mm > stock.height_mm:
                raise
        else:
            return Drawing(width, height, stock.dpi, tuple(marks), colour=stock.colour)


def _face_marks(face: Face, stock: Stock, size: tuple[int, int], strip: _Strip) -> list[Mark]:
    width, height = size
    margin, gap = stock.dots(stock.margin_mm), stock.dots(_GAP_MM)
    left = margin + stock.dots(stock.eyelet_mm)
    inner = Box(left, margin, width - left - margin, height - 2 * margin)
    marks: list[Mark] = []
    if strip.codes:
        deep = stock.dots(strip.height_mm)
        box = Box(inner.x, inner.y + inner.height - deep, inner.width, deep)
        marks += draw_strip(strip.codes, box, stock, face.responsible)
        inner = Box(inner.x, inner.y, inner.width, inner.height - deep - gap)
    foot = (
        5
        * min(
            stock.dots(_LARGEST_CODE_MM),
            inner.width // _CODE_EMS,
            max(stock.dots(_LEAST_CODE_MM), inner.height // _CODE_SHARE),
        )
        // 4
    )
    upper = Box(inner.x, inner.y, inner.width, inner.height - foot - gap // 2)
    marks += fit_rows(
        [Row(face.code.grouped, bold=True)],
        Box(inner.x, inner.y + inner.height - foot, inner.width, foot),
        stock.dpi,
        largest_mm=_LARGEST_CODE_MM,
        anchor="middle",
        centred=True,
    )
    symbol = fit_symbol(
        face.code.text,
        space_dots=min(upper.height, upper.width * 9 // 20, stock.dots(stock.largest_symbol_mm)),
        dpi=stock.dpi,
        least_module_mm=stock.least_module_mm,
    )
    side = symbol.side_dots
    top = upper.y + (upper.height - side) // 2
    marks.append(SymbolMark(upper.x, top, symbol))
    beside = Box(upper.x + side + gap, upper.y, upper.width - side - gap, upper.height)
    if stock.symbols > 1:
        marks.append(SymbolMark(upper.x + upper.width - side, top, symbol))
        beside = Box(beside.x, beside.y, beside.width - side - gap, beside.height)
    return marks + _words(face, stock, beside)


def _words(face: Face, stock: Stock, box: Box) -> list[Mark]:
    """The words in one column, or in two where the box is as long as a band."""
    rows = _rows(face)
    gap = stock.dots(_GAP_MM)
    columns = [rows]
    if box.width > _TWO_COLUMNS * box.height:
        half = -(-len(rows) // 2)
        columns = [rows[:half], rows[half:]] if half > 1 else [rows]
    width = (box.width - gap * (len(columns) - 1)) // len(columns)
    boxes = [
        Box(box.x + number * (width + gap), box.y, width, box.height)
        for number in range(len(columns))
    ]
    return fit_columns(
        list(zip(columns, boxes, strict=True)),
        stock.dpi,
        largest_mm=_LARGEST_WORDS_MM,
        least_mm=_TAPE_WORDS_MM if stock.shape == "tape" else LEAST_TEXT_MM,
        centred=True,
    )


def _back_marks(face: Face, stock: Stock, size: tuple[int, int]) -> list[Mark]:
    """The back of a folded tag: the code once more, and lines for whoever takes it over."""
    width, height = size
    margin, gap = stock.dots(stock.margin_mm), stock.dots(_GAP_MM)
    symbol = fit_symbol(
        face.code.text,
        space_dots=min(height - 2 * margin, (width - 2 * margin) * 9 // 20),
        dpi=stock.dpi,
        least_module_mm=stock.least_module_mm,
    )
    side = symbol.side_dots
    left = margin + side + gap
    rows: list[Row | WriteIn] = [
        Row(face.what, bold=True, lines=5),
        WriteIn(("Received",)),
        WriteIn(("Date, time",)),
        WriteIn(("Initials",)),
    ]
    beside = Box(left, margin, width - left - margin, height - 2 * margin)
    mark = SymbolMark(margin, (height - side) // 2, symbol)
    return [mark, *fit_rows(rows, beside, stock.dpi, largest_mm=3.4, centred=True)]


def _punch_rings(stock: Stock, width: int, height: int) -> list[Mark]:
    """Where to punch card, front and back: the two rings meet when it is folded."""
    radius, thick = stock.dots(_PUNCH_MM), stock.dots(_PUNCH_LINE_MM)
    marks: list[Mark] = []
    if stock.eyelet_mm:
        inward = stock.dots(stock.margin_mm + stock.eyelet_mm / 2)
        for x in (inward, width - inward):
            marks.append(Disc(x, height / 2, radius))
            marks.append(Disc(x, height / 2, radius - thick, "paper"))
    return marks


def _rows(face: Face) -> list[Row | WriteIn]:
    rows: list[Row | WriteIn] = []
    if face.kind is FaceKind.DECEDENT:
        first, *others = face.identifiers
        rows.append(Row(first.value, 1.5, bold=True, lines=2))
        rows += [Row(f"{each.label}: {each.value}", 1.1, lines=2) for each in others]
        rows.append(Row(face.what, 0.9, lines=2))
    else:
        brief = len(face.what) <= _BRIEF
        rows.append(Row(face.what, 1.5 if brief else 1.0, bold=True, lines=3 if brief else 6))
    about = ["{} of {}".format(*face.ordinal)] if face.ordinal else []
    about += [f"Case {face.case_number}"] if face.case_number else []
    if about:
        rows.append(Row(_joined(about), 1.1, bold=True, lines=2))
    rows += _times(face)
    if face.code.print_number > 1:
        rows.append(Row(f"Print {face.code.print_number}, earlier void", 0.8))
    if face.initials:
        rows.append(WriteIn(("Initials",) + ("",) * (face.initials - 1)))
    return rows


def _times(face: Face) -> list[Row | WriteIn]:
    """The date with what happened on it, then what happened on other days or is to be written."""
    days = [f"Date {face.day.isoformat()}"] if face.day is not None else []
    others: list[Row | WriteIn] = []
    for moment in face.moments:
        if moment.at is None:
            others.append(WriteIn((moment.label,)))
        elif moment.at.date() == face.day:
            days.append(f"{moment.label} {moment.at:%H:%M}")
        else:
            others.append(Row(f"{moment.label} {moment.at:%Y-%m-%d %H:%M}", lines=2))
    return [Row(_joined(days), lines=3), *others] if days else others


def _joined(phrases: Sequence[str]) -> str:
    """Phrases side by side, broken between lines only where one ends."""
    return f"{NO_BREAK}{BETWEEN} ".join(phrase.replace(" ", NO_BREAK) for phrase in phrases)
