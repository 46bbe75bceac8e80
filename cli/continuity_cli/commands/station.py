"""`continuity station`: a workplace worked by scans alone, full-screen or in plain lines."""

from __future__ import annotations

import shlex
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from continuity.register import Register
from continuity_cli import options
from continuity_cli.paths import keys_folder
from continuity_cli.station.desk import Desk

if TYPE_CHECKING:
    from continuity_cli.paths import Files

_WAIT = 2.0
"""Seconds to wait for another program's lock: somebody stands there with a bag in one hand."""


@click.command()
@click.option("--plain", is_flag=True, help="Plain lines: scans on standard input, answers out.")
@click.option(
    "--scanner",
    type=click.Path(path_type=Path),
    metavar="DEVICE",
    help="With --plain: read scans from this serial device, or file, one a line.",
)
@click.option(
    "--player",
    metavar="COMMAND",
    envvar="CONTINUITY_PLAYER",
    help="A program that plays a sound file, as in 'aplay -q'; else CONTINUITY_PLAYER, else the"
    " terminal's bell rings.",
)
@click.option(
    "--keys",
    "keys_given",
    type=click.Path(path_type=Path, file_okay=False),
    envvar="CONTINUITY_KEYS",
    help="The folder of key files; else CONTINUITY_KEYS, else one in the platform's data folder.",
)
@options.register
def command(
    files: Files, keys_given: Path | None, scanner: Path | None, player: str | None, *, plain: bool
) -> None:
    """Work by scans: badges, labels of things and places, and the action board.

    A scan is answered only when its entry is on the disk. The scanner ends each scan with Enter or
    Tab. Print badges, places and the board with `continuity label`. Ctrl+Q twice leaves.
    """
    if scanner and not plain:
        raise click.UsageError("--scanner goes with --plain; a full screen takes what is typed")
    register = Register.open(files.register, wait=_WAIT, guard=files.guard)
    with register.store:
        desk = Desk(register, keys_folder(keys_given))
        if plain:
            _plain(desk, scanner)
        else:
            _full_screen(desk, register.house().firm, player)


def _plain(desk: Desk, scanner: Path | None) -> None:
    from continuity_cli.station import lines  # noqa: PLC0415 - a full screen needs none of it

    def say(line: str) -> None:
        click.echo(line)
        sys.stdout.flush()

    if scanner is None:
        lines.run(desk, sys.stdin.fileno(), say)
        return
    with lines.device(scanner) as descriptor:
        lines.run(desk, descriptor, say)


def _full_screen(desk: Desk, firm: str, player: str | None) -> None:
    # Textual is read here alone, so that no other command, and no plain station, waits for it.
    from continuity_cli.station.screen import Station  # noqa: PLC0415
    from continuity_cli.station.sounds import Player  # noqa: PLC0415

    sounds = Player(shlex.split(player)) if player else None
    try:
        Station(desk, firm, sounds).run(mouse=False)
    finally:
        if sounds:
            sounds.close()
