"""A copy of the register: both files, read back, never in the place of another."""

from __future__ import annotations

import stat
from typing import TYPE_CHECKING

import pytest
from jsonschema import Draft202012Validator

from continuity.ledger import merkle
from continuity.register import Register
from continuity.store.database import Database
from continuity_cli.commands.schema import schemas_by_name

if TYPE_CHECKING:
    from tests.cli.conftest import Tool

SHAPE = "continuity-backup/1"


def test_a_copy_is_a_register_and_says_what_it_holds(tool: Tool) -> None:
    folder = tool.folder / "copies"
    told = tool("backup", folder, "--json").json
    assert [error.message for error in Draft202012Validator(schema()).iter_errors(told)] == []
    assert told | {"root": ""} == {
        "shape": SHAPE,
        "register": str(folder / "register.db"),
        "personal": str(folder / "register.db.personal"),
        "size": tool.size(),
        "root": "",
    }
    assert sorted(file.name for file in folder.iterdir()) == ["register.db", "register.db.personal"]
    assert stat.S_IMODE(folder.stat().st_mode) == 0o700
    assert tool("verify", folder / "register.db", "--json").json["sound"]
    with Register.open(folder / "register.db").store as copy, Register.open(tool.path).store as own:
        assert list(copy.scan()) == list(own.scan())
        assert told["root"] == merkle.root(told["size"], copy.read_hashes).hex()


def schema() -> dict[str, object]:
    return dict(schemas_by_name())[SHAPE]


def test_it_is_told_in_words(tool: Tool) -> None:
    told = tool("backup", tool.folder / "copies")
    first, *files = told.out.splitlines()
    assert first.startswith(f"copied {tool.size()} entries, and read them back: root ")
    assert files == [str(tool.folder / "copies" / f"register.db{end}") for end in ("", ".personal")]


def test_none_that_is_there_is_overwritten(tool: Tool) -> None:
    tool("backup", tool.folder / "copies")
    before = (tool.folder / "copies" / "register.db").read_bytes()
    for there in ("copies", "keys", "register.db"):
        told = tool("backup", tool.folder / there, status=2)
        assert f"{there}: something stands there already; name a new folder" in told.error
    assert (tool.folder / "copies" / "register.db").read_bytes() == before
    assert sorted(file.name for file in tool.folder.iterdir()) == [
        "copies",
        "keys",
        "register.db",
        "register.db.personal",
    ]


@pytest.mark.parametrize(
    ("folder", "words"),
    [
        ("no-stick/copies", "the folder it should lie in does not exist; connect its device"),
        ("register.db/copies", "cannot be written: Not a directory; name another path"),
        ("x" * 300, "cannot be written: File name too long; name another path"),
    ],
)
def test_a_folder_that_cannot_be_is_told(folder: str, words: str, tool: Tool) -> None:
    assert words in tool("backup", tool.folder / folder, status=2).error
    assert not (tool.folder / "no-stick").exists()


def test_a_copy_that_is_interrupted_leaves_nothing(
    tool: Tool, monkeypatch: pytest.MonkeyPatch
) -> None:
    def interrupted(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(Database, "copy_to", interrupted)
    tool("backup", tool.folder / "copies", status=130)
    assert not list(tool.folder.glob("copies*"))


def test_without_a_register_nothing_is_made(bare: Tool) -> None:
    assert "Nothing stands at" in bare("backup", bare.folder / "copies", status=3).error
    assert list(bare.folder.iterdir()) == []
