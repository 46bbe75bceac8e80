"""The demo as it is shown: the story, the proof that it is sound, and a forgery that is caught."""

from __future__ import annotations

import shutil
import sqlite3
from contextlib import closing
from typing import TYPE_CHECKING

import click

from continuity.store.sqlite import personal_path
from continuity_demo.teller import BETWEEN, Step, Told, empty_folder, give, story

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import datetime
    from pathlib import Path

    Say = Callable[[str], None]

TRANSCRIPT = "transcript.txt"
FORGED = "forged.db"
CHECKPOINT = "{folder}/checkpoint.txt"
RECEIPT = "{folder}/receipt-for-the-carrier.html"


def show(folder: Path) -> bool:
    """Tell the story in an empty folder.

    Returns:
        Whether every command ended as the story says, the verification sound, the forgery caught.

    Raises:
        InputError: the folder is not empty.
    """
    empty_folder(folder)
    ended_well = True
    last: Step | None = None
    with (folder / TRANSCRIPT).open("w", encoding="utf-8") as transcript:

        def say(text: str) -> None:
            click.echo(text)
            transcript.write(text + "\n")

        for part in story():
            if isinstance(part, str):
                say(f"\n## {part}\n")
                continue
            ended_well &= _tell(give(part, folder), say)
            last = part
        at = last.at if last else None
        if at is not None:
            ended_well &= _prove(folder, at, say)
    click.echo(f"\nAll of it lies in {folder}: register.db, keys/, {FORGED}, {TRANSCRIPT}.")
    return ended_well


def _prove(folder: Path, at: datetime, say: Say) -> bool:
    """Verify the register, then a copy in which somebody changed one weight of evidence."""
    say("\n## A checkpoint is published; a copy of it goes to others, and ties the firm's hands.\n")
    at += BETWEEN
    publish = ("publish", "--as", "d1", "-o", CHECKPOINT)
    ended = _tell(give(Step(at, publish, 0), folder), say)
    say("\n## The dossier of case one: one page that checks itself in any browser, offline.\n")
    ended = _tell(
        give(
            Step(at, ("dossier", "2026-0001", "-o", "{folder}/dossier-2026-0001.html"), 0), folder
        ),
        say,
    )
    say(
        "\n## The auditor verifies the register, trusting nobody, and asks the carrier's receipt.\n"
    )
    verify = ("verify", "--checkpoint", CHECKPOINT, "--receipt", RECEIPT)
    sound = _tell(give(Step(at, verify, 0), folder), say)
    say("\n## Somebody forges a copy: the spectacles become a watch, straight in the database.\n")
    forged = folder / FORGED
    forge(folder / "register.db", forged)
    caught = _tell(give(Step(at, ("verify", "--register", str(forged)), 1), folder), say)
    return ended and sound and caught


def forge(register: Path, copy: Path) -> None:
    """Copy a register, and change one word in it as a hostile hand with sqlite3 would."""
    with closing(sqlite3.connect(register)) as source, closing(sqlite3.connect(copy)) as target:
        source.backup(target)
        for (trigger,) in target.execute(
            "SELECT name FROM sqlite_master WHERE type = 'trigger'"
        ).fetchall():
            target.execute(f'DROP TRIGGER "{trigger}"')
        target.execute(
            "UPDATE entry SET note = CAST(replace(CAST(note AS TEXT), 'spectacles', 'wristwatch')"
            " AS BLOB) WHERE instr(note, 'spectacles')"
        )
        target.commit()
    shutil.copyfile(personal_path(register), personal_path(copy))


def _tell(told: Told, say: Say) -> bool:
    words = " ".join(_quoted(word) for word in told.step.words)
    say(f"$ continuity {words}")
    for line in told.answer.splitlines():
        say(f"  {line}" if line else "")
    if not told.as_expected:
        say(f"  !! ended with {told.status}, and the story expects {told.step.status}")
    return told.as_expected


def _quoted(word: str) -> str:
    return f'"{word}"' if any(c in word for c in " ,&#()'") else word
