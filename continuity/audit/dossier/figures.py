"""The drawings on the page, and the same in words: things and their descent, places and custody."""

from __future__ import annotations

from typing import TYPE_CHECKING

from continuity.audit.dossier.brief import gaps
from continuity.audit.dossier.markup import h, svg
from continuity.audit.dossier.tables import fold, moment, table
from continuity.audit.dossier.timeline import draw_timeline
from continuity.audit.dossier.tree import draw_tree
from continuity.care.things import natural

if TYPE_CHECKING:
    from xml.etree.ElementTree import Element

    from continuity.audit.dossier.story import Story
    from continuity.care.case import Thing

ORIGINS = {
    "provided": "provided by the firm",
    "missing": "declared, never seen",
    "extra": "received, not declared",
    "retained": "kept by the examiner",
    "associated": "associated from another case",
}
"""How a thing came, where it did not come from another: by its `receipt`."""


def things(story: Story) -> list[Element]:
    """The things of the case, drawn and in a table."""
    every = sorted(story.case.things.values(), key=lambda thing: natural(thing.id))
    return [
        h("figure", svg(draw_tree(story), "tree")),
        h(
            "p",
            "A ring with a dot is the decedent; a dot, remains; a ring, a specimen; a square, a"
            " container; a diamond, an effect; a triangle, a device. A line leads down from a thing"
            " to what came from it; a broken line leads back to what a thing was joined to.",
            class_="aside",
        ),
        fold(
            "The same as a table",
            table(
                "Things of the case",
                ("Number", "What", "Came from", "Entry", "Seal", "Last sighting", "Where now"),
                (_thing(story, thing) for thing in every),
            ),
        ),
    ]


def _thing(story: Story, thing: Thing) -> list[Element | str]:
    seen = thing.last_sighting
    how = " by scan" if seen and seen.scanned else ""
    kind = thing.form.value if thing.form else thing.what.value
    return [
        h("span", thing.id, class_="nowrap"),
        f"{kind}: {thing.description}",
        ", ".join(thing.parents) or ORIGINS.get(thing.receipt, "received"),
        str(thing.came.number),
        thing.seal or ("closed" if thing.shut else ""),
        moment(seen.moment.at if seen else None) + how,
        story.names.where(thing.where),
    ]


def time(story: Story) -> list[Element]:
    """Where each thing was and who held it, drawn and in tables; the gaps in words."""
    drawing = draw_timeline(story)
    broken = gaps(story)
    return [
        h("figure", svg(drawing, "timeline")),
        h("h3", "Gaps in custody"),
        h("ul", [h("li", words) for words in broken], class_="gaps")
        if broken
        else h("p", "None found in the entries."),
        fold(
            "Who held what, as a table",
            table(
                "Custody of each thing",
                ("Thing", "Holder", "From", "Until", "Entry"),
                (
                    [
                        story.names.thing(holding.thing),
                        story.names.holder(holding.holder),
                        moment(holding.since.at),
                        moment(holding.until.at) if holding.until else "now",
                        str(holding.entry),
                    ]
                    for holding in sorted(
                        story.custody.holdings, key=lambda one: (natural(one.thing), one.since)
                    )
                ),
            ),
        ),
        fold(
            "Where each thing was, as a table",
            table(
                "Places of each thing",
                ("Thing", "Where", "From", "Until", "Entry"),
                (
                    [
                        story.names.thing(stay.thing),
                        story.names.where(stay.where),
                        moment(stay.since.at),
                        moment(stay.until.at) if stay.until else "now",
                        str(stay.since.number),
                    ]
                    for stay in story.stays
                ),
            ),
        ),
    ]
