"""`cosign` and `timestamp`: files go to and fro, and others vouch for a checkpoint."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

import pytest

from continuity.ledger.keys import read_label
from tests.audit.stamping import Authority, needs_openssl

if TYPE_CHECKING:
    from pathlib import Path

    from tests.cli.conftest import Tool

NAME = "coroner-office.example"


@pytest.fixture
def witness(tool: Tool) -> str:
    """The witness's public key; its private one lies in `witness/own.key`."""
    (tool.folder / "witness").mkdir()
    file = tool.folder / "witness" / "own.key"
    out = tool("cosign", "key", NAME, "-o", file, "--no-passphrase").out
    return out.rpartition(" ")[2].strip()


def publish(tool: Tool) -> None:
    tool("publish", "--as", "d1")


def signed(tool: Tool, request: Path, name: str, status: int = 0) -> tuple[Path, str]:
    """What the witness answers to a request, and what it was told on standard error."""
    file, register = tool.folder / name, read_label(tool.folder / "keys" / "register.key")
    own = tool.folder / "witness" / "own.key"
    words = ("cosign", "sign", request, "--key", own, "--register-key", register, "-o", file)
    return file, tool(*words, status=status).err


def asked(tool: Tool, name: str, seen: int = 0) -> Path:
    file = tool.folder / name
    tool("cosign", "request", "--seen", seen, "-o", file)
    return file


def test_a_witness_vouches_for_what_it_saw_and_when(tool: Tool, witness: str) -> None:
    publish(tool)
    file, _ = signed(tool, asked(tool, "request"), "back")
    told = tool("cosign", "attach", file, "--witness", witness).out
    assert told == f"anchored to entry 12 at 2026-03-02T10:04:00Z by {NAME} (cosignature)\n"
    tool("record", "sighted", "--thing", "2026-0001.1")
    lines = tool("verify", "--witness", witness).out.splitlines()
    assert lines[3].startswith(
        f"sound to entry 13, anchored to entry 12 at 2026-03-02T10:04:00Z by {NAME} (cosignature),"
        " 1 entries not anchored"
    )
    assert f"  {told.strip()}" in lines
    assert "anchored by nobody outside" in tool("verify").out


def test_a_witness_follows_the_register_and_never_goes_back(tool: Tool, witness: str) -> None:
    publish(tool)
    signed(tool, asked(tool, "first"), "first-back")
    tool("record", "sighted", "--thing", "2026-0001.1")
    publish(tool)
    _, error = signed(tool, asked(tool, "late"), "late-back", status=2)
    assert "begins at size 0, and 12 was cosigned last; ask from there" in error
    file, _ = signed(tool, asked(tool, "second", seen=12), "second-back")
    tool("cosign", "attach", file, "--witness", witness)
    assert "anchored to entry 14" in tool("verify", "--witness", witness).out
    assert not (tool.folder / "late-back").exists()


def test_a_witness_does_not_sign_a_register_that_was_rewritten(tool: Tool, witness: str) -> None:
    """Another register signed with the same key, as its keeper could make it."""
    import shutil  # noqa: PLC0415

    older = tool.folder / "older"
    older.mkdir()
    for name in ("register.db", "register.db.personal"):
        shutil.copy(tool.folder / name, older / name)
    publish(tool)
    signed(tool, asked(tool, "request"), "back")
    tool.now[0] += timedelta(hours=1)
    for name in ("register.db", "register.db.personal"):
        shutil.copy(older / name, tool.folder / name)
    for name in ("register.db-wal", "register.db-shm"):
        (tool.folder / name).unlink(missing_ok=True)
    tool("record", "sighted", "--thing", "2026-0002.1")
    publish(tool)
    file, error = signed(tool, asked(tool, "forked", seen=12), "forked-back", status=2)
    assert "does not begin" in error
    assert not file.exists()


def test_at_the_first_time_a_checkpoint_alone_will_do(tool: Tool, witness: str) -> None:
    tool("publish", "--as", "d1", "-o", tool.folder / "checkpoint")
    file, _ = signed(tool, tool.folder / "checkpoint", "back")
    assert NAME in tool("cosign", "attach", file, "--witness", witness).out


def test_what_cannot_be_cosigned_is_told(tool: Tool, witness: str) -> None:
    error = tool("cosign", "request", "-o", tool.folder / "r", status=2).error
    assert error == "There is no checkpoint of size 0 or more to be cosigned."
    letter = tool.folder / "letter"
    letter.write_text("a letter\n")
    _, told = signed(tool, letter, "back", status=2)
    assert told.startswith(f"continuity: REQUEST {letter}: ")
    told = tool("cosign", "attach", letter, "--witness", witness, status=2).err
    assert told.count("\n") == 1
    told = tool("cosign", "attach", letter, "--witness", "nonsense", status=2).error
    assert told.startswith("--witness nonsense: ")
    told = tool("cosign", "key", "two words", "-o", tool.folder / "k", status=2).error
    assert told.startswith("'two words': ")


def test_a_locked_witness_key_takes_its_passphrase(tool: Tool) -> None:
    publish(tool)
    secret, own = tool.folder / "secret", tool.folder / "witness.key"
    secret.write_text("a long invented passphrase\n")
    tool("cosign", "key", NAME, "-o", own, "--passphrase-file", secret)
    register = read_label(tool.folder / "keys" / "register.key")
    words = ("cosign", "sign", asked(tool, "request"), "--key", own, "--register-key", register)
    back = tool.folder / "back"
    assert "needs its passphrase" in tool(*words, "-o", back, status=2).error
    tool(*words, "-o", back, "--passphrase-file", secret)
    assert back.exists()


@needs_openssl
def test_an_authority_says_by_when_a_checkpoint_was_there(tool: Tool, tmp_path: Path) -> None:
    authority = Authority(tmp_path / "authority")
    query, answer = tmp_path / "query.tsq", tmp_path / "answer.tsr"
    told = tool("timestamp", "request", "-o", query, status=2).error
    assert told == "No checkpoint is published yet; publish one first."
    publish(tool)
    tool("timestamp", "request", "-o", query)
    answer.write_bytes(authority.stamp(query.read_bytes()))
    root = authority.folder / "root.pem"
    told = tool("timestamp", "attach", answer, "--authority", root).out
    assert told.startswith("anchored to entry 12 at 20")
    assert " by CN=invented-authority (time-stamp), checkable until " in told
    lines = tool("verify", "--authority", root).out.splitlines()
    assert f"  {told.strip()}" in lines
    assert "anchor-unusable" in tool("verify").out
    told = tool("timestamp", "attach", query, "--authority", root, status=2).error
    assert told.startswith("The time stamp cannot be read: ")
