"""continuity-label/1: what `label` answers."""

from __future__ import annotations

from typing import TYPE_CHECKING

from typing_extensions import TypedDict

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from pathlib import Path

    from continuity.recording import Receipt
    from continuity_cli.labelling.prints import Print

SHAPE = "continuity-label/1"


class LabelAnswer(TypedDict):
    """One label; `thing`, `case` and `entry` are None for a place, a badge or a holder."""

    code: str
    print: int
    what: str
    thing: str | None
    case: str | None
    entry: int | None
    stock: str
    module_micrometres: int
    level: str
    panels: list[str]


class Answer(TypedDict):
    """The files written, and the labels on them in their order."""

    shape: str
    files: list[str]
    labels: list[LabelAnswer]


def answer(prints: Sequence[Print], receipts: Iterable[Receipt], files: Iterable[Path]) -> Answer:
    """The labels as JSON."""
    recorded = iter(receipts)
    labels = []
    for each in prints:
        receipt = next(recorded) if each.thing else None
        labels.append(
            LabelAnswer(
                code=each.face.code.text,
                print=each.face.code.print_number,
                what=each.face.what,
                thing=each.thing,
                case=each.case,
                entry=receipt.number if receipt else None,
                stock=each.stock.name,
                module_micrometres=round(each.module_mm * 1000),
                level=each.level,
                panels=list(each.panels),
            )
        )
    return Answer(shape=SHAPE, files=[str(path) for path in files], labels=labels)
