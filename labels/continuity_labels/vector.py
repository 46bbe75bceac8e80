"""PDF at true size: every module, rule and letter is a vector on the printer's own dot grid."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING, assert_never

from reportlab.pdfgen.canvas import Canvas

from continuity_labels.drawing import (
    WITHOUT_COLOUR,
    Disc,
    Drawing,
    Ink,
    Polygon,
    Rect,
    SymbolMark,
    Text,
)
from continuity_labels.errors import LabelError
from continuity_labels.typeface import vector_font

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from pathlib import Path

    from continuity_labels.drawing import Mark

_POINTS_PER_INCH = 72
_COLOURS: dict[Ink, tuple[float, float, float]] = {
    "black": (0, 0, 0),
    "paper": (1, 1, 1),
    "orange": (1, 96 / 255, 0),
    "red": (215 / 255, 0, 0),
}


def to_pdf(drawings: Sequence[Drawing], *, title: str = "Labels") -> bytes:
    """A PDF with one page for each drawing, each page exactly as large as its drawing.

    The same drawings give the same bytes.

    Raises:
        LabelError: there is nothing to draw.
    """
    if not drawings:
        raise LabelError("there is no label to draw; name at least one.")
    out = io.BytesIO()
    canvas = Canvas(out, invariant=1)
    canvas.setTitle(title)
    for drawing in drawings:
        scale = _POINTS_PER_INCH / drawing.dpi
        canvas.setPageSize((drawing.width * scale, drawing.height * scale))
        canvas.translate(0, drawing.height * scale)
        canvas.scale(scale, scale)
        for mark in drawing.marks:
            _draw(canvas, mark, colour=drawing.colour)
        canvas.showPage()
    canvas.save()
    return out.getvalue()


def write_pdf(drawings: Sequence[Drawing], path: Path, *, title: str = "Labels") -> None:
    """Write the PDF file.

    Raises:
        LabelError: there is nothing to draw.
        OSError: the file cannot be written.
    """
    path.write_bytes(to_pdf(drawings, title=title))


def _draw(canvas: Canvas, mark: Mark, *, colour: bool) -> None:
    if isinstance(mark, SymbolMark):
        side = mark.symbol.side_dots
        canvas.setFillColorRGB(*_COLOURS["paper"])
        _fill(canvas, [(mark.x, mark.y, side, side)])
        canvas.setFillColorRGB(*_COLOURS["black"])
        _fill(canvas, mark.runs())
        return
    canvas.setFillColorRGB(*_COLOURS[mark.ink if colour else WITHOUT_COLOUR[mark.ink]])
    match mark:
        case Rect():
            _fill(canvas, [(mark.x, mark.y, mark.width, mark.height)])
        case Disc():
            canvas.circle(mark.x, -mark.y, mark.radius, stroke=0, fill=1)
        case Polygon():
            path = canvas.beginPath()
            (x, y), *rest = mark.points
            path.moveTo(x, -y)
            for x, y in rest:
                path.lineTo(x, -y)
            path.close()
            canvas.drawPath(path, stroke=0, fill=1)
        case Text():
            canvas.setFont(vector_font(bold=mark.bold), mark.size)
            write = {
                "left": canvas.drawString,
                "middle": canvas.drawCentredString,
                "right": canvas.drawRightString,
            }[mark.anchor]
            write(mark.x, -mark.y, mark.text)
        case _:
            assert_never(mark)


def _fill(canvas: Canvas, boxes: Iterable[tuple[int, int, int, int]]) -> None:
    """Fill rectangles as one path, so that no viewer shows seams between neighbours."""
    path = canvas.beginPath()
    for x, y, width, height in boxes:
        path.rect(x, -y - height, width, height)
    canvas.drawPath(path, stroke=0, fill=1)
