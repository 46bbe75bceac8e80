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
    checkpoint = tmp_path / "checkpoint.txt"
    tool("publish", "--as", "d1", "-o", checkpoint)
    tool("record", "sighted", "--thing", "2026-0001.1")
    for form in (".txt", ".html"):
        kept = tmp_path / f"receipt{form}"
        told = tool("receipt", "2026-0001", "1", "-o", kept)
        assert told.out == f"receipt of case 2026-0001, entry 1: {kept}\n"
        lines = tool("verify", "--receipt", kept).out.splitlines()
        assert f"  anchored to entry 12 by {kept.name} (receipt)" in lines
        (shown,) = (line for line in lines if line.startswith(f"  {kept.name}: "))
        assert "13 entries continues the one of 12 that gave this receipt, and holds the" in shown
        assert "      Case 2026-0001, entry 1: received" in lines
    tool("receipt", "2026-0001", "1", "-o", tmp_path / "receipt.pdf")
    assert (tmp_path / "receipt.pdf").read_bytes().startswith(b"%PDF-")
    receipts = tool("verify", "--receipt", checkpoint, "--receipt", kept, "--json").json["receipts"]
    assert [(one["by"], one["position"]) for one in receipts] == [
        ("checkpoint.txt", None),
        ("receipt.html", 8),
    ]


def test_a_receipt_whose_words_were_altered_is_told_and_told_anew(
    tool: Tool, tmp_path: Path
) -> None:
    tool("publish", "--as", "d1")
    dossier, kept = tmp_path / "dossier.html", tmp_path / "receipt.html"
    tool("dossier", "2026-0001", "-o", dossier)
    tool("receipt", "2026-0001", "1", "-o", kept)
    kept.write_bytes(kept.read_bytes().replace(b"entry 1: received", b"entry 1: released"))
    for whole in ((), (dossier,)):
        out = tool("verify", *whole, "--receipt", kept, status=1).out
        assert "???   ENTRIES SOUND, WORDS NOT RELIED ON   ???" in out
        assert "receipt-words-differ (doubt)\n      The words on the receipt of receipt.html" in out
        assert "      Case 2026-0001, entry 1: received\n" in out
        report = tool("verify", *whole, "--receipt", kept, "--json", status=1).json
        assert (report["sound"], report["words_hold"]) == (True, False)
        assert report["receipts"][0]["words_hold"] is False


def test_a_place_described_anew_later_alters_no_receipt(tool: Tool, tmp_path: Path) -> None:
    tool("publish", "--as", "d1")
    kept = tmp_path / "receipt.html"
    tool("receipt", "2026-0001", "1", "-o", kept)
    told = ("--what", "table", "--description", "another table altogether", "--as", "d1")
    tool("record", "place-named", "--place", "table-1", *told)
    dossier = tmp_path / "dossier.html"
    tool("publish", "--as", "d1")
    tool("dossier", "2026-0001", "-o", dossier)
    assert "another table altogether" in dossier.read_text()
    for whole in ((), (dossier,)):
        report = tool("verify", *whole, "--receipt", kept, "--json").json
        assert report["words_hold"] is True
        assert "table one" in report["receipts"][0]["says"]


def test_what_was_scanned_is_held_to_the_register_one_case_or_what_is_new(tool: Tool) -> None:
    tool("publish", "--as", "d1", "-o", tool.folder / "checkpoint")
    scanned = tool("receipt", "2026-0001", "1", "--compact").out
    assert scanned.startswith("CONTINUITY1:")
    for scope in ((), ("--case", "2026-0001"), ("--since", tool.folder / "checkpoint")):
        report = tool("verify", "--receipt", "-", "--json", *scope, stdin=scanned).json
        assert report["receipts"][0]["by"] == "what was scanned"
        assert report["receipts"][0]["sound"] is True
        assert report["receipts"][0]["says"].splitlines()[1] == "Case 2026-0001, entry 1: received"
    told = tool("verify", "--receipt", "-", status=2, stdin=scanned[:60])
    assert told.error.startswith("--receipt -: The compact receipt")


def test_a_dossier_is_held_to_a_receipt_too(tool: Tool, tmp_path: Path) -> None:
    tool("publish", "--as", "d1")
    one, other = (tool("receipt", case, "1").out for case in ("2026-0001", "2026-0002"))
    dossier = tmp_path / "dossier.html"
    tool("dossier", "2026-0001", "-o", dossier)
    out = tool("verify", dossier, "--receipt", "-", stdin=one).out
    assert "  what was scanned: the register of 12 entries continues the one of 12 that gave" in out
    report = tool("verify", dossier, "--receipt", "-", "--json", stdin=other).json
    assert [f["code"] for f in report["findings"]] == ["anchor-unusable"]
    assert report["receipts"][0]["words"].startswith("not shown: The entry at position 10, of wh")
    spoilt = one.replace("index 8", "index 7")
    report = tool("verify", dossier, "--receipt", "-", "--json", stdin=spoilt, status=1).json
    assert [f["code"] for f in report["findings"]] == ["receipt-differs"]


def test_what_a_receipt_cannot_be_is_told(tool: Tool, tmp_path: Path) -> None:
    tool("publish", "--as", "d1")
    told = tool("receipt", "2026-0001", "0", "-o", tmp_path / "r.doc", status=2)
    assert told.error == (f"--output {tmp_path}/r.doc: a receipt's file ends in .pdf, .html, .txt")
    told = tool("receipt", "2026-0001", "0", "--compact", "-o", tmp_path / "r.txt", status=2)
    assert told.error.endswith("--compact is printed alone; leave one of the two out")
    standing = tmp_path / "r.txt"
    standing.write_text("another")
    told = tool("receipt", "2026-0001", "0", "-o", standing, status=2)
    assert told.error == f"{standing}: something stands there already; name a new file"
    assert standing.read_text() == "another"
    told = tool("verify", "--receipt", standing, status=2)
    assert told.error.startswith(f"--receipt {standing}: ")


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
    assert "Missing argument 'CASE'" in tool("receipt", status=2).err


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
    told = tool("verify", "--receipt", receipt, status=1).out
    assert told.startswith("XXX")
    assert "receipt.txt: NOT the register that gave this receipt: Another entry lies at" in told
