"""Tells the story: a line of `story.txt` is narration, an hour, or one of the tool's commands."""

from __future__ import annotations

import io
import os
import shlex
from contextlib import contextmanager, redirect_stderr, redirect_stdout
from dataclasses import dataclass
from datetime import datetime, timedelta
from importlib import resources
from typing import TYPE_CHECKING

from continuity.clock import telling
from continuity.errors import InputError
from continuity_cli.main import run

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

BETWEEN = timedelta(minutes=1)
"""How long each told command takes."""


@dataclass(frozen=True, slots=True)
class Step:
    """One command of the story: when it is given, and the exit status the story expects."""

    at: datetime
    words: tuple[str, ...]
    status: int


@dataclass(frozen=True, slots=True)
class Told:
    """What one step brought."""

    step: Step
    status: int
    answer: str

    @property
    def as_expected(self) -> bool:
        """Whether the command ended as the story says."""
        return self.status == self.step.status


def story() -> Iterator[str | Step]:
    """The narration and the steps, in order."""
    text = resources.files("continuity_demo").joinpath("story.txt").read_text("utf-8")
    at = datetime.fromisoformat("2026-03-02T07:30+00:00")
    for line in text.splitlines():
        mark, _, rest = line.partition(" ")
        if mark == "@":
            at = datetime.fromisoformat(rest)
        elif mark.startswith("$"):
            yield Step(at, tuple(shlex.split(rest)), int(mark[1:] or 0))
            at += BETWEEN
        elif mark == "#":
            yield rest


@contextmanager
def _environment(folder: Path) -> Iterator[None]:
    given = {
        "CONTINUITY_REGISTER": str(folder / "register.db"),
        "CONTINUITY_KEYS": str(folder / "keys"),
        "NO_COLOR": "1",
    }
    before = {name: os.environ.get(name) for name in given}
    os.environ.update(given)
    try:
        yield
    finally:
        for name, value in before.items():
            if value is None:
                os.environ.pop(name, None)
            else:
                os.environ[name] = value


def give(step: Step, folder: Path) -> Told:
    """Give one command to the tool, in the folder of the demo and at the told hour."""
    heard = io.StringIO()
    with (
        _environment(folder),
        telling(lambda: step.at),
        redirect_stdout(heard),
        redirect_stderr(heard),
    ):
        status = run([word.replace("{folder}", str(folder)) for word in step.words])
    return Told(step, status, heard.getvalue())


def empty_folder(folder: Path) -> None:
    """Make the folder of a telling.

    Raises:
        InputError: something is in it already, which is never overwritten.
    """
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise InputError(f"{folder}: not empty; name another folder, or remove this one")
    folder.mkdir(parents=True, exist_ok=True)
