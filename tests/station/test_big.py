"""Shapes and words are told apart without colour, and fit the screens there are."""

from __future__ import annotations

import re
from itertools import combinations
from pathlib import Path

from continuity_cli.station import big
from continuity_cli.station.answer import Tone

SOURCES = (Path(big.__file__).with_name(f"{name}.py") for name in ("desk", "answer", "below"))
TEXT = "".join(path.read_text("utf-8") for path in SOURCES)
WORDS = set(re.findall(r'"([A-Z]{2,}(?: [A-Z]+)*)"', TEXT))


def test_the_words_were_found() -> None:
    assert {
        "RECORDED",
        "WRONG CASE",
        "OLD LABEL",
        "TIMED OUT",
        "NOT CLEAR",
        "CLEAR",
        "BUSY",
    } <= WORDS


def test_every_word_fits_a_screen_of_eighty_columns_beside_its_shape() -> None:
    for word in WORDS:
        for tall in (True, False):
            lines = big.word(word, 80 - 8 - 14, tall=tall)
            assert len(lines) in ((big.HEIGHT, 11) if tall and " " in word else (big.HEIGHT,)), word
            assert max(map(len, lines)) <= 58, word


def test_two_words_stand_one_below_the_other_rather_than_small() -> None:
    """The loudest refusal must not have the smallest letters."""
    lines = big.word("WRONG CASE", 78)
    assert lines[:5] == big.word("WRONG", 78)
    assert lines[5] == ""
    assert lines[6:] == big.word("CASE", 78)
    assert len(big.word("WRONG CASE", 78, tall=False)) == big.HEIGHT
    assert len(big.word("WRONG CASE", 98)) == big.HEIGHT


def test_a_wide_screen_gets_wide_letters() -> None:
    narrow, wide = big.word("RECORDED", 60)[0], big.word("RECORDED", 90)[0]
    assert len(wide) == 2 * len(narrow)
    assert wide == "".join(dot * 2 for dot in narrow)


def test_letters_differ_in_more_than_a_block_or_two() -> None:
    letters = {letter: big.word(letter, 9) for letter in "ABCDEFGHIJKLMNOPQRSTUVWXYZ"}
    assert len({tuple(rows) for rows in letters.values()}) == 26


def test_every_answer_has_a_shape_of_its_own_in_ten_by_five() -> None:
    shapes = {tone: big.shape(tone) for tone in Tone}
    for rows in shapes.values():
        assert [len(row) for row in rows] == [10] * big.HEIGHT
    for one, other in combinations(shapes.values(), 2):
        differing = sum(
            a != b for x, y in zip(one, other, strict=True) for a, b in zip(x, y, strict=True)
        )
        assert differing >= 15
