"""Verifying from the command line: what it says, what it is given, and how it ends."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from typing import TYPE_CHECKING

import pytest

from continuity.ledger.keys import read_label
from continuity.register import Register
from continuity_cli.statuses import WANTING, WRONG_INPUT
from tests.cli.conftest import REGISTER, key

if TYPE_CHECKING:
    from pathlib import Path

    from tests.cli.conftest import Tool

UNUSABLE = 3


def public_key(tool: Tool) -> str:
    return str(read_label(tool.folder / "keys" / "register.key"))


def published(tool: Tool) -> Path:
    """A checkpoint of the register as it is now, kept in a file elsewhere."""
    register = Register.open(tool.path)
    with register.store:
        row = register.checkpoint(key(REGISTER, 9))
    path = tool.folder / f"checkpoint-{row.size}"
    path.write_bytes(row.note)
    return path


def forge(path: Path) -> None:
    """Change one word in an entry, as a hostile hand would."""
    with closing(sqlite3.connect(path)) as database:
        triggers = database.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'")
        for (trigger,) in triggers.fetchall():
            database.execute(f'DROP TRIGGER "{trigger}"')
        database.execute(
            "UPDATE entry SET note = CAST(replace(CAST(note AS TEXT), 'oak', 'elm') AS BLOB)"
            " WHERE case_id = (SELECT case_id FROM case_head WHERE name = '2026-0001')"
        )
        database.commit()


def test_a_sound_register_is_sound_and_says_what_that_rests_on(tool: Tool) -> None:
    lines = tool("verify").out.splitlines()
    assert lines[:3] == ["=" * 17, "===   SOUND   ===", "=" * 17]
    assert lines[3].startswith("sound to entry 11, anchored by nobody outside, 11 entries not")
    assert "; its key is its own word, for none was given from outside; " in lines[3]
    assert "  whether this is the latest state of the register" in lines


def test_a_forged_entry_is_named_with_its_case(tool: Tool) -> None:
    forge(tool.path)
    told = tool("verify", status=WANTING)
    lines = told.out.splitlines()
    assert lines[:3] == ["X" * 21, "XXX   NOT SOUND   XXX", "X" * 21]
    assert "  signature-wrong (broken) at position 8, case 2026-0001 entry 1" in lines
    report = tool("verify", "--json", status=WANTING).json
    assert (report["sound"], report["sound_to"]) == (False, 8)


def test_another_file_can_be_verified_than_the_register_in_use(tool: Tool) -> None:
    copy = tool.folder / "copy.db"
    register = Register.open(tool.path)
    with register.store:
        register.store.backup(copy)
    forge(copy)
    assert tool("verify", copy, status=WANTING).out.startswith("XXX")
    assert tool("verify").out.startswith("===")


def test_a_key_from_elsewhere_is_pinned(tool: Tool) -> None:
    assert tool("verify", "--key", public_key(tool), "--json").json["pinned"] is True
    file = tool.folder / "public"
    file.write_text(public_key(tool) + "\n")
    assert tool("verify", "--key", f"@{file}", "--json").json["pinned"] is True
    stranger = str(key(REGISTER, 77).verify_key)
    assert tool("verify", "--key", stranger, "--json", status=WANTING).json["sound"] is False


def test_a_start_says_the_key_that_verifies(bare: Tool) -> None:
    out = bare("start", "--firm", "F", "--as", "d1", "--no-passphrase").out
    last = out.splitlines()[-1]
    assert last == f"public key, for whoever will verify: {public_key(bare)}"
    assert bare("verify", "--key", last.rpartition(" ")[2], "--json").json["pinned"] is True


def test_a_checkpoint_kept_elsewhere_anchors_what_it_covers(tool: Tool) -> None:
    kept = published(tool)
    tool("record", "sighted", "--thing", "2026-0001.1")
    for words in (("--checkpoint", kept), ("--guard", kept)):
        report = tool("verify", *words, "--json").json
        assert (report["anchored_to"], report["unanchored"]) == (11, 1)
    report = tool("verify", "--since", kept, "--json").json
    assert (report["scope"], report["start"], report["checked"]) == ("since", 11, 1)


def test_one_case_is_verified_and_says_what_it_leaves_out(tool: Tool) -> None:
    tool("publish", "--as", "d1")
    lines = tool("verify", "--case", "2026-0002").out.splitlines()
    assert lines[3].startswith("case 2026-0002: sound to its entry 2, anchored by nobody outside")
    assert (
        "  whether an entry made after the last case index, at position 11, was left out" in lines
    )
    forge(tool.path)
    assert tool("verify", "--case", "2026-0002").out.startswith("===")
    told = tool("verify", "--case", "2026-0001", status=WANTING)
    assert "  signature-wrong (broken) at position 8, case 2026-0001 entry 1" in told.out
    told = tool("verify", "--case", "2026-0099", status=WRONG_INPUT)
    assert told.error == "There is no case 2026-0099 in this register; check the number."
    told = tool("verify", "--case", "2026-0001", "--since", "x", status=WRONG_INPUT)
    assert told.error == "--since: one case is verified whole; leave it or --case out"


def test_a_register_that_does_not_continue_a_kept_checkpoint_is_not_sound(tool: Tool) -> None:
    copy = tool.folder / "older.db"
    register = Register.open(tool.path)
    with register.store:
        register.store.backup(copy)
    tool("record", "sighted", "--thing", "2026-0001.1")
    kept = published(tool)
    report = tool("verify", copy, "--checkpoint", kept, "--json", status=WANTING).json
    assert [f["code"] for f in report["findings"]] == ["shorter-than-held"]


def test_a_policy_names_key_witnesses_and_quorum(tool: Tool) -> None:
    policy = tool.folder / "policy"
    policy.write_text(f"log {public_key(tool)}\nquorum none\n")
    assert tool("verify", "--policy", policy, "--json").json["pinned"] is True


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (("--key", "nonsense"), "--key nonsense: "),
        (("--key", "@nowhere"), "--key nowhere: cannot be read: No such file or directory"),
        (("--checkpoint", "nowhere"), "--checkpoint nowhere: cannot be read: No such file"),
        (("--since", "nowhere"), "--since nowhere: cannot be read: No such file or directory"),
        (("--policy", "nowhere"), "--policy nowhere: cannot be read: No such file or directory"),
        (("--authority", "nowhere"), "--authority nowhere: cannot be read: No such file"),
        (("--guard", "nowhere"), "--guard nowhere: nothing stands there; connect its device"),
        (("--max-age", "0"), "verify: Invalid value for '--max-age': 0 is not in the range x>=1."),
        (("--policy", "x", "--key", "y"), "--key: --policy names the key already; give one of"),
    ],
)
def test_what_cannot_be_brought_along_is_named(
    tool: Tool, words: tuple[str, ...], sentence: str
) -> None:
    told = tool("verify", *words, status=WRONG_INPUT)
    assert told.error.startswith(sentence)
    assert told.out == ""


def test_files_that_hold_something_else_are_named(tool: Tool) -> None:
    letter = tool.folder / "letter"
    letter.write_bytes(b"\xff\xfe")
    for option in ("--policy", "--checkpoint", "--since"):
        told = tool("verify", option, letter, status=WRONG_INPUT)
        assert told.out == ""
        assert told.error
    told = tool("verify", "--key", f"@{letter}", status=WRONG_INPUT)
    assert told.error == f"--key {letter}: it is not UTF-8 text"


def test_what_cannot_be_looked_at_is_not_called_unsound(tool: Tool) -> None:
    told = tool("verify", "nowhere.db", status=UNUSABLE)
    assert told.error == "Nothing stands at nowhere.db; check the path."
    assert told.out == ""


def test_a_register_behind_its_guard_records_nothing(tool: Tool) -> None:
    older = tool.folder / "older.db"
    register = Register.open(tool.path)
    with register.store:
        register.store.backup(older)
    tool("record", "sighted", "--thing", "2026-0001.1")
    guard = ("--guard", published(tool))
    words = ("record", "sighted", "--thing", "2026-0001.1")
    tool(*words, *guard)
    told = tool(*words, "--register", older, *guard, status=UNUSABLE)
    assert told.error.startswith("The register has 11 entries and does not continue the checkpoint")
    told = tool(*words, "--guard", "nowhere", status=UNUSABLE)
    assert told.error.startswith("The guard nowhere is missing; connect its device")
