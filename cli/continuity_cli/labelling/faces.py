"""What stands on the label of a thing, a place, a badge or a holder.

On a container or a part stands no name and no age (HTA guidance on traceability: identification
must not be written on the outside of a body bag); three identifiers stand on the decedent's own
tag alone (HTA standard T1(c)).
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from continuity.care.hazards import hazards, history, immersions
from continuity.care.things import TISSUE, Form, ThingKind, Unseen
from continuity.errors import InputError
from continuity_labels.face import IDENTIFIERS, Face, FaceKind, Identifier, Moment
from continuity_labels.hazard import HazardState, panels_for

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping
    from datetime import datetime

    from continuity.care.case import Case, Thing
    from continuity.care.policy import Policy
    from continuity_labels.code import Code

Details = dict[str, str]
"""A case's personal details by field, the latest of each."""

_PERSONS = ("case-opened", "identified", "corrected")
"""The kinds whose personal details are the decedent's own; others name recipients."""

_CASE_NUMBER, _REFERENCE = "case-number", "coroner-reference"

_IDENTIFIERS = (
    ("name", "Name"),
    ("date-of-birth", "Born"),
    ("date-of-death", "Died"),
    ("national-number", "National number"),
    ("hospital-number", "Hospital number"),
)
"""Personal details that identify a decedent, the most telling first, and the word before each."""

_SHORTEST_WORD = 3


def details_of(case: Case, kept: Mapping[int, Details]) -> Details:
    """The decedent's own personal details, the latest of each.

    Args:
        case: the case.
        kept: as `Register.personal_details` gives them, by entry number.
    """
    own = {event.number for event in case.events if event.act.kind in _PERSONS}
    latest: Details = {}
    for number in sorted(own & kept.keys()):
        latest |= kept[number]
    return latest


def standing(case: Case) -> list[Thing]:
    """The case's things that can bear a label: what came, and has not left for good."""
    return [thing for thing in case.own if not thing.gone and not isinstance(thing.where, Unseen)]


def hazard_state(case: Case, thing: str, policy: Policy) -> HazardState:
    """What the label of a thing has to warn of now."""
    state = hazards(case, thing, policy)
    return HazardState(state.unfixed, state.formaldehyde_tenths, state.treating)


def panels_due(case: Case, thing: str, policy: Policy) -> tuple[str, ...]:
    """The codes of the hazard panels that a label of the thing has to bear now."""
    return panels_for(hazard_state(case, thing, policy))


def due(case: Case, policy: Policy) -> Iterator[tuple[Thing, tuple[str, ...]]]:
    """The things whose label is missing, or warns of something else than it has to by now."""
    for thing in standing(case):
        panels = panels_due(case, thing.id, policy)
        if thing.label is None or set(thing.label.panels) != set(panels):
            yield thing, panels


def thing_face(
    case: Case, thing: Thing, code: Code, *, policy: Policy, details: Details, now: datetime
) -> Face:
    """The face of a thing's label; the decedent's own tag is the only one with identifiers.

    Args:
        case: the thing's case.
        thing: what the label is for.
        code: its code, at the print that is made.
        policy: the policy in force.
        details: the decedent's personal details; see `details_of`.
        now: local time with its offset; its day stands on the label.

    Raises:
        InputError: the decedent's tag lacks identifiers.
    """
    if thing.what is ThingKind.DECEDENT and not _unknown(case, details):
        return Face(
            FaceKind.DECEDENT,
            code,
            "Decedent",
            day=now.date(),
            identifiers=_identifiers(case, details),
        )
    return Face(
        FaceKind.THING,
        code,
        _words(thing, details),
        ordinal=_ordinal(case, thing),
        case_number=case.number,
        day=now.date(),
        moments=tuple(_moments(case, thing, now)),
        initials=1,
        hazard=hazard_state(case, thing.id, policy),
    )


def names_a_person(thing: Thing, details: Details) -> bool:
    """Whether the thing's description holds a word of a kept name, which no label may show."""
    kept = [value for field, value in details.items() if "name" in field]
    names = {word for value in kept for word in _split(value) if len(word) >= _SHORTEST_WORD}
    return bool(names & set(_split(thing.description)))


def _split(text: str) -> list[str]:
    return re.findall(r"\w+", text.casefold())


def _unknown(case: Case, details: Details) -> bool:
    """Whether nobody knows yet who it is: then its tag carries a number, as a part's does."""
    return case.unidentified and "name" not in details


def on_the_tag(case: Case, details: Details) -> tuple[str, ...]:
    """The kinds of the three identifiers on the decedent's own tag.

    Raises:
        InputError: the register keeps too few of them.
    """
    known = [field for field, _ in _IDENTIFIERS if field in details]
    extra = [_REFERENCE] if case.coroner_reference else []
    chosen = (*known[: IDENTIFIERS - 1], _CASE_NUMBER, *extra)[:IDENTIFIERS]
    if len(chosen) < IDENTIFIERS:
        raise InputError(
            f"case {case.number}: a decedent's tag carries three identifiers, and the register"
            f" keeps {' and '.join(each.replace('-', ' ') for each in chosen)}; add others to the"
            f" case's first entry (record corrected --case {case.number} --strikes 0 --reason ..."
            " --instead coroner_reference=... --personal name=... --personal date-of-birth=...)"
        )
    return chosen


def _identifiers(case: Case, details: Details) -> tuple[Identifier, ...]:
    own = {
        _CASE_NUMBER: Identifier("Case", case.number, unique=True),
        _REFERENCE: Identifier("Coroner", case.coroner_reference or "", unique=True),
    }
    words = dict(_IDENTIFIERS)
    return tuple(
        own.get(field) or Identifier(words[field], details[field])
        for field in on_the_tag(case, details)
    )


def plain_words(thing: Thing) -> str:
    """What a thing is without its description: the organ, the kind of container, the kind."""
    text = thing.organ or (thing.form.value if thing.form else thing.what.value)
    return text[:1].upper() + text[1:]


def _words(thing: Thing, details: Details) -> str:
    if names_a_person(thing, details):
        return plain_words(thing)
    return thing.description[:1].upper() + thing.description[1:]


def _ordinal(case: Case, thing: Thing) -> tuple[int, int] | None:
    """Which of the case's things of its kind it is; one alone, and a coffin, have none."""
    if thing.what is ThingKind.DECEDENT or thing.form is Form.COFFIN:
        return None
    alike = [t.id for t in standing(case) if t.what is thing.what and t.form is not Form.COFFIN]
    return (alike.index(thing.id) + 1, len(alike)) if thing.id in alike else None


def _moments(case: Case, thing: Thing, now: datetime) -> Iterator[Moment]:
    zone = now.tzinfo
    if thing.closures and not thing.shut:
        yield Moment("Opened", thing.closures[-1].moment.at.astimezone(zone))
    within = [thing, *(case.all_contents(thing.id) if thing.form is not Form.COFFIN else ())]
    if thing.what is ThingKind.DECEDENT:
        within = [thing]
    started = [
        start.moment.at
        for tissue in within
        if tissue.what in TISSUE
        for start, end in immersions(history(case, tissue))
        if end is None
    ]
    if started:
        yield Moment("Immersed", min(started).astimezone(zone))


def place_face(code: Code, place: str, description: str) -> Face:
    """The face of a place's label."""
    return Face(FaceKind.PLACE, code, f"{place}: {description}" if description != place else place)


def holder_face(code: Code, holder: str, description: str) -> Face:
    """The face of a holder's label."""
    words = f"{holder}: {description}" if description != holder else holder
    return Face(FaceKind.HOLDER, code, words)


def badge_face(code: Code, person: str, role: str) -> Face:
    """The face of a person's badge: the short name the register uses, and the role."""
    return Face(FaceKind.BADGE, code, f"{person}, {role}")
