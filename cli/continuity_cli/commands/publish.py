"""`continuity publish`: index the cases and sign a checkpoint, for others to keep."""

from __future__ import annotations

from contextlib import nullcontext
from pathlib import Path
from typing import TYPE_CHECKING

import click

from continuity_cli import options
from continuity_cli.paths import opened
from continuity_cli.signing import REGISTER
from continuity_cli.writing import new_file

if TYPE_CHECKING:
    from continuity_cli.paths import Files
    from continuity_cli.signing import Signing


@click.command()
@click.option(
    "-o",
    "--output",
    type=click.Path(path_type=Path, dir_okay=False),
    help="A file for the checkpoint; one that stands there already is never overwritten.",
)
@options.register
@options.signing
def command(files: Files, signing: Signing, output: Path | None) -> None:
    """Record the case index, and sign the checkpoint that covers it.

    Give the checkpoint to others, or print it: what lies outside is what makes rewriting show. The
    register's own key signs it, so its file must be in the keys folder.
    """
    with opened(files) as register, new_file(output) if output else nullcontext() as file:
        published = register.publish(signing.signatories(), signing.key(REGISTER))
        note = published.checkpoint.note
        if file is None:
            click.echo(note.decode(), nl=False)
        else:
            file.write(note)
    if output is not None:
        click.echo(f"checkpoint of {published.checkpoint.size} entries: {output}")
