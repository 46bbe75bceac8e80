"""`continuity dossier`: one case in one file that checks itself, for somebody who trusts nobody."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from continuity.audit.dossier.checking import check
from continuity.audit.dossier.details import details_of
from continuity.audit.dossier.making import Choice, make
from continuity.clock import now
from continuity.errors import InputError
from continuity_cli import options
from continuity_cli.asked import Asked
from continuity_cli.paths import opened
from continuity_cli.plain import harmless
from continuity_cli.printing import show_json
from continuity_cli.statuses import WANTING, YES
from continuity_cli.writing import write_new

if TYPE_CHECKING:
    from collections.abc import Iterator

    from continuity.audit.dossier.verdict import Report
    from continuity.audit.dossier.what import Dossier
    from continuity_cli.paths import Files


@click.command()
@click.argument("case")
@click.option(
    "-o",
    "--output",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="Write the page, HTML, to this new file.",
)
@click.option(
    "--pdf",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="Write the printed page to this new file; it checks nothing by itself.",
)
@click.option(
    "--json",
    "as_json",
    is_flag=True,
    help="Answer with the machine part, continuity-dossier/1; `continuity verify` reads it too.",
)
@click.option(
    "--disclose",
    "fields",
    metavar="FIELD",
    multiple=True,
    help="Show this personal detail, as in name; repeatable. Without it none is shown.",
)
@click.option("--disclose-all", is_flag=True, help="Show every personal detail that is kept.")
@options.register
def command(
    case: str,
    files: Files,
    *,
    output: Path | None,
    pdf: Path | None,
    fields: tuple[str, ...],
    disclose_all: bool,
    as_json: bool,
) -> int:
    """Write the dossier of a case: who, what, where, when, and everything that proves it.

    CASE is its number, one of its things, or a scanned label. It covers what the latest published
    checkpoint covers; what came later goes along, and is told to be not anchored. The exit status
    is 1 if what was written is not sound.
    """
    if output is None and pdf is None and not as_json:
        raise InputError("--output: name a file to write; or give --pdf FILE, or --json")
    with opened(files) as register:
        number = Asked.of(register, case, None, None).case
        choice = Choice(frozenset(fields), disclose_all)
        dossier = make(register.store, number, now(), choice)
    report = check(dossier)
    if output is not None:
        from continuity.audit.dossier.page import write_page  # noqa: PLC0415 - where it is asked for

        write_new(output, write_page(dossier))
    if pdf is not None:
        from continuity.audit.dossier.printed import write_printed  # noqa: PLC0415 - loads slowly

        write_new(pdf, write_printed(dossier))
    if as_json:
        _print(dossier.encode())
    for line in _told(number, [str(path) for path in (output, pdf) if path], dossier, report):
        click.echo(line, err=as_json)
    return YES if report.sound else WANTING


def _told(number: str, written: list[str], dossier: Dossier, report: Report) -> Iterator[str]:
    """What is in the file: how far it is proved, and which personal details it shows."""
    yield f"dossier of case {number}" + (f": {', '.join(written)}" if written else "")
    yield harmless(report.words)
    details = details_of(dossier, [entry for entry, _ in report.entries])
    for state in ("disclosed", "withheld", "erased"):
        names = sorted({detail.field for detail in details if detail.state == state})
        if names:
            yield f"personal details {state}: {', '.join(map(harmless, names))}"
    if dossier.checkpoint is None:
        yield "no checkpoint was published: nothing outside this register holds it in place"


def _print(machine_part: bytes) -> None:
    """To a program the very bytes; to a terminal the same value, in which nothing can drive it."""
    if sys.stdout.isatty():
        show_json(json.loads(machine_part))
    else:
        sys.stdout.flush()
        sys.stdout.buffer.write(machine_part + b"\n")
