"""The check digits: published values, and what they find over this project's own length."""

from __future__ import annotations

import random
from collections.abc import Callable
from itertools import combinations, pairwise
from pathlib import Path

import pytest
from stdnum.iso7064 import mod_37_2, mod_37_36, mod_97_10

from continuity_labels.check import ALPHABET, check_digits, check_holds

BODY = 18
CODES_PAGE = Path(__file__).parents[2] / "labels" / "CODES.md"


@pytest.mark.parametrize(
    ("system", "number", "check"),
    [
        (mod_37_2.calc_check_digit, "G123498654321", "H"),
        (mod_37_2.calc_check_digit, "G123489654321", "Y"),
        (mod_37_36.calc_check_digit, "A12425GABC1234002", "M"),
        (mod_97_10.calc_check_digits, "99991234567890121414", "90"),
        (mod_97_10.calc_check_digits, "4354111611551114", "31"),
        (mod_97_10.calc_check_digits, "22181321402534321446701611", "35"),
        (mod_97_10.calc_check_digits, "5367", "02"),
        (mod_97_10.calc_check_digits, "5303", "97"),
        (mod_97_10.calc_check_digits, "5335", "98"),
    ],
)
def test_the_library_computes_the_published_values(
    system: Callable[[str], str], number: str, check: str
) -> None:
    """UK Red Book Annex 2 (first line); python-stdnum's own documentation (the others)."""
    assert system(number) == check


def test_check_is_mod_97_10_of_the_two_digit_values() -> None:
    """Digits count as themselves: 0-9 stand at places 0-9, so '1' is 01 and 'Z' is 31."""
    assert check_digits("12Z") == mod_97_10.calc_check_digits("010231")
    assert check_holds("12Z", check_digits("12Z"))
    assert not check_holds("12Z", "00")


def test_alphabet_has_no_look_alikes_and_fits_the_symbol() -> None:
    """ISO/IEC 18004's alphanumeric set is 0-9 A-Z and nine others."""
    assert len(set(ALPHABET)) == len(ALPHABET) == 32
    assert set(ALPHABET) <= set("0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:")
    assert not set("ILOU") & set(ALPHABET)


def test_no_single_or_exchanged_or_twin_error_passes_by_arithmetic() -> None:
    """Exhaustive: each place, each difference of values, each pair of places and twin distance.

    The number of a code is the sum of v x 100^place, with the check digits at weights 10 and 1.
    """
    weights = [pow(100, place, 97) for place in range(1, BODY + 1)]
    differences = range(1, len(ALPHABET))
    for weight in weights:
        assert all(d * weight % 97 for d in differences)
    for one, other in combinations(weights, 2):
        assert all(d * (one - other) % 97 for d in differences)
    for one, other in pairwise(weights):
        assert all(d * (one + other) % 97 for d in differences)
    for d in range(1, 10):
        assert d % 97
        assert d * 10 % 97
        assert d * 9 % 97
        for weight in weights:
            assert d * (weight - 10) % 97
            assert d * (weight - 1) % 97


Slip = Callable[[str, random.Random], str]


def substitution(text: str, chance: random.Random) -> str:
    at = chance.randrange(BODY)
    return text[:at] + chance.choice(ALPHABET.replace(text[at], "")) + text[at + 1 :]


def exchange(distance: int) -> Slip:
    def slip(text: str, chance: random.Random) -> str:
        at = chance.randrange(BODY - distance)
        characters = list(text)
        characters[at], characters[at + distance] = characters[at + distance], characters[at]
        return "".join(characters)

    return slip


def twin(text: str, chance: random.Random) -> str:
    at = chance.randrange(BODY - 1)
    return text[:at] + chance.choice(ALPHABET) * 2 + text[at + 2 :]


def scramble(text: str, chance: random.Random) -> str:
    return "".join(chance.choices(ALPHABET, k=BODY)) + text[BODY:]


SLIPS: dict[str, Slip] = {
    "one wrong character": substitution,
    "neighbours exchanged": exchange(1),
    "exchanged over one": exchange(2),
    "random corruption": scramble,
}
SYSTEMS: dict[str, tuple[Callable[[str], str], Callable[[str], bool]]] = {
    "MOD 37-2": (mod_37_2.calc_check_digit, mod_37_2.is_valid),
    "MOD 37,36": (mod_37_36.calc_check_digit, mod_37_36.is_valid),
    "MOD 97-10, letters expanded": (mod_97_10.calc_check_digits, mod_97_10.is_valid),
    "MOD 97-10, two digits each": (
        check_digits,
        lambda text: check_holds(text[:BODY], text[BODY:]),
    ),
}
TRIALS = 4000


def missed(system: str, slip: str) -> int:
    """Of `TRIALS` codes of eighteen random characters, how many slips the system lets pass."""
    compute, holds = SYSTEMS[system]
    chance = random.Random(f"{system} {slip}")
    passed = 0
    for _ in range(TRIALS):
        body = "".join(chance.choices(ALPHABET, k=BODY))
        code = body + compute(body)
        wrong = SLIPS[slip](code, chance)
        passed += wrong != code and holds(wrong)
    return passed


def test_the_documented_table_is_the_computed_one() -> None:
    """`labels/CODES.md` states the slips missed; here they are computed again."""
    page = CODES_PAGE.read_text(encoding="utf-8")
    for system in SYSTEMS:
        counts = " | ".join(f"{missed(system, slip)}" for slip in SLIPS)
        assert f"| {system} | {counts} |" in page
