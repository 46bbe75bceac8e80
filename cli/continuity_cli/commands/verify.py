"""`continuity verify`: is the record sound? Computed from its bytes, trusting no keeper."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from continuity.audit.dossier import reading
from continuity.audit.trust import Held, Trust
from continuity.audit.verify import verify
from continuity.errors import FormatError, InputError
from continuity.ledger.keys import VerifyKey
from continuity.store.sqlite import SqliteStore
from continuity_cli import options
from continuity_cli.plain import harmless
from continuity_cli.printing import show, show_json
from continuity_cli.statuses import WANTING, YES
from continuity_cli.words import titled

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator

    from continuity.audit.dossier.verdict import Report as Dossiers
    from continuity.audit.report import Finding, Report
    from continuity_cli.paths import Files

TOLD_EVERY = 1000
"""Entries between two words of progress."""


@click.command()
@click.argument("file", required=False, type=click.Path(path_type=Path))
@click.option(
    "--key",
    metavar="KEY|@FILE",
    help="The register's public key, as it was given out when the register was started.",
)
@click.option(
    "--checkpoint",
    "checkpoints",
    multiple=True,
    type=click.Path(path_type=Path),
    help="A signed checkpoint kept elsewhere; repeatable.",
)
@click.option(
    "--since",
    type=click.Path(path_type=Path),
    help="A checkpoint up to which it was verified before: go only through what came after.",
)
@click.option(
    "--policy",
    type=click.Path(path_type=Path),
    help="Key, witnesses and quorum as a C2SP tlog-policy; in place of --key.",
)
@options.as_json
@options.register
def command(
    files: Files,
    file: Path | None,
    *,
    key: str | None,
    checkpoints: tuple[Path, ...],
    since: Path | None,
    policy: Path | None,
    as_json: bool,
) -> int:
    """Verify a register, or a dossier: bytes, signatures, keys, chains, tree and tables.

    FILE is the register or the dossier; without it, the register that --register names. What the
    verdict rests on and what nobody can know is said with it. Give --key or a --checkpoint from
    elsewhere: without them the register's own word for its key is taken. The exit status is 0 only
    if it is sound.
    """
    trust = _trust(key, checkpoints, policy)
    report: Report | Dossiers
    if file is not None and reading.is_dossier(file):
        if since is not None:
            raise InputError("--since: a dossier is verified whole; leave it out")
        report = reading.verify(reading.read_file(file), trust)
    else:
        with SqliteStore.open(file or files.register) as store:
            start = _bytes("--since", since) if since else None
            report = verify(store, trust, since=start, progress=_progress())
    if as_json:
        show_json(report.as_json())
    else:
        show(screen(report))
    return YES if report.sound else WANTING


def _trust(key: str | None, checkpoints: Iterable[Path], policy: Path | None) -> Trust:
    """What was brought along from elsewhere."""
    held = tuple(Held(_bytes("--checkpoint", path), path.name) for path in checkpoints)
    if policy is not None:
        if key is not None:
            raise InputError("--key: --policy names the key already; give one of the two")
        named = _asked("--policy", policy, lambda: Trust.from_policy(_text("--policy", policy)))
        return Trust(
            register_key=named.register_key,
            held=held,
            witnesses=named.witnesses,
            quorum=named.quorum,
        )
    if key is None:
        return Trust(held=held)
    text = _text("--key", Path(key[1:])).strip() if key.startswith("@") else key
    return Trust(register_key=_asked("--key", key, lambda: VerifyKey.parse(text)), held=held)


def _asked(option: str, given: object, read: Callable[[], Any]) -> Any:
    try:
        return read()
    except FormatError as error:
        raise InputError(f"{option} {given}: {error}") from None


def _bytes(option: str, path: Path) -> bytes:
    try:
        return path.read_bytes()
    except OSError as error:
        raise InputError(f"{option} {path}: cannot be read: {error.strerror}") from None


def _text(option: str, path: Path) -> str:
    try:
        return _bytes(option, path).decode()
    except UnicodeDecodeError:
        raise InputError(f"{option} {path}: it is not UTF-8 text") from None


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
