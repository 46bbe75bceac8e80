"""Label trials: every stock drawn, damaged, and read back by two decoders.

Run as `python -m continuity_labels.trials`; it prints a Markdown table and writes it where
asked. All chance comes from the seed, so that the pictures, though not the decoders' versions,
are the same on every machine.

A trial succeeds if at least one decoder returns the label's own code. A reading is wrong if it
is accepted by the register's code book and is another code: that may never happen.
"""

from __future__ import annotations

import argparse
import sys
from collections import Counter
from contextlib import suppress
from dataclasses import dataclass
from datetime import UTC, date, datetime
from importlib.metadata import version
from itertools import product
from pathlib import Path
from typing import TYPE_CHECKING, Final

import numpy as np
from PIL import Image

from continuity_labels.check import ALPHABET
from continuity_labels.code import Code, CodeBook, CodeType
from continuity_labels.damage import DAMAGES, Damage, Picture, Step, grain, take_picture
from continuity_labels.drawing import SymbolMark
from continuity_labels.errors import LabelError, StockError
from continuity_labels.face import Face, FaceKind
from continuity_labels.hazard import HazardState, panels_for
from continuity_labels.layout import draw_label
from continuity_labels.raster import to_image
from continuity_labels.reading import Decoder, decode
from continuity_labels.stocks import builtin_stocks

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from continuity_labels.drawing import Drawing
    from continuity_labels.stocks import Stock

REGISTER: Final = "trial-register"
TARGET: Final = 0.95
SEED: Final = 20310402
PER_STOCK: Final = 8
CAMERA_DPI: Final = 300
"""Finer prints are photographed at this resolution; coarser ones at their own."""
_CONTENTS: Final = tuple(
    HazardState(unfixed=unfixed, formaldehyde_tenths=tenths, treating=tenths is None)
    for unfixed in (False, True)
    for tenths in (None, 0, 1, 2, 10, 50, 250)
)
"""Contents that between them call for every combination of hazard panels."""
_RESPONSIBLE: Final = "Invented & Sons, 12 Example Road, Nowhere"


@dataclass(frozen=True)
class Outcome:
    """One trial.

    Attributes:
        stock: name of the stock, and of the hazard panels that the symbol stands beside.
        damage: name of the damage.
        step: its amount.
        read_by: the decoders that returned the label's own code.
        wrong: codes that were accepted and are not the label's.
        refused: texts that were decoded and refused.
    """

    stock: str
    damage: str
    step: Step
    read_by: frozenset[Decoder]
    wrong: int
    refused: int


def run_trials(
    stocks: Sequence[Stock],
    damages: Sequence[Damage] = DAMAGES,
    *,
    per_stock: int = PER_STOCK,
    seed: int = SEED,
) -> Iterable[Outcome]:
    """Draw, damage and read back.

    Args:
        stocks: what to draw on.
        damages: what to do to the pictures.
        per_stock: labels drawn for each face of a stock, each with its own code.
        seed: of all chance.

    Raises:
        DecoderMissingError: a decoder is not installed.
    """
    book = CodeBook(REGISTER)
    for place, stock in enumerate(stocks):
        for beside, (name, panels) in enumerate(_printed_on(stock)):
            for number in range(per_stock):
                chance = np.random.default_rng([seed, place, number, *[beside] * bool(beside)])
                unique = "".join(ALPHABET[value] for value in chance.integers(32, size=12))
                code = Code(CodeType.THING, book.tag, unique, number % 31 + 1)
                picture = _photograph(code, stock, panels)
                for damage in damages:
                    for step in damage.steps:
                        pixels = grain(damage.act(picture, step.amount, chance), chance)
                        image = Image.fromarray(pixels.astype(np.uint8))
                        yield _read(image, code, book, (name, damage.name, step))


@dataclass(frozen=True)
class _Panels:
    """What the hazard panels beside a symbol follow from, and say."""

    contents: HazardState | None = None
    responsible: str | None = None


_NONE: Final = _Panels()


def _printed_on(stock: Stock) -> Iterator[tuple[str, _Panels]]:
    """The plain face, and where hazard panels leave the symbol less room, the one with least."""
    code = Code(CodeType.THING, CodeBook(REGISTER).tag, ALPHABET[0] * 12)
    yield stock.name, _NONE
    modules = {_NONE: _symbol(_drawn(code, stock, _NONE)).symbol.module_mm}
    for contents, responsible in product(_CONTENTS, (None, _RESPONSIBLE)):
        panels = _Panels(contents, responsible)
        # Panels with more to say than the stock has room for are never printed on it.
        with suppress(StockError):
            modules[panels] = _symbol(_drawn(code, stock, panels)).symbol.module_mm
    least = min(modules, key=modules.__getitem__)
    if least.contents is not None:
        beside = ", ".join(panels_for(least.contents))
        yield f"{stock.name} beside {beside}, module {modules[least]:.2f} mm", least


def _drawn(code: Code, stock: Stock, panels: _Panels) -> Drawing:
    face = Face(
        FaceKind.THING,
        code,
        "Viscera bag",
        ordinal=(2, 3),
        case_number="2031-0147",
        day=date(2031, 4, 2),
        initials=1,
        hazard=panels.contents,
        responsible=panels.responsible,
    )
    return draw_label(face, stock)[0]


def _symbol(drawing: Drawing) -> SymbolMark:
    return next(mark for mark in drawing.marks if isinstance(mark, SymbolMark))


def _photograph(code: Code, stock: Stock, panels: _Panels) -> Picture:
    drawing = _drawn(code, stock, panels)
    mark = _symbol(drawing)
    label = np.asarray(to_image(drawing).convert("L"), np.float32)
    scale = min(1.0, CAMERA_DPI / stock.dpi)
    return take_picture(label, mark, stock.dpi, scale=scale)


def _read(image: Image.Image, code: Code, book: CodeBook, trial: tuple[str, str, Step]) -> Outcome:
    right: set[Decoder] = set()
    wrong = refused = 0
    for reading in decode(image):
        try:
            read = book.parse(reading.text)
        except LabelError:
            refused += 1
            continue
        if read == code:
            right.add(reading.decoder)
        else:
            wrong += 1
    return Outcome(*trial, frozenset(right), wrong, refused)


def summarise(outcomes: Sequence[Outcome]) -> tuple[str, bool]:
    """The tables in Markdown, and whether every claim held."""
    lines = [
        "| damage | amount | trials | either | ZXing-C++ | OpenCV | refused | wrong | claim |",
        "| --- | --- | --- | --- | --- | --- | --- | --- | --- |",
    ]
    held = True
    cells: dict[tuple[str, Step], list[Outcome]] = {}
    for outcome in outcomes:
        cells.setdefault((outcome.damage, outcome.step), []).append(outcome)
    for (damage, step), some in cells.items():
        rate = sum(bool(each.read_by) for each in some) / len(some)
        wrong = sum(each.wrong for each in some)
        kept = wrong == 0 and (rate >= TARGET or not step.claimed)
        held = held and kept
        claim = step.unclaimed or ("held" if kept else "**missed**")
        by = Counter(decoder for each in some for decoder in each.read_by)
        refused = sum(each.refused for each in some)
        rates = " | ".join(_percent(by[decoder], len(some)) for decoder in Decoder)
        lines.append(
            f"| {damage} | {step.shown} | {len(some)} | {rate:.1%} | {rates} "
            f"| {refused} | {wrong} | {claim} |"
        )
    lines += ["", "| stock | claimed damage read | beyond the claims read |", "| --- | --- | --- |"]
    for name in dict.fromkeys(outcome.stock for outcome in outcomes):
        shares = []
        for claimed in (True, False):
            some = [
                each for each in outcomes if each.stock == name and each.step.claimed is claimed
            ]
            shares.append(_percent(sum(bool(each.read_by) for each in some), len(some)))
        lines.append(f"| {name} | {shares[0]} | {shares[1]} |")
    return "\n".join(lines) + "\n", held


def _percent(part: int, whole: int) -> str:
    return f"{part / whole:.1%}" if whole else "-"


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the trials and say what came of them; 0 if every claim held, else 1."""
    parser = argparse.ArgumentParser(prog="continuity_labels.trials", description=__doc__)
    parser.add_argument("--per-stock", type=int, default=PER_STOCK, help="labels for each stock")
    parser.add_argument("--seed", type=int, default=SEED)
    parser.add_argument("--write", type=Path, help="also write the page to this file")
    asked = parser.parse_args(arguments)
    try:
        outcomes = tuple(
            run_trials(tuple(builtin_stocks().values()), per_stock=asked.per_stock, seed=asked.seed)
        )
    except LabelError as error:
        sys.stderr.write(f"{error}\n")
        return 2
    tables, held = summarise(outcomes)
    versions = ", ".join(
        f"{name} {version(name)}" for name in ("zxing-cpp", "opencv-python-headless")
    )
    page = _PAGE.format(
        day=datetime.now(UTC).date().isoformat(),
        seed=asked.seed,
        versions=versions,
        tables=tables,
        stocks=len(builtin_stocks()),
        per_stock=asked.per_stock,
    )
    sys.stdout.write(page)
    if asked.write is not None:
        asked.write.write_text(page, encoding="utf-8")
    return 0 if held else 1


_PAGE: Final = """# Label trials

Every stock drawn at its own resolution, damaged in pictures, and read back by two decoders that
share no code. Made by `make label-trials`; all chance comes from the seed.

Date {day}, seed {seed}, {stocks} stocks with {per_stock} labels of each face, {versions}.

Each stock has its plain face; where hazard panels on the same label leave the symbol less room,
it has a second, beside those panels that leave it the smallest symbol that is ever printed there.

A trial counts as read if at least one decoder returns the label's own code. The claim is 95 of
100, and no wrong code ever accepted. *Refused* are texts that a decoder returned and the code
book turned away; *wrong* would be codes it accepted that are another label's.

Error correction restores codewords, not the three finder patterns by which a reader finds the
symbol at all: a drop that blots one out is beyond it, however small, and where drops may fall
anywhere the 95 are missed. What mends it: bands and folded tags carry the symbol twice, and the
groups are printed for typing. *Beyond* marks amounts that no claim covers: they show where
reading ends. Pictures show one symbol with 3 mm around it, at the printer's resolution or 300
dpi, whichever is less.

Every amount is a house model of the damage, stated in `continuity_labels.damage`; none is a
published one, save the 7, 15, 25 and 30 % of codewords of ISO/IEC 18004.

{tables}"""


if __name__ == "__main__":
    sys.exit(main())
