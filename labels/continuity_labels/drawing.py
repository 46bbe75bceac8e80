"""A drawing: marks on a grid of printer dots, before anyone asks for PNG or PDF.

All measures are in dots of the stated resolution, x to the right and y downward from the top
left corner. Both renderers (`raster`, `vector`) draw the same marks, so that what is looked at
on a screen is what comes out of the printer.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final, Literal

from continuity_labels.symbol import MM_PER_INCH, QUIET_ZONE, Symbol

if TYPE_CHECKING:
    from collections.abc import Iterable

Ink = Literal["black", "paper", "orange", "red"]
"""Paper takes ink away, down to the bare stock; without colour, orange is paper and red black."""

WITHOUT_COLOUR: Final[dict[Ink, Ink]] = {
    "black": "black",
    "paper": "paper",
    "orange": "paper",
    "red": "black",
}
"""What each ink becomes on a printer that has black alone."""

Anchor = Literal["left", "middle", "right"]


@dataclass(frozen=True)
class Rect:
    """A filled upright rectangle."""

    x: int
    y: int
    width: int
    height: int
    ink: Ink = "black"

    def moved(self, x: int, y: int) -> Rect:
        """The same mark elsewhere."""
        return replace(self, x=self.x + x, y=self.y + y)


@dataclass(frozen=True)
class Disc:
    """A filled circle."""

    x: float
    y: float
    radius: float
    ink: Ink = "black"

    def moved(self, x: int, y: int) -> Disc:
        """The same mark elsewhere."""
        return replace(self, x=self.x + x, y=self.y + y)


@dataclass(frozen=True)
class Polygon:
    """A filled polygon."""

    points: tuple[tuple[float, float], ...]
    ink: Ink = "black"

    def moved(self, x: int, y: int) -> Polygon:
        """The same mark elsewhere."""
        return replace(self, points=tuple((px + x, py + y) for px, py in self.points))


@dataclass(frozen=True)
class Text:
    """One line of text, its baseline at y."""

    x: int
    y: int
    text: str
    size: int
    bold: bool = False
    anchor: Anchor = "left"
    ink: Ink = "black"

    def moved(self, x: int, y: int) -> Text:
        """The same mark elsewhere."""
        return replace(self, x=self.x + x, y=self.y + y)


@dataclass(frozen=True)
class SymbolMark:
    """A symbol, the corner of its quiet zone at x, y."""

    x: int
    y: int
    symbol: Symbol

    def moved(self, x: int, y: int) -> SymbolMark:
        """The same mark elsewhere."""
        return replace(self, x=self.x + x, y=self.y + y)

    def runs(self) -> Iterable[tuple[int, int, int, int]]:
        """The dark modules as rectangles x, y, width, height: one for each run in a row."""
        dots = self.symbol.dots
        for row, modules in enumerate(self.symbol.modules):
            start = None
            for column, dark in enumerate((*modules, False)):
                if dark and start is None:
                    start = column
                elif not dark and start is not None:
                    yield (
                        self.x + (QUIET_ZONE + start) * dots,
                        self.y + (QUIET_ZONE + row) * dots,
                        (column - start) * dots,
                        dots,
                    )
                    start = None


Mark = Rect | Disc | Polygon | Text | SymbolMark


@dataclass(frozen=True)
class Drawing:
    """One label, or one page.

    Attributes:
        width: in dots.
        height: in dots.
        dpi: dots per inch.
        marks: drawn in this order.
        colour: whether orange and red may be printed; elsewhere they are paper and black.
    """

    width: int
    height: int
    dpi: int
    marks: tuple[Mark, ...]
    colour: bool = False

    @property
    def size_mm(self) -> tuple[float, float]:
        """Width and height in millimetres, for who places it on a page of their own."""
        return self.width * MM_PER_INCH / self.dpi, self.height * MM_PER_INCH / self.dpi

    @property
    def symbols(self) -> tuple[Symbol, ...]:
        """Every symbol on it, in the order of drawing."""
        return tuple(mark.symbol for mark in self.marks if isinstance(mark, SymbolMark))

    def placed(self, x: int, y: int) -> tuple[Mark, ...]:
        """Its marks, moved: for putting it on a page."""
        return tuple(mark.moved(x, y) for mark in self.marks)


def frame(x: int, y: int, width: int, height: int, thick: int) -> tuple[Rect, ...]:
    """The four sides of a box, drawn inside it."""
    return (
        Rect(x, y, width, thick),
        Rect(x, y + height - thick, width, thick),
        Rect(x, y, thick, height),
        Rect(x + width - thick, y, thick, height),
    )
