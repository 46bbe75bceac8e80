"""Text from entries can do nothing to whoever reads it."""

from __future__ import annotations

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from continuity_cli.plain import harmless


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("left foot", "left foot"),
        ("Øystein Müller-Łukasz, 山田太郎", "Øystein Müller-Łukasz, 山田太郎"),
        ("\u0645\u06cc\u200c\u062e", "\u0645\u06cc\u200c\u062e"),
        ("\x1b[2Jgone", "\\x1b[2Jgone"),
        ("a\nb\r\tc", "a\\nb\\r\\tc"),
        ("bag \u202e8800-6202", "bag \\u202e8800-6202"),
        ("\u2066x\u2069", "\\u2066x\\u2069"),
        ("\x9b31m", "\\x9b31m"),
        ("a\u2028b\u2029c", "a\\u2028b\\u2029c"),
        ("no\u00a0break\u3000wide", "no break wide"),
        ("\ufeff\U000e0041", "\\ufeff\\U000e0041"),
        ("\ud800", "\\ud800"),
        (3, "3"),
    ],
)
def test_what_does_not_print_is_shown_as_an_escape(text: object, shown: str) -> None:
    assert harmless(text) == shown


@given(st.text())
def test_nothing_invisible_is_left_but_joiners(text: str) -> None:
    for character in harmless(text):
        assert character == " " or character in "\u200c\u200d" or character.isprintable()
        assert unicodedata.category(character) not in {"Cc", "Cs", "Zl", "Zp"}


@given(st.text(st.characters(categories=["L", "N", "P", "S"])))
def test_what_prints_is_left_as_it_is(text: str) -> None:
    assert harmless(text) == text
