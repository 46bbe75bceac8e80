"""`continuity timestamp`: an authority says by when a checkpoint was there (RFC 3161)."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from continuity.audit.anchors import attach_time_stamp, request_time_stamp
from continuity.errors import InputError
from continuity_cli import options
from continuity_cli.paths import opened
from continuity_cli.trusting import content_of
from continuity_cli.writing import write_new

if TYPE_CHECKING:
    from continuity_cli.paths import Files

_FILE = click.Path(path_type=Path)


@click.group()
def command() -> None:
    """Have a time-stamping authority say by when a checkpoint was there (RFC 3161).

    Any authority will do. `request` writes the query for the latest checkpoint; send it to the
    authority by whatever way it offers; `attach` keeps its answer. `verify --authority` counts it,
    and says until when its certificate can be checked.
    """


@command.command("request")
@click.option(
    "-o", "--output", required=True, type=_FILE, metavar="FILE", help="The new file to write."
)
@options.register
def _request(files: Files, output: Path) -> None:
    """Write the query, DER, for a time stamp of the latest checkpoint that was published."""
    with opened(files) as register:
        row = register.store.latest_checkpoint()
    if row is None:
        raise InputError("No checkpoint is published yet; publish one first.")
    write_new(output, request_time_stamp(row.note))
    click.echo(f"query for a time stamp of the checkpoint of {row.size} entries: {output}")


@command.command("attach")
@click.argument("answer", type=_FILE)
@click.option(
    "--authority",
    "authorities",
    required=True,
    multiple=True,
    type=_FILE,
    help="The authority's root certificate, PEM or DER; repeatable.",
)
@options.register
def _attach(files: Files, answer: Path, authorities: tuple[Path, ...]) -> None:
    """Keep the authority's ANSWER, DER, beside the checkpoint that it is a time stamp of."""
    data = content_of("ANSWER", answer)
    roots = [content_of("--authority", path) for path in authorities]
    with opened(files) as register:
        click.echo(attach_time_stamp(register.store, data, roots).words)
