"""Plain words: every kind of entry has its sentence, and says what it says."""

from __future__ import annotations

import pytest
from scenario import CASE

from continuity.audit.dossier.telling import _SENTENCES, Names, sentence
from continuity.audit.dossier.visible import visible
from continuity.care.case import Case
from continuity.care.entries import KINDS, read_act
from continuity.care.house import House, Place

NAMES = Names(Case("c", CASE), House(places={"safe": Place("safe", "safe", "the safe")}))


def test_every_kind_of_a_case_has_its_sentence() -> None:
    assert set(_SENTENCES) == {kind for kind in KINDS if not KINDS[kind].for_house}, (
        "give the new kind its sentence in audit/dossier/telling.py"
    )


@pytest.mark.parametrize(
    ("fields", "told"),
    [
        (
            {"kind": "moved", "things": ["A.1"], "place": "safe", "scanned": True},
            "A.1 taken to safe (the safe), labels scanned.",
        ),
        (
            {"kind": "put-in", "things": ["A.1", "A.2"], "into": "A.3", "remark": "slowly"},
            "A.1 and A.2 put into A.3. Remark: slowly",
        ),
        (
            {"kind": "put-in", "things": ["A.1"], "into": "A.3", "despite": ["wrong-case"]},
            "A.1 put into A.3. Found so, in spite of: wrong-case.",
        ),
        (
            {"kind": "inspected", "thing": "A.1", "leak": False, "dry": True, "seal": "intact"},
            "A.1 was inspected: no leak, dry and seal intact.",
        ),
        ({"kind": "inspected", "thing": "A.1", "empty": True}, "A.1 was inspected: empty."),
        ({"kind": "inspected", "thing": "A.1", "empty": False}, "A.1 was inspected: not empty."),
        (
            {
                "kind": "cared-for",
                "thing": "A.1",
                "step": "immersed",
                "formaldehyde_tenths": 45,
                "millilitres": 900,
            },
            "A.1: immersed, 900 ml, formaldehyde 4.5 %.",
        ),
        (
            {"kind": "taken-out", "things": ["A.1"], "out_of": "A.2", "into": "A.3"},
            "A.1 taken out of A.2 and put into A.3.",
        ),
        (
            {"kind": "handed-over", "things": ["A.1"], "taker": "coroner", "authority": "form 2"},
            "A.1 handed over to coroner, who has not signed yet, on the authority of: form 2.",
        ),
        (
            {"kind": "released", "things": ["A.1"], "relation": "daughter"},
            (
                "A.1 released to: daughter, with no authority named; identity not checked and not"
                " signed for."
            ),
        ),
        (
            {
                "kind": "separated",
                "thing": "A.1",
                "entirely": True,
                "into": [{"what": "part", "description": "half", "thing": "A.2", "place": "safe"}],
            },
            "A.1 was divided entirely into A.2 (half, at safe).",
        ),
        (
            {"kind": "retained", "holder": "lab", "things": ["A.1"], "family_told": False},
            "lab keeps A.1, family not told.",
        ),
        (
            {"kind": "personal-details-erased", "entries": [0, 3], "ground": "a request"},
            "Personal details of entries 0 and 3 were erased; ground: a request.",
        ),
        (
            {
                "kind": "corrected",
                "strikes": "0" * 64,
                "reason": "a slip",
                "instead": {"kind": "weighed", "thing": "A.1", "grams": 12},
            },
            "An earlier entry was struck, because: a slip. Read instead: A.1 weighed 12 g.",
        ),
    ],
)
def test_an_act_in_plain_words(fields: dict, told: str) -> None:
    assert sentence(read_act(fields), NAMES) == told


def test_hidden_characters_are_shown_by_their_code_points() -> None:
    assert visible("a\u202eb\x00\u200d\U000e0041") == ("a⟨U+202E⟩b⟨U+0000⟩⟨U+200D⟩⟨U+E0041⟩")
    assert visible("one\ntwo", kept="\n") == "one\ntwo"
    plain = "é ß 字 א ع 😀 \u00a0 \u0301"
    assert visible(plain) == plain


def test_look_alike_letters_can_be_told_apart_in_the_verbatim_entry() -> None:
    """A Cyrillic letter looks Latin; a joiner hidden behind it is shown."""
    assert visible("\u0440\u200cay") == "\u0440⟨U+200C⟩ay"
