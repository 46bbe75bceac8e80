"""`continuity demo`: two invented cases told with these very commands, and a forgery caught."""

from __future__ import annotations

from pathlib import Path

import click

from continuity_cli.statuses import WANTING, YES
from continuity_demo.show import show

FOLDER = "demo-run"


@click.command()
@click.argument("folder", type=click.Path(path_type=Path), default=FOLDER)
def command(folder: Path) -> int:
    """Tell the story of two invented cases with the tool's own commands.

    FOLDER takes the register, every answer, a dossier and a forged copy of the register; it is
    made, and must be empty. Nobody in the story is real.
    """
    return YES if show(folder) else WANTING
