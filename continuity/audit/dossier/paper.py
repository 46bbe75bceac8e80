"""Paper: the typeface, the looks, paragraphs, tables and drawings of whatever is printed."""

from __future__ import annotations

from functools import cache
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING, Any
from xml.sax.saxutils import escape

import reportlab
from reportlab.lib.colors import HexColor
from reportlab.lib.pagesizes import A4
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont, TTFontFile
from reportlab.platypus import BaseDocTemplate, Flowable, Frame, PageTemplate, Paragraph, Table

from continuity.audit.dossier.drawing import WIDTH, Box, Dot, Drawing, Line, Mark, Text
from continuity.audit.dossier.visible import visible

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from reportlab.pdfgen.canvas import Canvas

MARGIN = 16 * mm
FOOT = 12 * mm
WORDS_A_PARAGRAPH = 3_000
"""Characters after which a long text goes on in a new paragraph, so that any page can hold it."""

INK, SOFT, RULE = HexColor("#000000"), HexColor("#444444"), HexColor("#999999")
MOSS, MOSS_PALE, SAND = HexColor("#1d4337"), HexColor("#e4ece4"), HexColor("#f1ecdd")
CLAY, CLAY_PALE, OCHRE = HexColor("#8a2a08"), HexColor("#fbeee7"), HexColor("#5a4300")
WHITE = HexColor("#ffffff")

PLAIN, BOLD = "DossierVera", "DossierVeraBold"
_FOLDER = Path(reportlab.__file__).parent / "fonts"

# Of a line or a shape: its line's colour and width, what fills it, its dashes.
_LOOKS: dict[str, tuple[Any, float, Any, tuple[float, ...]]] = {
    "rule": (RULE, 1, None, ()),
    "day": (RULE, 1, None, (2, 3)),
    "faint": (RULE, 0.5, None, ()),
    "descent": (MOSS, 1.6, None, ()),
    "joined": (OCHRE, 1.4, None, (5, 3)),
    "arrow": (OCHRE, 1.4, None, ()),
    "outline": (MOSS, 1.6, WHITE, ()),
    "shape": (MOSS, 1.6, WHITE, ()),
    "solid": (None, 0, MOSS, ()),
    "place": (MOSS, 0.8, MOSS_PALE, ()),
    "inside": (None, 0, SAND, ()),
    "holder": (INK, 1.2, WHITE, ()),
    "gap": (CLAY, 1.4, CLAY_PALE, (4, 2)),
    "sighting": (INK, 1.4, None, ()),
    "break": (CLAY, 3, None, ()),
    "end": (SOFT, 1.5, None, ()),
}

# Of a text: its size, its colour, whether it is bold.
_TEXTS: dict[str, tuple[float, Any, bool]] = {
    "head": (11, SOFT, False),
    "number": (11, INK, True),
    "words": (12, INK, False),
    "gone": (12, SOFT, False),
    "lane": (10.5, INK, False),
    "date": (11, INK, False),
    "span": (9.5, SOFT, False),
    "tiny": (9.5, SOFT, False),
    "on-gap": (9, CLAY, False),
}
_ON_A_BAR = (9.0, INK, False)


@cache
def typeface() -> frozenset[int]:
    """Make the typeface known (Bitstream Vera, which ships inside ReportLab); give its letters."""
    pdfmetrics.registerFont(TTFont(PLAIN, str(_FOLDER / "Vera.ttf")))
    pdfmetrics.registerFont(TTFont(BOLD, str(_FOLDER / "VeraBd.ttf")))
    pdfmetrics.registerFontFamily(PLAIN, normal=PLAIN, bold=BOLD, italic=PLAIN, boldItalic=BOLD)
    return frozenset(TTFontFile(str(_FOLDER / "Vera.ttf")).charToGlyph)


def printable(text: str, kept: str = "") -> str:
    """The text with every character the typeface lacks, or nobody sees, as `<U+5B57>`."""
    letters = typeface()
    shown = visible(text, kept).replace("⟨", "<").replace("⟩", ">")
    return "".join(
        character if ord(character) in letters or character in kept else f"<U+{ord(character):04X}>"
        for character in shown
    )


def style(size: float, *, bold: bool = False, colour: Any = INK, **more: Any) -> ParagraphStyle:
    """A paragraph's style."""
    return ParagraphStyle(
        f"dossier-{size}-{bold}-{sorted(more)}",
        fontName=BOLD if bold else PLAIN,
        fontSize=size,
        leading=size * 1.35,
        textColor=colour,
        splitLongWords=1,
        **more,
    )


def write_pdf(
    contents: Iterable[Flowable], *, title: str, author: str, creator: str, foot: str
) -> bytes:
    """Write a paper of A4 sheets, each with the same foot; the same contents give the same bytes.

    Args:
        contents: What stands on it, in order.
        title: The document's title.
        author: Whose it is.
        creator: The program that made it.
        foot: A line for the foot of every sheet, beside the page's number.
    """
    typeface()
    target = BytesIO()
    document = BaseDocTemplate(
        target,
        pagesize=A4,
        title=printable(title),
        author=printable(author),
        creator=creator,
        lang="en",
        invariant=1,
    )
    frame = Frame(MARGIN, MARGIN + FOOT, A4[0] - 2 * MARGIN, A4[1] - 2 * MARGIN - FOOT, 0, 0, 0, 0)

    def sign(canvas: Canvas, _: Any) -> None:
        canvas.setFont(PLAIN, 6.5)
        canvas.setFillColor(SOFT)
        canvas.drawString(MARGIN, MARGIN, printable(foot))
        canvas.drawRightString(A4[0] - MARGIN, MARGIN, str(canvas.getPageNumber()))

    document.addPageTemplates(PageTemplate(frames=[frame], onPage=sign))
    document.build(list(contents))
    return target.getvalue()


def words(text: str, size: float, **looks: Any) -> Flowable:
    """A paragraph; the one way by which text comes onto the paper."""
    return Paragraph(escape(printable(text)), style(size, **looks))


def long(text: str, size: float, **looks: Any) -> Iterator[Flowable]:
    """A text of any length, as paragraphs that each fit a page."""
    for start in range(0, max(len(text), 1), WORDS_A_PARAGRAPH):
        yield words(text[start : start + WORDS_A_PARAGRAPH], size, **looks)


def lines(text: str) -> Iterator[Flowable]:
    """A text verbatim, line by line, small."""
    for line in text.split("\n"):
        yield from long(line, 6.5, colour=SOFT)


def table(
    names: tuple[str, ...], rows: Iterable[tuple[str, ...]], widths: tuple[float, ...]
) -> Flowable:
    """A table; without names it has no head.

    Args:
        names: What stands above the columns.
        rows: Its cells' texts.
        widths: The columns' widths, millimetres.
    """
    cells: list[list[Any]] = [[words(name, 7.5, colour=SOFT) for name in names]] if names else []
    cells += [[list(long(cell, 8)) for cell in row] for row in rows]
    drawn = Table(
        cells, colWidths=[width * mm for width in widths], repeatRows=bool(names), splitInRow=1
    )
    drawn.setStyle(
        [
            ("VALIGN", (0, 0), (-1, -1), "TOP"),
            ("LINEBELOW", (0, 0), (-1, -1), 0.4, RULE),
            ("LEFTPADDING", (0, 0), (-1, -1), 0),
            ("TOPPADDING", (0, 0), (-1, -1), 2),
            ("BOTTOMPADDING", (0, 0), (-1, -1), 2),
        ]
    )
    drawn.hAlign = "LEFT"
    return drawn


class Sheet(Flowable):
    """A drawing, or a band of it where it is longer than the page."""

    def __init__(self, drawing: Drawing, top: float = 0, bottom: float | None = None) -> None:
        super().__init__()
        self.drawing = drawing
        self.top = top
        self.bottom = drawing.height if bottom is None else bottom
        self.scale = 1.0

    def wrap(self, room: float, _: float) -> tuple[float, float]:
        """The room it takes, in points."""
        self.scale = room / WIDTH
        return room, (self.bottom - self.top) * self.scale

    def split(self, room: float, height: float) -> list[Flowable]:
        """Cut it where the page ends."""
        self.scale = room / WIDTH
        cut = self.top + int(height / self.scale)
        if cut - self.top < 1 or cut >= self.bottom:
            return []
        return [Sheet(self.drawing, self.top, cut), Sheet(self.drawing, cut, self.bottom)]

    def draw(self) -> None:
        """Draw the marks that lie in the band."""
        canvas: Canvas = self.canv
        typeface()
        canvas.saveState()
        canvas.scale(self.scale, self.scale)
        path = canvas.beginPath()
        path.rect(0, 0, WIDTH, self.bottom - self.top)
        canvas.clipPath(path, stroke=0, fill=0)
        for mark in self.drawing.marks:
            self._draw(canvas, mark)
        canvas.restoreState()

    def _draw(self, canvas: Canvas, mark: Mark) -> None:
        match mark:
            case Line(points, look):
                stroke, fill = _prepare(canvas, look)
                path = canvas.beginPath()
                path.moveTo(points[0][0], self.bottom - points[0][1])
                for x, y in points[1:]:
                    path.lineTo(x, self.bottom - y)
                canvas.drawPath(path, stroke=stroke, fill=fill)
            case Box(x, y, width, height, look, corner, _):
                stroke, fill = _prepare(canvas, look)
                y = self.bottom - y - height
                canvas.roundRect(x, y, width, height, corner, stroke=stroke, fill=fill)
            case Dot(x, y, radius, look):
                stroke, fill = _prepare(canvas, look)
                canvas.circle(x, self.bottom - y, radius, stroke=stroke, fill=fill)
            case Text():
                _write(canvas, mark, self.bottom - mark.y)


def _prepare(canvas: Canvas, look: str) -> tuple[int, int]:
    line, width, filling, dashes = _LOOKS[look]
    canvas.setDash(list(dashes))
    if line is not None:
        canvas.setStrokeColor(line)
        canvas.setLineWidth(width)
    if filling is not None:
        canvas.setFillColor(filling)
    return int(line is not None), int(filling is not None)


def _write(canvas: Canvas, text: Text, y: float) -> None:
    size, colour, bold = _TEXTS.get(text.look, _ON_A_BAR)
    font = BOLD if bold else PLAIN
    words = printable(text.words)
    if text.room is not None:
        while len(words) > 1 and pdfmetrics.stringWidth(words, font, size) > text.room:
            words = words.rstrip("…")[:-1].rstrip() + "…"
    canvas.setFont(font, size)
    canvas.setFillColor(colour)
    draw = canvas.drawCentredString if text.anchor == "middle" else canvas.drawString
    draw(text.x, y, words)


class Code(Flowable):
    """A QR code, as one filled path, so that no viewer shows seams between its modules.

    Args:
        runs: Dark runs: column, row, how many modules; the quiet zone is counted.
        side: Modules in its side, quiet zone included.
        module: The side of one, millimetres.
    """

    def __init__(self, runs: tuple[tuple[int, int, int], ...], side: int, module: float) -> None:
        super().__init__()
        self.runs = runs
        self.side = side
        self.module = module * mm

    def wrap(self, _: float, __: float) -> tuple[float, float]:
        """The room it takes, in points."""
        return self.side * self.module, self.side * self.module

    def draw(self) -> None:
        """Draw its dark modules."""
        canvas: Canvas = self.canv
        canvas.saveState()
        canvas.scale(self.module, self.module)
        canvas.setFillColor(INK)
        path = canvas.beginPath()
        for x, y, length in self.runs:
            path.rect(x, self.side - y - 1, length, 1)
        canvas.drawPath(path, stroke=0, fill=1)
        canvas.restoreState()
