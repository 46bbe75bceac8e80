"""Contradictions: what was recorded, and later recorded otherwise, with nothing done in between.

The later word counts in the reckoning; whoever signs should know that there was an earlier one.
"""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

from continuity.care.findings.base import Found, Look, correct, finding, name
from continuity.care.findings.containers import NO_REMEDY

if TYPE_CHECKING:
    from collections.abc import Iterator

    from continuity.care.case import Case, Thing
    from continuity.care.records import Condition, Moment

_STATED = "Shipley v City of New York, 25 NY3d 645 (2015): nobody need tell of organs kept"
_TROUBLES = {
    "leak": (True, "leaking"),
    "odour": (True, "smelling"),
    "dry": (False, "wet"),
    "suture": ("gaping", "with its suture gaping"),
    "seal": ("broken", "with its seal broken"),
}
"""What an inspection may find amiss, and how it is said."""


@finding("seen-otherwise", "COMAR 09.34.08.05: no container showing leakage is accepted")
def seen_otherwise(look: Look) -> Iterator[Found]:
    """A thing was seen leaking, smelling, wet or open, later not, and nothing was done between."""
    for thing in look.own:
        for field, (amiss, words) in _TROUBLES.items():
            seen = [c for c in thing.conditions if getattr(c, field) is not None]
            for before, after in pairwise(seen):
                was, became = getattr(before, field), getattr(after, field)
                if was == amiss != became and not _done_between(look.case, thing, before, after):
                    yield look.found(
                        f"{name(thing)} was seen {words} and later not, and nothing was done in"
                        " between",
                        f"look at {thing.id} once more, and ask who saw it first (inspected)",
                        thing,
                        shown_by=(before.moment, after.moment),
                    )


def _done_between(case: Case, thing: Thing, before: Condition, after: Condition) -> bool:
    within = [thing, *case.all_contents(thing.id)]
    done = [s.moment for t in within for s in t.steps if s.step not in NO_REMEDY]
    done += [c.moment for c in thing.closures]
    return any(before.moment < moment < after.moment for moment in done)


@finding("identified-otherwise", "HTA reportable incidents: wrong body released or viewed")
def identified_otherwise(look: Look) -> Iterator[Found]:
    """Identifiers did not agree once, and did when they were read again."""
    body = look.body
    made = [i for i in look.case.identifications if body and i.thing == body.id]
    for identification in made:
        if body and identification.agree is False and made[-1].agree:
            yield look.found(
                f"the identifiers of {name(body)} did not agree once, and did when read again",
                f"know why before {body.id} is closed in (irregularity-raised, and resolved)",
                body,
                shown_by=(identification.moment, made[-1].moment),
            )


@finding("wish-changed", "HTA, coroners' post-mortem examinations: the family's recorded choice")
def wish_changed(look: Look) -> Iterator[Found]:
    """Another wish was recorded for a thing than before."""
    for thing in look.own:
        said: list[tuple[str, str, Moment]] = [
            (e.act.wish.value, e.act.relation, e.moment)
            for e in look.case.events
            if e.act.kind == "instructed" and thing.id in e.act.things
        ]
        for (wish, who, first), (other, whose, then) in pairwise(said):
            if wish != other:
                yield look.found(
                    f"{who} had said {wish.replace('-', ' ')} for {name(thing)}, and then {whose}"
                    f" said {other.replace('-', ' ')}",
                    f"be sure who may say so; the last word holds (instructed), else"
                    f" {correct(then)}",
                    thing,
                    shown_by=(first, then),
                )


@finding("retention-restated", _STATED, goes_on=True)
def retention_restated(look: Look) -> Iterator[Found]:
    """It was stated that the examiner kept something, and later that nothing was kept."""
    said = [e for e in look.case.events if e.act.kind == "retention-stated"]
    some = [e for e in said if e.act.kept == "some"]
    listed = any(thing.retention for thing in look.own)
    if some and said[-1].act.kept == "none" and not listed:
        first, last = some[-1], said[-1]
        yield look.found(
            f"{first.act.according_to} (entry {first.number}) had it that the examiner kept"
            f" something, and {last.act.according_to} (entry {last.number}) that nothing was kept",
            "ask the examiner which holds; if something was kept, record it (retained), else"
            f" {correct(first.moment)}",
            shown_by=(first.moment, last.moment),
        )
