"""Draws the things of a case and their descent: what came from what, and what was joined again."""

from __future__ import annotations

from typing import TYPE_CHECKING

from continuity.audit.dossier.drawing import WIDTH, Box, Dot, Drawing, Line, Mark, Text, shorten
from continuity.audit.dossier.visible import visible
from continuity.care.things import PartOf, ThingKind, natural

if TYPE_CHECKING:
    from collections.abc import Mapping

    from continuity.audit.dossier.story import Story
    from continuity.care.case import Thing

TOP = 42
ROW = 30
STEP = 26
LEFT = 18
DEEPEST = 9
"""Generations drawn one beside the other; later ones stand under the last."""
WHERE = 560
GUTTER = WIDTH - 8
SIZE = 13


def draw_tree(story: Story) -> Drawing:
    """Draw one row for each thing: a mark for its kind, its number, what it is, where it is."""
    rows = _rows(story)
    height = {thing.id: TOP + index * ROW for index, (thing, _) in enumerate(rows)}
    marks: list[Mark] = [
        Text(LEFT - 10, 14, "Thing, under what it came from", "head"),
        Text(WHERE, 14, "Where it is now", "head"),
        Line(((0, 20), (WIDTH, 20)), "rule"),
    ]
    lanes: dict[str, int] = {}
    for thing, depth in rows:
        marks += _row(story, thing, depth, height, lanes)
    joined = sum(isinstance(thing.where, PartOf) for thing, _ in rows)
    born = sum(bool(thing.parents) for thing, _ in rows)
    return Drawing(
        "Things and their descent",
        f"{len(rows)} things; {born} came from another of them, {joined} joined to another again."
        " The table below says the same in words.",
        TOP + len(rows) * ROW,
        tuple(marks),
    )


def _rows(story: Story) -> list[tuple[Thing, int]]:
    """Every thing once, under the first thing it came from, with its generation."""
    things = sorted(story.case.things.values(), key=lambda thing: natural(thing.id))
    children: dict[str, list[Thing]] = {}
    roots = []
    for thing in things:
        parent = next((p for p in thing.parents if p in story.case.things and p != thing.id), None)
        if parent is None:
            roots.append(thing)
        else:
            children.setdefault(parent, []).append(thing)
    rows: list[tuple[Thing, int]] = []
    seen: set[str] = set()
    waiting = [(thing, 0) for thing in reversed(roots)]
    while waiting or len(seen) < len(things):
        if not waiting:  # a loop of descent has no root: begin it somewhere
            waiting = [(next(t for t in things if t.id not in seen), 0)]
        thing, depth = waiting.pop()
        if thing.id in seen:
            continue
        seen.add(thing.id)
        rows.append((thing, depth))
        waiting += [(child, depth + 1) for child in reversed(children.get(thing.id, ()))]
    return rows


def _row(
    story: Story, thing: Thing, depth: int, height: Mapping[str, float], lanes: dict[str, int]
) -> list[Mark]:
    x, y = LEFT + min(depth, DEEPEST) * STEP, height[thing.id]
    marks: list[Mark] = []
    for parent in thing.parents:
        if parent in height and height[parent] < y:
            side = x - STEP
            marks.append(Line(((side, height[parent] + 7), (side, y), (x - 8, y)), "descent"))
    marks += _sign(thing, x, y)
    number = shorten(visible(thing.id), 110, SIZE)
    words = f"{thing.form.value if thing.form else thing.what.value}: {thing.description}"
    start = x + 16 + len(number) * SIZE * 0.62 + 8
    room = WHERE - 12 - start
    gone = "gone" if thing.gone else "words"
    marks += [
        Text(x + 16, y + 4, number, "number"),
        Text(start, y + 4, shorten(visible(words), room, SIZE), "words", room=room),
        Text(
            WHERE,
            y + 4,
            shorten(visible(story.names.where(thing.where)), GUTTER - 34 - WHERE, SIZE),
            gone,
            room=GUTTER - 34 - WHERE,
        ),
    ]
    if isinstance(thing.where, PartOf) and thing.where.thing in height:
        marks += _joined(y, height[thing.where.thing], lanes, thing.where.thing)
    return marks


def _joined(y: float, target: float, lanes: dict[str, int], to: str) -> list[Mark]:
    """A line at the right edge, back to what the thing was joined to."""
    lane = lanes.setdefault(to, len(lanes) % 4)
    x = GUTTER - lane * 6
    tip = x - 10
    return [
        Line(((GUTTER - 30, y), (x, y), (x, target), (GUTTER - 30, target)), "joined"),
        Line(((tip - 12, target - 4), (GUTTER - 30, target), (tip - 12, target + 4)), "arrow"),
    ]


def _sign(thing: Thing, x: float, y: float) -> list[Mark]:
    """A shape for each kind, told apart without colour."""
    solid, outline = "solid", "outline"
    signs: dict[ThingKind, list[Mark]] = {
        ThingKind.DECEDENT: [Dot(x, y, 7, outline), Dot(x, y, 3.5, solid)],
        ThingKind.CONTAINER: [Box(x - 6, y - 6, 12, 12, outline)],
        ThingKind.ASHES: [Box(x - 5, y - 5, 10, 10, solid)],
        ThingKind.SPECIMEN: [Dot(x, y, 5, outline)],
        ThingKind.EFFECT: [_shape((x, y - 7), (x + 7, y), (x, y + 7), (x - 7, y))],
        ThingKind.DEVICE: [_shape((x, y - 7), (x + 7, y + 5), (x - 7, y + 5))],
    }
    return signs.get(thing.what, [Dot(x, y, 5, solid)])


def _shape(*corners: tuple[float, float]) -> Line:
    return Line((*corners, corners[0]), "shape")
