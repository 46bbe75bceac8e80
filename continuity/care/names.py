"""Names that are the same or similar, whatever their accents, script, order or spelling.

The HTA's guidance asks that same or similar names in care at the same time be flagged
(traceability standard T1(d)): reading one name for another is a recorded cause of releasing the
wrong decedent.
"""

from __future__ import annotations

import re

from anyascii import anyascii
from rapidfuzz import fuzz
from rapidfuzz.distance import JaroWinkler

MAX_NAME = 200
"""Characters of a name that are compared; what lies beyond tells nobody apart."""


def plain(name: str) -> str:
    """A name in plain small letters, its words sorted: the order of names is not the same anywhere.

    Accents go and other scripts are transliterated (anyascii), so that a name written in two
    scripts is compared by its sound rather than by its signs.
    """
    words = re.findall(r"[a-z]+", anyascii(name[:MAX_NAME]).lower())
    return " ".join(sorted(words))


def alike(one: str, other: str) -> int:
    """How alike two names are, in percent: 100 is the same but for order, accents and script.

    The larger of two measures: of the words as sets, which forgives a missing second name, and of
    the letters from the front (Jaro-Winkler), which forgives a slip of spelling.
    """
    first, second = plain(one), plain(other)
    if not first or not second:
        return 0
    return round(
        max(fuzz.token_set_ratio(first, second), 100 * JaroWinkler.similarity(first, second))
    )
