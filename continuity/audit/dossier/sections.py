"""What stands on the page, part by part, in the order in which a stranger asks."""

from __future__ import annotations

from typing import TYPE_CHECKING

from continuity.audit.dossier import figures, proofs
from continuity.audit.dossier.brief import brief, who_is_who
from continuity.audit.dossier.markup import h
from continuity.audit.dossier.tables import clock, head, moment, table
from continuity.audit.report import UNKNOWN

if TYPE_CHECKING:
    from collections.abc import Iterable
    from xml.etree.ElementTree import Element

    from continuity.audit.dossier.details import Detail
    from continuity.audit.dossier.story import Story, Told

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
            figures.things(story),
            figures.time(story),
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
        h(
            "p",
            h("b", "The words below are their maker's telling."),
            " No signature covers the sentences, drawings and lists of this page, the closing check"
            " among them: its own script can only compare them with a digest that the page carries,"
            " and whoever altered both goes unseen here. The command ",
            h("code", "continuity verify FILE"),
            " of a program you had from elsewhere tells them anew from the signed entries, and"
            " compares.",
            id="verdict-telling",
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
            " Proof is the same command with a key that you had from elsewhere, too: --key.",
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
    return [
        _facts(
            (name, said if isinstance(said, str) else _state(said)) for name, said in brief(story)
        )
    ]


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
        table(
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
            f"{who_is_who(story)} In the order of recording; times as they were stated. Number,"
            " time, kind and recorder are compared with the entries when this page checks itself;"
            " the sentences are compared by ",
            h("code", "continuity verify"),
            ".",
            class_="aside",
        ),
        h(
            "div",
            h(
                "table",
                h("caption", "What happened, entry by entry"),
                head(("Entry", "When", "Kind", "By", "In plain words")),
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
        table(
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
            f" as of {moment(verdict.at)}, reckoned from the entries in this file alone and by"
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
                            "stops the closing" if finding.stops else "noted, does not stop it",
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
            f"{moment(check.moment.at)}, by {' and '.join(check.persons)}: "
            + (f"closed over {', '.join(check.over)}" if check.over else "clear")
            + f" (entry {check.moment.number}).",
        )
        for check in story.case.checks
    ]
    parts += [h("h3", "Signed closing checks"), h("ul", signed) if signed else h("p", "None.")]
    return parts
