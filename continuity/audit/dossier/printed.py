"""The dossier as PDF, for a file of papers: the same story, drawn by the same hand as the page.

Paper checks nothing. Every sheet bears the digest of the machine part it was printed from, so that
a print can be held against the file.
"""

from __future__ import annotations

from hashlib import sha256
from itertools import chain
from typing import TYPE_CHECKING

from reportlab.lib.units import mm
from reportlab.platypus import Spacer

from continuity.audit.dossier.brief import brief, gaps, who_is_who
from continuity.audit.dossier.figures import ORIGINS
from continuity.audit.dossier.paper import (
    CLAY,
    MOSS,
    SOFT,
    Sheet,
    lines,
    long,
    table,
    typeface,
    words,
    write_pdf,
)
from continuity.audit.dossier.story import tell
from continuity.audit.dossier.tables import clock
from continuity.audit.dossier.timeline import draw_timeline
from continuity.audit.dossier.tree import draw_tree
from continuity.audit.report import UNKNOWN
from continuity.care.things import natural
from continuity.ledger import merkle

if TYPE_CHECKING:
    from collections.abc import Iterator

    from reportlab.platypus import Flowable

    from continuity.audit.dossier.details import Detail
    from continuity.audit.dossier.story import Story
    from continuity.audit.dossier.what import Dossier


def write_printed(dossier: Dossier) -> bytes:
    """Write a dossier's printed page as PDF.

    Raises:
        FormatError: Its entries cannot be read.
    """
    typeface()
    story = tell(dossier)
    digest = sha256(dossier.encode()).hexdigest()
    title = f"Dossier of case {story.case.number}"
    return write_pdf(
        _contents(story),
        title=title,
        author=story.house.firm,
        creator=dossier.made_with,
        foot=f"{title}, machine part SHA-256 {digest}",
    )


def _contents(story: Story) -> Iterator[Flowable]:
    yield from _masthead(story)
    yield from _head("In brief")
    yield from _brief(story)
    yield from _head("Personal details")
    yield (
        table(
            ("Entry", "Detail", "What this print says"),
            ((str(d.entry), d.field.replace("-", " "), _state(d)) for d in story.details),
            (12, 40, 126),
        )
        if story.details
        else words("No personal details were recorded.", 8.5, colour=SOFT)
    )
    yield from _head("Things and their descent")
    yield Sheet(draw_tree(story))
    yield Spacer(0, 3 * mm)
    yield _things(story)
    yield from _head("Places and custody")
    yield Sheet(draw_timeline(story))
    yield from _custody(story)
    yield from _head("What happened")
    yield from _history(story)
    yield from _head("Photographs and papers, by SHA-256")
    yield (
        table(
            ("Entry", "What", "SHA-256"),
            ((str(p.entry), p.what, p.digest) for p in story.papers),
            (12, 30, 136),
        )
        if story.papers
        else words("The entries name no photograph and no paper.", 8.5, colour=SOFT)
    )
    yield from _head("Closing check")
    yield from _closing(story)
    yield from _head("Proof and keys")
    yield from _proof(story)
    yield from _head("Every entry, verbatim")
    yield from _verbatim(story)


def _masthead(story: Story) -> Iterator[Flowable]:
    yield words(story.house.firm or "A firm that is not named", 8.5, colour=MOSS)
    yield words(f"Dossier of case {story.case.number}", 20, bold=True)
    yield words(
        f"Made {clock(story.dossier.made_at)} with {story.dossier.made_with}, from the"
        f" {len(story.entries)} entries of this case in the register {story.dossier.register}.",
        8.5,
        colour=SOFT,
    )
    yield Spacer(0, 2 * mm)
    yield words(
        "A print checks nothing. The file it was printed from does: continuity verify FILE. No file"
        f" can show {'; '.join(UNKNOWN)}.",
        8.5,
    )


def _brief(story: Story) -> Iterator[Flowable]:
    said = ((name, one if isinstance(one, str) else _state(one)) for name, one in brief(story))
    yield table((), said, (40, 138))


def _state(detail: Detail) -> str:
    if detail.value is not None:
        return f"{detail.value} (disclosed)"
    if detail.erased:
        return f"erased by entry {detail.erased.by}; ground: {detail.erased.ground}"
    return "withheld by whoever made this print"


def _things(story: Story) -> Flowable:
    things = sorted(story.case.things.values(), key=lambda thing: natural(thing.id))
    return table(
        ("Number", "What", "Came from", "Entry", "Where now"),
        (
            (
                thing.id,
                f"{thing.form.value if thing.form else thing.what.value}: {thing.description}",
                ", ".join(thing.parents) or ORIGINS.get(thing.receipt, "received"),
                str(thing.came.number),
                story.names.where(thing.where),
            )
            for thing in things
        ),
        (27, 56, 27, 12, 56),
    )


def _custody(story: Story) -> Iterator[Flowable]:
    yield words("Gaps in custody", 9, bold=True)
    broken = gaps(story)
    for gap in broken or ["None found in the entries."]:
        yield from long(gap, 8.5, colour=CLAY if broken else SOFT)


def _history(story: Story) -> Iterator[Flowable]:
    yield words(who_is_who(story), 8.5, colour=SOFT)
    for told in story.told:
        entry = told.entry
        yield words(
            f"{entry.number}   {clock(entry.occurred_at)}   {entry.kind}   by {entry.recorded_by}",
            8,
            bold=True,
            spaceBefore=4,
            keepWithNext=1,
        )
        if told.struck_by is not None:
            yield words(f"Struck by entry {told.struck_by}:", 8.5, colour=CLAY, keepWithNext=1)
        yield from long(told.words, 8.5)
        if told.late is not None:
            yield words(f"Recorded {told.late} minutes later.", 8.5, colour=SOFT)


def _closing(story: Story) -> Iterator[Flowable]:
    yield words(f"{story.verdict.words}, as of {clock(story.dossier.made_at)}", 10, bold=True)
    for finding in story.verdict.findings:
        stops = "stops the closing" if finding.stops else "noted, does not stop it"
        yield words(f"{finding.code} ({stops})", 8.5, bold=True, spaceBefore=4, keepWithNext=1)
        yield from long(f"{finding.sentence}. What would mend it: {finding.mend}.", 8.5)


def _proof(story: Story) -> Iterator[Flowable]:
    note = story.dossier.checkpoint
    yield words("Checkpoint", 9, bold=True)
    yield from lines(note.decode() if note else "None was signed yet.")
    yield words("Register's key, as its own chain gives it", 9, bold=True)
    yield from lines(story.house.register_key)


def _verbatim(story: Story) -> Iterator[Flowable]:
    case = (
        ("Entry", number, one, told.entry.kind)
        for number, (one, told) in enumerate(zip(story.dossier.entries, story.told, strict=True))
    )
    own = (
        ("Register entry", number, one, one.entry.kind)
        for number, one in enumerate(story.dossier.register_entries)
    )
    index = story.dossier.index
    last = [("Case index entry", 0, index.entry, index.entry.entry.kind)] if index else []
    for name, number, one, kind in chain(case, own, last):
        yield words(
            f"{name} {number}, {kind}, position {one.position}, leaf"
            f" {merkle.leaf_hash(one.note).hex()}",
            6.5,
            bold=True,
            spaceBefore=5,
            keepWithNext=1,
        )
        yield from lines(one.note.decode())


def _head(text: str) -> Iterator[Flowable]:
    yield Spacer(0, 4 * mm)
    yield words(text, 12, bold=True, colour=MOSS, keepWithNext=1, spaceAfter=4)
