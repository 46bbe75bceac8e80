"""Draws where each thing was, when, and who held it; where nobody answered, a gap is drawn.

Time runs from left to right and is drawn in together where nothing was recorded; how long such a
stretch lasted stands above it.
"""

from __future__ import annotations

from itertools import pairwise
from math import log2
from typing import TYPE_CHECKING

from continuity.audit.dossier.drawing import WIDTH, Box, Drawing, Line, Mark, Text, shorten
from continuity.audit.dossier.visible import visible
from continuity.care.things import AtPlace, Inside, PartOf, Unseen, WithHolder, natural

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from datetime import datetime

    from continuity.audit.dossier.story import Stay, Story
    from continuity.care.things import Whereabouts

    Across = Callable[[datetime], float]

LEFT = 178
TOP = 50
ROW = 26
BAR = 14
SIZE = 11
LONG = 6 * 60
"""Minutes without any entry from which on the stretch is named."""
APART = 58
"""Least distance between two dates, in units."""
NOW = 84
"""Width kept free at the right for what lasts, in units."""
NARROW = 24
"""Least width of a stretch that is named, or of a bar with words on it, in units."""


def draw_timeline(story: Story) -> Drawing:
    """Draw one lane for each thing of the case."""
    lanes = sorted({stay.thing for stay in story.stays}, key=natural)
    row = {thing: TOP + index * ROW for index, thing in enumerate(lanes)}
    moments = sorted({event.occurred_at for event in story.events})
    across = _scale(moments)
    height = TOP + len(lanes) * ROW + 46
    marks: list[Mark] = [*_dates(moments, across, TOP + len(lanes) * ROW)]
    for thing in lanes:
        marks += _name(story, thing, row[thing])
    gaps = 0
    for stay in story.stays:
        marks += _bar(stay, row[stay.thing], across)
        gaps += _is_gap(stay)
    marks += _sightings(story, row, across)
    for broken in story.custody.broken:
        if broken.thing in row:
            x, y = across(broken.moment.at), row[broken.thing]
            marks.append(Line(((x, y - 3), (x, y + BAR + 3)), "break"))
            gaps += 1
    marks += _legend(TOP + len(lanes) * ROW + 24)
    days = len({moment.date() for moment in moments})
    summary = (
        f"{len(lanes)} things over {days} days; {gaps} gaps or breaks in custody."
        " The tables below say the same in words."
    )
    return Drawing("Places and custody in time", summary, height, tuple(marks))


def _scale(moments: list[datetime]) -> Across:
    """Where each moment is drawn: far apart where much time passed, but not as far as it was."""
    places = {moments[0]: 0.0} if moments else {}
    for before, after in pairwise(moments):
        minutes = (after - before).total_seconds() / 60
        places[after] = places[before] + 1 + log2(1 + minutes / 5)
    longest = max(places.values(), default=0) or 1
    usable = WIDTH - LEFT - NOW
    return lambda moment: LEFT + places.get(moment, longest) / longest * usable


def _dates(moments: list[datetime], across: Across, bottom: float) -> list[Mark]:
    marks: list[Mark] = [Line(((LEFT, TOP - 8), (WIDTH, TOP - 8)), "rule")]
    last = float(-APART)
    for before, moment in zip([None, *moments], moments, strict=False):
        x = across(moment)
        if before is None or before.date() != moment.date():
            marks.append(Line(((x, TOP - 14), (x, bottom)), "day"))
            if x - last >= APART and x <= WIDTH - APART:
                marks.append(Text(x, TOP - 18, f"{moment:%Y-%m-%d}", "date"))
                last = x
        if before is not None:
            minutes = int((moment - before).total_seconds() // 60)
            if minutes >= LONG and x - across(before) > NARROW:
                middle = (x + across(before)) / 2
                marks.append(Text(middle, TOP - 34, f"{_span(minutes)} silent", "span", "middle"))
    return marks


def _span(minutes: int) -> str:
    hours = minutes // 60
    return f"{hours} h" if hours < 3 * 24 else f"{hours // 24} d"


def _name(story: Story, thing_id: str, y: float) -> list[Mark]:
    thing = story.case.things.get(thing_id) or story.case.parted.get(thing_id)
    item = visible(thing_id.rpartition(".")[2])
    number = f".{item}" if thing_id.startswith(f"{story.case.number}.") else visible(thing_id)
    words = visible(thing.description) if thing else ""
    indent = 8 + len(number) * SIZE * 0.64
    return [
        Text(0, y + BAR - 3, number, "number"),
        Text(indent, y + BAR - 3, shorten(words, LEFT - 10 - indent, SIZE), "lane"),
        Line(((LEFT, y + BAR + 5), (WIDTH, y + BAR + 5)), "faint"),
    ]


def _is_gap(stay: Stay) -> bool:
    where = stay.where
    return isinstance(where, Unseen) or (isinstance(where, WithHolder) and not where.accepted)


def _bar(stay: Stay, y: float, across: Across) -> list[Mark]:
    x = across(stay.since.at)
    end = across(stay.until.at) if stay.until else WIDTH
    look, words = _look(stay.where)
    if look == "end":
        return [
            Line(((x, y), (x, y + BAR)), "end"),
            Text(x + 5, y + BAR - 3.5, shorten(words, WIDTH - x - 5, 9.5), "tiny"),
        ]
    width = max(end - x - 1, 1.5)
    marks: list[Mark] = [Box(x, y, width, BAR, look, 2, words)]
    if width > NARROW:
        label = shorten(words, width - 8, 9.5)
        marks.append(Text(x + 5, y + BAR - 3.5, label, f"on-{look}", room=width - 6))
    return marks


def _look(where: Whereabouts) -> tuple[str, str]:
    match where:
        case AtPlace(place):
            return "place", visible(place)
        case Inside(thing):
            return "inside", f"in {_short(thing)}"
        case WithHolder(holder, accepted):
            signed = "" if accepted else ", not signed"
            return "holder" if accepted else "gap", f"{visible(holder)}{signed}"
        case PartOf(thing):
            return "end", f"joined to {_short(thing)}"
        case Unseen():
            return "gap", "not seen"
        case _:
            return "end", type(where).__name__.lower()


def _short(thing: str) -> str:
    return f".{visible(thing.rpartition('.')[2])}"


def _sightings(story: Story, row: Mapping[str, float], across: Across) -> list[Mark]:
    marks: list[Mark] = []
    for thing in story.case.things.values():
        for sighting in thing.sightings:
            if sighting.scanned and thing.id in row:
                x, y = across(sighting.moment.at), row[thing.id]
                marks.append(Line(((x, y + BAR), (x, y + BAR + 5)), "sighting"))
    return marks


def _legend(y: float) -> list[Mark]:
    marks: list[Mark] = []
    x = 0.0
    for look, words in (
        ("place", "at a place of the firm"),
        ("inside", "inside another thing"),
        ("holder", "with a holder outside"),
        ("gap", "gap: not signed, or not seen"),
        ("sighting", "label scanned"),
        ("break", "break in custody"),
    ):
        wide = look not in ("sighting", "break")
        marks.append(
            Box(x + 1, y, 22, BAR, look) if wide else Line(((x + 6, y + 3), (x + 6, y + BAR)), look)
        )
        marks.append(Text(x + (29 if wide else 12), y + BAR - 3.5, words, "tiny"))
        x += (38 if wide else 24) + len(words) * 5.5
    return marks
