"""What is wrong with what was typed is said in words: what, where, and what would mend it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from tests.cli.conftest import Tool

MOVED = ("record", "moved", "--thing", "2026-0001.1")


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (
            (*MOVED, "--place", "Cold Room"),
            "moved: place: small letters, digits and hyphens, at most 32, as in cold-room",
        ),
        (
            ("record", "case-opened", "--number", "a b"),
            "case-opened: number: a case number is capitals, digits and hyphens, as in 2026-0001",
        ),
        (
            ("record", "weighed", "--thing", "2026-0001.1", "--grams", "-3"),
            "weighed: grams: at least 0",
        ),
        (
            ("record", "weighed", "--thing", "2026-0001.1", "--grams", "999999999"),
            "weighed: grams: at most 500000",
        ),
        (
            ("record", "case-opened", "--personal", "Name=x"),
            "small letters and hyphens, at most 32, as in date-of-birth",
        ),
        (
            (*MOVED, "--place", "table-1", "--occurred-at", "1999-03-01T14:05:00Z"),
            (
                "thing 2026-0001.1: not yet in this register at 1999-03-01T14:05:00.000Z; give a later"
                " occurred_at"
            ),
        ),
        (("case", "2026-0001.99"), "thing 2026-0001.99: no such thing in this register"),
        (("closing-check", "2026-0001.99"), "thing 2026-0001.99: no such thing in this register"),
        (("verify", "--key", "zzz"), "--key zzz: 'zzz' is not the text of a public key"),
        (
            ("enrol", "m1", "--role", "mortician", "--as", "d1", "--no-passphrase"),
            "m1.key is there already, and a key file is never overwritten; name another folder",
        ),
    ],
    ids=lambda given: given if isinstance(given, str) else None,
)
def test_wrong_words(tool: Tool, words: tuple[str, ...], sentence: str) -> None:
    before = tool.size()
    assert sentence in tool(*words, status=2).error
    assert tool.size() == before


def test_a_checkpoint_that_is_none_is_named(tool: Tool) -> None:
    file = tool.folder / "minutes.txt"
    file.write_text("minutes of a meeting\n")
    assert (
        f"--checkpoint {file}: The note has" in tool("verify", "--checkpoint", file, status=2).error
    )


@pytest.mark.parametrize("name", ["no-folder/checkpoint.txt", "register.db", "x" * 300])
def test_a_checkpoint_that_has_nowhere_to_go_is_not_published(tool: Tool, name: str) -> None:
    before = tool.size()
    told = tool("publish", "--as", "d1", "-o", tool.folder / name, status=2)
    assert f"{tool.folder / name}: " in told.error
    assert tool.size() == before
    assert sorted(file.name for file in tool.folder.iterdir()) == [
        "keys",
        "register.db",
        "register.db.personal",
    ]


def test_a_checkpoint_that_was_not_published_leaves_no_file(tool: Tool) -> None:
    file = tool.folder / "checkpoint.txt"
    tool("publish", "--as", "nobody", "-o", file, status=2)
    assert not file.exists()
    tool("publish", "--as", "d1", "-o", file)
    assert file.read_bytes().count(b"\n") >= 5


def test_what_is_no_certificate_is_not_taken_for_an_authority(tool: Tool) -> None:
    file = tool.folder / "minutes.txt"
    file.write_text("minutes of a meeting\n")
    told = tool("verify", "--authority", file, status=2)
    assert f"--authority {file}: The authority's certificate is neither PEM nor DER" in told.error


def test_details_of_an_entry_that_is_not_there_are_not_erased(tool: Tool) -> None:
    words = ("record", "personal-details-erased", "--case", "2026-0001", "--ground", "a law")
    told = tool(*words, "--entry", "0", "--entry", "99", "--as", "d1", status=4)
    assert "no-such-entry: case 2026-0001 has no entry 99; its last is 1" in told.error
