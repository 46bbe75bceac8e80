"""Prints: which labels are asked for, on which stock, drawn, recorded and put into files."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from continuity.care.intent import read_intent
from continuity.care.things import ThingKind
from continuity.errors import InputError
from continuity_cli.labelling import files
from continuity_labels.board import draw_board
from continuity_labels.code import LAST_PRINT, CodeBook, CodeType
from continuity_labels.errors import LabelError
from continuity_labels.face import FaceKind
from continuity_labels.hazard import panels_for
from continuity_labels.layout import draw_label
from continuity_labels.raster import to_png
from continuity_labels.sheets import draw_sheets
from continuity_labels.stocks import find_stock
from continuity_labels.vector import to_pdf

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping, Sequence
    from pathlib import Path

    from continuity.care.case import Thing
    from continuity.recording import Receipt, Signatory
    from continuity.register import Register
    from continuity_labels.board import PageName
    from continuity_labels.code import Code
    from continuity_labels.drawing import Drawing
    from continuity_labels.face import Face
    from continuity_labels.stocks import Stock

_USUAL = {
    ThingKind.DECEDENT: "ankle-band-300",
    ThingKind.EFFECT: "label-50x25-300",
    ThingKind.DEVICE: "label-50x25-300",
    ThingKind.SPECIMEN: "label-50x25-300",
}
"""The stock of a kind when none is named; a house choice."""

_USUAL_ELSE = "label-100x50-300"


@dataclass(frozen=True, slots=True)
class Print:
    """One label to be made.

    Attributes:
        face: what stands on it.
        stock: what it is printed on.
        drawings: the label, and hazard labels of their own where the stock is too small for them.
        thing: the thing it is for; None for places, badges and holders, which need no entry.
        case: the case the thing belongs to.
    """

    face: Face
    stock: Stock
    drawings: tuple[Drawing, ...]
    thing: str | None = None
    case: str | None = None

    @property
    def panels(self) -> tuple[str, ...]:
        """The hazard panels on it."""
        return panels_for(self.face.hazard) if self.face.hazard else ()

    @property
    def module_mm(self) -> float:
        """The side of a module of its symbol, in millimetres."""
        return self.drawings[0].symbols[0].module_mm

    @property
    def level(self) -> str:
        """The error correction of its symbol (ISO/IEC 18004)."""
        return self.drawings[0].symbols[0].level.value


def drawn(face: Face, stock: Stock, thing: str | None = None, case: str | None = None) -> Print:
    """Draw a face on a stock; initials are left out where the stock has no room for them.

    Raises:
        LabelError: it does not fit legibly, or cannot be printed.
    """
    try:
        return Print(face, stock, draw_label(face, stock), thing, case)
    except LabelError:
        if not face.initials:
            raise
        bare = replace(face, initials=0)
        return Print(bare, stock, draw_label(bare, stock), thing, case)


def usual_stocks(face: Face, thing: Thing | None, stocks: Mapping[str, Stock]) -> list[Stock]:
    """The stocks of a label for which none was named: the usual one, then a larger."""
    names = [_USUAL.get(thing.what, _USUAL_ELSE) if thing else _USUAL_ELSE]
    if thing and thing.what is ThingKind.DECEDENT and face.kind is not FaceKind.DECEDENT:
        names = ["tie-on-tag-300"]
    if thing and thing.what is not ThingKind.DECEDENT and _USUAL_ELSE not in names:
        names.append(_USUAL_ELSE)
    return [find_stock(name, stocks) for name in names]


def next_code(book: CodeBook, thing: Thing) -> Code:
    """The code of the thing's next print: the next number of its label, or a new code.

    A new code is minted for a first label, after the last print number, and where the label in
    force was made by other means.
    """
    own: list[Code] = []
    for label in thing.labels:
        try:
            code = book.parse(label.code)
        except LabelError:
            continue
        own = [each for each in own if each.identity == code.identity] + [code]
    last = max(own, key=lambda code: code.print_number, default=None)
    if last is None or last.print_number == LAST_PRINT:
        return book.mint(CodeType.THING)
    return book.reprint(last)


def contents(
    prints: Sequence[Print], path: Path, *, skip: Collection[int] = (), title: str = "Labels"
) -> dict[Path, bytes]:
    """The files of these prints: one PDF, or a PNG for each drawing.

    Args:
        prints: in the order in which they come out.
        path: the file; its ending says which. Several PNG get a number before the ending.
        skip: positions of the first sheet that are used up.
        title: the PDF's title.

    Raises:
        InputError: another ending, or `skip` with labels that are not on a sheet.
        LabelError: a skipped position is not on the sheet.
    """
    drawings = [drawing for each in prints for drawing in each.drawings]
    stocks = {each.stock.name: each.stock for each in prints}
    only = next(iter(stocks.values())) if len(stocks) == 1 else None
    if only and only.page:
        drawings = list(draw_sheets(drawings, only, skip=skip))
    elif any(stock.page for stock in stocks.values()):
        raise InputError("--stock: labels of a sheet and others cannot share a file")
    elif skip:
        raise InputError(f"--skip: {', '.join(stocks)} is no sheet; there is nothing to skip")
    return in_files(drawings, path, title)


def board(book: CodeBook, path: Path, page: PageName, firm: str) -> dict[Path, bytes]:
    """The action board's file.

    Raises:
        InputError: the path ends neither in .pdf nor in .png.
        LabelError: the firm's name cannot be printed.
    """
    title = "Action board"
    return in_files([draw_board(book, page=page, title=title)], path, f"{title}, {firm}")


def in_files(drawings: Sequence[Drawing], path: Path, title: str) -> dict[Path, bytes]:
    """Drawings as the bytes of files.

    Raises:
        InputError: the path ends neither in .pdf nor in .png.
    """
    ending = path.suffix.lower()
    if ending == ".pdf":
        return {path: to_pdf(drawings, title=title)}
    if ending != ".png":
        raise InputError(f"--output {path}: a label file ends in .pdf or .png")
    if len(drawings) == 1:
        return {path: to_png(drawings[0])}
    return {
        path.with_name(f"{path.stem}-{number}{path.suffix}"): to_png(drawing)
        for number, drawing in enumerate(drawings, 1)
    }


def make(
    register: Register,
    prints: Sequence[Print],
    signatories: Sequence[Signatory],
    made: Mapping[Path, bytes],
) -> list[Receipt]:
    """Record the prints of things, all or none, and put the files in their place.

    Raises:
        InputError: a file cannot be written; nothing was recorded.
        RefusedError: a rule of care speaks against it; nothing was recorded.
    """
    intents = [
        read_intent(
            {
                "kind": "labelled",
                "case": each.case,
                "thing": each.thing,
                "code": each.face.code.text,
                "panels": each.panels,
                "stock": each.stock.name,
            }
        )
        for each in prints
        if each.thing
    ]
    with files.ready(made):
        return register.record_all(intents, signatories) if intents else []
