"""Receipt: what was declared and what was found, thing by thing."""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING, Any

from continuity.care.findings.accounts import Account
from continuity.care.findings.base import (
    Found,
    Look,
    correct,
    finding,
    name,
    names,
    returning,
    settle,
)
from continuity.care.things import HERE, REMAINS, Discarded, Form, ThingKind, Unseen

if TYPE_CHECKING:
    from collections.abc import Iterator

    from continuity.care.case import Thing
    from continuity.care.records import Moment

_MISMATCH = "GS1 CBV 2.0: mismatch_quantity"
_ON_CONTENTS = ("immersed", "injected", "drained", "powdered", "repacked")


def _missing(look: Look) -> list[Thing]:
    return [t for t in look.standing(Account.UNSEEN) if t.receipt != "mentioned"]


def swapped(look: Look) -> list[list[Thing]]:
    """Things missing from a receipt beside as many of the same kind that nobody had declared."""
    groups: dict[tuple[int, ThingKind], list[Thing]] = defaultdict(list)
    for thing in _missing(look):
        groups[thing.came.number, thing.what].append(thing)
    found = []
    for (entry, what), missing in groups.items():
        extra = [
            t
            for t in look.own
            if t.receipt == "extra" and t.came.number == entry and t.what is what
        ]
        if len(extra) == len(missing):
            found.append([*missing, *extra])
    return found


def _swapped_ids(look: Look) -> set[str]:
    return {thing.id for group in swapped(look) for thing in group}


@finding("no-release-authority", "NZ Coroners Act 2006, s44; SI 2013/1629, reg 21", goes_on=True)
def no_release_authority(look: Look) -> Iterator[Found]:
    """Nothing says on whose authority the decedent was released to the firm."""
    body = look.body
    if body is None or look.case.release_authority:
        return
    came = (t for t in look.case.transfers if t.taker == HERE and body.id in t.things)
    if not any(t.authority for t in came):
        yield look.found(
            f"nothing says on whose authority {name(body)} was released to the firm",
            f"get the release, and {correct(look.case.opened or body.came, 'release_authority')}",
            body,
            shown_by=(look.case.opened,),
        )


@finding("declared-not-found", f"{_MISMATCH}, an expected thing not found", goes_on=True)
def declared_not_found(look: Look) -> Iterator[Found]:
    """A thing was declared, and has never been seen here."""
    elsewhere = _swapped_ids(look)
    for thing in _missing(look):
        if thing.id not in elsewhere:
            yield look.found(
                f"{name(thing)} was declared and has never been seen here",
                f"ask the sender; record its coming ({returning(thing)}), or"
                f" {correct(thing.came)} if it was never sent",
                thing,
                shown_by=(thing.came,),
            )


@finding("found-not-declared", f"{_MISMATCH}, one thing too many", goes_on=True, past=True)
def found_not_declared(look: Look) -> Iterator[Found]:
    """A thing was found at the receipt that nobody had declared."""
    elsewhere = _swapped_ids(look)
    for thing in look.own:
        if thing.receipt == "extra" and thing.id not in elsewhere:
            yield look.found(
                f"{name(thing)} was found and nobody had declared it",
                f"find out why, and {settle('found-not-declared')}",
                thing,
                shown_by=(thing.came,),
            )


@finding(
    "identities-differ", "GS1 CBV 2.0: mismatch_instance, right count, wrong things", goes_on=True
)
def identities_differ(look: Look) -> Iterator[Found]:
    """The count was right, yet other things came than those declared."""
    for group in swapped(look):
        yield look.found(
            f"as many came as were declared, yet not the same: {names(group)}",
            f"ask the sender whose they are; {correct(group[0].came)}, or record the coming of the"
            " missing (returned)",
            *group,
            shown_by=(group[0].came,),
        )


@finding("seal-differs", "ASTM E1459-92, 4.1.5: sealed where possible", goes_on=True, past=True)
def seal_differs(look: Look) -> Iterator[Found]:
    """A seal's number is not the one that was declared, or put on."""
    for thing in look.own:
        for declared, read, moment in _seals(thing):
            if declared != read:
                was = f"the seal read is {read}" if read else "no seal was read"
                yield look.found(
                    f"{name(thing)} should bear seal {declared}, and {was}",
                    f"find out why, and {settle('seal-differs')}",
                    thing,
                    shown_by=(moment,),
                )


def _seals(thing: Thing) -> Iterator[tuple[str, str | None, Moment]]:
    """Each seal that was declared or put on, beside what was read, and when."""
    seen = thing.receipt == "as-declared" and not thing.inferred
    if thing.declared_seal and (seen or thing.found_seal):
        yield thing.declared_seal, thing.found_seal, thing.came
    readings = [(c.seal_number, c.moment) for c in thing.conditions if c.seal_number]
    readings += [(c.seal, c.moment) for c in thing.closures if not c.shut and c.seal]
    for read, moment in readings:
        on = next((c for c in reversed(thing.closures) if c.moment < moment), None)
        if on and on.shut and on.seal:
            yield on.seal, read, moment


@finding("label-differs", "ASTM E1459-92, 4.1.4: each item's own tag", goes_on=True, past=True)
def label_differs(look: Look) -> Iterator[Found]:
    """The label found on a thing is not the one that was declared."""
    for thing in look.own:
        declared, read = thing.declared_label, thing.found_label
        if declared and read and declared != read:
            yield look.found(
                f"{name(thing)} was declared with label {declared} and bears {read}",
                f"find out why, and {settle('label-differs')}",
                thing,
                shown_by=(thing.came,),
            )


@finding("never-looked-into", "GS1 CBV 2.0: completeness_inferred, not completeness_verified")
def never_looked_into(look: Look) -> Iterator[Found]:
    """A thing is taken to be where the sender said; nobody has looked."""
    for thing in look.own:
        if unlooked(thing) and look.accounts[thing.id] is not Account.UNSEEN:
            yield look.found(
                f"{name(thing)} is there on the sender's word alone; nobody has looked",
                "open what it is in and see (opened), or leave it closed, knowing this",
                thing,
                shown_by=(thing.came,),
            )


@finding("contents-not-recorded", "GS1 CBV 2.0: completeness_inferred, not completeness_verified")
def contents_not_recorded(look: Look) -> Iterator[Found]:
    """A container came, or was used, and nothing was ever recorded in it, nor that it was empty."""
    held = {into for event in look.case.events for into, _ in _filled(look, event.act)}
    for thing in look.own:
        packaging = thing.what is ThingKind.CONTAINER and thing.form is not Form.COFFIN
        how = _used(thing) if packaging and thing.id not in held else None
        if how is None or isinstance(thing.where, Discarded | Unseen):
            continue
        seen = next((c for c in reversed(thing.conditions) if c.empty is not None), None)
        if seen is None or not seen.empty:
            was = "was looked into and was not empty" if seen else how
            yield look.found(
                f"{name(thing)} {was}, and nobody has recorded what is in it",
                f"look into {thing.id}; record what came in it (received, within it), what was put"
                " in (put-in), or that it is empty (inspected --empty)",
                thing,
                shown_by=(seen.moment if seen else thing.came,),
            )


@finding(
    "not-seen-empty",
    "Dover mortuary, 2009: a labelled bag found empty with a slit in its side",
)
def not_seen_empty(look: Look) -> Iterator[Found]:
    """A pack held remains and is empty by the record, and nobody has looked into it since."""
    for thing in look.standing(Account.EMPTY):
        if thing.form is Form.COFFIN or look.case.contents(thing.id):
            continue
        filled = [e.moment for e in look.case.events if _took_remains(look, e.act, thing)]
        seen = [c.moment for c in thing.conditions if c.empty]
        if filled and not (seen and seen[-1] > filled[-1]):
            yield look.found(
                f"{name(thing)} held remains and is empty by the record, and nobody has looked"
                " into it since",
                f"look into {thing.id}, and record that it is empty (inspected --thing {thing.id}"
                f" --empty), or discard it (packaging-discarded --thing {thing.id} --empty)",
                thing,
                shown_by=filled[-1:],
            )


def _took_remains(look: Look, act: Any, container: Thing) -> bool:
    """Whether an act put remains into a container, or found remains in it."""
    return any(into == container.id and what in REMAINS for into, what in _filled(look, act))


def _used(thing: Thing) -> str | None:
    """What makes one ask for the contents of a container; nothing, where it is the firm's, unused.

    Nobody seals empty packaging or makes a bath of it, and what leaks or smells is not empty.
    """
    if thing.receipt in ("as-declared", "extra"):
        return "came"
    if any(closure.shut for closure in thing.closures):
        return "was sealed"
    if thing.step(*_ON_CONTENTS):
        return "was used for a treatment"
    return "leaked or smelled" if any(c.leak or c.odour for c in thing.conditions) else None


def _filled(look: Look, act: Any) -> Iterator[tuple[str, ThingKind | None]]:
    """Each container that an act put something into, or found something in, and what that was."""
    into = getattr(act, "into", None)
    if isinstance(into, str):
        for thing in map(look.case.things.get, act.things):
            yield into, thing.what if thing else None
    pieces = into if isinstance(into, tuple) else getattr(act, "items", ())
    came = (one for one in pieces if getattr(one, "receipt", None) != "missing")
    yield from ((one.within, one.what) for one in came if getattr(one, "within", None))


def unlooked(thing: Thing) -> bool:
    """Whether a thing rests on the sender's word: never seen, never moved since it came."""
    return thing.inferred and not thing.sightings and thing.moved == thing.came


@finding("condition-not-noted", "HTA good practice: two-person identification and condition check")
def condition_not_noted(look: Look) -> Iterator[Found]:
    """Nobody noted leak, odour, suture or seal of the body, or of a container that came."""
    for thing in look.own:
        if not noting_is_due(look, thing):
            continue
        yield look.found(
            f"the condition of {name(thing)} was never noted",
            f"look at {thing.id} and record what you see (inspected --thing {thing.id}"
            " --leak|--no-leak --odour|--no-odour)",
            thing,
            shown_by=(thing.came,),
        )


def noting_is_due(look: Look, thing: Thing) -> bool:
    """Whether the thing came from outside, could be looked at from outside, and was not."""
    noted = any(condition.noted for condition in thing.conditions)
    if noted or look.accounts[thing.id] not in (Account.HERE, Account.IN_COFFIN):
        return False
    if thing.what is ThingKind.DECEDENT:
        return True
    came = thing.what is ThingKind.CONTAINER and thing.receipt in ("as-declared", "extra")
    held = look.case.all_contents(thing.id)
    return (
        came
        and thing.form is not Form.COFFIN
        and not thing.inferred
        and any(t.what in REMAINS and t.moved == t.came == thing.came for t in held)
    )
