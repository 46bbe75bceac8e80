"""For each finding the smallest histories that raise it, and the nearest that do not.

A history is a function that builds a `World`. What it raises is stated beside it; the sentences
as a director reads them stand in `findings.json`.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from tests.care.history import CASE, World

if TYPE_CHECKING:
    from collections.abc import Callable


@dataclass(frozen=True)
class History:
    """One history: about which code, what the check then finds, and how it is asked."""

    code: str
    name: str
    build: Callable[[World], object]
    finds: tuple[str, ...]
    case: str = CASE
    ask: dict[str, object] = field(default_factory=dict)

    @property
    def raises(self) -> bool:
        return self.code in self.finds

    def world(self) -> World:
        world = World()
        self.build(world)
        return world


HISTORIES: list[History] = []


def raises(code: str, *also: str, case: str = CASE, **ask: object) -> Callable:
    """The history raises this code, and of others only those named, as often as named."""

    def enter(build: Callable[[World], object]) -> Callable[[World], object]:
        finds = tuple(sorted((code, *also)))
        HISTORIES.append(History(code, build.__name__, build, finds, case, ask))
        return build

    return enter


def spares(code: str, *others: str, case: str = CASE, **ask: object) -> Callable:
    """The history does not raise this code; it raises only those named."""

    def enter(build: Callable[[World], object]) -> Callable[[World], object]:
        HISTORIES.append(History(code, build.__name__, build, tuple(sorted(others)), case, ask))
        return build

    return enter


def part(**fields: object) -> dict[str, object]:
    return {"what": "part", "description": "left hand", **fields}


def device(**fields: object) -> dict[str, object]:
    return {"what": "device", "description": "steel plate", **fields}


def effect(**fields: object) -> dict[str, object]:
    return {"what": "effect", "description": "plain ring", **fields}


def bag(**fields: object) -> dict[str, object]:
    return {"what": "container", "form": "bag", "description": "clear bag", **fields}


def viscera(**fields: object) -> dict[str, object]:
    return {"what": "viscera", "description": "viscera", **fields}
