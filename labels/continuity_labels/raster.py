"""PNG at true resolution: one pixel is one printer dot."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING, assert_never

from PIL import Image, ImageDraw

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
from continuity_labels.typeface import raster_font

if TYPE_CHECKING:
    from continuity_labels.drawing import Mark

_ANCHORS = {"left": "ls", "middle": "ms", "right": "rs"}
_COLOURS: dict[Ink, tuple[int, int, int]] = {
    "black": (0, 0, 0),
    "paper": (255, 255, 255),
    "orange": (255, 96, 0),
    "red": (215, 0, 0),
}


def to_image(drawing: Drawing) -> Image.Image:
    """The drawing as an image: black and white ("1"), or "RGB" where colour may be printed."""
    mode = "RGB" if drawing.colour else "1"
    image = Image.new(
        mode, (drawing.width, drawing.height), _COLOURS["paper"] if drawing.colour else 1
    )
    canvas = ImageDraw.Draw(image)
    canvas.fontmode = "1"
    for mark in drawing.marks:
        _draw(canvas, mark, colour=drawing.colour)
    return image


def to_png(drawing: Drawing) -> bytes:
    """A PNG file that states its resolution (pHYs), so that it prints at true size."""
    out = io.BytesIO()
    to_image(drawing).save(out, "PNG", dpi=(drawing.dpi, drawing.dpi), optimize=True)
    return out.getvalue()


def _draw(canvas: ImageDraw.ImageDraw, mark: Mark, *, colour: bool) -> None:
    def ink(name: Ink) -> tuple[int, int, int] | int:
        return _COLOURS[name] if colour else int(WITHOUT_COLOUR[name] != "black")

    match mark:
        case Rect():
            box = (mark.x, mark.y, mark.x + mark.width - 1, mark.y + mark.height - 1)
            canvas.rectangle(box, fill=ink(mark.ink))
        case Disc():
            radius = mark.radius
            around = (mark.x - radius, mark.y - radius, mark.x + radius, mark.y + radius)
            canvas.ellipse(around, fill=ink(mark.ink))
        case Polygon():
            canvas.polygon(mark.points, fill=ink(mark.ink))
        case Text():
            font = raster_font(mark.size, bold=mark.bold)
            place, anchor = (mark.x, mark.y), _ANCHORS[mark.anchor]
            canvas.text(place, mark.text, font=font, anchor=anchor, fill=ink(mark.ink))
        case SymbolMark():
            side = mark.symbol.side_dots
            box = (mark.x, mark.y, mark.x + side - 1, mark.y + side - 1)
            canvas.rectangle(box, fill=ink("paper"))
            for x, y, width, height in mark.runs():
                canvas.rectangle((x, y, x + width - 1, y + height - 1), fill=ink("black"))
        case _:
            assert_never(mark)
