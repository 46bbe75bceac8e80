"""Labels on sheets: in rows and columns, from any position on, with marks to cut and fold by."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from continuity_labels.drawing import Drawing, Rect
from continuity_labels.errors import StockError

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence

    from continuity_labels.drawing import Mark
    from continuity_labels.stocks import Stock

_TICK_MM: Final = 3.0
_HAIR_MM: Final = 0.2
_CLEAR_MM: Final = 0.8
_DASH_MM: Final = 0.6
_DASHES: Final = 3


def draw_sheets(
    labels: Sequence[Drawing], stock: Stock, *, skip: Collection[int] = ()
) -> tuple[Drawing, ...]:
    """Labels laid out on as many pages as they need.

    Args:
        labels: drawings of this stock, in the order in which they are to stand.
        stock: a sheet.
        skip: positions already used on the first page, counted from 1 along the rows.

    Raises:
        StockError: the stock is no sheet, a label was drawn for another stock, a skipped
            position is not on the page, or nothing is left of the first page.
    """
    page = stock.page
    if page is None:
        raise StockError(f"{stock.name} is no sheet; print its labels one by one.")
    size = stock.dots(stock.width_mm), stock.dots(stock.height_mm)
    if any((label.width, label.height) != size or label.dpi != stock.dpi for label in labels):
        raise StockError(f"a label on the sheet {stock.name} was drawn for another stock.")
    places = page.rows * page.columns
    beyond = [position for position in skip if not 1 <= position <= places]
    if beyond:
        raise StockError(
            f"position {beyond[0]} is not on the sheet {stock.name}, which has 1 to {places}."
        )
    first = [position for position in range(1, places + 1) if position not in set(skip)]
    if not first:
        raise StockError(f"every position of the sheet {stock.name} is skipped; take a new one.")
    pages = [labels[: len(first)]]
    pages += [labels[at : at + places] for at in range(len(first), len(labels), places)]
    drawn = []
    for number, some in enumerate(pages):
        positions = range(1, places + 1) if number else first
        marks: list[Mark] = []
        for position, label in zip(positions, some, strict=False):
            row, column = divmod(position - 1, page.columns)
            x = stock.dots(page.left_mm + column * page.across_mm)
            y = stock.dots(page.top_mm + row * page.down_mm)
            marks += label.placed(x, y)
        marks += _guides(stock)
        width, height = stock.dots(page.width_mm), stock.dots(page.height_mm)
        drawn.append(Drawing(width, height, stock.dpi, tuple(marks), colour=stock.colour))
    return tuple(drawn)


def _guides(stock: Stock) -> list[Mark]:
    """Ticks in the sheet's margins: whole for cutting, broken for folding."""
    page = stock.page
    if page is None:
        return []
    lefts = [page.left_mm + column * page.across_mm for column in range(page.columns)]
    tops = [page.top_mm + row * page.down_mm for row in range(page.rows)]
    right, below = lefts[-1] + stock.width_mm, tops[-1] + stock.height_mm
    marks: list[Mark] = []
    if page.cut_marks:
        for x in sorted({edge for left in lefts for edge in (left, left + stock.width_mm)}):
            marks += [_tick(stock, x, tops[0], 0, -1), _tick(stock, x, below, 0, 1)]
        for y in sorted({edge for top in tops for edge in (top, top + stock.height_mm)}):
            marks += [_tick(stock, lefts[0], y, -1, 0), _tick(stock, right, y, 1, 0)]
    if stock.fold:
        for x in (left + stock.width_mm / 2 for left in lefts):
            for y in tops:
                for dash in range(_DASHES):
                    away = dash * 2 * _DASH_MM
                    marks.append(_dash(stock, x, y + away))
                    marks.append(_dash(stock, x, y + stock.height_mm - away - _DASH_MM))
    return marks


def _tick(stock: Stock, x_mm: float, y_mm: float, right: int, down: int) -> Rect:
    """A hair line outward from a label's corner, a little away from it."""
    start, length, hair = stock.dots(_CLEAR_MM), stock.dots(_TICK_MM), stock.dots(_HAIR_MM)
    x, y = stock.dots(x_mm) - hair // 2, stock.dots(y_mm) - hair // 2
    if down:
        return Rect(x, y + start if down > 0 else y - start - length, hair, length)
    return Rect(x + start if right > 0 else x - start - length, y, length, hair)


def _dash(stock: Stock, x_mm: float, y_mm: float) -> Rect:
    hair = stock.dots(_HAIR_MM)
    return Rect(stock.dots(x_mm) - hair // 2, stock.dots(y_mm), hair, stock.dots(_DASH_MM))
