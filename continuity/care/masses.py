"""Masses: between which published bounds the weight of an organ, a body or ashes is plausible.

The tables are data, in `masses.toml`, each row with its source.
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import TYPE_CHECKING, Any

from continuity.care.things import AgeGroup, Sex

if TYPE_CHECKING:
    from collections.abc import Iterator

_CHILDREN = (
    AgeGroup.UNDER_1,
    AgeGroup.FROM_1,
    AgeGroup.FROM_5,
    AgeGroup.FROM_10,
    AgeGroup.FROM_15,
)


@dataclass(frozen=True, slots=True)
class Bounds:
    """Between which masses a weight is plausible, in grams, and where that is published."""

    least: int
    most: int
    source: str


def bounds(organ: str, sex: Sex | None, group: AgeGroup | None, margin: int) -> Bounds | None:
    """The bounds for an organ of a person; None where nothing is published here.

    What is not known of the person widens the bounds to those of everybody it may be.

    Args:
        organ: `heart`, `liver`, `left kidney`, `kidneys`, `viscera` for the whole block, `body`.
        sex: the person's sex, where known.
        group: the person's age group, where known.
        margin: how far a child's organ may lie from the reference masses, in percent.
    """
    rows = list(_rows(organ.strip().lower(), sex, group, margin))
    if not rows:
        return None
    sources = "; ".join(dict.fromkeys(row.source for row in rows))
    return Bounds(min(row.least for row in rows), max(row.most for row in rows), sources)


def cremated() -> Bounds:
    """The bounds for the cremated remains of an adult."""
    row = _tables()["cremated"]
    return Bounds(row["least"], row["most"], row["source"])


def _rows(organ: str, sex: Sex | None, group: AgeGroup | None, margin: int) -> Iterator[Bounds]:
    if group in (None, AgeGroup.ADULT):
        for row in _tables()["range"]:
            if row["organ"] == organ and sex in (None, row["sex"]):
                yield Bounds(row["least"], row["most"], row["source"])
    for row in _tables()["reference"]:
        for index, child in enumerate(_CHILDREN):
            if row["organ"] == organ and group in (None, child):
                young, old = row["grams"][index : index + 2]
                least, most = young * (100 - margin) // 100, old * (100 + margin) // 100
                yield Bounds(least, most, row["source"])


@cache
def _tables() -> dict[str, Any]:
    text = resources.files("continuity.care").joinpath("masses.toml").read_text("utf-8")
    return tomllib.loads(text)
