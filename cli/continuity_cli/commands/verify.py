"""`continuity verify`: is the record sound? Computed from its bytes, trusting no keeper."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from continuity.audit.dossier import reading
from continuity.audit.verify import verify
from continuity.errors import InputError
from continuity.store.sqlite import SqliteStore
from continuity_cli import options
from continuity_cli.plain import harmless
from continuity_cli.printing import show, show_json
from continuity_cli.statuses import WANTING, YES
from continuity_cli.trusting import content_of, from_outside, with_guard
from continuity_cli.words import titled

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from continuity.audit.dossier.verdict import Report as Dossiers
    from continuity.audit.report import Finding, Report
    from continuity.audit.trust import Trust
    from continuity_cli.paths import Files

TOLD_EVERY = 1000
"""Entries between two words of progress."""


@click.command()
@click.argument("file", required=False, type=options.PATH)
@click.option(
    "--since",
    type=click.Path(path_type=Path),
    help="A checkpoint up to which it was verified before: go only through what came after.",
)
@from_outside
@options.as_json
@options.register
def command(
    files: Files,
    file: Path | None,
    trust: Trust,
    *,
    since: Path | None,
    as_json: bool,
) -> int:
    """Verify a register, or a dossier: bytes, signatures, keys, chains, tree and tables.

    FILE is the register or the dossier; without it, the register that --register names. What the
    verdict rests on and what nobody can know is said with it. Give --key or a --checkpoint from
    elsewhere: without them the register's own word for its key is taken. A guard that is named is
    such a checkpoint. The exit status is 0 only if it is sound.
    """
    report: Report | Dossiers
    if file is not None and file.is_file() and reading.is_dossier(file):
        if since is not None:
            raise InputError("--since: a dossier is verified whole; leave it out")
        report = reading.verify(reading.read_file(file), trust)
    else:
        start = content_of("--since", since) if since else None
        if files.guard is not None:
            trust = with_guard(trust, files.guard)
        with SqliteStore.open(file or files.register) as store:
            report = verify(store, trust, since=start, progress=_progress())
    if as_json:
        show_json(report.as_json())
    else:
        show(screen(report))
    return YES if report.sound else WANTING


def _progress() -> Callable[[int, int], None] | None:
    """Words of progress on standard error, where somebody watches."""
    if not sys.stderr.isatty():
        return None

    def tell(done: int, size: int) -> None:
        if done == size or done % TOLD_EVERY == 0:
            click.echo(f"\rverified {done} of {size}", nl=done == size, err=True)

    return tell


def screen(report: Report | Dossiers) -> Iterator[str]:
    """A verdict as a person reads it: what it says, what is wrong, and what it rests on."""
    mark, colour = ("=", "green") if report.sound else ("X", "red")
    word = "SOUND" if report.sound else "NOT SOUND"
    line = f"{mark * 3}   {word}   {mark * 3}"
    for text in (mark * len(line), line, mark * len(line)):
        yield click.style(text, fg=colour, bold=True)
    yield harmless(report.words)
    yield from titled(f"findings ({len(report.findings) + report.more})", _findings(report))
    yield from titled("rests on", map(harmless, report.rests_on))
    yield from titled("cannot be known from here", report.as_json()["unknown"])


def _findings(report: Report | Dossiers) -> Iterator[str]:
    for finding in report.findings:
        yield f"{click.style(finding.code, bold=True)} ({finding.weight.value}){_where(finding)}"
        yield f"    {harmless(finding.sentence)}"
    if report.more:
        yield f"and {report.more} more"


def _where(finding: Finding) -> str:
    at = f" at position {finding.position}" if finding.position is not None else ""
    case = finding.name or finding.case
    number = f" entry {finding.number}" if finding.number is not None else ""
    return f"{at}, case {harmless(case)}{number}" if case else at
