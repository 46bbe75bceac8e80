"""Which names are taken for alike. The names are invented."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from continuity.care.names import alike, plain
from continuity.care.policy import default

FLAGGED = default().threshold("similar-name")


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("Marta Lindqvist", "Marta Lindqvist"),
        ("Marta Lindqvist", "Lindqvist Marta"),
        ("Marta Lindqvist", "Marta Lindquist"),
        ("José Ibáñez", "Jose Ibanez"),
        ("Marta Elin Lindqvist", "Marta Lindqvist"),
        ("Ирина Соколова", "Irina Sokolova"),
        ("Müller, Jürgen", "Jurgen Muller"),
    ],
)
def test_same_and_similar_names_are_flagged(one: str, other: str) -> None:
    assert alike(one, other) >= FLAGGED


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("Marta Lindqvist", "Oskar Brandt"),
        ("Ada Oyelaran", "Viktor Szabo"),
        ("Marta Lindqvist", ""),
        ("???", "!!!"),
    ],
)
def test_different_names_are_not(one: str, other: str) -> None:
    assert alike(one, other) < FLAGGED


@given(st.text(max_size=40), st.text(max_size=40))
def test_likeness_has_no_direction_and_stays_in_its_range(one: str, other: str) -> None:
    assert alike(one, other) == alike(other, one)
    assert 0 <= alike(one, other) <= 100


def test_a_hostile_name_is_cut_short() -> None:
    assert len(plain("a" * 1_000_000)) <= 200


@pytest.mark.parametrize(("one", "other"), [("", "Marta"), ("Marta", "77"), ("", ""), ("1", "2")])
def test_what_has_no_letters_is_like_no_name(one: str, other: str) -> None:
    assert alike(one, other) == 0
