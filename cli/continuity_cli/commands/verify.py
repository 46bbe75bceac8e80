"""`continuity verify`: is the record sound? Computed from its bytes, trusting no keeper."""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import click

from continuity.audit.dossier import reading
from continuity.audit.dossier.held import verify_receipt as of_dossier
from continuity.audit.dossier.page import write_page
from continuity.audit.receiptcheck import verify_receipt
from continuity.audit.receipts import Receipt
from continuity.audit.verify import verify
from continuity.errors import InputError
from continuity.store.sqlite import SqliteStore
from continuity_cli import options
from continuity_cli.plain import harmless
from continuity_cli.printing import show, show_json
from continuity_cli.statuses import WANTING, YES
from continuity_cli.trusting import content_of, from_outside, receipt_of, with_guard
from continuity_cli.words import titled
from continuity_cli.writing import write_new

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
@click.option(
    "--case", "case", metavar="NUMBER", help="Only this case; what that leaves out is said."
)
@click.option(
    "--receipt",
    "receipts",
    multiple=True,
    type=click.Path(path_type=Path, allow_dash=True),
    metavar="FILE|-",
    help="A receipt that somebody kept: its file, or on standard input what was scanned from its"
    " code; repeatable.",
)
@click.option(
    "--tell-anew",
    type=click.Path(path_type=Path, dir_okay=False),
    metavar="FILE",
    help="Write the page of a dossier whose entries are sound anew, as this program tells them, to"
    " this new file: for a page that was altered, or that another version told.",
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
    case: str | None,
    receipts: tuple[Path, ...],
    tell_anew: Path | None,
    as_json: bool,
) -> int:
    """Verify a register, or a dossier: bytes, signatures, keys, chains, tree and tables.

    FILE is the register or the dossier; without it, the register that --register names. What the
    verdict rests on and what nobody can know is said with it. Give --key or a --checkpoint from
    elsewhere: without them the register's own word for its key is taken. A guard that is named is
    such a checkpoint, and so is that of a receipt: whether today's register continues the one that
    gave it is said for each. The exit status is 0 only if it is sound, and the words of the
    dossier's page and of the receipts are those that the entries tell.
    """
    kept = [receipt_of(path) for path in receipts]
    held = [one.held if isinstance(one, Receipt) else one for one in kept]
    trust = replace(trust, held=(*trust.held, *held))
    if since is not None and case is not None:
        raise InputError("--since: one case is verified whole; leave it or --case out")
    report: Report | Dossiers
    if file is not None and file.is_file() and reading.is_dossier(file):
        if since is not None or case is not None:
            raise InputError("--since, --case: a dossier is of one case and verified whole")
        report = reading.verify(reading.read_file(file), trust)
        report.hold([of_dossier(one, report, trust) for one in kept])
        if tell_anew is not None:
            _tell_anew(report, tell_anew)
    elif tell_anew is not None:
        raise InputError("--tell-anew: it is for a dossier; name its file")
    else:
        start = content_of("--since", since) if since else None
        if files.guard is not None:
            trust = with_guard(trust, files.guard)
        with SqliteStore.open(file or files.register) as store:
            found = verify(store, trust, since=start, case=case, progress=_progress())
            report = found.holding(verify_receipt(one, store, trust) for one in kept)
    if as_json:
        show_json(report.as_json())
    else:
        show(screen(report))
    return YES if report.sound and report.words_hold else WANTING


def _tell_anew(report: Dossiers, path: Path) -> None:
    if report.entries_sound:
        write_new(path, write_page(report.dossier))
        click.echo(f"told anew by this program: {path}", err=True)
    else:
        click.echo("--tell-anew: what is not sound is not told; nothing was written", err=True)


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
    if report.sound and report.words_hold:
        mark, colour, word = "=", "green", "SOUND"
    elif report.sound:
        mark, colour, word = "?", "yellow", "ENTRIES SOUND, WORDS NOT RELIED ON"
    else:
        mark, colour, word = "X", "red", "NOT SOUND"
    line = f"{mark * 3}   {word}   {mark * 3}"
    for text in (mark * len(line), line, mark * len(line)):
        yield click.style(text, fg=colour, bold=True)
    yield harmless(report.words)
    yield from titled(f"findings ({len(report.findings) + report.more})", _findings(report))
    yield from titled("anchors", (harmless(anchor.words) for anchor in report.anchors))
    yield from titled("receipts", _receipts(report))
    yield from titled("rests on", map(harmless, report.rests_on))
    yield from titled("cannot be known from here", report.as_json()["unknown"])


def _receipts(report: Report | Dossiers) -> Iterator[str]:
    for receipt in report.receipts:
        yield harmless(f"{receipt.by}: {receipt.words}")
        if receipt.says is not None:
            yield "    told anew from the entry, to be compared with the paper:"
            yield from (f"    {harmless(line)}" for line in receipt.says.text.splitlines()[1:])


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
