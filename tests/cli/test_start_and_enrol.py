"""A register begins with keys on the disk, and nobody signs who was not enrolled."""

from __future__ import annotations

import stat
from typing import TYPE_CHECKING

import pytest

from continuity.ledger.keys import load_private, read_label
from continuity.register import Register

if TYPE_CHECKING:
    from tests.cli.conftest import Tool

PASSPHRASE = "three words unspoken"


def test_a_register_is_started_with_its_key_and_its_directors(bare: Tool) -> None:
    told = bare("start", "--firm", "Firm\x1b[2J", "--as", "d1", "--no-passphrase")
    keys = bare.folder / "keys"
    assert sorted(path.name for path in keys.iterdir()) == ["d1.key", "register.key"]
    assert stat.S_IMODE(keys.stat().st_mode) == 0o700
    register = read_label(keys / "register.key").name
    assert told.out.splitlines()[0] == f"started {bare.path} for Firm\\x1b[2J: {register}"
    with Register.open(bare.path).store as store:
        assert (store.register, store.head().size) == (register, 1)


def test_new_keys_are_locked_unless_told_otherwise(bare: Tool) -> None:
    bare.patch.setenv("CONTINUITY_PASSPHRASE", PASSPHRASE)
    bare("start", "--firm", "Firm", "--as", "d1")
    path = bare.folder / "keys" / "d1.key"
    assert load_private(path, PASSPHRASE.encode(), "d1").name == "d1"
    assert b"ENCRYPTED" in (bare.folder / "keys" / "register.key").read_bytes()


def test_without_a_passphrase_to_be_had_nothing_is_made(bare: Tool) -> None:
    error = bare("start", "--firm", "Firm", "--as", "d1", status=2).error
    assert error.startswith("the key of register needs its passphrase: set CONTINUITY_PASSPHRASE_")
    assert error.endswith("--no-passphrase leaves the key unlocked")
    assert list(bare.folder.iterdir()) == []


def test_a_register_is_not_started_twice_and_no_key_is_left_behind(tool: Tool) -> None:
    bystander = tool.folder / "others"
    told = tool(
        "start", "--firm", "F", "--as", "d9", "--keys", bystander, "--no-passphrase", status=2
    )
    assert "register.db already exists" in told.error
    assert list(bystander.iterdir()) == []


def test_a_key_file_is_never_overwritten(bare: Tool) -> None:
    keys = bare.folder / "keys"
    keys.mkdir()
    (keys / "d1.key").write_text("precious")
    told = bare("start", "--firm", "F", "--as", "d1", "--no-passphrase", status=2)
    assert "d1.key is there already" in told.error
    assert [p.name for p in keys.iterdir()] == ["d1.key"]
    assert (keys / "d1.key").read_text() == "precious"
    assert not bare.path.exists()


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (("--with", "d2"), "--as: name the one person who is the register's first director"),
        (("--as", "register"), "person register: that is the register itself"),
        (("--as", "../d1"), "person '../d1': a person is named by up to 32 small letters"),
    ],
)
def test_a_register_has_one_first_director(
    bare: Tool, words: tuple[str, ...], sentence: str
) -> None:
    told = bare("start", "--firm", "F", "--no-passphrase", *words, status=2)
    assert told.error.startswith(sentence)
    assert not bare.path.exists()


def test_an_enrolled_person_can_record(tool: Tool) -> None:
    told = tool("enrol", "m3", "--role", "mortician", "--as", "d1", "--no-passphrase")
    assert told.out == "recorded in the register as entry 7: key-enrolled\n"
    tool("record", "sighted", "--thing", "2026-0001.1", "--as", "m3")


def test_only_a_director_enrols_and_a_refused_key_is_not_left(tool: Tool) -> None:
    told = tool("enrol", "m3", "--role", "mortician", "--as", "m1", "--no-passphrase", status=4)
    assert told.error.startswith("key-enrolled: role: key-enrolled is for director, and m1 is")
    assert not (tool.folder / "keys" / "m3.key").exists()


def test_a_replaced_key_signs_no_more_and_keeps_its_file(tool: Tool) -> None:
    keys = tool.folder / "keys"
    old = read_label(keys / "m2.key")
    tool("enrol", "m2", "--replace", "--as", "m2", "--no-passphrase")
    assert read_label(keys / "m2.key") != old
    aside = keys / f"m2.{old.reference[-8:]}.key"
    assert read_label(aside) == old
    tool("record", "sighted", "--thing", "2026-0001.1", "--as", "m2")
    aside.replace(keys / "m2.key")
    told = tool("record", "sighted", "--thing", "2026-0001.1", "--as", "m2", status=2)
    assert told.error == f"key {old.reference}: replaced or revoked; use the present key of m2"


def test_the_registers_own_key_can_be_replaced(tool: Tool) -> None:
    old = read_label(tool.folder / "keys" / "register.key")
    tool("enrol", "register", "--replace", "--as", "d1", "--no-passphrase")
    new = read_label(tool.folder / "keys" / "register.key")
    assert new.name == old.name
    assert new != old
    register = Register.open(tool.path)
    with register.store:
        assert register.house().register_key == str(new)


def test_a_revoked_persons_key_is_set_aside_and_another_can_follow(tool: Tool) -> None:
    tool("enrol", "m2", "--revoke", "--reason", "left", "--compromised-since", 3, "--as", "d1")
    assert not (tool.folder / "keys" / "m2.key").exists()
    told = tool("enrol", "m2", "--revoke", "--reason", "left", "--as", "d1", status=2)
    assert told.error.startswith("person m2: no key of theirs stands in this register")
    tool("enrol", "m2", "--role", "assistant", "--as", "d1", "--no-passphrase")


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (("m3",), "enrol: say one of --role, --replace and --revoke"),
        (("m3", "--role", "director", "--replace"), "enrol: say one of --role, --replace and"),
        (("m2", "--revoke"), "enrol: --reason and --revoke go together"),
        (("m2", "--role", "witness", "--reason", "x"), "enrol: --reason and --revoke go together"),
        (
            ("m2", "--role", "witness", "--compromised-since", "1"),
            "enrol: --compromised-since goes with --revoke",
        ),
        (("register", "--role", "director"), "person register: that is the register itself"),
        (("m3", "--role", "king"), "enrol: Invalid value for '--role': 'king' is not one of"),
        (("m9", "--replace"), "person m9: no key of theirs stands in this register"),
        (("M 3", "--role", "witness"), "person 'M 3': a person is named by up to 32 small"),
    ],
)
def test_what_cannot_be_meant_is_said(tool: Tool, words: tuple[str, ...], sentence: str) -> None:
    before = tool.size()
    told = tool("enrol", *words, "--as", "d1", "--no-passphrase", status=2)
    assert told.error.startswith(sentence)
    assert tool.size() == before
    assert sorted(p.name for p in (tool.folder / "keys").iterdir()) == [
        "d1.key",
        "m1.key",
        "m2.key",
        "register.key",
    ]


@pytest.fixture
def locked(tool: Tool) -> Tool:
    """The same firm, with the key of m3 locked."""
    tool.patch.setenv("CONTINUITY_PASSPHRASE_M3", PASSPHRASE)
    tool("enrol", "m3", "--role", "mortician", "--as", "d1")
    tool.patch.delenv("CONTINUITY_PASSPHRASE_M3")
    return tool


SIGHTED = ("record", "sighted", "--thing", "2026-0001.1", "--as", "m3")


def test_a_locked_key_is_unlocked_from_the_environment(locked: Tool) -> None:
    locked.patch.setenv("CONTINUITY_PASSPHRASE", PASSPHRASE)
    locked(*SIGHTED)
    locked.patch.setenv("CONTINUITY_PASSPHRASE_M3", "not this")
    told = locked(*SIGHTED, status=2)
    assert told.error.endswith("the passphrase is wrong or it is damaged.")
    assert "not this" not in told.error


def test_a_locked_key_is_unlocked_from_a_file(locked: Tool) -> None:
    file = locked.folder / "phrase"
    file.write_text(f"{PASSPHRASE}\nand a second line\n")
    locked(*SIGHTED, "--passphrase-file", file)
    locked(*SIGHTED, "--passphrase-file", f"m3={file}")
    told = locked(*SIGHTED, "--passphrase-file", f"m2={file}", status=2)
    assert told.error.startswith("the key of m3 needs its passphrase")


@pytest.mark.parametrize(
    ("content", "reason"),
    [
        (None, "cannot be read: No such file or directory"),
        (b"\n", "its first line is empty"),
        (b"\xff\n", "cannot be read: it is not UTF-8 text"),
    ],
)
def test_a_passphrase_file_that_says_nothing_is_named(
    locked: Tool, content: bytes | None, reason: str
) -> None:
    file = locked.folder / "phrase"
    if content is not None:
        file.write_bytes(content)
    told = locked(*SIGHTED, "--passphrase-file", file, status=2)
    assert told.error == f"--passphrase-file {file}: {reason}"


def test_a_person_without_a_key_here_is_named_with_the_folder(tool: Tool) -> None:
    told = tool("record", "sighted", "--thing", "2026-0001.1", "--as", "m9", status=2)
    assert told.error.startswith(f"no key of m9 lies in {tool.folder / 'keys'}; name the folder")


def test_another_persons_key_under_this_name_is_not_taken(tool: Tool) -> None:
    keys = tool.folder / "keys"
    (keys / "m1.key").replace(keys / "m3.key")
    told = tool("record", "sighted", "--thing", "2026-0001.1", "--as", "m3", status=2)
    assert "not the key asked for" in told.error
