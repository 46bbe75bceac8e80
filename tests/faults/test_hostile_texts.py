"""Hostile words in every field that takes words: kept as they were given, and shown harmlessly."""

from __future__ import annotations

import json
import unicodedata
from typing import TYPE_CHECKING, Any

import pytest

from continuity.care.entries import KINDS
from continuity.store.sqlite import SqliteStore
from tests.faults.firm import CASES

if TYPE_CHECKING:
    from pathlib import Path

    from tests.faults.firm import Firm
    from tests.faults.nursery import Nursery

HOSTILE = {
    "SQL": "x'); DROP TABLE entry; -- \" OR 1=1",
    "path": "../../../../tmp/invented/$(touch x)`touch y`|touch z;%00",
    "terminal": "\x1b]0;title\x07\x1b[2J\x1b[31m\x9b31m\x08\x08\x7f\x00",
    "lines": "one\r\ncontinuity: recorded in 2026-0001 as entry 99\n=== SOUND ===\u2028\u2029\x85",
    "direction": "\u202edetrever\u202c\u2066\u2067\u2068\u2069\u200e\u200f\u061c",
    "look-alikes": "\u0430dult \u0455\u0435al \uff11\uff12 \u0661 \u200b\u2060\ufeff\u00ad",
    "marks": "Z\u0351\u036b\u0343\u036a\u0302\u036b\u033d\u034f\u0334\u0319" * 20,
    "formula": '=HYPERLINK("http://example.invalid"),"<script>alert(1)</script>&amp;',
    "pictures": "\U0001f9d1\u200d\U0001f4bb\U000e0041\U000e007f\U0001f1e6",
    "long": "w" * 2000,
}
CASE = CASES[0]
COMMANDS = (
    ["case", CASE, "--entries", "--personal"],
    ["case", CASE],
    ["closing-check", CASE],
    ["custody", CASE],
    ["plan", CASE],
    ["verify"],
    ["count", "table-1", "--as", "m1", f"{CASE}.1"],
    ["label", f"{CASE}.3", "--as", "m1", "-o", "label.pdf"],
    ["record", "sighted", "--thing", f"{CASE}.1", "--as", "m1"],
)


def day(words: str) -> list[dict[str, Any]]:
    """Acts with these words wherever words may stand."""
    ring = {"what": "effect", "description": words, "intention": "release"}
    heart = {"what": "specimen", "description": words, "organ": words}
    return [
        {"kind": "place-named", "place": "odd", "what": "other", "description": words},
        {"kind": "holder-named", "holder": "odd", "what": "other", "description": words},
        {
            "kind": "received",
            "case": CASE,
            "giver": "odd",
            "place": "odd",
            "items": [ring, heart],
            "remark": words,
        },
        {"kind": "sealed", "thing": f"{CASE}.2", "seal": words, "remark": words},
        {"kind": "irregularity-raised", "what": words, "things": [f"{CASE}.6"]},
        {
            "kind": "handed-over",
            "things": [f"{CASE}.6"],
            "taker": "odd",
            "authority": words,
            "personal": {"recipient": words},
        },
        {"kind": "sighted", "things": [f"{CASE}.1"], "personal": {"name": words}, "remark": words},
        {
            "kind": "disposition-changed",
            "case": CASE,
            "disposition": "cremation",
            "authority": words,
        },
    ]


def lines_of(acts: list[dict[str, Any]]) -> str:
    return "".join(json.dumps(act) + "\n" for act in acts)


def harmful(text: str) -> set[str]:
    """The characters that drive a terminal, break a line or turn it around; a joiner may stay."""
    kinds = {"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"}
    spared = "\n\u200c\u200d"
    return {c for c in text if c not in spared and unicodedata.category(c) in kinds}


def words_of(value: Any) -> list[str]:
    """Every text within a value of JSON."""
    if isinstance(value, dict):
        return [text for inner in value.values() for text in words_of(inner)]
    if isinstance(value, list):
        return [text for inner in value for text in words_of(inner)]
    return [value] if isinstance(value, str) else []


@pytest.mark.parametrize("what", HOSTILE)
def test_hostile_words_are_kept_as_they_are_and_shown_harmlessly(
    what: str, nursery: Nursery, firm: Firm, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    words = HOSTILE[what]
    acts = day(words)
    file = tmp_path / "day.jsonl"
    file.write_text(lines_of(acts), encoding="utf-8")
    words_given = ["record", str(file), "--as", "m1", "--json"]
    ((status, out, err, _),) = nursery.run("command", firm.folder, words_given)
    assert status == 0, err
    assert err.endswith(f"{len(acts)} recorded, 0 not\n")
    assert not harmful(err)
    assert not harmful(out)

    ((_, out, _, _),) = nursery.run(
        "command", firm.folder, ["case", CASE, "--entries", "--personal", "--json"]
    )
    assert out.isascii()
    kept = words_of(json.loads(out))
    given = [text for act in acts if not KINDS[act["kind"]].for_house for text in words_of(act)]
    assert kept.count(words) >= given.count(words)
    register = firm.open()
    with register.store:
        house = register.house()
        assert house.places["odd"].description == words
        assert house.holders["odd"].description == words

    for command in COMMANDS:
        status, out, err = told(nursery, firm, command)
        assert status in (0, 1), (command, err)
        assert not harmful(out + err), (command, harmful(out + err))
        feigned = ("continuity: recorded", "=== SOUND")
        assert not any(line.startswith(feigned) for line in out.splitlines()), command
    with SqliteStore.open(firm.path) as store:
        assert store.integrity() == []
    assert {path.name for path in firm.folder.iterdir()} <= {
        "guard",
        "guard.lock",
        "keys",
        "label.pdf",
        *(f"register.db{end}" for end in ("", "-wal", "-shm", ".personal")),
        *(f"register.db.personal{end}" for end in ("-wal", "-shm")),
    }


def told(nursery: Nursery, firm: Firm, words: list[str]) -> tuple[int, str, str]:
    words = [str(firm.folder / word) if word.endswith(".pdf") else word for word in words]
    ((status, out, err, _),) = nursery.run("command", firm.folder, words)
    return status, out, err


@pytest.mark.parametrize("what", ["SQL", "path", "terminal", "lines", "direction"])
def test_hostile_words_where_a_name_belongs_are_refused_harmlessly(
    what: str, nursery: Nursery, firm: Firm
) -> None:
    words = HOSTILE[what]
    before = firm.size()
    for command in (
        ["case", words],
        ["closing-check", words],
        ["custody", words],
        ["verify", "--key", words],
        ["count", words, f"{CASE}.1", "--as", "m1"],
        ["count", "table-1", words, "--as", "m1"],
        ["record", words, "--as", "m1"],
        ["record", "moved", "--thing", words, "--place", words, "--as", "m1"],
        ["record", "moved", "--thing", f"{CASE}.1", "--place", words, "--as", "m1"],
        ["record", "sighted", "--thing", f"{CASE}.1", "--as", words],
        ["record", "sighted", "--thing", f"{CASE}.1", "--occurred-at", words, "--as", "m1"],
        ["label", words, "--as", "m1"],
        ["case", CASE, "--at", words],
        [words],
        [f"--{words}"],
    ):
        status, out, err = told(nursery, firm, command)
        assert status in (2, 3, 4), (command, out, err)
        assert out == ""
        assert not harmful(err), (command, harmful(err))
        assert err.count("\n") == 1, (command, err)
    assert firm.size() == before
