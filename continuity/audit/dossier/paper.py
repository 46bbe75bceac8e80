"""Paper: the typeface, the looks and the drawings of the printed page."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

import reportlab
from reportlab.lib.colors import HexColor
from reportlab.lib.styles import ParagraphStyle
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont, TTFontFile
from reportlab.platypus import Flowable

from continuity.audit.dossier.drawing import WIDTH, Box, Dot, Drawing, Line, Mark, Text
from continuity.audit.dossier.visible import visible

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas

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
