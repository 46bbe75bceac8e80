"""`continuity backup`: a copy of the register, made while work goes on, and read back."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from continuity.store.sqlite import SqliteStore, personal_path
from continuity_cli import options
from continuity_cli.answers.backup import answer
from continuity_cli.plain import harmless
from continuity_cli.printing import show_json
from continuity_cli.writing import new_folder

if TYPE_CHECKING:
    from pathlib import Path

    from continuity_cli.paths import Files


@click.command()
@click.argument("folder", type=options.PATH)
@options.register
@options.as_json
def command(files: Files, folder: Path, *, as_json: bool) -> None:
    """Copy the register and its personal details into a new FOLDER, as they are at one moment.

    Stations go on recording meanwhile. Every byte of the copy is read back before the folder bears
    its name, and one that is there is never overwritten. Key files and the guard are no part of it:
    keep copies of the keys elsewhere, and the guard where it is.
    """
    name = files.register.name
    with SqliteStore.open(files.register) as store, new_folder(folder) as made:
        head = store.backup(made / name)
    told = answer(folder / name, personal_path(folder / name), head)
    if as_json:
        show_json(told)
    else:
        click.echo(f"copied {told['size']} entries, and read them back: root {told['root']}")
        click.echo(harmless(told["register"]))
        click.echo(harmless(told["personal"]))
