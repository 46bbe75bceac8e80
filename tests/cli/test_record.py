"""Recording: what is answered, what stands in for what, and what is refused."""

from __future__ import annotations

import hashlib
import json
from typing import TYPE_CHECKING, Any

import pytest

from continuity.register import Register
from continuity_cli.statuses import WRONG_INPUT, YES
from continuity_labels.code import CodeBook, CodeType

if TYPE_CHECKING:
    from tests.cli.conftest import Tool

REFUSED = 4
BAG, BODY, COFFIN, OTHER = "2026-0001.2", "2026-0001.1", "2026-0001.4", "2026-0002.1"


def test_the_answer_names_case_entry_and_what_is_new(tool: Tool) -> None:
    words = ("--place", "table-1", "--giver", "coroner", "--case", "2026-0002")
    told = tool("record", "received", *words, "--item", "what=part,description=foot")
    assert told.out == "recorded in 2026-0002 as entry 2: received; new 2026-0002.5\n"
    assert told.err == ""


def test_the_same_answer_for_a_program(tool: Tool) -> None:
    told = tool("record", "moved", "--thing", "2026-0001.4", "--place", "cold-room", "--json").json
    leaf = told.pop("leaf")
    assert told == {
        "shape": "continuity-receipt/1",
        "case": "2026-0001",
        "entry": 2,
        "position": 11,
        "kind": "moved",
        "new": [],
        "despite": [],
        "also_in": [],
        "recorded_at": "2026-03-02T10:01:00.000Z",
    }
    register = Register.open(tool.path)
    with register.store as store:
        stored = store.entry_at(11)
        assert stored is not None
        assert stored.leaf.hex() == leaf


def test_one_persons_bag_into_another_is_refused_with_both_cases(tool: Tool) -> None:
    before = tool.size()
    told = tool("record", "put-in", "--thing", BAG, "--into", OTHER, status=REFUSED)
    assert told.out == ""
    assert told.error == (
        "put-in in case 2026-0001: wrong-case: 2026-0002.1 belongs to case 2026-0002, and this is"
        " case 2026-0001; take the thing of the right case; if it is found so, record it with"
        " --found"
    )
    assert tool.size() == before


def test_what_is_found_so_is_recorded_in_both_and_opens_an_irregularity(tool: Tool) -> None:
    told = tool("record", "put-in", "--thing", BAG, "--into", OTHER, "--found")
    assert told.out == (
        "recorded in 2026-0001 as entry 2: put-in; found so in spite of wrong-case: irregularity 2"
        " is open; also in 2026-0002\n"
    )
    for case in ("2026-0001", "2026-0002"):
        [matter] = tool("case", case, "--json").json["irregularities"]
        assert (matter["codes"], matter["resolved"]) == (["wrong-case"], None)


def test_a_case_without_a_number_gets_the_next_of_the_year(tool: Tool) -> None:
    told = tool("record", "case-opened", "--disposition", "cremation")
    assert told.out == "recorded in 2026-0003 as entry 0: case-opened\n"
    assert tool("record", "case-opened").out.startswith("recorded in 2026-0004 ")
    assert tool("record", "case-opened", "--number", "B-7").out.startswith("recorded in B-7 ")
    told = tool("record", "case-opened", "--number", "B-7", status=REFUSED)
    assert "already-open" in told.error


def test_an_hour_is_given_with_its_offset(tool: Tool) -> None:
    words = ("record", "sighted", "--thing", BODY, "--occurred-at", "2026-03-02T09:30:00+01:00")
    entry = tool(*words, "--json").json["entry"]
    [told] = [
        e
        for e in tool("case", "2026-0001", "--entries", "--json").json["entries"]
        if e["entry"] == entry
    ]
    assert told["occurred_at"] == "2026-03-02T08:30:00.000Z"
    assert told["recorded_at"] == "2026-03-02T10:01:00.000Z"


@pytest.fixture
def labelled(tool: Tool) -> tuple[Tool, str]:
    """The bag with a label on it, and the label's code in groups."""
    register = Register.open(tool.path)
    with register.store:
        code = CodeBook(register.id).mint(CodeType.THING)
    tool("record", "labelled", "--thing", BAG, "--code", code.text)
    return tool, code.grouped


def test_a_scanned_label_stands_for_its_thing(labelled: tuple[Tool, str]) -> None:
    tool, code = labelled
    tool("record", "taken-out", "--thing", code.lower(), "--place", "table-1")
    [bag] = [t for t in tool("case", code, "--json").json["things"] if t["thing"] == BAG]
    assert (bag["state"], bag["place"]) == ("at-place", "table-1")
    line = f'{{"kind": "put-in", "things": ["{code}"], "into": "2026-0001.1"}}'
    assert tool("record", "-", stdin=line).out.startswith("recorded in 2026-0001 as entry 4")


def test_what_is_given_by_its_label_was_scanned_and_a_typed_number_was_not(tool: Tool) -> None:
    body, bag = "2026-0001.1", tool.label(BAG)
    given = {
        ("sighted", "--thing", body): False,
        ("sighted", "--thing", body, "--scanned"): True,
        ("moved", "--thing", tool.label(body), "--place", "table-1"): True,
        ("moved", "--thing", body, "--place", "table-1"): False,
        ("taken-out", "--thing", bag, "--place", "table-1"): True,
        ("put-in", "--thing", bag, "--into", body): False,
        ("sighted", "--thing", bag, "--thing", body): False,
        ("sighted", "--thing", bag, "--no-scanned"): False,
        ("sighted", "--thing", bag): True,
    }
    before = len(tool("case", "2026-0001", "--entries", "--json").json["entries"])
    for words in given:
        tool("record", *words)
    line = '{"kind": "sighted", "things": ["%s"]}'
    tool("record", "-", stdin="\n".join([line % body, line % bag]))
    register = Register.open(tool.path)
    with register.store:
        events = register.case("2026-0001").events
    labelled = [e.act.scanned for e in events if e.number >= before and e.act.kind != "labelled"]
    assert labelled == [*given.values(), False, True]


def test_a_damaged_label_and_one_never_printed_are_told_apart(
    labelled: tuple[Tool, str],
) -> None:
    tool, code = labelled
    slip = code[:-1] + ("0" if code[-1] != "0" else "1")
    told = tool("record", "sighted", "--thing", slip, status=2)
    assert "was misread or mistyped" in told.error
    stray = CodeBook("continuity-register/" + "5" * 32).mint(CodeType.THING).text
    told = tool("record", "sighted", "--thing", stray, status=2)
    assert "this register never printed it" in told.error
    foreign = CodeBook("another register").mint(CodeType.THING).text
    told = tool("record", "sighted", "--thing", foreign, status=2)
    assert "belongs to another register" in told.error


def test_a_paper_can_be_given_as_a_file(tool: Tool) -> None:
    paper = tool.folder / "order.pdf"
    paper.write_bytes(b"an invented order")
    words = ("handed-over", "--thing", BODY, "--taker", "coroner", "--authority", "order 7")
    tool("record", *words, "--document", f"@{paper}")
    entries = tool("case", "2026-0001", "--entries", "--json").json["entries"]
    digest = hashlib.sha256(b"an invented order").hexdigest()
    assert entries[-1]["details"]["document"] == digest
    missing = tool("record", *words, "--document", "@nowhere", status=2)
    assert missing.error == "--document @nowhere: cannot be read: No such file or directory"


def test_an_entry_is_struck_by_its_number(tool: Tool) -> None:
    tool("record", "moved", "--thing", "2026-0001.4", "--place", "cold-room")
    words = ("corrected", "--reason", "it never left", "--case", "2026-0001")
    told = tool("record", *words, "--strikes", 2)
    assert told.out == "recorded in 2026-0001 as entry 3: corrected\n"
    coffin = next(
        t for t in tool("case", "2026-0001", "--json").json["things"] if t["thing"] == "2026-0001.4"
    )
    assert coffin["place"] == "table-1"
    assert "struck by 3" in tool("case", "2026-0001", "--entries").out
    told = tool("record", *words, "--strikes", 9, status=2)
    assert told.error == "--strikes 9: case 2026-0001 has entries 0 to 3"
    told = tool("record", *words, "--strikes", "zz", status=2)
    assert told.error == "--strikes 'zz': give the entry's number in its case, or its leaf"
    told = tool("record", "corrected", "--reason", "x", "--strikes", 1, status=2)
    assert told.error == "--case: needed to find an entry by its number"


def _read(tool: Tool, number: int) -> dict[str, Any]:
    """What is read under an entry's number now."""
    register = Register.open(tool.path)
    with register.store:
        [event] = [e for e in register.case("2026-0001").events if e.number == number]
    return {"by": event.by, **event.act.details()}


def test_of_what_is_read_instead_the_fields_that_differ_are_enough(tool: Tool) -> None:
    before = _read(tool, 0)
    entry = ("corrected", "--case", "2026-0001", "--strikes", 0, "--reason", "forgotten")
    tool("record", *entry, "--instead", "release_authority=release 7, of 3 March,day=2026-03-09")
    added = {"release_authority": "release 7, of 3 March", "day": "2026-03-09"}
    assert _read(tool, 0) == {**before, **added}
    tool("record", *entry, "--instead", '{"day": null, "disposition": "cremation"}')
    cremation = {"release_authority": "release 7, of 3 March", "disposition": "cremation"}
    assert _read(tool, 0) == {**before, **cremation}
    told = tool("record", *entry, "--instead", "colour=red", status=WRONG_INPUT)
    assert "colour" in told.error
    told = tool("record", *entry, "--instead", "red", status=WRONG_INPUT)
    assert told.error == "--instead 'red': write it as NAME=VALUE,NAME=VALUE, or as JSON"


def test_what_is_read_instead_is_completed_from_a_line_too(tool: Tool) -> None:
    before = _read(tool, 1)
    register = Register.open(tool.path)
    with register.store:
        leaf = register.entries("2026-0001")[1].leaf
    line = {"kind": "corrected", "case": "2026-0001", "strikes": leaf, "reason": "misheard"}
    tool("record", "-", stdin=json.dumps({**line, "instead": {"giver": "pathologist"}}))
    assert _read(tool, 1) == {**before, "giver": "pathologist"}
    told = tool("record", "-", stdin=json.dumps({**line, "strikes": "0" * 64, "instead": {}}),
                status=WRONG_INPUT)  # fmt: skip
    assert "kind" in told.error


def test_what_is_read_instead_is_given_as_json(tool: Tool) -> None:
    tool("record", "moved", "--thing", "2026-0001.4", "--place", "cold-room")
    instead = '{"kind": "moved", "things": ["2026-0001.1"], "place": "cold-room"}'
    words = ("corrected", "--reason", "the other one", "--case", "2026-0001", "--strikes", 2)
    tool("record", *words, "--instead", instead)
    places = {t["thing"]: t["place"] for t in tool("case", "2026-0001", "--json").json["things"]}
    assert (places[BODY], places["2026-0001.4"]) == ("cold-room", "table-1")


def test_a_policy_is_adopted_from_its_file(tool: Tool) -> None:
    file = tool.folder / "policy.toml"
    file.write_text(
        "[thresholds.treatment]\nvalue = 300\nunit = 'minutes'\nsource = 'common practice, no"
        " source'\n"
    )
    tool("record", "policy-adopted", "--policy", file, "--as", "d1")
    register = Register.open(tool.path)
    with register.store:
        assert register.house().policy.threshold("treatment") == 300
    file.write_text("[thresholds.treatment]\nvalue = -1\n")
    told = tool("record", "policy-adopted", "--policy", file, "--as", "d1", status=2)
    assert told.error.startswith(f"--policy {file}: thresholds.treatment.value: ")
    told = tool("record", "policy-adopted", "--policy", "nowhere", "--as", "d1", status=2)
    assert told.error == "--policy nowhere: cannot be read: No such file or directory"


def test_a_second_person_signs_too(tool: Tool) -> None:
    words = ["identified", "--thing", BODY, "--stage", "receipt", "--identifier", "what=name"]
    told = tool("record", *words, status=REFUSED)
    assert "second-person: identified needs 2 persons, and 1 signed" in told.error
    tool("record", *words, "--with", "m2")
    [entry] = tool("case", "2026-0001", "--entries", "--json").json["entries"][2:]
    assert (entry["by"], entry["persons"]) == ("m1", ["m1", "m2"])


def test_nobody_records_namelessly(tool: Tool) -> None:
    tool.patch.delenv("CONTINUITY_PERSON")
    told = tool("record", "sighted", "--thing", BODY, "--with", "m2", status=2)
    assert told.error == "--as: nobody is named who records this; or set CONTINUITY_PERSON"


LINES = (
    '{"kind": "sighted", "things": ["2026-0001.1"]}\n'
    "\n"
    '{"kind": "put-in", "things": ["2026-0001.2"], "into": "2026-0002.1"}\n'
    '{"kind": "sighted", "things": ["2026-0002.1"]}\n'
)


def test_lines_stop_at_the_first_that_is_refused(tool: Tool) -> None:
    file = tool.folder / "day.jsonl"
    file.write_text(LINES)
    before = tool.size()
    told = tool("record", file, status=REFUSED)
    assert told.out == "recorded in 2026-0001 as entry 2: sighted\n"
    assert told.error.startswith(f"{file} line 3: put-in in case 2026-0001: wrong-case: ")
    assert told.error.endswith("; 1 recorded before it, none after")
    assert tool.size() == before + 1


def test_lines_go_on_when_told_to(tool: Tool) -> None:
    before = tool.size()
    told = tool("record", "-", "--keep-going", stdin=LINES, status=REFUSED)
    assert told.out.count("\n") == 2
    first, last = told.err.splitlines()
    assert first.startswith("continuity: standard input line 3: put-in in case 2026-0001: ")
    assert last == "2 recorded, 1 not"
    assert tool.size() == before + 2


def test_the_first_failure_gives_the_status(tool: Tool) -> None:
    lines = "{}\n" + LINES
    assert tool("record", "-", "--keep-going", stdin=lines, status=None).status == WRONG_INPUT


def test_lines_that_are_all_recorded_are_counted_on_stderr(tool: Tool) -> None:
    told = tool("record", "-", "--json", stdin=LINES.splitlines()[0] + "\r\n", status=YES)
    assert told.err == "1 recorded, 0 not\n"
    assert told.json["kind"] == "sighted"
    assert tool("record", "-", stdin="").err == "0 recorded, 0 not\n"


def test_a_line_without_an_end_is_not_read_into_memory_whole(tool: Tool) -> None:
    endless = b'{"remark": "' + b"x" * 300_000 + b'"}\n' + LINES.splitlines()[0].encode()
    told = tool("record", "-", "--keep-going", stdin=endless, status=WRONG_INPUT)
    first, last = told.err.splitlines()
    assert first == "continuity: standard input line 1: the line is longer than 65535 bytes"
    assert last == "1 recorded, 1 not"


def test_a_file_that_cannot_be_read_is_named(tool: Tool) -> None:
    told = tool("record", "nowhere.jsonl", status=WRONG_INPUT)
    assert told.error == "nowhere.jsonl: cannot be read: No such file or directory"


def test_what_is_neither_kind_nor_file_is_told_with_what_it_may_have_been(tool: Tool) -> None:
    told = tool("record", "moevd", status=WRONG_INPUT)
    assert told.error == (
        "record: moevd: there is no such kind of entry, and a file's name ends in .jsonl; did you"
        " mean moved?"
    )
    assert tool("record", "zzz", status=2).error.endswith("`continuity record --help` lists them")


def test_what_was_moved_after_somebody_looked_is_refused_and_what_was_not_is_recorded(
    tool: Tool,
) -> None:
    looked = tool("case", "2026-0001", "--json").json["as_of"]
    assert looked == tool.size()
    line = {"kind": "put-in", "things": [BAG], "into": COFFIN, "as_of": looked}
    tool("record", "sighted", "--thing", BAG)
    assert tool("record", "-", stdin=json.dumps(line)).out.startswith("recorded in 2026-0001")
    back = {**line, "into": BODY}
    told = tool("record", "-", stdin=json.dumps(back), status=REFUSED)
    assert "moved-meanwhile" in told.error
    assert "m1 recorded put-in, and it is inside 2026-0001.4" in told.error
    found = tool("record", "-", stdin=json.dumps({**back, "found": True}))
    assert "moved-meanwhile: irregularity" in found.out
    told = tool("record", "-", stdin=json.dumps({**line, "as_of": 999}), status=2)
    assert "as_of 999: the register has" in told.error
