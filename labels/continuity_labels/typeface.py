"""The letters on labels: Bitstream Vera, which ships inside ReportLab, for paper and screen alike.

Vera has the letters of western and much of central Europe. What it lacks is transliterated
(`anyascii`), so that a name in any script can be printed and typed; the record keeps the name as
it is written.
"""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path
from typing import Final

import reportlab
from anyascii import anyascii
from PIL import ImageFont
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont, TTFontFile

from continuity_labels.errors import FaceError
from continuity_labels.spacing import NO_BREAK

_FOLDER: Final = Path(reportlab.__file__).parent / "fonts"
_FILES: Final = {False: "Vera.ttf", True: "VeraBd.ttf"}


@cache
def raster_font(size: int, *, bold: bool) -> ImageFont.FreeTypeFont:
    """The font for drawing in dots, `size` dots high from line to line."""
    path = str(_FOLDER / _FILES[bold])
    return ImageFont.truetype(path, size, layout_engine=ImageFont.Layout.BASIC)


@cache
def vector_font(*, bold: bool) -> str:
    """The name under which ReportLab knows the same font."""
    name = f"LabelVera{'Bold' if bold else ''}"
    pdfmetrics.registerFont(TTFont(name, str(_FOLDER / _FILES[bold])))
    return name


def width_of(text: str, size: int, *, bold: bool) -> float:
    """How wide a text is, in dots."""
    return raster_font(size, bold=bold).getlength(text)


@cache
def _glyphs() -> frozenset[int]:
    return frozenset(TTFontFile(str(_FOLDER / _FILES[False])).charToGlyph)


def printable(text: str) -> str:
    """The text as the font can print it: one line, single spaces, no missing letters.

    No-break spaces stay, and hold their words together.

    Raises:
        FaceError: the text holds a control character.
    """
    text = re.sub(rf"[^\S{NO_BREAK}]+", " ", text).strip()
    if not text.replace(NO_BREAK, " ").isprintable():
        raise FaceError(f"{text[:40]!r} holds a control character, which no label can print.")
    return "".join(letter if ord(letter) in _glyphs() else anyascii(letter) for letter in text)
