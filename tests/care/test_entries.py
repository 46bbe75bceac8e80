"""Every kind of entry is found by its name, in the module that the table says."""

from __future__ import annotations

import pkgutil
import subprocess
import sys
from typing import Any

import pytest

from continuity.care import acts, entries
from continuity.errors import InputError


def test_the_table_names_every_kind_that_a_module_defines() -> None:
    defined = {
        module.name: tuple(
            act.model_fields["kind"].default
            for act in entries._acts(f"{acts.__name__}.{module.name}")
        )
        for module in pkgutil.iter_modules(acts.__path__)
        if module.name != "base"
    }
    assert defined == entries._MODULES, "name the kind beside its module in care/entries.py"


def test_every_kind_is_found_under_its_own_name() -> None:
    assert len(entries.KINDS) == sum(map(len, entries._MODULES.values())) > 40
    for name, kind in entries.KINDS.items():
        assert kind.model_fields["kind"].default == name


def test_the_kind_that_erases_is_the_one_with_a_ground_for_it() -> None:
    assert {"fields", "ground"} <= set(entries.KINDS[entries.ERASING].model_fields)


def test_a_kind_reads_its_own_module_and_no_other() -> None:
    script = (
        "import sys; from continuity.care.entries import read_act;"
        "read_act({'kind': 'weighed', 'thing': '2026-0001.1', 'grams': 3});"
        "print(*sorted(m for m in sys.modules if m.startswith('continuity.care.acts.')))"
    )
    answer = subprocess.run([sys.executable, "-c", script], capture_output=True, check=True)
    assert answer.stdout.split() == [
        b"continuity.care.acts.base",
        b"continuity.care.acts.treatment",
    ]


@pytest.mark.parametrize("name", ["discarded", "", None, 3, ["moved"], {"moved": 1}])
def test_an_unknown_kind_is_wrong_input(name: object) -> None:
    with pytest.raises(InputError, match=r"^kind .*: no such kind of entry"):
        entries.read_act({"kind": name})


MOVED = {"kind": "moved", "things": ["2026-0001.1"], "place": "table"}
WEIGHED = {"kind": "weighed", "thing": "2026-0001.1", "grams": 3}
LOOKED = {"kind": "inspected", "thing": "2026-0001.1", "leak": False}
RECEIVED = {"kind": "received", "giver": "coroner", "place": "store"}
NUMBER = "a thing's number, as in 2026-0001.2"


@pytest.mark.parametrize(
    ("fields", "sentence"),
    [
        ({**MOVED, "place": "Cold Room"}, "moved: place: small letters, digits and hyphens, at"),
        ({**MOVED, "place": 3}, "moved: place: text is wanted here"),
        ({**MOVED, "remark": "\ud800"}, "moved: remark: text in UTF-8 is wanted here"),
        ({**MOVED, "remark": ""}, "moved: remark: is empty"),
        ({**MOVED, "remark": "x" * 2001}, "moved: remark: at most 2000 characters"),
        ({**MOVED, "things": ["bag"]}, f"moved: things.1: {NUMBER}"),
        ({**MOVED, "things": "2026-0001.1"}, "moved: things: a list is wanted here"),
        ({**MOVED, "things": []}, "moved: things: at least 1 of them"),
        ({**MOVED, "things": ["2026-0001.1"] * 201}, "moved: things: at most 200 of them"),
        ({**MOVED, "scanned": "perhaps"}, "moved: scanned: true or false"),
        ({**MOVED, "scanned": []}, "moved: scanned: true or false"),
        ({**MOVED, "personal": {"Name": "x"}}, "moved: personal.Name.[key]: small letters and hy"),
        ({**WEIGHED, "grams": "heavy"}, "weighed: grams: a whole number is wanted here"),
        ({**WEIGHED, "grams": []}, "weighed: grams: a whole number is wanted here"),
        ({**WEIGHED, "grams": -1}, "weighed: grams: at least 0"),
        ({**WEIGHED, "grams": 10**9}, "weighed: grams: at most "),
        ({**LOOKED, "seal": "torn"}, "inspected: seal: one of 'intact', 'broken', 'absent'"),
        (
            {**LOOKED, "photograph": "77"},
            "inspected: photograph: a SHA-256 in 64 hexadecimal digits",
        ),
        (
            {**RECEIVED, "items": [{"what": "hand", "description": "x"}]},
            "received: items.1.what: one of 'decedent', ",
        ),
        (
            {**RECEIVED, "items": [{"what": "part", "description": "x", "within": "bag"}]},
            f"received: items.1.within: {NUMBER}, or #2 for this act's second new thing",
        ),
        (
            {"kind": "case-opened", "number": "a b"},
            "case-opened: number: a case number is capitals, digits and hyphens, as in 2026-0001",
        ),
        (
            {"kind": "key-revoked", "key": "eve", "reason": "lost"},
            "key-revoked: key: must fit ^[^",
        ),
    ],
)
def test_what_does_not_fit_is_told_in_the_words_of_whoever_records(
    fields: dict[str, Any], sentence: str
) -> None:
    with pytest.raises(InputError) as caught:
        entries.read_act(fields)
    assert str(caught.value).startswith(sentence)
