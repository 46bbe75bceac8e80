"""continuity-plan/1: what `plan` answers."""

from __future__ import annotations

from typing import TYPE_CHECKING

from typing_extensions import TypedDict

from continuity_cli.answers.things import when

if TYPE_CHECKING:
    from collections.abc import Iterable

    from continuity.care.plan import Task
    from continuity_cli.asked import Asked

SHAPE = "continuity-plan/1"


class TaskAnswer(TypedDict):
    """One care step: what, on which thing, why and by which source, and how far it has come."""

    task: str
    thing: str
    words: str
    why: str
    source: str
    kind: str
    state: str
    due: str | None
    done: str | None


class Answer(TypedDict):
    """The care steps due, the next one first; then what was done."""

    shape: str
    case: str
    known_until: str | None
    happened_until: str | None
    tasks: list[TaskAnswer]


def answer(tasks: Iterable[Task], asked: Asked) -> Answer:
    """The plan as JSON."""
    return Answer(
        shape=SHAPE,
        case=asked.case,
        known_until=when(asked.known),
        happened_until=when(asked.happened),
        tasks=[
            TaskAnswer(
                task=task.what,
                thing=task.thing,
                words=task.words,
                why=task.why,
                source=task.source,
                kind=task.kind,
                state=task.state.value,
                due=when(task.due),
                done=when(task.done.at if task.done else None),
            )
            for task in tasks
        ],
    )
