"""Whatever is wrong with what is given: one line, the right status, and nothing recorded."""

from __future__ import annotations

import hashlib
import sqlite3
from contextlib import closing
from typing import TYPE_CHECKING, NamedTuple

import pytest

if TYPE_CHECKING:
    from tests.e2e.conftest import Installed

INPUT, REFUSED = 2, 4


class Wrong(NamedTuple):
    """A line of JSON or words of a command, and how it ends."""

    what: str
    given: bytes | tuple[str, ...]
    error: str
    status: int = INPUT


LINES = (
    Wrong("broken JSON", b'{"kind": "sighted", "things": [', "the line is not JSON: "),
    Wrong("no object", b'["sighted"]', "the line is not a JSON object"),
    Wrong("not text", b'{"kind": "sighted\xff"}', "the line is not UTF-8 text"),
    Wrong("a byte order mark", b'\xef\xbb\xbf{"kind": "sighted"}', "the line is not JSON: "),
    Wrong("a name twice", b'{"kind": "sighted", "kind": "moved"}', "kind: given twice"),
    Wrong(
        "a name twice, deep down",
        b'{"kind": "received", "items": [{"what": "part", "what": "ashes"}]}',
        "what: given twice",
    ),
    Wrong(
        "a float",
        b'{"kind": "weighed", "thing": "2026-0001.1", "grams": 12.0}',
        "12.0: not a whole number; weights are grams, volumes millilitres",
    ),
    Wrong("not a number", b'{"kind": "weighed", "grams": NaN}', "NaN: not a whole number"),
    Wrong(
        "half a character",
        b'{"kind": "sighted", "things": ["2026-0001.1"], "remark": "\\ud83d"}',
        "the line escapes half a character (a lone surrogate)",
    ),
    Wrong(
        "half a character in a name",
        b'{"kind": "sighted", "\\ud83d": 1}',
        "the line escapes half a character (a lone surrogate)",
    ),
    Wrong("nested too deeply", b"[" * 40_000, "the line is nested too deeply"),
    Wrong(
        "an over-long line",
        b'{"remark": "' + b"x" * 70_000 + b'"}',
        "the line is longer than 65535 bytes",
    ),
    Wrong(
        "an over-long text",
        b'{"kind": "sighted", "things": ["2026-0001.1"], "remark": "' + b"x" * 2001 + b'"}',
        "sighted: remark: at most 2000 characters",
    ),
    Wrong("no kind", b'{"things": ["2026-0001.1"]}', "kind None: no such kind of entry"),
    Wrong("an unknown kind", b'{"kind": "vanished"}', "kind 'vanished': no such kind of entry"),
    Wrong("a kind that is a list", b'{"kind": ["moved"]}', "kind ['moved']: no such kind of"),
    Wrong(
        "an unknown field",
        b'{"kind": "sighted", "things": ["2026-0001.1"], "colour": "red"}',
        "sighted: colour: no such field",
    ),
    Wrong(
        "a field left out",
        b'{"kind": "moved", "things": ["2026-0001.1"]}',
        "moved: place: is needed",
    ),
    Wrong(
        "a field of the register's own",
        b'{"kind": "sighted", "things": ["2026-0001.1"], "despite": ["wrong-case"]}',
        "despite: only the register fills this in",
    ),
    Wrong(
        "an unknown case",
        b'{"kind": "retention-stated", "case": "2026-0099", "kept": "none", "according_to": "x"}',
        "case 2026-0099: no such case in this register; check the number",
    ),
    Wrong(
        "a case that is none",
        b'{"kind": "retention-stated", "case": "../x", "kept": "none", "according_to": "x"}',
        "case '../x': a case number is capitals, digits and hyphens",
    ),
    Wrong(
        "no case",
        b'{"kind": "retention-stated", "kept": "none", "according_to": "x"}',
        "case: retention-stated needs the case it belongs to",
    ),
    Wrong(
        "an unknown thing",
        b'{"kind": "sighted", "things": ["2026-0001.99"]}',
        "thing 2026-0001.99: no such thing in this register; check the label",
    ),
    Wrong(
        "what is no thing",
        b'{"kind": "sighted", "things": ["the bag"]}',
        "thing 'the bag': not a thing's number, as in 2026-0001.2, and 'the bag' is not",
    ),
    Wrong(
        "an unknown place",
        b'{"kind": "moved", "things": ["2026-0001.1"], "place": "attic"}',
        "moved in case 2026-0001: no-such-place: no place called attic is named",
        REFUSED,
    ),
    Wrong(
        "an unknown holder",
        b'{"kind": "handed-over", "things": ["2026-0001.1"], "taker": "nobody", "authority": "x"}',
        "handed-over in case 2026-0001: no-such-holder: no holder called nobody is named",
        REFUSED,
    ),
    Wrong(
        "an unknown key",
        b'{"kind": "key-revoked", "key": "m9+00000000", "reason": "x"}',
        "key-revoked: ",
        REFUSED,
    ),
    Wrong(
        "an entry that is not there",
        b'{"kind": "corrected", "case": "2026-0001", "reason": "x", "strikes": "'
        + hashlib.sha256(b"nothing").hexdigest().encode()
        + b'"}',
        "corrected in case 2026-0001: no-such-entry: ",
        REFUSED,
    ),
    Wrong(
        "a time without offset",
        b'{"kind": "sighted", "things": ["2026-0001.1"], "occurred_at": "2026-03-02T10:00:00"}',
        "occurred_at: a time is written with its offset",
    ),
    Wrong(
        "a day that does not exist",
        b'{"kind": "sighted", "things": ["2026-0001.1"], "occurred_at": "2026-02-30T10:00:00Z"}',
        "occurred_at: ",
    ),
    Wrong(
        "a time to come",
        b'{"kind": "sighted", "things": ["2026-0001.1"], "occurred_at": "2999-01-01T00:00:00Z"}',
        "occurred_at 2999-01-01T00:00:00.000Z: that is still to come; now it is ",
    ),
    Wrong(
        "a time at the end of the calendar",
        b'{"kind": "sighted", "things": ["2026-0001.1"], "occurred_at": "9999-12-31T23:59:59-12:00"}',
        "occurred_at: ",
    ),
    Wrong(
        "one person's bag into another",
        b'{"kind": "put-in", "things": ["2026-0001.2"], "into": "2026-0002.1"}',
        "put-in in case 2026-0001: wrong-case: 2026-0002.1 belongs to case 2026-0002",
        REFUSED,
    ),
    Wrong(
        "a thing into itself",
        b'{"kind": "put-in", "things": ["2026-0001.1"], "into": "2026-0001.1"}',
        "put-in: 2026-0001.1 cannot be put into itself",
    ),
)
WORDS = (
    Wrong("no such command", ("recrod",), "recrod: there is no such command; did you mean"),
    Wrong("no such kind", ("record", "moevd"), "record: moevd: there is no such kind of entry"),
    Wrong("no such option", ("record", "moved", "--plaice", "x"), "record moved: No such option"),
    Wrong(
        "an option left out", ("record", "moved", "--place", "x"), "record moved: Missing option"
    ),
    Wrong(
        "a float",
        ("record", "weighed", "--thing", "2026-0001.1", "--grams", "1.5"),
        "record weighed: Invalid value for '--grams': '1.5' is not a valid integer.",
    ),
    Wrong(
        "a word that is none of the few",
        ("record", "inspected", "--thing", "2026-0001.1", "--seal", "rusty"),
        "record inspected: Invalid value for '--seal': 'rusty' is not one of",
    ),
    Wrong(
        "a time to come",
        ("record", "sighted", "--thing", "2026-0001.1", "--occurred-at", "2999-01-01T00:00:00Z"),
        "occurred_at 2999-01-01T00:00:00.000Z: that is still to come",
    ),
    Wrong("no such file", ("record", "nowhere.jsonl"), "nowhere.jsonl: cannot be read: No such"),
    Wrong("a folder", ("record", "./"), "./: cannot be read: Is a directory"),
    Wrong("a name with a hole in it", ("case", "2026-0001\udcff"), "case 2026-0001"),
    Wrong("an unknown case", ("case", "2026-0099"), "case 2026-0099: no such case"),
    Wrong(
        "a text with a hole in it",
        ("record", "sighted", "--thing", "2026-0001.1", "--remark", "\udcff"),
        "sighted: remark: text in UTF-8 is wanted here",
    ),
    Wrong(
        "a personal detail with a hole in it",
        ("record", "case-opened", "--personal", "name=\udcff"),
        "case-opened: personal.name: text in UTF-8 is wanted here",
    ),
    Wrong(
        "nobody's key",
        ("record", "moved", "--thing", "2026-0001.1", "--place", "table-1", "--as", "m9"),
        "no key of m9 lies in ",
    ),
    Wrong("an option that needs another", ("case", "2026-0001", "--as-of-now"), "case: --as-of"),
    Wrong("no such shape", ("schema", "x/1"), "x/1: there is no such shape"),
)


def recorded(installed: Installed) -> int:
    """How many entries the register holds, by a look of one's own."""
    with closing(sqlite3.connect(f"file:{installed.register}?mode=ro", uri=True)) as database:
        (count,) = database.execute("SELECT count(*) FROM entry").fetchone()
    return int(count)


@pytest.mark.parametrize("wrong", LINES, ids=lambda wrong: wrong.what)
def test_a_line_that_is_wrong(installed: Installed, wrong: Wrong) -> None:
    before = recorded(installed)
    (installed.folder / "day.jsonl").write_bytes(wrong.given)
    ended = installed("record", "day.jsonl")
    assert ended.out == ""
    assert ended.error.startswith(f"day.jsonl line 1: {wrong.error}"), ended.error
    assert ended.error.endswith("; 0 recorded before it, none after")
    assert ended.status == wrong.status
    assert recorded(installed) == before


@pytest.mark.parametrize("wrong", WORDS, ids=lambda wrong: wrong.what)
def test_words_that_are_wrong(installed: Installed, wrong: Wrong) -> None:
    before = recorded(installed)
    ended = installed(*wrong.given)
    assert ended.out == ""
    assert ended.error.startswith(wrong.error), ended.error
    assert ended.status == wrong.status
    assert recorded(installed) == before


def test_the_line_that_is_wrong_is_counted_with_the_blank_ones(installed: Installed) -> None:
    good = b'{"kind": "sighted", "things": ["2026-0001.1"]}\n'
    ended = installed("record", "-", stdin=good + b"\n" + good + b"{}\n" + good)
    assert ended.out.count("recorded in 2026-0001") == 2
    assert ended.error.startswith("standard input line 4: kind None: no such kind of entry")
    assert ended.error.endswith("; 2 recorded before it, none after")
