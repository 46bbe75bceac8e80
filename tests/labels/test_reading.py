"""Reading back: whole labels as drawn, and damaged ones in a short run of the trials."""

from __future__ import annotations

import sys

import numpy as np
import pytest
from PIL import Image, ImageDraw

from continuity_labels import trials
from continuity_labels.board import draw_board
from continuity_labels.codewords import codeword_map
from continuity_labels.damage import DAMAGES, Damage, Step, take_picture
from continuity_labels.drawing import Drawing, SymbolMark
from continuity_labels.errors import DecoderMissingError, LabelError, OtherRegisterError
from continuity_labels.layout import draw_label
from continuity_labels.raster import to_image
from continuity_labels.reading import Decoder, decode, read_back
from continuity_labels.stocks import builtin_stocks, find_stock
from continuity_labels.symbol import Level, make_symbol
from tests.labels.samples import BOOK, DECEDENT, THING, TREATED

SHORT = tuple(find_stock(name) for name in ("label-50x25-203", "label-100x50-300", "sheet-a4-3x8"))


@pytest.mark.parametrize("name", [name for name in builtin_stocks() if "sheet" not in name])
def test_every_label_is_read_back_whole_by_both_decoders(name: str) -> None:
    """Among its own words and panels."""
    for face in (THING, TREATED, DECEDENT):
        assert read_back(draw_label(face, find_stock(name))[0], BOOK) == (face.code,)


def test_a_board_is_read_back_by_zxing() -> None:
    """All eighteen at once, at a camera's resolution."""
    board = draw_board(BOOK)
    image = to_image(board).convert("L").reduce(3)
    texts = {reading.text for reading in decode(image, decoders=(Decoder.ZXING,))}
    assert texts == {symbol.text for symbol in board.symbols}


def test_a_spoiled_drawing_is_not_read_back() -> None:
    """The check before printing fails if a decoder reads less than was drawn."""
    drawing = draw_label(THING, SHORT[0])[0]
    symbol = make_symbol(THING.code.text, Level.H, dots=4, dpi=203)
    spoiled = tuple(tuple(False for _ in row) for row in symbol.modules)
    bad = SymbolMark(0, 0, type(symbol)(symbol.text, symbol.level, spoiled, 4, 203))
    marks = tuple(mark for mark in drawing.marks if not isinstance(mark, SymbolMark))
    with pytest.raises(LabelError, match="of 1 codes drawn, zxingcpp reads 0"):
        read_back(Drawing(drawing.width, drawing.height, 203, (*marks, bad)), BOOK)


def test_another_registers_label_is_read_and_refused() -> None:
    """The symbol is sound; the code is not ours."""
    with pytest.raises(OtherRegisterError):
        read_back(draw_label(THING, SHORT[0])[0], type(BOOK)("another-register"))


def test_a_missing_decoder_is_said_in_one_sentence(monkeypatch: pytest.MonkeyPatch) -> None:
    """Labels are printed without any."""
    monkeypatch.setitem(sys.modules, "zxingcpp", None)
    with pytest.raises(DecoderMissingError, match="reading labels back needs zxingcpp; install"):
        decode(Image.new("L", (50, 50)))


def test_claimed_damage_is_survived_and_nothing_is_misread() -> None:
    """A short run of the trials: three stocks, two labels of each face, a fixed seed.

    Of the claimed amounts at least 95 in 100 are read, over all; wrong readings never happen.
    """
    outcomes = tuple(trials.run_trials(SHORT, CLAIMED, per_stock=2, seed=7))
    faces = dict.fromkeys(outcome.stock for outcome in outcomes)
    assert list(faces) == [
        "label-50x25-203",
        "label-100x50-300",
        "label-100x50-300 beside formaldehyde-25, module 0.42 mm",
        "sheet-a4-3x8",
    ]
    assert len(outcomes) == len(faces) * 2 * sum(len(damage.steps) for damage in CLAIMED)
    assert sum(outcome.wrong for outcome in outcomes) == 0
    missed = [outcome for outcome in outcomes if not outcome.read_by]
    assert len(missed) / len(outcomes) <= 0.05, missed


CLAIMED = tuple(
    Damage(damage.name, damage.act, claimed[-1:])
    for damage in DAMAGES
    if (claimed := tuple(step for step in damage.steps if step.claimed))
)
"""The hardest claimed amount of each kind of damage."""


def test_damage_beyond_recovery_is_not_read() -> None:
    """The trials can fail: with 60 % of the codewords gone nobody reads, or guesses, anything."""
    tear = next(damage for damage in DAMAGES if damage.name == "missing area")
    ruin = Damage("ruin", tear.act, (Step(0.6, "60 %", "beyond"),))
    outcomes = tuple(trials.run_trials(SHORT[:2], (ruin,), per_stock=2, seed=7))
    assert [(outcome.read_by, outcome.wrong) for outcome in outcomes] == [(frozenset(), 0)] * 6


def test_a_torn_patch_touches_exactly_the_stated_share_of_codewords() -> None:
    """30 % of 44 codewords are 13; no other codeword and no function pattern changes."""
    drawing = draw_label(THING, SHORT[0])[0]
    mark = next(mark for mark in drawing.marks if isinstance(mark, SymbolMark))
    label = np.asarray(to_image(drawing).convert("L"), np.float32)
    picture = take_picture(label, mark, 203)
    tear = next(damage for damage in DAMAGES if damage.name == "missing area")
    words = codeword_map(25)
    for seed in range(5):
        torn = tear.act(picture, 0.30, np.random.default_rng(seed))
        ys, xs = np.nonzero(torn != picture.pixels)
        rows = ((ys - picture.top) // picture.module).astype(int)
        columns = ((xs - picture.left) // picture.module).astype(int)
        touched = {words[cell] for cell in zip(rows.tolist(), columns.tolist(), strict=True)}
        assert len(touched) <= 13


def test_the_summary_says_held_missed_and_wrong() -> None:
    """A claim is missed below 95 in 100, or by a single wrong reading."""
    step = Step(1, "much")
    both = frozenset(Decoder)

    def outcomes(read: int, of: int, wrong: int = 0) -> list[trials.Outcome]:
        seen = [both] * read + [frozenset()] * (of - read)
        return [
            trials.Outcome("a-stock", "a damage", step, each, wrong if not at else 0, 0)
            for at, each in enumerate(seen)
        ]

    text, held = trials.summarise(outcomes(95, 100))
    assert held
    assert "| a damage | much | 100 | 95.0% | 95.0% | 95.0% | 0 | 0 | held |" in text
    assert "| a-stock | 95.0% | - |" in text
    text, held = trials.summarise(outcomes(94, 100))
    assert not held
    assert "**missed**" in text
    assert not trials.summarise(outcomes(100, 100, wrong=1))[1]


def test_a_drawn_over_finder_is_beyond_error_correction() -> None:
    """Why drops on a finder pattern are not claimed: ISO/IEC 18004 corrects codewords only."""
    image = to_image(draw_label(THING, SHORT[1])[0]).convert("L")
    drawing = draw_label(THING, SHORT[1])[0]
    mark = next(mark for mark in drawing.marks if isinstance(mark, SymbolMark))
    dots = mark.symbol.dots
    x, y = mark.x + 4 * dots, mark.y + 4 * dots
    ImageDraw.Draw(image).rectangle((x, y, x + 7 * dots, y + 7 * dots), fill=255)
    assert decode(image) == ()
