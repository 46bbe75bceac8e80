"""What happens to labels: damage done to pictures of them, reproducibly.

Needs NumPy and OpenCV. Every amount is given in modules, degrees or shares, so that it means
the same on every stock.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import cv2
import numpy as np
from numpy.typing import NDArray

from continuity_labels.codewords import codeword_map
from continuity_labels.symbol import MM_PER_INCH, QUIET_ZONE

if TYPE_CHECKING:
    from continuity_labels.drawing import SymbolMark

Pixels = NDArray[np.float32]
Chance = np.random.Generator

_BAG = 205.0
_AROUND_MM = 3.0
_GRAIN = 2.5
_FINDER = 7
_BEYOND = "beyond"
_FINDER_HIT = "target missed: a finder is hit"


@dataclass(frozen=True)
class Picture:
    """A symbol with what stands around it, on the grey of a bag.

    Attributes:
        pixels: rows of greys, 0 to 255.
        left: x of the first module, in pixels.
        top: y of the first module.
        module: a module's side in pixels.
        side: modules in the symbol's side.
    """

    pixels: Pixels
    left: float
    top: float
    module: float
    side: int

    @property
    def middle(self) -> tuple[float, float]:
        """The symbol's middle, x and y."""
        half = self.side * self.module / 2
        return self.left + half, self.top + half


Act = Callable[[Picture, float, Chance], Pixels]


@dataclass(frozen=True)
class Step:
    """One amount of damage.

    Attributes:
        amount: as the act takes it.
        shown: as the table shows it.
        unclaimed: why labels are not said to survive it; empty where they are.
    """

    amount: float
    shown: str
    unclaimed: str = ""

    @property
    def claimed(self) -> bool:
        """Whether labels are said to survive it."""
        return not self.unclaimed


@dataclass(frozen=True)
class Damage:
    """One kind of damage, by rising amounts."""

    name: str
    act: Act
    steps: tuple[Step, ...]


def take_picture(label: Pixels, mark: SymbolMark, dpi: int, *, scale: float = 1.0) -> Picture:
    """Cut a symbol out of a label, with 3 mm of its surroundings, and lay it on a bag.

    Args:
        label: the label's greys, one pixel a dot.
        mark: the symbol on it.
        dpi: the label's resolution.
        scale: picture pixels to a dot.
    """
    around = round(_AROUND_MM * dpi / MM_PER_INCH)
    whole = mark.symbol.side_dots
    y0, x0 = max(0, mark.y - around), max(0, mark.x - around)
    part = label[y0 : mark.y + whole + around, x0 : mark.x + whole + around]
    border = whole // 3
    laid = np.pad(part, border, constant_values=_BAG).astype(np.float32)
    if scale != 1.0:
        size = round(laid.shape[1] * scale), round(laid.shape[0] * scale)
        laid = cv2.resize(laid, size, interpolation=cv2.INTER_AREA).astype(np.float32)
    quiet = QUIET_ZONE * mark.symbol.dots
    return Picture(
        laid,
        (mark.x - x0 + border + quiet) * scale,
        (mark.y - y0 + border + quiet) * scale,
        mark.symbol.dots * scale,
        len(mark.symbol.modules),
    )


def grain(pixels: Pixels, chance: Chance) -> Pixels:
    """The noise of any camera, on every picture."""
    noise = chance.normal(0, _GRAIN, pixels.shape).astype(np.float32)
    return np.asarray((pixels + noise).clip(0, 255), np.float32)


def rotate(picture: Picture, degrees: float, chance: Chance) -> Pixels:
    """Turned by up to so many degrees either way."""
    angle = chance.uniform(-degrees, degrees)
    matrix = cv2.getRotationMatrix2D(_centre(picture.pixels), angle, 1.0)
    return _warped(picture.pixels, matrix)


def blur(picture: Picture, modules: float, _: Chance) -> Pixels:
    """Out of focus: a Gaussian whose standard deviation is so many modules."""
    sigma = modules * picture.module
    return cv2.GaussianBlur(picture.pixels, (0, 0), sigma).astype(np.float32)


def fade(picture: Picture, contrast: float, chance: Chance) -> Pixels:
    """Faded or badly lit: black and white so far apart, of 1, at a chance brightness."""
    low = chance.uniform(0.1, 0.9 - contrast) * 255
    faded: Pixels = (low + picture.pixels * contrast).astype(np.float32)
    return faded


def band(picture: Picture, share: float, chance: Chance) -> Pixels:
    """Printhead trouble: so many of the dot lines along the feed are dead, and density wavers."""
    pixels = picture.pixels.copy()
    left, right = _extent(picture.left, picture)
    lines = math.ceil(share * (right - left))
    for x in chance.choice(np.arange(left, right), lines, replace=False):
        pixels[:, x] = np.maximum(pixels[:, x], 235)
    period = chance.uniform(4, 12) * picture.module
    wave = np.sin(np.arange(pixels.shape[0]) * 2 * math.pi / period + chance.uniform(0, 6))
    lift = (wave[:, None] + 1) * 90 * share * 4
    banded: Pixels = np.maximum(pixels, np.minimum(pixels + lift, 190)).astype(np.float32)
    return banded


def wet(picture: Picture, share: float, chance: Chance) -> Pixels:
    """Drops of blood, water or solution over so much of the symbol's area, wherever they fall."""
    size = picture.side * picture.module
    count = int(chance.integers(2, 5))
    radius = math.sqrt(share * size * size / count / math.pi)
    spots = [(*chance.uniform(0, picture.side, 2), radius / picture.module) for _ in range(count)]
    return _dropped(picture, spots, chance)


def wet_inside(picture: Picture, share: float, chance: Chance) -> Pixels:
    """Drops that touch at most so many of the codewords and no finder pattern."""
    words = codeword_map(picture.side)
    allowed = math.floor(share * (max(words.values()) + 1))
    count = int(chance.integers(2, 5))
    cells = list(words)
    centres = [cells[int(chance.integers(len(cells)))] for _ in range(count)]
    corners = [(0, 0), (0, picture.side - 1), (picture.side - 1, 0)]
    radius = 0.0
    for wider in np.arange(0.25, picture.side, 0.25):
        touched = {
            word
            for (row, column), word in words.items()
            if any(math.dist((row, column), centre) < wider + 0.7 for centre in centres)
        }
        finders = any(
            max(abs(row - r), abs(column - c)) < _FINDER + wider
            for row, column in centres
            for r, c in corners
        )
        if len(touched) > allowed or finders:
            break
        radius = float(wider)
    spots = [(column + 0.5, row + 0.5, radius) for row, column in centres]
    return _dropped(picture, spots, chance)


def _dropped(
    picture: Picture, spots: Sequence[tuple[float, float, float]], chance: Chance
) -> Pixels:
    """Round spots at x, y and of a radius in modules, dark or washed out, with soft edges."""
    pixels = picture.pixels.copy()
    ys, xs = np.mgrid[0 : pixels.shape[0], 0 : pixels.shape[1]]
    for x, y, radius in spots:
        across = xs - picture.left - x * picture.module
        down = ys - picture.top - y * picture.module
        inside = across**2 + down**2 < (radius * picture.module) ** 2
        tone = chance.choice([40.0, 90.0, 200.0])
        pixels[inside] = pixels[inside] * 0.15 + tone * 0.85
    return cv2.GaussianBlur(pixels, (0, 0), picture.module / 6).astype(np.float32)


def crease(picture: Picture, count: float, chance: Chance) -> Pixels:
    """So many folds: print breaks off along each, and one side shifts by up to 0.3 module."""
    pixels = picture.pixels
    middle = picture.middle
    for _ in range(int(count)):
        angle = chance.uniform(0, math.pi)
        away = chance.uniform(-0.35, 0.35) * picture.side * picture.module
        ys, xs = np.mgrid[0 : pixels.shape[0], 0 : pixels.shape[1]].astype(np.float32)
        across = (xs - middle[0]) * math.cos(angle) + (ys - middle[1]) * math.sin(angle) - away
        shift = chance.uniform(0.1, 0.3) * picture.module
        moved = np.where(across > 0, shift, 0)
        map_x = (xs + moved * math.cos(angle)).astype(np.float32)
        map_y = (ys + moved * math.sin(angle)).astype(np.float32)
        bent = cv2.remap(pixels, map_x, map_y, cv2.INTER_LINEAR, borderValue=_BAG)
        width = chance.uniform(0.2, 0.6) * picture.module
        pixels = np.where(np.abs(across) < width / 2, 225.0, bent).astype(np.float32)
    return pixels


def curve(picture: Picture, degrees: float, chance: Chance) -> Pixels:
    """On a full bag: bent about a chance axis, its edge turned away by so many degrees."""
    turned = _warped(
        picture.pixels,
        cv2.getRotationMatrix2D(picture.middle, chance.uniform(0, 180), 1.0),
    )
    reach = picture.side * picture.module / 2
    edge = math.radians(degrees)
    radius = reach / edge
    ys, xs = np.mgrid[0 : turned.shape[0], 0 : turned.shape[1]].astype(np.float32)
    seen = np.clip((xs - picture.middle[0]) / radius, -0.999, 0.999)
    map_x = (picture.middle[0] + np.arcsin(seen) * radius).astype(np.float32)
    shade = np.sqrt(1 - seen**2)
    bent = cv2.remap(turned, map_x, ys, cv2.INTER_LINEAR, borderValue=_BAG)
    lit: Pixels = (bent * (0.5 + 0.5 * shade)).astype(np.float32)
    return lit


def tilt(picture: Picture, degrees: float, chance: Chance) -> Pixels:
    """Seen from the side: tilted by so many degrees about a chance axis, from four sizes away."""
    turned = _warped(
        picture.pixels,
        cv2.getRotationMatrix2D(picture.middle, chance.uniform(0, 360), 1.0),
    )
    height, width = turned.shape
    far = 4.0 * picture.side * picture.module
    angle = math.radians(degrees)
    middle = picture.middle
    corners = np.array([(0, 0), (width, 0), (width, height), (0, height)], np.float32)
    seen = []
    for x, y in corners:
        dx, dy = x - middle[0], y - middle[1]
        depth = far / (far + dx * math.sin(angle))
        seen.append((middle[0] + dx * math.cos(angle) * depth, middle[1] + dy * depth))
    matrix = cv2.getPerspectiveTransform(corners, np.array(seen, np.float32))
    size = (width, height)
    return cv2.warpPerspective(turned, matrix, size, borderValue=_BAG).astype(np.float32)


def tear(picture: Picture, share: float, chance: Chance) -> Pixels:
    """A patch is gone: modules around a chance point, until so many codewords are touched.

    Finder, timing and alignment patterns are spared: the standard's recovery is of codewords.
    """
    words = codeword_map(picture.side)
    allowed = math.floor(share * (max(words.values()) + 1))
    row, column = list(words)[int(chance.integers(len(words)))]
    near = sorted(words, key=lambda cell: (cell[0] - row) ** 2 + (cell[1] - column) ** 2)
    touched: set[int] = set()
    pixels = picture.pixels.copy()
    tone = chance.choice([0.0, 128.0, 255.0])
    for cell in near:
        touched.add(words[cell])
        if len(touched) > allowed:
            break
        top, below = _cell(picture.top, cell[0], picture.module)
        left, right = _cell(picture.left, cell[1], picture.module)
        pixels[top:below, left:right] = tone
    return pixels


DAMAGES: tuple[Damage, ...] = (
    Damage("none", lambda picture, _, __: picture.pixels, (Step(0, "as printed"),)),
    Damage("rotation", rotate, (Step(15, "to 15°"), Step(45, "to 45°"), Step(180, "any angle"))),
    Damage(
        "blur",
        blur,
        (
            Step(0.25, "0.25 module"),
            Step(0.5, "0.5 module"),
            Step(0.75, "0.75 module", _BEYOND),
        ),
    ),
    Damage(
        "low contrast",
        fade,
        (Step(0.3, "30 %"), Step(0.15, "15 %"), Step(0.05, "5 %", _BEYOND)),
    ),
    Damage(
        "thermal banding",
        band,
        (
            Step(0.05, "5 % of lines"),
            Step(0.15, "15 % of lines"),
            Step(0.30, "30 % of lines", _BEYOND),
        ),
    ),
    Damage(
        "wet blobs, finders spared",
        wet_inside,
        (
            Step(0.10, "10 % of codewords"),
            Step(0.20, "20 % of codewords"),
            Step(0.30, "30 % of codewords"),
        ),
    ),
    Damage(
        "wet blobs anywhere",
        wet,
        (
            Step(0.03, "3 % of area", _FINDER_HIT),
            Step(0.06, "6 % of area", _FINDER_HIT),
            Step(0.15, "15 % of area", _FINDER_HIT),
        ),
    ),
    Damage("creases", crease, (Step(1, "1"), Step(2, "2"), Step(4, "4", _BEYOND))),
    Damage(
        "curvature on a bag",
        curve,
        (
            Step(20, "edge at 20°"),
            Step(40, "edge at 40°"),
            Step(60, "edge at 60°", _BEYOND),
        ),
    ),
    Damage("perspective", tilt, (Step(20, "20°"), Step(40, "40°"), Step(60, "60°", _BEYOND))),
    Damage(
        "missing area",
        tear,
        (
            Step(0.10, "10 % of codewords"),
            Step(0.20, "20 % of codewords"),
            Step(0.30, "30 % of codewords"),
            Step(0.45, "45 % of codewords", _BEYOND),
        ),
    ),
)


def _centre(pixels: Pixels) -> tuple[float, float]:
    return pixels.shape[1] / 2, pixels.shape[0] / 2


def _warped(pixels: Pixels, matrix: Any) -> Pixels:
    size = (pixels.shape[1], pixels.shape[0])
    return cv2.warpAffine(pixels, matrix, size, borderValue=_BAG).astype(np.float32)


def _extent(start: float, picture: Picture) -> tuple[int, int]:
    return round(start), round(start + picture.side * picture.module)


def _cell(start: float, number: int, module: float) -> tuple[int, int]:
    return round(start + number * module), round(start + (number + 1) * module)
