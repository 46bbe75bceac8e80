"""QR symbols (ISO/IEC 18004), sized in whole printer dots and never scaled afterwards.

The `qrcode` library encodes; this module decides level and size. The mode is always
alphanumeric. Level H (30 % of the codewords may be lost) is taken if it fits the space, else Q.
A module is a whole number of printer dots, at least four, as Denso Wave recommends
(qrcode.com, "Point for setting the module size"), and the quiet zone is four modules on every
side (qrcode.com, "How to determine the size of QR Code").
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

import qrcode
from qrcode import util
from qrcode.exceptions import DataOverflowError

from continuity_labels.errors import LabelError, StockError

QUIET_ZONE: Final = 4
"""Modules of white on every side."""

LEAST_DOTS: Final = 4
"""Printer dots in a module's side, at the least."""

MM_PER_INCH: Final = 25.4


class Level(StrEnum):
    """Error correction: the share of codewords that may be lost, by ISO/IEC 18004."""

    L = "L"
    M = "M"
    Q = "Q"
    H = "H"


@dataclass(frozen=True)
class Symbol:
    """A symbol ready to draw.

    Attributes:
        text: what it holds.
        level: its error correction.
        modules: rows of modules without the quiet zone, true for dark.
        dots: printer dots in the side of a module.
        dpi: the printer's dots per inch.
    """

    text: str
    level: Level
    modules: tuple[tuple[bool, ...], ...]
    dots: int
    dpi: int

    @property
    def version(self) -> int:
        """1 to 40: the side has 17 + 4 x version modules."""
        return (len(self.modules) - 17) // 4

    @property
    def side_dots(self) -> int:
        """The whole side, quiet zone included, in printer dots."""
        return self.dots * (len(self.modules) + 2 * QUIET_ZONE)

    @property
    def module_mm(self) -> float:
        """The side of a module in millimetres."""
        return self.dots * MM_PER_INCH / self.dpi

    @property
    def side_mm(self) -> float:
        """The whole side, quiet zone included, in millimetres."""
        return self.side_dots * MM_PER_INCH / self.dpi


def make_symbol(text: str, level: Level, *, dots: int, dpi: int) -> Symbol:
    """Encode a text at a stated size, for who lays a label out by other rules than these.

    Args:
        text: characters of QR's alphanumeric set.
        level: error correction.
        dots: printer dots in the side of a module.
        dpi: the printer's dots per inch.

    Raises:
        LabelError: a character is outside the set, the text is too long for any version, or a
            module would have fewer than four dots.
    """
    if dots < LEAST_DOTS:
        raise LabelError(
            f"a module of {dots} dots would print unevenly; it needs at least {LEAST_DOTS}."
        )
    return Symbol(text, level, _modules(text, level), dots, dpi)


def fit_symbol(text: str, *, space_dots: int, dpi: int, least_module_mm: float) -> Symbol:
    """The largest symbol that fits a square, at level H if that fits, else at Q.

    Args:
        text: characters of QR's alphanumeric set.
        space_dots: the side of the square, quiet zone included, in printer dots.
        dpi: the printer's dots per inch.
        least_module_mm: the smallest module that may be printed, in millimetres.

    Raises:
        LabelError: the text cannot be encoded.
        StockError: even at level Q the modules would be too small.
    """
    least = max(LEAST_DOTS, math.ceil(least_module_mm * dpi / MM_PER_INCH))
    for level in (Level.H, Level.Q):
        modules = _modules(text, level)
        dots = space_dots // (len(modules) + 2 * QUIET_ZONE)
        if dots >= least:
            return Symbol(text, level, modules, dots, dpi)
    side = len(modules) + 2 * QUIET_ZONE
    mm = MM_PER_INCH / dpi
    raise StockError(
        f"a module would measure {dots * mm:.2f} mm and must have at least {least * mm:.2f} mm "
        f"({least} dots at {dpi} dpi): the symbol needs {side * least * mm:.1f} mm with its quiet "
        f"zone, where {space_dots * mm:.1f} mm are free; take a larger stock."
    )


def _modules(text: str, level: Level) -> tuple[tuple[bool, ...], ...]:
    encoder = _encoder(text, level)
    encoder.make(fit=False)
    return tuple(tuple(bool(module) for module in row) for row in encoder.modules)


def _encoder(text: str, level: Level) -> qrcode.QRCode:
    try:
        data = util.QRData(text, mode=util.MODE_ALPHA_NUM)
    except (ValueError, UnicodeError):
        raise LabelError(
            f"{text[:40]!r} holds a character outside QR's alphanumeric set; "
            "capitals, digits, space and $%*+-./: may be printed."
        ) from None
    corrections = {
        Level.L: qrcode.ERROR_CORRECT_L,
        Level.M: qrcode.ERROR_CORRECT_M,
        Level.Q: qrcode.ERROR_CORRECT_Q,
        Level.H: qrcode.ERROR_CORRECT_H,
    }
    encoder = qrcode.QRCode(error_correction=corrections[level], border=0)
    encoder.add_data(data)
    try:
        encoder.best_fit(start=1)
    except (DataOverflowError, ValueError):
        raise LabelError(
            f"{len(text)} characters are more than a symbol of level {level} holds."
        ) from None
    return encoder
