"""`continuity plan`: the care steps a case's condition and disposition ask for, the next first."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from continuity_cli import options
from continuity_cli.answers.plan import answer
from continuity_cli.asked import Asked
from continuity_cli.paths import opened
from continuity_cli.printing import show, show_json
from continuity_cli.words import local, table, titled

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import datetime

    from continuity_cli.answers.plan import Answer, TaskAnswer
    from continuity_cli.paths import Files


@click.command()
@click.argument("case")
@options.at_a_moment
@options.as_json
@options.register
def command(
    case: str,
    files: Files,
    known: datetime | None,
    happened: datetime | None,
    *,
    as_json: bool,
) -> None:
    """Show the care steps that are due for a case, the next one first, and why.

    CASE is its number, one of its things, or a scanned label. The steps are common practice; local
    codes, safety data sheets and licensed practice decide.
    """
    with opened(files) as register:
        asked = Asked.of(register, case, known, happened)
        tasks = register.plan(asked.case, known_until=known, happened_until=happened)
    told = answer(tasks, asked)
    if as_json:
        show_json(told)
    else:
        show(_screen(told, asked))


def _screen(told: Answer, asked: Asked) -> Iterator[str]:
    yield click.style(f"case {told['case']}", bold=True) + f", {asked.words}"
    ahead = [task for task in told["tasks"] if task["state"] != "done"]
    done = [task for task in told["tasks"] if task["state"] == "done"]
    if not ahead:
        yield "no care step is due"
    yield from titled("due, the next first", table(map(_row, ahead)))
    yield from titled("done", table(map(_row, done)))


def _row(task: TaskAnswer) -> tuple[str, ...]:
    due = f"until {local(task['due'])}" if task["due"] else ""
    moment = local(task["done"]) if task["done"] else due
    return (
        task["state"],
        task["thing"],
        task["words"],
        moment,
        f"{task['why']} ({task['source']})",
        f"record {task['kind']}" if task["state"] != "done" else "",
    )
