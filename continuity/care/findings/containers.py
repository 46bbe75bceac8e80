"""Containers: every pack, the body and the coffin were shut after they were last open."""

from __future__ import annotations

from typing import TYPE_CHECKING

from continuity.care.changes import changed_since
from continuity.care.findings.accounts import Account
from continuity.care.findings.base import Found, Look, finding, name, position
from continuity.care.things import TISSUE, Form, Inside, ThingKind

if TYPE_CHECKING:
    from collections.abc import Iterator

    from continuity.care.case import Case, Thing
    from continuity.care.records import Moment


def _opening(thing: Thing) -> str:
    """How a pack is opened, looked into and sealed."""
    return f"opened --thing {thing.id} --reason ..., sealed --thing {thing.id}"


def packs(look: Look) -> Iterator[Thing]:
    """The packs that hold tissue and were not taken on the sender's word.

    A coffin is none, nor is the tub that things are treated in.
    """
    for thing in look.standing(Account.HERE, Account.IN_COFFIN, Account.FORMER_COFFIN):
        inner = thing.what is ThingKind.CONTAINER and thing.form not in (Form.COFFIN, Form.TUB)
        if inner and not thing.inferred and held_tissue(look.case, thing):
            yield thing


def held_tissue(case: Case, thing: Thing) -> list[Thing]:
    """The tissue directly in a container."""
    return [t for t in case.contents(thing.id) if t.what in TISSUE]


@finding("not-sealed", "common practice, no source: a pack is sealed after its last opening")
def not_sealed(look: Look) -> Iterator[Found]:
    """A pack that holds remains was never recorded sealed, or its net never tied."""
    for pack in packs(look):
        if not pack.closures:
            verb = "tied" if pack.form is Form.NET else "sealed"
            yield look.found(
                f"{name(pack)} holds remains and was never {verb}",
                f"close {pack.id} and record it (sealed --thing {pack.id})",
                pack,
            )


@finding("not-packed", "common practice, no source: viscera lie in the cavity or in a pack")
def not_packed(look: Look) -> Iterator[Found]:
    """Viscera lie loose in the coffin, or remains in the tub that they were treated in."""
    for thing in look.standing(Account.IN_COFFIN):
        container = (
            look.case.things.get(thing.where.thing) if isinstance(thing.where, Inside) else None
        )
        loose = thing.what is ThingKind.VISCERA and container in look.case.coffins
        tub = container is not None and container.form is Form.TUB and thing.what in TISSUE
        if container and (loose or tub):
            how = "lies loose in" if loose else "lies in the coffin in"
            yield look.found(
                f"{name(thing)} {how} {name(container)}",
                f"return {thing.id} to the cavity, or pack it (taken-out --into), and close what it"
                " is in (sealed, or cared-for --step sutured)",
                thing,
                container,
            )


@finding("not-sealed-again", "common practice, no source: a pack is sealed after its last opening")
def not_sealed_again(look: Look) -> Iterator[Found]:
    """A pack that holds remains was opened, or reached into, and not sealed since."""
    for pack in packs(look):
        if not pack.closures:
            continue
        last, reached = pack.closures[-1].moment, look.case.reached_into(pack.id)
        if not pack.shut:
            how, shown, again = "was opened", last, f"close {pack.id} and record it (sealed)"
        elif reached and reached > last:
            how, shown = "was reached into after it was sealed", reached
            again = f"open {pack.id}, look, and seal it again ({_opening(pack)})"
        else:
            continue
        yield look.found(
            f"{name(pack)} holds remains, {how} and not sealed again",
            again,
            pack,
            shown_by=(shown,),
        )


@finding("not-powdered", "common practice, no source: a dry pack is powdered and netted")
def not_powdered(look: Look) -> Iterator[Found]:
    """Remains lie in a net, and were not powdered since they were last wet."""
    for pack in packs(look):
        for thing in held_tissue(look.case, pack) if pack.form is Form.NET else ():
            wet = thing.step("rinsed", "immersed", "injected")
            powdered = thing.step("powdered") or pack.step("powdered")
            if powdered is None or (wet and powdered.moment < wet.moment):
                yield look.found(
                    f"{name(thing)} lies in {name(pack)} and was not powdered",
                    f"powder {thing.id} (cared-for --step powdered)",
                    thing,
                    pack,
                )


@finding("seal-broken", "Dover mortuary, 2009: a labelled bag found empty with a slit in its side")
def seal_broken(look: Look) -> Iterator[Found]:
    """A seal was seen broken, or gone, on what is recorded sealed."""
    for thing in look.own:
        seen = next((c for c in reversed(thing.conditions) if c.seal), None)
        if thing.gone or seen is None or seen.seal == "intact":
            continue
        since = any(c.moment > seen.moment for c in thing.closures)
        if not since and (thing.shut or seen.seal == "broken"):
            how = "its seal broken" if seen.seal == "broken" else "no seal on it"
            yield look.found(
                f"{name(thing)} was seen with {how}",
                f"open {thing.id}, compare what is in it with the record, and seal it again"
                f" ({_opening(thing)})",
                thing,
                shown_by=(seen.moment,),
            )


@finding("body-not-sutured", "common practice, no source: the body is sutured after each opening")
def body_not_sutured(look: Look) -> Iterator[Found]:
    """The body was opened or reached into, or its suture seen gaping, and not sutured since."""
    body = look.body
    if body is None:
        return
    seen = next((c for c in reversed(body.conditions) if c.suture), None)
    sutured = body.closures[-1].moment if body.shut else None
    gaping = seen is not None and seen.suture != "sound"
    if seen and gaping and (sutured is None or sutured < seen.moment):
        how, shown = f"its suture was seen {seen.suture}", seen.moment
    elif body.closures and not body.shut:
        how, shown = "it was opened and not sutured since", body.closures[-1].moment
    elif (reached := look.case.reached_into(body.id)) and (sutured is None or sutured < reached):
        how, shown = "the cavity was reached into and not sutured since", reached
    else:
        return
    yield look.found(
        f"{name(body)} is open: {how}",
        f"suture {body.id} (cared-for --step sutured)",
        body,
        shown_by=(shown,),
    )


def noted(thing: Thing, what: str) -> tuple[bool, Moment] | None:
    """What the last inspection that looked for leak, odour or dryness found, and when."""
    for condition in reversed(thing.conditions):
        value = getattr(condition, what)
        if value is not None:
            return value, condition.moment
    return None


NO_REMEDY = ("dressed", "device-removed")
"""Steps that do nothing for a leak, an odour or a gaping suture."""
_NOTED = {"leak": "a leak", "odour": "an odour"}


def _not_tended(look: Look, what: str) -> Iterator[Found]:
    for thing in look.own:
        seen = noted(thing, what)
        if thing.gone or not seen or not seen[0] or _tended(look.case, thing, seen[1]):
            continue
        yield look.found(
            f"{_NOTED[what]} was noted on {name(thing)}, and nothing was done since",
            f"open, rinse, dry, powder and pack again (opened, cared-for, sealed); then look at"
            f" {thing.id} again (inspected)",
            thing,
            shown_by=(seen[1],),
        )


def _tended(case: Case, thing: Thing, since: Moment) -> bool:
    """Whether a care step was done on it, or on what is in it, or its contents were repacked."""
    within = [thing, *case.all_contents(thing.id)]
    stepped = any(s.moment > since and s.step not in NO_REMEDY for t in within for s in t.steps)
    emptied = thing.what is ThingKind.CONTAINER and not held_tissue(case, thing)
    return stepped or (emptied and thing.form is not Form.COFFIN)


@finding("leak-not-tended", "COMAR 09.34.08.05: no container showing leakage is accepted")
def leak_not_tended(look: Look) -> Iterator[Found]:
    """A leak was noted, and nothing was done since."""
    yield from _not_tended(look, "leak")


@finding("odour-not-tended", "common practice, no source")
def odour_not_tended(look: Look) -> Iterator[Found]:
    """An odour was noted, and nothing was done since."""
    yield from _not_tended(look, "odour")


@finding("closed-without-check", "common practice, no source")
def closed_without_check(look: Look) -> Iterator[Found]:
    """The coffin was closed, and no closing check was signed since something last changed in it."""
    coffin = look.coffin
    if coffin is None or not coffin.shut:
        return
    closed = coffin.closures[-1].moment
    signed = [
        c.moment for c in look.case.checks if c.coffin in (None, coffin.id) and c.moment < closed
    ]
    since = signed[-1] if signed else None
    changed = changed_since(look.case, coffin.id, since, closed) if since else ()
    late = since is not None and closed.at - since.at > look.span("closing-sighting")
    if since is None or changed or late:
        how = "with no closing check"
        if since:
            how = "after a check that no longer held" if changed else "too long after its check"
        yield look.found(
            f"{name(coffin)} was closed {how}",
            f"open {coffin.id}, do the closing check, sign it and close it again"
            " (coffin-reopened, closing-check-signed, coffin-closed)",
            coffin,
            shown_by=(closed, *changed),
        )


@finding("left-in-open-coffin", "SI 2013/1629, reg 21; COMAR 09.34.08.05")
def left_in_open_coffin(look: Look) -> Iterator[Found]:
    """The decedent went to a holder in a coffin that nobody closed."""
    coffin = look.coffin
    if coffin and look.left and not coffin.shut:
        yield look.found(
            f"{name(coffin)} left with the decedent in it, and nobody recorded closing it",
            f"have {coffin.id} looked at where it is; record what is found"
            f" (irregularity-raised --thing {coffin.id} --what ...)",
            coffin,
        )


@finding("changed-after-closing", "common practice, no source")
def changed_after_closing(look: Look) -> Iterator[Found]:
    """By the record something went into, or out of, a coffin that was closed."""
    coffin = look.coffin
    if coffin is None or not coffin.shut:
        return
    closed = coffin.closures[-1].moment
    for thing in look.own:
        inside = coffin in look.case.containers_of(thing.id)
        if inside and thing.moved and thing.moved > closed:
            into = "" if thing.where == Inside(coffin.id) else f" ({position(look, thing)})"
            yield look.found(
                f"{name(thing)} went into {name(coffin)}{into} after that was closed",
                f"open {coffin.id}, look, check again and close it (coffin-reopened,"
                " closing-check-signed, coffin-closed)",
                thing,
                coffin,
            )
