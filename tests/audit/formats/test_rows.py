"""CSV as RFC 4180 has it, with nothing that computes; JSON Lines that keep each entry's bytes."""

from __future__ import annotations

import csv
import json
from dataclasses import replace

import pytest

from continuity.audit.formats.casefile import read_case
from continuity.audit.formats.rows import COLUMNS, _cell, csv_text, jsonl_text, local_time
from continuity.care.entries import KINDS
from continuity.errors import DamagedRegisterError, InputError
from continuity.ledger.chain import read_entry
from continuity.ledger.merkle import leaf_hash
from tests.audit.dossier.scenario import CASE, start
from tests.audit.formats.history import FORMULAS, SECRETS, told


def rows() -> list[dict[str, str]]:
    text = "".join(csv_text(told()[0]))
    parsed = list(csv.reader(text.splitlines(keepends=True), strict=True))
    assert tuple(parsed[0]) == COLUMNS
    assert {len(row) for row in parsed} == {len(COLUMNS)}
    return [dict(zip(COLUMNS, row, strict=True)) for row in parsed[1:]]


def objects() -> list[dict]:
    return [json.loads(line) for line in jsonl_text(told()[0])]


def test_the_story_has_every_kind_of_a_case():
    kinds = {line.event.act.kind for line in told()[0].lines}
    assert kinds == {kind for kind in KINDS if not KINDS[kind].for_house}, (
        "let the new kind happen in the story that tests/audit/formats/history.py tells"
    )


def test_each_entry_is_one_row_of_each():
    numbers = [line.number for line in told()[0].lines]
    assert [int(row["number"]) for row in rows()] == numbers == list(range(len(numbers)))
    assert [one["number"] for one in objects()] == numbers


def test_lines_end_as_rfc_4180_wants_them():
    for row in csv_text(told()[0]):
        assert row.endswith("\r\n")
        assert "\r" not in row[:-2]


def test_struck_entries_say_so():
    _, named = told()
    by_number = {int(row["number"]): row for row in rows()}
    struck, correction = named["moved wrongly"].number, named["read instead"].number
    assert by_number[struck]["status"] == "struck"
    assert by_number[struck]["struck_by"] == str(correction)
    assert by_number[correction]["strikes"] == str(struck)
    assert {int(n) for n, row in by_number.items() if row["status"] == "struck"} == {
        named[name].number for name in ("moved wrongly", "weighed wrongly", "hasty")
    }
    assert by_number[named["weighed rightly"].number]["status"] == "standing"
    assert by_number[named["hasty"].number]["strikes"] == ""
    assert [(o["status"], o["struck_by"], o["strikes"]) for o in objects()] == [
        (r["status"], *(int(r[c]) if r[c] else None for c in ("struck_by", "strikes")))
        for r in rows()
    ]


def test_nothing_computes():
    """Neither at the start of a cell, nor of a line in it, nor after a semicolon taken for a comma."""
    for row in rows():
        for cell in row.values():
            for piece in cell.replace(";", "\n").split("\n"):
                assert not piece.lstrip().startswith(tuple("=+-@\uff1d\uff0b\uff0d\uff20")), cell


def test_what_would_compute_is_kept_behind_an_apostrophe():
    assert [_cell(f) for f in FORMULAS[:5]] == [f"'{f}" for f in FORMULAS[:5]]
    assert _cell("\t=1") == "\\u0009=1"
    assert _cell(" =1") == "' =1"
    assert _cell("a; =1\n-b") == "a;' =1\n'-b"
    assert _cell("a = b - c") == "a = b - c"
    assert _cell("naïve\u00a0\u5c71\u200d") == "naïve\u00a0\u5c71\u200d"
    assert _cell("\u202e\x1b\u2028\U000e0001") == "\\u202e\\u001b\\u2028\\U000e0001"
    assert _cell(None) == ""


def test_json_lines_keep_the_entry_to_the_byte():
    lines = told()[0].lines
    for one, line in zip(objects(), lines, strict=True):
        note = one["note"].encode()
        assert note == line.note
        assert leaf_hash(note).hex() == one["leaf"]
        entry, _ = read_entry(note)
        assert one["entry"]["details"] == entry.details
        assert one["entry"]["number"] == one["number"]
        assert one["position"] == line.position


def test_json_lines_are_ascii_and_one_line_each():
    for line in jsonl_text(told()[0]):
        assert line.isascii()
        assert line.index("\n") == len(line) - 1


def test_human_fields():
    one = objects()[1]
    assert one["kind"] == "received"
    assert one["words"].startswith("Received from coroner")
    assert one["things"]["2026-0001.2"] == "viscera bag"
    assert one["places"] == ["cold-room"]
    assert one["holders"] == ["coroner"]
    assert one["signed_by"] == ["m1"]
    assert objects()[3]["signed_by"] == ["m1", "m2"]


def test_the_hour_by_the_local_clock():
    event = told()[0].lines[0].event
    assert local_time(event) == "2026-03-02T08:00:00.000+00:00"
    assert local_time(replace(event, utc_offset="-03:30")) == "2026-03-02T04:30:00.000-03:30"
    assert local_time(replace(event, utc_offset="+05:45")) == "2026-03-02T13:45:00.000+05:45"


def test_no_personal_detail_stands_in_either():
    for text in ("".join(csv_text(told()[0])), "".join(jsonl_text(told()[0]))):
        assert [secret for secret in SECRETS if secret in text] == []


def test_no_such_case():
    with pytest.raises(InputError, match="case 2026-0009: no such case"):
        read_case(start().register.store, "2026-0009")


def test_an_entry_that_cannot_be_read_is_told_in_a_sentence(monkeypatch):
    firm = start()
    firm.record("case-opened", case=CASE, number=CASE, disposition="burial")
    store = firm.register.store
    true = store.entries

    def false(case_id, start=0):
        return [replace(s, note=s.note[:-5]) for s in true(case_id, start)]

    monkeypatch.setattr(
        store, "entries", lambda c, s=0: true(c, s) if c == "register" else false(c, s)
    )
    with pytest.raises(DamagedRegisterError, match=f"entry 0 of case {CASE} cannot be read"):
        read_case(store, CASE)
