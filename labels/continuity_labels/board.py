"""The action board: one page with a symbol for every act, to hang where the work is done."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, Literal

from continuity_labels.actions import Action, action_code
from continuity_labels.drawing import Drawing, SymbolMark, Text, frame
from continuity_labels.fitting import Box, Row, fit_rows
from continuity_labels.symbol import MM_PER_INCH, fit_symbol
from continuity_labels.typeface import printable

if TYPE_CHECKING:
    from continuity_labels.code import CodeBook
    from continuity_labels.drawing import Mark

PageName = Literal["a4", "letter"]

DPI: Final = 600
_PAGES: Final = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
_COLUMNS: Final = 3
_MARGIN_MM: Final = 10.0
_HEAD_MM: Final = 14.0
_FOOT_MM: Final = 6.0
_GAP_MM: Final = 2.0
_SYMBOL_MM: Final = 30.0
_LINE_MM: Final = 0.3
_PAD_MM: Final = 1.2
_CODE_MM: Final = 3.2
_LEAST_MODULE_MM: Final = 0.5
"""Large enough to be read from half a metre: a house choice."""


def draw_board(book: CodeBook, *, page: PageName = "a4", title: str = "Action board") -> Drawing:
    """The board of one register: always the same, so it needs no record.

    Args:
        book: the register's codes.
        page: the paper.
        title: what stands above, with the register's tag beside it.

    Raises:
        StockError: the title does not fit.
        FaceError: the title cannot be printed.
    """

    def dots(mm: float) -> int:
        return round(mm * DPI / MM_PER_INCH)

    width, height = (dots(side) for side in _PAGES[page])
    margin, gap = dots(_MARGIN_MM), dots(_GAP_MM)
    rows = -(-len(Action) // _COLUMNS)
    cell = (
        (width - 2 * margin - (_COLUMNS - 1) * gap) // _COLUMNS,
        (height - 2 * margin - dots(_HEAD_MM) - dots(_FOOT_MM) - (rows - 1) * gap) // rows,
    )
    marks: list[Mark] = fit_rows(
        [Row(title, bold=True), Row("Scan the act, then the labels it concerns.", 0.5)],
        Box(margin, margin, width - 2 * margin - dots(40), dots(_HEAD_MM)),
        DPI,
        largest_mm=8.0,
    )
    tag = printable(f"Register {book.tag}")
    marks.append(Text(width - margin, margin + dots(7), tag, dots(4.5), True, "right"))  # noqa: FBT003
    for number, action in enumerate(Action):
        row, column = divmod(number, _COLUMNS)
        x = margin + column * (cell[0] + gap)
        y = margin + dots(_HEAD_MM) + row * (cell[1] + gap)
        marks += _cell(book, action, Box(x, y, *cell))
    foot = "An act counts only together with the badge of whoever does it."
    marks.append(Text(margin, height - margin, foot, dots(3.2)))
    return Drawing(width, height, DPI, tuple(marks))


def _cell(book: CodeBook, action: Action, box: Box) -> list[Mark]:
    def dots(mm: float) -> int:
        return round(mm * DPI / MM_PER_INCH)

    code = action_code(book, action)
    line, pad = dots(_LINE_MM), dots(_PAD_MM)
    symbol = fit_symbol(
        code.text,
        space_dots=min(dots(_SYMBOL_MM), box.height - 2 * line),
        dpi=DPI,
        least_module_mm=_LEAST_MODULE_MM,
    )
    side = symbol.side_dots
    marks: list[Mark] = list(frame(box.x, box.y, box.width, box.height, line))
    marks.append(SymbolMark(box.x + line, box.y + (box.height - side) // 2, symbol))
    left = box.x + line + side
    foot = dots(_CODE_MM)
    words = Box(left, box.y + pad, box.x + box.width - pad - left, box.height - 2 * pad - foot)
    marks += fit_rows(
        [Row(action.heading, bold=True, lines=2), Row(action.explained, 0.62, lines=5)],
        words,
        DPI,
        largest_mm=5.2,
        centred=True,
    )
    below = Box(left, box.y + box.height - pad - foot, words.width, foot)
    return [*marks, *fit_rows([Row(code.grouped)], below, DPI, largest_mm=2.5, centred=True)]
