"""Sheets and the action board."""

from __future__ import annotations

import pytest

from continuity_labels.actions import Action, action_code
from continuity_labels.board import draw_board
from continuity_labels.code import CodeBook
from continuity_labels.drawing import Rect, SymbolMark, Text
from continuity_labels.errors import StockError
from continuity_labels.layout import draw_label
from continuity_labels.sheets import draw_sheets
from continuity_labels.stocks import find_stock
from continuity_labels.typeface import width_of
from tests.labels.samples import BOOK, PLACE, THING

STOCK = find_stock("sheet-a4-3x8")
(LABEL,) = draw_label(PLACE, STOCK)


def corners(page) -> list[tuple[int, int]]:
    return [(mark.x, mark.y) for mark in page.marks if isinstance(mark, SymbolMark)]


def test_labels_stand_at_their_positions_along_the_rows() -> None:
    """Position 5 of three columns is the second of the second row: 73 mm and 46.5 mm."""
    (page,) = draw_sheets([LABEL] * 5, STOCK)
    assert page.size_mm == pytest.approx((210, 297), abs=0.05)
    (at,) = corners(LABEL)
    assert LABEL.width == STOCK.dots(64)
    expected = (at[0] + STOCK.dots(7 + 66), at[1] + STOCK.dots(12.5 + 34))
    assert corners(page)[4] == expected
    assert corners(page)[0] == (at[0] + STOCK.dots(7), at[1] + STOCK.dots(12.5))


def test_skipped_positions_stay_empty_on_the_first_page_only() -> None:
    """A sheet begun yesterday is finished today."""
    whole = corners(draw_sheets([LABEL] * 24, STOCK)[0])
    first, second = draw_sheets([LABEL] * 24, STOCK, skip={1, 2, 24})
    assert corners(first) == whole[2:23]
    assert corners(second) == whole[:3]


@pytest.mark.parametrize(
    ("stock", "skip", "why"),
    [
        ("label-50x25-203", (), "is no sheet"),
        ("sheet-a4-2x5", (), "was drawn for another stock"),
        ("sheet-letter-3x8", (), "was drawn for another stock"),
        ("sheet-a4-3x8", {0}, "position 0 is not on the sheet"),
        ("sheet-a4-3x8", {25}, "which has 1 to 24"),
        ("sheet-a4-3x8", set(range(1, 25)), "every position"),
    ],
)
def test_what_does_not_fit_the_sheet_is_refused(stock: str, skip: set[int], why: str) -> None:
    """Before a sheet is spoiled."""
    with pytest.raises(StockError, match=why):
        draw_sheets([LABEL], find_stock(stock), skip=skip)


def test_cut_marks_stand_outside_the_labels_and_where_a_printer_prints() -> None:
    """Two columns and five rows: three and six edges, at both ends each; 4.2 mm from the paper's.

    Laser printers leave a sixth of an inch bare (common practice, no source).
    """
    stock = find_stock("sheet-a4-2x5")
    edge = stock.dots(4.2)
    (page,) = draw_sheets([], stock)
    marks = [mark for mark in page.marks if isinstance(mark, Rect)]
    assert len(marks) == 2 * 3 + 2 * 6
    left, top = stock.dots(9), stock.dots(8.5)
    right, foot = stock.dots(9 + 2 * 96), stock.dots(8.5 + 5 * 56)
    for mark in marks:
        upright = mark.height > mark.width
        if upright:
            assert mark.y + mark.height <= top or mark.y >= foot
        else:
            assert mark.x + mark.width <= left or mark.x >= right
        assert edge <= mark.x < mark.x + mark.width <= page.width - edge
        assert edge <= mark.y < mark.y + mark.height <= page.height - edge


def test_fold_marks_stand_in_the_middle_of_each_tag() -> None:
    """Three dashes at either edge of five tags."""
    stock = find_stock("sheet-a4-folded-tags")
    middle = stock.dots(20 + 170 / 2)
    (page,) = draw_sheets([], stock)
    dashes = [m for m in page.marks if isinstance(m, Rect) and abs(m.x - middle) <= 3]
    assert len(dashes) == 5 * 2 * 3
    (tag,) = draw_label(THING, stock)
    (page,) = draw_sheets([tag], stock)
    assert len(corners(page)) == 2


@pytest.mark.parametrize(("page", "size"), [("a4", (210, 297)), ("letter", (215.9, 279.4))])
def test_the_board_shows_every_action_with_its_code(page: str, size: tuple[float, float]) -> None:
    """Its modules of 0.6 mm and more are large enough for half a metre."""
    board = draw_board(BOOK, page=page)
    assert board.size_mm == pytest.approx(size, abs=0.05)
    assert {symbol.text for symbol in board.symbols} == {
        action_code(BOOK, action).text for action in Action
    }
    assert all(symbol.module_mm >= 0.6 for symbol in board.symbols)
    said = " ".join(mark.text for mark in board.marks if isinstance(mark, Text))
    for action in Action:
        assert action.heading in said
        assert action_code(BOOK, action).grouped in said
    assert f"Register {BOOK.tag}" in said


def test_boards_are_the_same_for_one_register_and_differ_for_another() -> None:
    """So a board needs no record, and a neighbour's board moves nothing here."""
    assert draw_board(BOOK) == draw_board(CodeBook(BOOK.register_id))
    other = draw_board(CodeBook("another-register"))
    ours = {symbol.text for symbol in draw_board(BOOK).symbols}
    assert not ours & {symbol.text for symbol in other.symbols}


@pytest.mark.parametrize("page", ["a4", "letter"])
def test_nothing_on_the_board_lies_on_a_symbol_or_its_quiet_zone(page: str) -> None:
    """Nor does any symbol lie on a frame, nor any text outside the page."""
    board = draw_board(BOOK, page=page)
    symbols = [mark for mark in board.marks if isinstance(mark, SymbolMark)]
    for symbol in symbols:
        right, foot = symbol.x + symbol.symbol.side_dots, symbol.y + symbol.symbol.side_dots
        for mark in board.marks:
            if isinstance(mark, Rect):
                across = mark.x < right and mark.x + mark.width > symbol.x
                down = mark.y < foot and mark.y + mark.height > symbol.y
            elif isinstance(mark, Text):
                reach = width_of(mark.text, mark.size, bold=mark.bold)
                left = mark.x - (reach if mark.anchor == "right" else 0)
                assert 0 <= left <= left + reach <= board.width
                across = left < right and left + reach > symbol.x
                down = mark.y - mark.size < foot and mark.y > symbol.y
            else:
                continue
            assert not (across and down), (symbol.symbol.text, mark)
