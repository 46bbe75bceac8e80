"""PNG and PDF: true size, pixel-exact, the same bytes for the same label."""

from __future__ import annotations

import base64
import io
import re
import zlib

import pytest
from PIL import Image

from continuity_labels.drawing import Disc, Drawing, Rect, SymbolMark
from continuity_labels.errors import LabelError
from continuity_labels.layout import draw_label
from continuity_labels.raster import to_image, to_png
from continuity_labels.stocks import find_stock
from continuity_labels.symbol import Level, make_symbol
from continuity_labels.vector import to_pdf, write_pdf
from tests.labels.samples import THING, UNFIXED

LABEL = find_stock("label-100x50-203")
SHEET = find_stock("sheet-a4-2x5")


def test_png_states_its_resolution_and_has_one_pixel_a_dot() -> None:
    """100 x 50 mm at 203 dpi are 799 x 400 dots; black and white as a thermal printer is."""
    image = Image.open(io.BytesIO(to_png(draw_label(THING, LABEL)[0])))
    assert image.size == (799, 400)
    assert image.mode == "1"
    assert image.info["dpi"] == pytest.approx((203, 203), abs=0.02)


def test_colour_only_where_the_stock_has_it() -> None:
    """The hazard panel is orange on a colour sheet."""
    image = to_image(draw_label(UNFIXED, SHEET)[0])
    assert image.mode == "RGB"
    assert (255, 96, 0) in {colour for _, colour in image.getcolors()}
    mono = draw_label(UNFIXED, SHEET.model_copy(update={"colour": False}))[0]
    assert {colour for _, colour in to_image(mono).convert("L").getcolors()} == {0, 255}


def test_every_module_is_exactly_its_dots() -> None:
    """Each dot of the symbol, quiet zone included, is compared with its module."""
    drawing = draw_label(THING, LABEL)[0]
    mark = next(mark for mark in drawing.marks if isinstance(mark, SymbolMark))
    symbol = mark.symbol
    image = to_image(drawing)
    side = len(symbol.modules)
    for y in range(symbol.side_dots):
        for x in range(symbol.side_dots):
            row, column = y // symbol.dots - 4, x // symbol.dots - 4
            dark = 0 <= row < side and 0 <= column < side and symbol.modules[row][column]
            assert (image.getpixel((mark.x + x, mark.y + y)) == 0) is dark


def test_marks_are_drawn_where_they_say() -> None:
    """Paper takes ink away again."""
    marks = (Rect(2, 3, 4, 5), Rect(3, 4, 1, 1, "paper"), Disc(20, 20, 5), Disc(20, 20, 2, "paper"))
    image = to_image(Drawing(30, 30, 300, marks)).convert("L")
    black = {(x, y) for x in range(10) for y in range(10) if image.getpixel((x, y)) == 0}
    assert black == {(x, y) for x in range(2, 6) for y in range(3, 8)} - {(3, 4)}
    assert [image.getpixel((x, 20)) for x in (14, 16, 20, 24, 26)] == [255, 0, 255, 0, 255]


def content(pdf: bytes) -> str:
    """The first page's operators."""
    stream = re.search(rb"ASCII85Decode /FlateDecode .*?stream\n(.*?)endstream", pdf, re.DOTALL)
    return zlib.decompress(base64.a85decode(b"<~" + stream[1], adobe=True)).decode("latin-1")


def test_pdf_pages_are_as_large_as_their_labels() -> None:
    """799 x 400 dots at 203 dpi are 283.39 x 141.87 points."""
    pdf = to_pdf([*draw_label(THING, LABEL), *draw_label(UNFIXED, SHEET)])
    boxes = [
        tuple(float(number) for number in box.split())
        for box in re.findall(rb"/MediaBox \[ ([^\]]+) \]", pdf)
    ]
    assert boxes[0] == pytest.approx((0, 0, 799 * 72 / 203, 400 * 72 / 203), abs=1e-3)
    assert boxes[1] == pytest.approx((0, 0, 2268 * 72 / 600, 1323 * 72 / 600), abs=1e-3)


def test_pdf_draws_modules_as_vectors_on_the_dot_grid() -> None:
    """One filled path of whole dots; the only scaling is from dots to points."""
    symbol = make_symbol("A1", Level.H, dots=4, dpi=300)
    page = Drawing(200, 200, 300, (SymbolMark(10, 20, symbol),))
    text = content(to_pdf([page]))
    boxes = {
        tuple(int(number) for number in box)
        for box in re.findall(r"n? ?(-?\d+) (-?\d+) (\d+) (\d+) re", text)
    }
    runs = {(x, -y - height, width, height) for x, y, width, height in page.marks[0].runs()}
    assert boxes == runs | {(10, -20 - symbol.side_dots, symbol.side_dots, symbol.side_dots)}
    assert "Do" not in text.split()
    assert "\n.24 0 0 .24 0 48 cm\n" in text


def test_pdf_is_the_same_for_the_same_label(tmp_path) -> None:
    """No date and no chance in it."""
    drawings = draw_label(THING, LABEL)
    assert to_pdf(drawings) == to_pdf(drawings)
    write_pdf(drawings, tmp_path / "label.pdf")
    assert (tmp_path / "label.pdf").read_bytes() == to_pdf(drawings)
    assert to_png(drawings[0]) == to_png(drawings[0])


def test_an_empty_set_is_refused() -> None:
    """A file without pages opens nowhere."""
    with pytest.raises(LabelError, match="no label to draw"):
        to_pdf([])
