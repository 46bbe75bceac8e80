"""What stands on the page, part by part, in the order in which a stranger asks."""

from __future__ import annotations

from typing import TYPE_CHECKING

from continuity.audit.dossier import proofs
from continuity.audit.dossier.markup import h, svg
from continuity.audit.dossier.timeline import draw_timeline
from continuity.audit.dossier.tree import draw_tree
from continuity.audit.report import UNKNOWN
from continuity.care.things import natural

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import datetime
    from xml.etree.ElementTree import Element

    from continuity.audit.dossier.details import Detail
    from continuity.audit.dossier.story import Story, Told
    from continuity.care.case import Thing

CONTENTS = (
    ("brief", "In brief"),
    ("persons", "Personal details"),
    ("things", "Things and their descent"),
    ("time", "Places and custody"),
    ("history", "What happened"),
    ("papers", "Photographs and papers"),
    ("closing", "Closing check"),
    ("entries", "Every entry, verbatim"),
    ("proof", "Proof and keys"),
)

ORIGINS = {
    "provided": "provided by the firm",
    "missing": "declared, never seen",
    "extra": "received, not declared",
    "retained": "kept by the examiner",
    "associated": "associated from another case",
}
"""How a thing came, where it did not come from another: by its `receipt`."""


def masthead(story: Story) -> Element:
    """Whose record it is, and of which case."""
    return h(
        "header",
        h("p", story.house.firm or "A firm that is not named", class_="firm"),
        h("h1", h("span", "Dossier of case"), " ", h("b", story.case.number)),
        h(
            "p",
            f"Made {clock(story.dossier.made_at)} with {story.dossier.made_with}, from the"
            f" {len(story.entries)} entries of this case in the register ",
            h("code", story.dossier.register),
            ".",
            class_="made",
        ),
        class_="masthead",
    )


def body(story: Story) -> Iterable[Element]:
    """Everything between the masthead and the foot."""
    yield _verdict()
    yield h(
        "nav",
        h("ol", [h("li", h("a", words, href=f"#{name}")) for name, words in CONTENTS]),
        aria_label="Contents",
    )
    for (name, words), part in zip(
        CONTENTS,
        (
            _brief(story),
            _persons(story),
            _things(story),
            _time(story),
            _history(story),
            _papers(story),
            _closing(story),
            proofs.entries(story),
            proofs.proof(story),
        ),
        strict=True,
    ):
        yield h(
            "section",
            h("h2", words, id=f"{name}-heading"),
            h("div", part, class_="content"),
            id=name,
            aria_labelledby=f"{name}-heading",
        )


def foot(story: Story) -> Element:
    """What to do with the file."""
    return h(
        "footer",
        h(
            "p",
            f"Dossier of case {story.case.number}, made {clock(story.dossier.made_at)}. This file"
            " holds everything it needs and asks no one for anything. Where health or law is"
            " touched, local codes and licensed practice decide.",
        ),
    )


def clock(text: str) -> str:
    """A time of the record as a person reads it: to the minute, UTC."""
    return f"{text[:10]} {text[11:16]}Z"


def _moment(moment: datetime | None) -> str:
    return f"{moment:%Y-%m-%d %H:%M}Z" if moment else "never"


def _verdict() -> Element:
    """Filled in by the script; without it, the page says that nothing was checked."""
    return h(
        "section",
        h("h2", "Does this file hold?", id="verdict-heading"),
        h(
            "p",
            "Not checked: the script in this file did not run. Check the file with the command"
            " continuity verify, or open it in a browser that runs scripts.",
            id="verdict-words",
            role="status",
        ),
        h("ul", id="verdict-findings"),
        h("ul", id="verdict-proved"),
        h(
            "div",
            h("p", "What no file can show:"),
            h("ul", [h("li", words) for words in UNKNOWN]),
            id="verdict-unknown",
        ),
        h(
            "p",
            "A file that checks itself is a convenience: whoever altered it could alter the check."
            " Proof is the same check run by a program you had from elsewhere, with a key you had"
            " from elsewhere.",
            class_="aside",
        ),
        h(
            "div",
            h("label", "The register's public key, or a witness's, one a line:", for_="pin"),
            h(
                "textarea",
                id="pin",
                rows="2",
                spellcheck="false",
                autocomplete="off",
                aria_describedby="pin-problem",
            ),
            h("button", "Check with this key", type="button", id="pin-check"),
            h("p", id="pin-problem", role="alert"),
            class_="pin screen-only",
            hidden="hidden",
            data_needs_script="yes",
        ),
        id="verdict",
        data_state="unchecked",
        aria_labelledby="verdict-heading",
    )


def _facts(pairs: Iterable[tuple[str, Element | str | list[Element | str]]]) -> Element:
    return h(
        "dl",
        [h("div", h("dt", name), h("dd", value)) for name, value in pairs],
        class_="facts",
    )


def _brief(story: Story) -> list[Element]:
    case, names = story.case, story.names
    body_thing = case.decedent
    planned = case.planned
    name = next((d for d in story.details if d.field == "name"), None)
    here = [t for t in case.own if not t.gone]
    pairs: list[tuple[str, Element | str | list[Element | str]]] = [
        ("Who", _state(name) if name else "no name recorded"),
        ("Coroner's reference", case.coroner_reference or "none recorded"),
        ("Released by", case.release_authority or "no authority recorded"),
        ("Opened", _moment(case.opened.at if case.opened else None)),
        ("Last entry", clock(story.entries[-1][0].occurred_at) if story.entries else "none"),
        (
            "Planned",
            f"{planned.disposition.value.replace('-', ' ')}"
            f"{f' on {planned.day}' if planned.day else ''}"
            if planned
            else "nothing",
        ),
        (
            "The decedent",
            f"{body_thing.id}, {names.where(body_thing.where)}" if body_thing else "not received",
        ),
        ("Things", f"{len(case.own)} recorded, {len(here)} still under their own number"),
        ("Closing check", h("b", story.verdict.words)),
    ]
    return [_facts(pairs)]


def _persons(story: Story) -> list[Element]:
    if not story.details:
        return [h("p", "No personal details were recorded.")]
    return [
        h(
            "p",
            "The record itself holds only a salted digest of each detail. What is disclosed here"
            " was compared with its digest; what is withheld can be shown later, and compared then;"
            " what is erased is gone.",
        ),
        _table(
            "Personal details",
            ("Entry", "Detail", "What this file says"),
            ([f"{d.entry}", d.field.replace("-", " "), _state(d)] for d in story.details),
        ),
    ]


def _state(detail: Detail) -> Element:
    match detail.state:
        case "disclosed":
            value = h(
                "bdi", detail.value, data_detail=f"{detail.entry} {detail.field}", class_="value"
            )
            return h("span", value, " ", h("span", "disclosed", class_="state"))
        case "erased" if detail.erased:
            return h(
                "span",
                h("span", "erased", class_="state gone"),
                f" by entry {detail.erased.by}; ground: {detail.erased.ground}",
            )
        case _:
            return h("span", h("span", "withheld", class_="state"), " by whoever made this file")


def _things(story: Story) -> list[Element]:
    things = sorted(story.case.things.values(), key=lambda thing: natural(thing.id))
    return [
        h("figure", svg(draw_tree(story), "tree")),
        h(
            "p",
            "A ring with a dot is the decedent; a dot, remains; a ring, a specimen; a square, a"
            " container; a diamond, an effect; a triangle, a device. A line leads down from a thing"
            " to what came from it; a broken line leads back to what a thing was joined to.",
            class_="aside",
        ),
        _fold(
            "The same as a table",
            _table(
                "Things of the case",
                ("Number", "What", "Came from", "Entry", "Seal", "Last sighting", "Where now"),
                (_thing(story, thing) for thing in things),
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
        _moment(seen.moment.at if seen else None) + how,
        story.names.where(thing.where),
    ]


def _time(story: Story) -> list[Element]:
    drawing = draw_timeline(story)
    gaps = [
        h(
            "li",
            f"{story.names.thing(b.thing)}: {b.what.value} between {story.names.holder(b.before)}"
            f" and {story.names.holder(b.after)} at {_moment(b.moment.at)} (entry"
            f" {b.moment.number}).",
        )
        for b in story.custody.broken
    ]
    gaps += [
        h(
            "li",
            f"{story.names.things(t.things)}: handed over to {story.names.holder(t.taker)} at"
            f" {_moment(t.moment.at)}, and one side has not signed (entry {t.entry}).",
        )
        for t in story.case.transfers
        if t.accepted is None and t.things
    ]
    return [
        h("figure", svg(drawing, "timeline")),
        h("h3", "Gaps in custody"),
        h("ul", gaps, class_="gaps") if gaps else h("p", "None found in the entries."),
        _fold(
            "Who held what, as a table",
            _table(
                "Custody of each thing",
                ("Thing", "Holder", "From", "Until", "Entry"),
                (
                    [
                        story.names.thing(holding.thing),
                        story.names.holder(holding.holder),
                        _moment(holding.since.at),
                        _moment(holding.until.at) if holding.until else "now",
                        str(holding.entry),
                    ]
                    for holding in sorted(
                        story.custody.holdings, key=lambda one: (natural(one.thing), one.since)
                    )
                ),
            ),
        ),
        _fold(
            "Where each thing was, as a table",
            _table(
                "Places of each thing",
                ("Thing", "Where", "From", "Until", "Entry"),
                (
                    [
                        story.names.thing(stay.thing),
                        story.names.where(stay.where),
                        _moment(stay.since.at),
                        _moment(stay.until.at) if stay.until else "now",
                        str(stay.since.number),
                    ]
                    for stay in story.stays
                ),
            ),
        ),
    ]


def _history(story: Story) -> list[Element]:
    rows = []
    for told in story.told:
        row = h(
            "tr",
            h(
                "th",
                h("a", str(told.entry.number), href=f"#entry-{told.entry.number}"),
                scope="row",
            ),
            h("td", h("time", clock(told.entry.occurred_at), data_is="occurred_at")),
            h("td", h("span", told.entry.kind, data_is="kind"), class_="kind"),
            h("td", h("span", told.entry.recorded_by, data_is="recorded_by")),
            h("td", _told(told)),
            data_row=str(told.entry.number),
            class_="struck" if told.struck_by is not None else None,
        )
        rows.append(row)
    return [
        h(
            "p",
            "In the order of recording; times as they were stated, UTC. Number, time, kind and"
            " recorder are compared with the entries when this page checks itself; the sentences"
            " are compared by ",
            h("code", "continuity verify"),
            ".",
            class_="aside",
        ),
        h(
            "div",
            h(
                "table",
                h("caption", "What happened, entry by entry"),
                _head(("Entry", "When", "Kind", "By", "In plain words")),
                h("tbody", rows),
            ),
            class_="scroll",
            tabindex="0",
            role="group",
            aria_label="What happened, entry by entry",
        ),
    ]


def _told(told: Told) -> list[Element | str]:
    parts: list[Element | str] = []
    if told.struck_by is None:
        parts.append(told.words)
    else:
        parts += [h("del", told.words), h("b", f" Struck by entry {told.struck_by}.")]
    if told.late is not None:
        parts.append(h("i", f" Recorded {_span(told.late)} later."))
    if told.entry.mirrors:
        parts.append(h("i", " Repeats an entry of another case."))
    return parts


def _span(minutes: int) -> str:
    hours, rest = divmod(minutes, 60)
    return f"{hours} h {rest} min" if rest else f"{hours} h"


def _papers(story: Story) -> list[Element]:
    if not story.papers:
        return [h("p", "The entries name no photograph and no paper.")]
    return [
        _table(
            "Photographs and papers, by SHA-256",
            ("Entry", "What", "SHA-256"),
            (
                [
                    str(paper.entry),
                    paper.what,
                    h(
                        "code",
                        paper.digest,
                        data_digest=paper.digest,
                        data_says=f"{paper.what} of entry {paper.entry}",
                    ),
                ]
                for paper in story.papers
            ),
        ),
        h(
            "div",
            h(
                "label",
                "Compare files that you were given with these digests:",
                for_="papers-files",
            ),
            h("input", type="file", multiple="multiple", id="papers-files"),
            h("div", h("ul", id="paper-results"), role="status"),
            class_="screen-only",
            hidden="hidden",
            data_needs_script="yes",
        ),
    ]


def _closing(story: Story) -> list[Element]:
    verdict = story.verdict
    parts = [
        h(
            "p",
            h("b", verdict.words, class_="closing-words"),
            f" as of {_moment(verdict.at)}, reckoned from the entries in this file alone and by"
            " the policy then in force.",
        )
    ]
    if verdict.findings:
        parts.append(
            h(
                "ol",
                [
                    h(
                        "li",
                        h("code", finding.code),
                        h(
                            "span",
                            "stops the closing" if finding.stops else "to be known",
                            class_="state",
                        ),
                        h("p", f"{finding.sentence}."),
                        h("p", f"What would mend it: {finding.mend}.", class_="aside"),
                        class_="stops" if finding.stops else None,
                    )
                    for finding in verdict.findings
                ],
                class_="findings",
            )
        )
    signed = [
        h(
            "li",
            f"{_moment(check.moment.at)}, by {' and '.join(check.persons)}: "
            + (f"closed over {', '.join(check.over)}" if check.over else "clear")
            + f" (entry {check.moment.number}).",
        )
        for check in story.case.checks
    ]
    parts += [h("h3", "Signed closing checks"), h("ul", signed) if signed else h("p", "None.")]
    return parts


def _fold(words: str, inside: Element) -> Element:
    return h("details", h("summary", words), inside)


def _head(names: Iterable[str]) -> Element:
    return h("thead", h("tr", [h("th", name, scope="col") for name in names]))


def _table(
    caption: str,
    names: tuple[str, ...],
    rows: Iterable[list[Element | str]],
) -> Element:
    lines = []
    for first, *rest in rows:
        lines.append(h("tr", h("th", first, scope="row"), [h("td", cell) for cell in rest]))
    return h(
        "div",
        h("table", h("caption", caption), _head(names), h("tbody", lines)),
        class_="scroll",
        tabindex="0",
        role="group",
        aria_label=caption,
    )
