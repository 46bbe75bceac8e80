"""`publish` and `receipt`: what goes outside, and holds the register to its word."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pathlib import Path

    from tests.cli.conftest import Tool


def test_a_receipt_stands_on_a_published_checkpoint_and_is_continued(
    tool: Tool, tmp_path: Path
) -> None:
    checkpoint, receipt = tmp_path / "checkpoint.txt", tmp_path / "receipt.txt"
    tool("publish", "--as", "d1", "-o", str(checkpoint))
    receipt.write_text(tool("receipt", "2026-0001", "0").out)
    assert "holds entry" in tool("receipt", "--check", str(receipt)).out
    assert "continues" in tool("receipt", "--check", str(checkpoint)).out
    assert "anchored to entry" in tool("verify", "--checkpoint", str(checkpoint)).out


def test_a_checkpoint_file_is_never_overwritten(tool: Tool, tmp_path: Path) -> None:
    standing = tmp_path / "checkpoint.txt"
    standing.write_text("another")
    assert (
        "stands there already" in tool("publish", "--as", "d1", "-o", str(standing), status=2).err
    )
    assert standing.read_text() == "another"


def test_a_receipt_before_any_checkpoint_or_of_no_entry_is_wrong_input(tool: Tool) -> None:
    assert "publish one first" in tool("receipt", "2026-0001", "0", status=2).err
    assert "no entry 999" in tool("receipt", "2026-0001", "999", status=2).err
    assert "name the case" in tool("receipt", status=2).err


def test_a_register_that_was_changed_does_not_continue_its_receipt(
    tool: Tool, tmp_path: Path
) -> None:
    receipt = tmp_path / "receipt.txt"
    tool("publish", "--as", "d1")
    receipt.write_text(tool("receipt", "2026-0001", "0").out)
    with closing(sqlite3.connect(tool.path)) as register:
        register.execute("DROP TRIGGER entry_update")
        register.execute(
            "UPDATE entry SET note = CAST(replace(CAST(note AS TEXT), 'burial', 'donation') AS BLOB)"
        )
        register.commit()
    tool("receipt", "--check", str(receipt), status=1)
