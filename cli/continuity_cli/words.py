"""Times, things and tables as a person reads them."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING

import click

from continuity_cli.plain import harmless

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from continuity_cli.answers.things import ThingAnswer


def local(moment: datetime | str | None) -> str:
    """A time where this program runs, with its offset: `2026-03-01 14:05 +01:00`."""
    if moment is None:
        return ""
    given = datetime.fromisoformat(moment) if isinstance(moment, str) else moment
    try:
        here = given.astimezone()
    except (OverflowError, ValueError, OSError):  # at the calendar's ends not every zone has it
        here = given
    offset = f"{here:%z}"
    return f"{here:%Y-%m-%d %H:%M} {offset[:3]}:{offset[3:5]}"


def what(thing: ThingAnswer) -> str:
    """What a thing is: `coffin, oak coffin`."""
    return f"{thing['form'] or thing['organ'] or thing['what']}, {thing['description']}"


def where(thing: ThingAnswer) -> str:
    """Where a thing is, or how it left."""
    if thing["state"] == "inside":
        outer = thing["place"] and f"at {thing['place']}"
        return f"in {thing['within']}{', ' + outer if outer else ''}"
    became = ", ".join(thing["became"])
    on = f" on {thing['authority']}" if thing["authority"] else ""
    states = {
        "at-place": f"at {thing['place']}",
        "with-holder": f"with {thing['holder']}",
        "part-of": f"one with {became}",
        "divided": f"divided into {became}",
        "released": f"released{on}",
        "disposed": f"reached its disposition{on}",
        "discarded": "discarded, empty",
    }
    return states.get(thing["state"], "never seen here")


def held(thing: ThingAnswer) -> str:
    """Who answers for a thing."""
    if thing["holder"] is None:
        return ""
    return thing["holder"] + (", not signed for" if thing["signed_for"] is False else "")


def sighted(thing: ThingAnswer) -> str:
    """When a thing was last sighted, and how."""
    if thing["last_sighted"] is None:
        return "never sighted"
    return f"{'scanned' if thing['scanned'] else 'seen'} {local(thing['last_sighted'])}"


def closed(thing: ThingAnswer) -> str:
    """Whether a thing is shut, and under which seal."""
    if thing["shut"] is None:
        return ""
    return f"seal {thing['seal']}" if thing["seal"] else "closed" if thing["shut"] else "open"


def table(rows: Iterable[Sequence[str]], head: Sequence[str] = ()) -> Iterator[str]:
    """Rows as lines, each column as wide as it must be; columns with nothing in them are left out.

    Args:
        rows: cells; the spaces before a cell's text are kept, what follows is made harmless.
        head: what stands above the columns.
    """
    shown = [[_cell(text) for text in row] for row in rows]
    kept = [n for n, column in enumerate(zip(*shown, strict=True)) if any(column)]
    lines = [[row[n] for n in kept] for row in shown]
    above = [head[n] for n in kept] if head else []
    widths = [
        max(map(len, column)) for column in zip(*lines, *([above] if above else []), strict=True)
    ]
    if above and lines:
        yield click.style(_row(above, widths), bold=True)
    for line in lines:
        yield _row(line, widths)


def _cell(text: str) -> str:
    words = text.lstrip(" ")
    return text[: len(text) - len(words)] + harmless(words)


def _row(cells: Sequence[str], widths: Sequence[int]) -> str:
    return "  ".join(cell.ljust(w) for cell, w in zip(cells, widths, strict=True)).rstrip()


def titled(title: str, lines: Iterable[str]) -> Iterator[str]:
    """Lines under a title; nothing where there are none."""
    for number, text in enumerate(lines):
        if not number:
            yield ""
            yield click.style(title, bold=True)
        yield f"  {text}"
