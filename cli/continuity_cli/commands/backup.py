"""`continuity backup`: a copy of the register, made while work goes on, and read back."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from continuity.errors import InputError
from continuity.store.sqlite import SqliteStore, personal_path
from continuity_cli import options
from continuity_cli.answers.backup import answer
from continuity_cli.plain import harmless
from continuity_cli.printing import show_json

if TYPE_CHECKING:
    from pathlib import Path

    from continuity_cli.paths import Files


@click.command()
@click.argument("folder", type=options.PATH)
@options.register
@options.as_json
def command(files: Files, folder: Path, *, as_json: bool) -> None:
    """Copy the register and its personal details into FOLDER, as they are at one moment.

    Stations go on recording meanwhile. Every byte of the copy is read back before it is said to be
    done; one that stands there already is never overwritten. Key files and the guard are no part of
    it: keep copies of the keys elsewhere, and the guard where it is.
    """
    with SqliteStore.open(files.register) as store:
        try:
            folder.mkdir(mode=0o700, exist_ok=True)
        except FileNotFoundError:
            # Not made: the folder of a device that is not connected would come to lie on this disk.
            raise InputError(
                f"{folder}: the folder it should lie in does not exist; connect its device, or make"
                " it first"
            ) from None
        except (OSError, ValueError) as error:
            reason = getattr(error, "strerror", None) or error
            raise InputError(f"{folder}: this folder cannot be made: {reason}") from None
        copy = folder / files.register.name
        head = store.backup(copy)
    told = answer(copy, personal_path(copy), head)
    if as_json:
        show_json(told)
    else:
        click.echo(f"copied {told['size']} entries, and read them back: root {told['root']}")
        click.echo(harmless(told["register"]))
        click.echo(harmless(told["personal"]))
