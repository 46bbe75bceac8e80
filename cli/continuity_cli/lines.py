"""Intents as JSON Lines: each recorded or refused whole, and how many were is said."""

from __future__ import annotations

import sys
from contextlib import contextmanager
from typing import TYPE_CHECKING, BinaryIO

import click

from continuity.care.intent import MAX_BYTES, read_fields
from continuity.care.refusal import RefusedError
from continuity.errors import ContinuityError, InputError
from continuity_cli.given import intent_of
from continuity_cli.plain import harmless
from continuity_cli.statuses import YES

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from continuity.recording import Receipt, Signatory
    from continuity.register import Register


def record_lines(
    register: Register,
    source: str,
    signatories: Sequence[Signatory],
    tell: Callable[[Receipt], None],
    *,
    keep_going: bool,
) -> int:
    """Record each line of a file, or of standard input for `-`.

    Args:
        register: the open register.
        source: the file's path, or `-`.
        signatories: who records, and who signs as well.
        tell: called with each receipt, as soon as the entry is on the disk.
        keep_going: whether to go on behind a line that is wrong or refused.

    Returns:
        The exit status: of the first line that was not recorded, or 0.

    Raises:
        ContinuityError: the first line that was not recorded, unless `keep_going`; its sentence
            says which line it was, and how many were recorded before it.
    """
    status, recorded, failed = YES, 0, 0
    name = "standard input" if source == "-" else source
    with _opened(source) as file:
        for number, line in _lines(file):
            try:
                intent = intent_of(register, read_fields(line))
                tell(register.record(intent, signatories))
            except ContinuityError as error:
                told = f"{name} line {number}: {error}"
                if not (keep_going and isinstance(error, (InputError, RefusedError))):
                    error.args = (f"{told}; {recorded} recorded before it, none after",)
                    raise
                click.echo(f"continuity: {harmless(told)}", err=True)
                status, failed = status or error.status, failed + 1
            else:
                recorded += 1
    click.echo(f"{recorded} recorded, {failed} not", err=True)
    return status


def _lines(file: BinaryIO) -> Iterator[tuple[int, bytes]]:
    """Each line with its number, blank ones left out; an endless one is cut where it is wrong."""
    number = 0
    while line := file.readline(MAX_BYTES + 2):
        number += 1
        if line.strip():
            yield number, line.rstrip(b"\r\n")
        if not line.endswith(b"\n"):
            while (rest := file.readline(MAX_BYTES)) and not rest.endswith(b"\n"):
                pass


@contextmanager
def _opened(source: str) -> Iterator[BinaryIO]:
    if source == "-":
        yield sys.stdin.buffer
        return
    try:
        file = open(source, "rb")  # noqa: PTH123, SIM115 - as it was given; closed below
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or error
        raise InputError(f"{source}: cannot be read: {reason}") from None
    with file:
        yield file
