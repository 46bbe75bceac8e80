"""Answers go to standard output: for a person as lines, for a program as JSON."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    from collections.abc import Iterable


def show(lines: Iterable[str]) -> None:
    """Print lines as they come."""
    for line in lines:
        click.echo(line)


def show_json(answer: Any) -> None:
    """Print one JSON document, in which nothing can drive a terminal: it is all ASCII."""
    click.echo(json.dumps(answer, indent=2))
