"""The two check digits of a code: ISO 7064 MOD 97-10 over two-digit character values.

Three systems of ISO 7064 were weighed, over this project's own length of eighteen characters
(`labels/CODES.md` has the table, and `tests/labels/test_check.py` computes it anew):

- MOD 37-2 finds every substitution and transposition, but its check character may be I, L, O or
  *, the very look-alikes the alphabet leaves out, and one random corruption in 37 passes.
- MOD 37,36 misses some transpositions, as published figures for nine characters also say
  (0.19 % of neighbours, 1.8 % of jumps).
- MOD 97-10 in its usual form for letters, each expanded to its own one or two digits, misses
  some substitutions (0.38 % published): a digit for a letter changes the number's length.

The last fault lies in the expansion, not in the modulus. Here every character counts as exactly
two decimal digits, its place 00-31 in the alphabet. One wrong character then changes the number
by d x 100^k with 0 < |d| < 32, which 97 never divides; two exchanged characters, k places apart,
change it by a multiple of 100^k - 1, and 100 has order 48 modulo 97, far beyond eighteen. So
every single substitution, every exchange of any two characters, and every twin error is found,
the check is two digits that look like nothing else, and a random corruption passes once in 97.

Source: ISO 7064 MOD 97-10 by python-stdnum.
"""

from __future__ import annotations

ALPHABET = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
"""Thirty-two characters, five bits each: no I, L, O (they look like 1 and 0) and no U (V).

Douglas Crockford's base 32 made the same choice. All stand in QR's alphanumeric set.
"""

_DIGITS = {character: f"{value:02d}" for value, character in enumerate(ALPHABET)}


def check_digits(body: str) -> str:
    """The two digits, 02 to 98, that follow a body.

    Args:
        body: characters of `ALPHABET`.

    Raises:
        KeyError: a character is not in the alphabet.
    """
    # Here and not above: it draws in modules that whoever waits at a door need not wait for.
    from stdnum.iso7064 import mod_97_10  # noqa: PLC0415

    return str(mod_97_10.calc_check_digits("".join(_DIGITS[each] for each in body)))


def check_holds(body: str, digits: str) -> bool:
    """Whether the digits are exactly those that follow the body."""
    return digits == check_digits(body)
