"""The question the closing check is about, asked of the naive world.

Is everything of this case in the coffin or lawfully gone, and was it freshly seen there?
"""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from tests.properties.world import FOR_GOOD

if TYPE_CHECKING:
    from tests.properties.world import State, When

FRESH = timedelta(minutes=240)
"""How old a scan may be at the closing, by the policy that ships."""

ASKED = {
    "another-case-inside",
    "declared-not-found",
    "discarded-with-contents",
    "found-elsewhere-at-count",
    "missing-at-count",
    "disposal-incomplete",
    "in-what-is-no-more",
    "in-what-was-never-seen",
    "inside-another-case",
    "inside-itself",
    "known-by-number-only",
    "left-behind",
    "left-elsewhere",
    "left-in-former-coffin",
    "never-sighted",
    "not-in-a-coffin",
    "not-sighted",
    "not-signed-for",
    "piece-without-record",
    "released-without-authority",
    "taken-out-after-sighting",
    "thrown-away",
    "with-a-holder",
    "wrongly-joined",
}
"""The findings that speak of whereabouts, belonging, descent and seeing."""


def is_here(s: State, case: str) -> bool:
    """Whether the decedent was received and has not left: the time of the closing check."""
    body = s.body(case)
    return body is not None and case not in s.ended and s.outermost(body)[0] == "place"


def amiss(s: State, case: str, now: datetime) -> dict[str, str]:
    """Each thing that is not where it must be, or was not seen there, and why."""
    found = {}
    for thing in s.things_of(case):
        why = _astray(s, case, thing) or miscounted(s, thing) or _unseen(s, case, thing, now)
        if why:
            found[thing] = why
    for thing in s.at:
        if s.owner[thing] != case and _intrudes(s, case, thing):
            found[thing] = "another case's, in a thing of this one"
    return found


def _astray(s: State, case: str, thing: str) -> str | None:
    how, *what = s.at[thing]
    if how == "one-with":
        return _one_with(s, case, thing)
    if how == "released":
        return None if what[0] else "released, and by no right"
    if how == "disposed":
        whose, outer = s.went_in[thing]
        if outer and all(_is_anothers(s, number, outer) for number in (whose, case)):
            return "disposed of in a thing of another case"
        return "disposed of unlawfully" if thing in s.unlawful else None
    if how in {"pieces", "discarded"}:
        return None
    if how == "never":
        return "declared, and never seen"
    return _held(s, case, thing)


def _one_with(s: State, case: str, thing: str) -> str | None:
    while s.at[thing][0] == "one-with":
        whole = s.at[thing][1]
        if s.owner[whole] != case:
            return "one with another case's"
        if s.at[whole][0] in FOR_GOOD - {"one-with"} and s.moved[whole] < s.moved[thing]:
            return "one with what had left before"
        thing = whole
    return None


def _held(s: State, case: str, thing: str) -> str | None:
    """What is amiss with a thing that is somewhere, alone or in other things."""
    around = s.around(thing)
    if _another_cases(s, case, around):
        return "in a thing of another case"
    end = s.outermost(thing)[0]
    if around and end in FOR_GOOD:
        inner, outer = [thing, *around][-2:]
        along = end in {"released", "disposed"} and s.moved[inner] < s.moved[outer]
        return None if along else "in a thing that is no more"
    if around and end == "never":
        return "in a thing that was never seen"
    if s.at[thing][0] == "with" and not s.at[thing][2]:
        return "nobody signed for it"
    if any(coffin in (thing, *around) for coffin in _coffins(s, case)):
        return None
    if _only_packs(s, case, thing):
        return None
    if end == "with":
        return None if thing in s.wished and s.wished[thing] != "release" else "with a holder"
    if is_empty(s, thing) or s.wished.get(thing) == "release" or s.what[thing] == "ashes":
        return None
    return "here, and not in the coffin"


def _is_anothers(s: State, case: str, outer: list[str]) -> bool:
    return s.owner[outer[0]] != case and _another_cases(s, case, outer)


def _another_cases(s: State, case: str, containers: list[str]) -> bool:
    return any(s.owner[c] != case and not s.may_share(c, case) for c in containers)


def _coffins(s: State, case: str) -> list[str]:
    """The coffin the decedent lies in, and one that this stands in."""
    body = s.body(case)
    return [t for t in s.around(body) if s.form[t] == "coffin"] if body else []


def _only_packs(s: State, case: str, thing: str) -> bool:
    """A container of the case's things is where they are; they are asked about themselves."""
    inside = [t for t in s.all_in(thing) if s.owner[t] == case]
    return s.what[thing] == "container" and bool(inside)


def is_empty(s: State, thing: str) -> bool:
    """Whether it is packaging, and holds nothing but packaging."""
    return {s.what[t] for t in (thing, *s.all_in(thing))} == {"container"}


def _intrudes(s: State, case: str, thing: str) -> bool:
    how, *what = s.at[thing]
    if how not in {"in", "one-with"} or s.owner[what[0]] != case:
        return False
    return not s.may_share(what[0], case, s.owner[thing])


def miscounted(s: State, thing: str) -> str | None:
    """What the last count did not find, or found elsewhere, and nobody saw or moved since."""
    when, place, sight = s.counted.get((s.owner[thing], thing), (None, "", "seen"))
    if when is None or max(s.moved[thing], s.looked_at.get(thing, when)) > when:
        return None
    here = s.outermost(thing) == ("place", place)
    if (sight == "missing" and not s.is_gone(thing)) or (sight == "unexpected" and not here):
        return f"not as it was counted at {place}"
    return None


def _unseen(s: State, case: str, thing: str, now: datetime) -> str | None:
    """What lies in the coffin is scanned there, or lies in what was shut over it and is scanned."""
    coffin = s.coffin(case)
    if coffin is None or not set(_coffins(s, case)) & {thing, *s.around(thing)}:
        return None
    if is_empty(s, thing):
        return None
    seen = seen_at(s, thing)
    if seen is None:
        return "not seen since it was put there"
    return "not seen lately" if hour(s, case, coffin, now) - seen[0] > FRESH else None


def seen_at(s: State, thing: str) -> When | None:
    """When it was last known to be where it is, by a scan of its own or of what it is shut in."""
    own = s.scanned.get(thing)
    if own is None or (own < s.moved[thing] and s.form[thing] != "coffin"):
        return None
    if any(at[:2] == ("one-with", thing) and own < s.moved[part] for part, at in s.at.items()):
        return None
    if s.at[thing][0] != "in":
        return own
    lid = [(when, shut) for when, shut in s.lids.get(s.at[thing][1], ()) if when > own]
    if not lid or not all(shut for _, shut in lid):
        return own
    outer = seen_at(s, s.at[thing][1])
    return outer if outer and outer > lid[0][0] else own


def hour(s: State, case: str, coffin: str, now: datetime) -> datetime:
    """The hour of the check: now, or when it was signed before the coffin was closed."""
    if not s.shut.get(coffin):
        return now
    closed = s.lids[coffin][-1][0]
    signed = [w for w, c in s.checks.get(case, ()) if w < closed and c in (None, coffin)]
    return (signed[-1] if signed else closed)[0]


def explained(s: State, thing: str, named: set[str]) -> bool:
    """Whether the lines of the check lead to a thing: by itself, what it is in, or left with."""
    if s.at[thing][0] == "disposed":
        return any(s.moved[t] == s.moved[thing] for t in named if t in s.moved)
    return bool(named & {thing, *s.around(thing)})
