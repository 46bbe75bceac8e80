"""The station in plain lines: scans from standard input or a serial device, answers one a line."""

from __future__ import annotations

import os
import select
import sys
from contextlib import contextmanager
from typing import TYPE_CHECKING

from continuity.errors import InputError
from continuity_cli.plain import harmless
from continuity_cli.station.answer import Tone
from continuity_cli.station.sounds import BELLS

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

    from continuity_cli.station.answer import Answer, View
    from continuity_cli.station.desk import Desk

ONCE = "the same scan again: counted once"
_WAIT = 1.0
_MOST = 4096
"""Characters of a line that are kept: no label is longer, and no scanner sends more."""


def told(answer: Answer) -> Iterator[str]:
    """An answer in lines: the large word, what it is about, and below it all the rest."""
    first = harmless(f"{answer.word}: {answer.what}" if answer.what else answer.word)
    yield f"{first} [{answer.code}]" if answer.code else first
    for receipt in answer.receipts:
        yield f"  entry {receipt.number} of {receipt.case}"
    if answer.mend:
        yield f"  {harmless(answer.mend)}"
    if answer.missing:
        yield f"  still missing: {len(answer.missing)}"
    for line in answer.missing:
        yield f"    {harmless(line)}"
    for line in answer.relabel:
        yield f"  print a new label: {harmless(line)}"
    if answer.next_step:
        yield f"  next in {answer.case}: {harmless(answer.next_step)}"


def treatments(view: View) -> Iterator[str]:
    """The treatments under way, one a line."""
    for each in view.immersions:
        state = "may come out since" if each.over else "until"
        hours = f"{span(each.elapsed)} of {span(each.needed)}"
        yield f"  in solution: {harmless(each.words)} {each.thing}, {hours}, {state} {each.due}"


def span(seconds: float) -> str:
    """A span of time in hours and minutes: `1 h 05`."""
    minutes = int(seconds // 60)
    return f"{minutes // 60} h {minutes % 60:02d}"


class Tap:
    """Lines from a file descriptor, with time passing in between."""

    def __init__(self, descriptor: int) -> None:
        self._descriptor = descriptor
        self._buffer = b""
        self._ended = False

    def line(self, wait: float) -> str | None:
        """The next line without its end; None when none came in time; "" for an empty one.

        Raises:
            EOFError: nothing more will come.
        """
        if (found := self._cut()) is not None:
            return found
        if self._ended:
            raise EOFError
        if not select.select([self._descriptor], [], [], wait)[0]:
            return None
        data = os.read(self._descriptor, _MOST)
        self._buffer = (self._buffer + data.replace(b"\r", b"\n"))[-_MOST:]
        if not data:
            self._ended = True
            self._buffer += b"\n" if self._buffer else b""
        return self._cut()

    def _cut(self) -> str | None:
        line, end, rest = self._buffer.partition(b"\n")
        if not end:
            return None
        self._buffer = rest
        return line.decode("utf-8", "replace")


@contextmanager
def device(path: Path) -> Iterator[int]:
    """A scanner's serial device, or any file of lines.

    Raises:
        InputError: it cannot be opened.
    """
    try:
        descriptor = os.open(path, os.O_RDONLY | getattr(os, "O_NOCTTY", 0))
    except OSError as error:
        raise InputError(f"--scanner {path}: cannot be opened: {error.strerror}") from None
    try:
        yield descriptor
    finally:
        os.close(descriptor)


def run(desk: Desk, descriptor: int, say: Callable[[str], None]) -> None:
    """Take scans until there are no more of them.

    Args:
        desk: the station.
        descriptor: where the scans come from, one a line.
        say: prints a line and lets it out at once.
    """
    tap = Tap(descriptor)
    _say(desk.answer, say)
    desk.warm()
    while desk.look():
        pass
    _say_treatments(desk, say)
    while True:
        _echo(descriptor, on=not desk.view().pin)
        try:
            text = tap.line(_WAIT)
        except EOFError:
            return
        answer = desk.scan(text) if text else desk.tick()
        if answer is not None:
            _say(answer, say)
        elif text and text.strip():
            say(ONCE)
        desk.look()
        if answer is not None and answer.receipts:
            _say_treatments(desk, say)


def _say_treatments(desk: Desk, say: Callable[[str], None]) -> None:
    for line in treatments(desk.view()):
        say(line)


def _echo(descriptor: int, *, on: bool) -> None:
    """Show what is typed at a terminal, or not: a PIN never."""
    if os.isatty(descriptor):
        import termios  # noqa: PLC0415 - a pipe has no echo, and not every system has this

        settings = termios.tcgetattr(descriptor)
        if bool(settings[3] & termios.ECHO) is not on:
            settings[3] = settings[3] | termios.ECHO if on else settings[3] & ~termios.ECHO
            termios.tcsetattr(descriptor, termios.TCSANOW, settings)


def _say(answer: Answer, say: Callable[[str], None]) -> None:
    bell = "\a" * len(BELLS[answer.tone]) if sys.stdout.isatty() else ""
    loud = "!!! " if answer.tone is Tone.WRONG_CASE else ""
    first, *rest = told(answer)
    say(f"{bell}{loud}{first}")
    for line in rest:
        say(line)
