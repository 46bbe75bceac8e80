"""What the register answers: cases, plans, custody, closing checks, counts; now and then."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest

from continuity.store.sqlite import SqliteStore
from continuity_cli.asked import Asked
from continuity_cli.statuses import WANTING, WRONG_INPUT
from continuity_cli.words import local, table

if TYPE_CHECKING:
    from tests.cli.conftest import Tool

BODY, BAG, VISCERA, COFFIN = (f"2026-0001.{n}" for n in (1, 2, 3, 4))


def things(told: Any) -> dict[str, Any]:
    return {thing["thing"]: thing for thing in told["things"]}


def test_a_case_shows_what_is_in_what_where_and_who_holds_it(tool: Tool) -> None:
    tool("record", "sighted", "--thing", tool.label(BODY))
    lines = tool("case", "2026-0001").out.splitlines()
    assert lines[0] == "case 2026-0001, as known now"
    tree = lines[lines.index("things") + 1 : lines.index("things") + 6]
    assert [" ".join(line.split()) for line in tree] == [
        "thing where held by last sighted closed",
        f"{BODY} decedent, adult at table-1 here scanned 2026-03-02 11:02 +01:00",
        f"{BAG} bag, viscera bag in {BODY}, at table-1 here never sighted seal 88",
        f"{VISCERA} viscera, viscera in {BAG}, at table-1 here never sighted",
        f"{COFFIN} coffin, oak coffin at table-1 here never sighted",
    ]
    assert [len(line) - len(line.lstrip()) for line in tree] == [2, 2, 4, 6, 2]


def test_a_case_is_found_by_one_of_its_things(tool: Tool) -> None:
    assert tool("case", BAG).out == tool("case", "2026-0001").out


def test_how_a_thing_left_is_told(tool: Tool) -> None:
    tool("record", "opened", "--thing", BODY, "--reason", "to treat")
    tool("record", "taken-out", "--thing", BAG, "--place", "table-1")
    tool("record", "opened", "--thing", BAG, "--reason", "to treat")
    tool("record", "taken-out", "--thing", VISCERA, "--place", "table-1")
    tool("record", "packaging-discarded", "--thing", BAG, "--empty")
    words = ("--thing", VISCERA, "--entirely", "--into", "what=part,description=a,place=table-1")
    tool("record", "separated", *words)
    words = ("--taker", "pathologist", "--authority", "letter of 2 March")
    tool("record", "handed-over", "--thing", "2026-0001.5", *words)
    told = things(tool("case", "2026-0001", "--json").json)
    states = {
        number: (t["state"], t["holder"], t["signed_for"], t["became"])
        for number, t in told.items()
    }
    assert states[BAG] == ("discarded", None, None, [])
    assert states[VISCERA] == ("divided", None, None, ["2026-0001.5"])
    assert states["2026-0001.5"] == ("with-holder", "pathologist", False, [])
    screen = tool("case", "2026-0001").out
    assert "discarded, empty" in screen
    assert "divided into 2026-0001.5" in screen
    assert "pathologist, not signed for" in screen


def test_what_an_entry_says_cannot_drive_the_terminal(tool: Tool) -> None:
    words = ("--case", "2026-0001", "--giver", "coroner", "--place", "table-1")
    hostile = "what=effect,description=ring\x1b]0;x\x07\u202e\nentry 99"
    tool("record", "received", *words, "--item", hostile, "--remark", "\x1b[2J")
    tool("record", "irregularity-raised", "--thing", BODY, "--what", "\u2066a\nb")
    for command in (("case", "--entries"), ("closing-check",), ("plan",), ("custody",)):
        out = tool(command[0], "2026-0001", *command[1:], status=None).out
        assert not {"\x1b", "\x07", "\u202e", "\u2066"} & set(out), command
    assert "ring\\x1b]0;x\\x07\\u202e\\nentry 99" in tool("case", "2026-0001").out


def test_a_case_as_the_register_knew_it_and_as_is_known_now(tool: Tool) -> None:
    words = ("record", "moved", "--thing", COFFIN, "--place", "cold-room")
    tool(*words, "--occurred-at", "2026-03-02T09:00:00Z")
    at = ("--at", "2026-03-02T09:30:00Z")
    then = tool("case", "2026-0001", *at, "--json").json
    assert things(then)[COFFIN]["place"] == "table-1"
    assert (then["known_until"], then["happened_until"]) == ("2026-03-02T09:30:00.000Z", None)
    now = tool("case", "2026-0001", *at, "--as-of-now", "--json").json
    assert things(now)[COFFIN]["place"] == "cold-room"
    assert (now["known_until"], now["happened_until"]) == (None, "2026-03-02T09:30:00.000Z")
    first = tool("case", "2026-0001", *at).out.splitlines()[0]
    assert first == "case 2026-0001, as the register knew it at 2026-03-02 10:30 +01:00"
    first = tool("case", "2026-0001", *at, "--as-of-now").out.splitlines()[0]
    assert first == "case 2026-0001, at 2026-03-02 10:30 +01:00, as known now"


def test_entries_are_those_of_that_moment(tool: Tool) -> None:
    tool("record", "sighted", "--thing", BODY, "--occurred-at", "2026-03-02T09:00:00Z")
    at = ("--at", "2026-03-02T09:30:00Z", "--entries", "--json")
    kinds = [e["kind"] for e in tool("case", "2026-0001", *at).json["entries"]]
    assert kinds == ["case-opened", "received"]
    kinds = [e["kind"] for e in tool("case", "2026-0001", *at, "--as-of-now").json["entries"]]
    assert kinds == ["case-opened", "received", "sighted"]


@pytest.mark.parametrize("command", ["case", "plan", "custody", "closing-check"])
@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (("2026-0099",), "case 2026-0099: no such case in this register; check the number"),
        (("2026-0099.1",), "case 2026-0099: no such case in this register; check the number"),
        (
            ("2026-0001", "--at", "2026-03-02T07:00:00Z"),
            "--at 2026-03-02 08:00 +01:00: case 2026-0001 was not open then; give a later time",
        ),
        (
            ("2026-0001", "--at", "2026-03-02T10:00:00"),
            (
                "COMMAND: Invalid value for '--at': '2026-03-02T10:00:00': a time is written with its"
                " offset, as in 2026-03-01T14:05:00+01:00 or ...13:05:00Z"
            ),
        ),
        (("2026-0001", "--as-of-now"), "COMMAND: --as-of-now: say with --at about which time"),
        ((), "COMMAND: Missing argument 'CASE'."),
    ],
)
def test_what_cannot_be_answered_is_said(
    tool: Tool, command: str, words: tuple[str, ...], sentence: str
) -> None:
    told = tool(command, *words, status=WRONG_INPUT)
    assert told.error == sentence.replace("COMMAND", command)
    assert told.out == ""


def test_a_closing_check_that_is_not_clear_says_so_by_word_shape_and_status(tool: Tool) -> None:
    told = tool("closing-check", "2026-0001", status=WANTING)
    lines = told.out.splitlines()
    assert lines[:3] == ["X" * 21, "XXX   NOT CLEAR   XXX", "X" * 21]
    assert lines[3].startswith("case 2026-0001, as known now; checked for 2026-03-02 11:01 +01:00")
    at = lines.index(f"  not-in-a-coffin: {BODY} (adult) lies in no coffin, and is at table-1")
    assert lines[at + 1] == (
        "      at table-1; held by this house; never sighted; see entry 1 of the case"
    )
    assert lines[at + 2].startswith("      mend: ")


def test_a_closing_check_for_a_program(tool: Tool) -> None:
    told = tool("closing-check", "2026-0001", "--json", status=WANTING).json
    assert (told["clear"], told["verdict"], told["closed_over"]) == (False, "not clear", [])
    [found] = [f for f in told["findings"] if f["code"] == "not-in-a-coffin"]
    mend = found.pop("mend")
    assert "put-in" in mend
    assert found == {
        "code": "not-in-a-coffin",
        "stops": True,
        "what": f"{BODY} (adult) lies in no coffin, and is at table-1",
        "things": [BODY],
        "cases": [],
        "entries": [1],
        "place": "table-1",
        "holder": "here",
        "last_sighted": None,
    }


def settle(tool: Tool) -> None:
    """Do all that the closing check of the first case asks for."""
    names = ("name", "date-of-birth", "coroner-reference")
    identifiers = [w for n in names for w in ("--identifier", f"what={n},read_from=body-tag")]
    identified = ("record", "identified", "--thing", BODY, *identifiers, "--agree", "--with", "m2")
    tool("record", "corrected", "--case", "2026-0001", "--strikes", 0, "--reason", "incomplete",
         "--instead", '{"kind": "case-opened", "number": "2026-0001", "disposition": "burial",'
         ' "release_authority": "release 7"}')  # fmt: skip
    tool(*identified, "--stage", "receipt")
    for thing in (BODY, BAG):
        dry = ("--no-leak", "--no-odour", "--dry", "--seal", "intact")
        implants = ("--implants", "none", "--suture", "sound") if thing == BODY else ()
        tool("record", "inspected", "--thing", thing, *dry, *implants)
    tool("record", "retention-stated", "--case", "2026-0001", "--kept", "none",
         "--according-to", "report 7")  # fmt: skip
    bag, coffin = tool.label(BAG), tool.label(COFFIN)
    tool("record", "sighted", "--thing", bag)
    tool("record", "cared-for", "--thing", BODY, "--step", "sutured")
    tool("record", "put-in", "--thing", BODY, "--into", COFFIN, "--scanned")
    tool(*identified, "--stage", "closing")
    tool("record", "sighted", "--thing", coffin, "--for-closing")


def test_a_case_that_is_settled_is_clear(tool: Tool) -> None:
    settle(tool)
    told = tool("closing-check", "2026-0001", status=None)
    stopping = [
        f
        for f in tool("closing-check", "2026-0001", "--json", status=None).json["findings"]
        if f["stops"]
    ]
    assert stopping == []
    assert told.status == 0
    assert told.out.splitlines()[:3] == ["=" * 17, "===   CLEAR   ===", "=" * 17]


def test_closed_over_findings_is_never_called_clear(tool: Tool) -> None:
    codes = {
        f["code"]
        for f in tool("closing-check", "2026-0001", "--json", status=WANTING).json["findings"]
        if f["stops"]
    }
    over = [word for code in sorted(codes) for word in ("--over", code)]
    signed = ("record", "closing-check-signed", "--case", "2026-0001", "--as", "d1")
    tool(*signed, "--with", "m1", *over, "--reason", "an invented flood")
    told = tool("closing-check", "2026-0001", status=WANTING)
    lines = told.out.splitlines()
    assert lines[1] == f"!!!   CLOSED OVER {len(codes)} FINDINGS   !!!"
    assert "closed over, on the word of two" in lines


def test_the_plan_follows_the_condition(tool: Tool) -> None:
    tool("record", "inspected", "--thing", BAG, "--leak", "--odour")
    told = tool("plan", "2026-0001", "--json").json
    assert told["shape"] == "continuity-plan/1"
    due = [t["task"] for t in told["tasks"] if t["state"] == "due"]
    assert due.index("open-body") < due.index("rinse") < due.index("repack")
    screen = tool("plan", "2026-0001").out
    assert "open the body" in screen
    assert "record opened" in screen
    assert "2026-0001.2 leaked" in screen


def test_custody_is_a_table_of_intervals(tool: Tool) -> None:
    words = ("--taker", "pathologist", "--authority", "letter of 2 March")
    tool("record", "handed-over", "--thing", COFFIN, *words)
    told = tool("custody", "2026-0001", "--json").json
    held = [h for h in told["holdings"] if h["thing"] == COFFIN]
    assert [(h["holder"], h["entry"]) for h in held] == [("here", 1), ("pathologist", 2)]
    assert held[0]["until"] == held[1]["since"] == "2026-03-02T10:01:00.000Z"
    assert held[1]["until"] is None
    assert told["transfers"][-1]["accepted"] is None
    lines = [" ".join(line.split()) for line in tool("custody", "2026-0001").out.splitlines()]
    assert f"{COFFIN} pathologist 2026-03-02 11:01 +01:00 still 2" in lines
    assert f"2 2026-03-02 11:01 +01:00 here pathologist {COFFIN} by one side only" in lines


def test_a_place_is_counted_and_the_count_is_an_entry(tool: Tool) -> None:
    tool("record", "sealed", "--thing", COFFIN)
    scans = f"{BODY}\n{COFFIN}\n\n{COFFIN}\n{BAG}\n2026-0002.1\n"
    told = tool("count", "table-1", "--json", stdin=scans, status=WANTING).json
    assert told["missing"] == ["2026-0002.2", "2026-0002.3", "2026-0002.4"]
    assert told["uncounted"] == [VISCERA]
    assert (told["agrees"], told["unexpected"]) == (False, [])
    assert [one["case"] for one in told["entries"]] == ["2026-0001", "2026-0002"]
    with SqliteStore.open(tool.path) as store:
        for case, other in (("2026-0001", b"2026-0002"), ("2026-0002", b"2026-0001")):
            last = store.entries(store.case_called(case).case_id)[-1]
            assert (last.kind, other in last.note) == ("place-counted", False)
    screen = tool("count", "cold-room", BODY, status=WANTING).out
    assert screen.splitlines()[0] == "cold-room does not agree with the record: 1 seen"
    assert "unexpected: found there, recorded elsewhere" in screen
    assert tool("count", "cold-room").out.splitlines() == [
        "cold-room agrees with the record: 0 seen",
        "",
        "recorded in",
        "  no case: none has anything there",
    ]


def test_a_count_that_cannot_be_made_records_nothing(tool: Tool) -> None:
    before = tool.size()
    told = tool("count", "attic", BODY, status=WRONG_INPUT)
    assert told.error == "place 'attic': none is named so in this register"
    told = tool("count", "table-1", BODY, "2026-0001.9", status=WRONG_INPUT)
    assert (
        told.error == "scan 2: thing 2026-0001.9: no such thing in this register; check the label"
    )
    told = tool("count", "table-1", BODY, "zz", status=WRONG_INPUT)
    assert told.error.startswith("scan 2: thing 'zz': not a thing's number")
    assert tool.size() == before


def test_times_are_local_with_their_offset(tool: Tool) -> None:
    del tool
    assert local("2026-03-02T23:30:00.000Z") == "2026-03-03 00:30 +01:00"
    assert local(None) == ""


def test_a_table_leaves_out_columns_with_nothing_in_them() -> None:
    rows = [("a", "", "c\n"), ("aa", "", "")]
    assert list(table(rows, ("one", "two", "three"))) == [
        "\x1b[1mone  three\x1b[0m",
        "a    c\\n",
        "aa",
    ]
    assert list(table([], ("one",))) == []


def test_what_was_asked_says_which_moment_was_meant() -> None:
    assert Asked("2026-0001").words == "as known now"
