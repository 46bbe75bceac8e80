"""`continuity export`: a case in an open format: CSV, JSON Lines, W3C PROV or GS1 EPCIS."""

from __future__ import annotations

import sys
from contextlib import contextmanager
from pathlib import Path
from typing import IO, TYPE_CHECKING

import click

from continuity.audit.formats.casefile import read_case
from continuity.audit.formats.epcis import epcis_text
from continuity.audit.formats.prov import prov_text
from continuity.audit.formats.rows import csv_text, jsonl_text
from continuity.clock import now
from continuity.errors import InputError
from continuity_cli import options
from continuity_cli.asked import Asked
from continuity_cli.paths import opened
from continuity_cli.writing import new_file

if TYPE_CHECKING:
    from collections.abc import Iterator

    from continuity.audit.formats.casefile import CaseFile
    from continuity_cli.paths import Files

FORMATS = ("csv", "jsonl", "prov", "epcis")


@click.command()
@click.argument("case")
@click.option("--as", "form", type=click.Choice(FORMATS), required=True, help="The format.")
@click.option(
    "-o",
    "--output",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="Write it to this new file; else to standard output.",
)
@click.option(
    "--base",
    metavar="URL",
    help="For prov and epcis: a URL of the firm's own, under which the things' URIs lie.",
)
@options.register
def command(case: str, files: Files, form: str, output: Path | None, base: str | None) -> None:
    """Write a case's entries in an open format, struck ones marked.

    CASE is its number, one of its things, or a scanned label. No personal details are written,
    and no format but the dossier proves anything: see `continuity dossier`.
    """
    if base and form not in {"prov", "epcis"}:
        raise InputError(f"--base: {form} names nothing by a URL; leave it out")
    with opened(files) as register:
        file = read_case(register.store, Asked.of(register, case, None, None).case)
    with _target(output) as target:
        for text in _texts(file, form, base):
            target.write(text.encode())


def _texts(file: CaseFile, form: str, base: str | None) -> Iterator[str]:
    match form:
        case "csv":
            return csv_text(file)
        case "jsonl":
            return jsonl_text(file)
        case "prov":
            return prov_text(file, base)
        case _:
            return epcis_text(file, now(), base)


@contextmanager
def _target(output: Path | None) -> Iterator[IO[bytes]]:
    """Standard output, or a new file; one that was not finished is taken away again."""
    if output is None:
        yield sys.stdout.buffer
        return
    with new_file(output) as target:
        yield target
