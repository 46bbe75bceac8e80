"""`continuity demo`: an invented firm and two cases, told with these same commands."""

from __future__ import annotations

from importlib import import_module
from pathlib import Path
from typing import Any

import click

from continuity.errors import InputError


@click.command()
@click.argument("folder", type=click.Path(path_type=Path, file_okay=False), default="demo-run")
def command(folder: Path) -> int:
    """Tell two interleaved cases of an invented firm, from receipt to final disposition.

    The register, the answers and a tampered copy are written into FOLDER, which must not hold
    anything yet.
    """
    try:
        # By name: what tells a story with commands stands above them, and they never lean on it.
        told: Any = import_module("continuity_demo.telling")
    except ModuleNotFoundError as error:
        raise InputError(f"demo: it is not part of this installation ({error.name})") from None
    return int(told.tell(folder) or 0)
