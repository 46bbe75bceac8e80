from __future__ import annotations

from tests.care.history import CASE, World

from . import bag, effect, raises, spares

BODY, COFFIN, THIRD, FOURTH = (f"{CASE}.{n}" for n in range(1, 5))
SIGNED = {"identity_checked": True, "signed": True}
RIGHT = "the family's wish"


def release(w: World, thing: str = THIRD, **how: object) -> None:
    w.do("released", things=[thing], relation="daughter", **how)


def ring(w: World, intention: str | None) -> None:
    w.arrive(effect(intention=intention) if intention else effect())


@raises("released-without-authority", "irregularity-open")
def given_away_and_nobody_says_by_what_right(w: World) -> None:
    ring(w, "release")
    release(w, found=True, **SIGNED)
    w.ready()


@spares("released-without-authority")
def given_to_the_daughter_by_right(w: World) -> None:
    ring(w, "release")
    release(w, authority=RIGHT, **SIGNED)
    w.ready()


@raises("release-incomplete")
def neither_identity_nor_signature(w: World) -> None:
    ring(w, "release")
    release(w, authority=RIGHT)
    w.ready()


@raises("release-incomplete")
def the_daughter_did_not_sign(w: World) -> None:
    ring(w, "release")
    release(w, authority=RIGHT, identity_checked=True)
    w.ready()


@raises("release-incomplete")
def nobody_checked_who_she_is(w: World) -> None:
    ring(w, "release")
    release(w, authority=RIGHT, signed=True)
    w.ready()


@spares("release-incomplete")
def identity_and_signature(w: World) -> None:
    given_to_the_daughter_by_right(w)


@raises("effect-elsewhere")
def a_ring_to_be_worn_lies_in_the_cold_room(w: World) -> None:
    ring(w, "worn")
    w.ready()


@raises("effect-elsewhere")
def a_ring_to_go_along_lies_in_a_bag_in_the_cold_room(w: World) -> None:
    w.arrive(effect(intention="goes-along"), bag())
    w.do("put-in", things=[THIRD], into=FOURTH)
    w.ready()


@raises("effect-elsewhere")
def a_ring_to_be_worn_is_at_the_clinic(w: World) -> None:
    ring(w, "worn")
    w.do("handed-over", things=[THIRD], taker="clinic", authority="an order", accepted=True)
    w.ready()


@raises("effect-elsewhere")
def a_ring_to_be_worn_was_given_away(w: World) -> None:
    ring(w, "worn")
    release(w, authority=RIGHT, **SIGNED)
    w.ready()


@raises("effect-elsewhere")
def a_ring_to_be_worn_is_in_another_coffin(w: World) -> None:
    w.arrive(effect(intention="worn"), bag(form="coffin"))
    w.do("put-in", things=[THIRD], into=FOURTH)
    w.ready()


@spares("effect-elsewhere")
def the_ring_is_worn(w: World) -> None:
    ring(w, "worn")
    w.ready(THIRD)


@spares("effect-elsewhere", "not-in-a-coffin")
def the_ring_is_on_the_body(w: World) -> None:
    w.arrive(effect(intention="worn", within="#1"))
    w.identify("closing")


@raises("effect-against-wish")
def a_ring_for_the_daughter_is_in_the_coffin(w: World) -> None:
    ring(w, "release")
    w.ready(THIRD)


@spares("effect-against-wish")
def the_daughter_wished_otherwise(w: World) -> None:
    a_ring_for_the_daughter_is_in_the_coffin(w)
    w.do("instructed", things=[THIRD], wish="goes-along", relation="daughter")


@raises("effect-undecided")
def nobody_decided_on_the_ring(w: World) -> None:
    ring(w, None)
    w.ready()


@raises("effect-undecided")
def nobody_decided_on_the_ring_in_the_coffin(w: World) -> None:
    ring(w, "unknown")
    w.ready(THIRD)


@raises("effect-undecided")
def it_was_buried_undecided(w: World) -> None:
    ring(w, "unknown")
    w.ready(THIRD)
    w.close(over=["effect-undecided"], reason="nobody to be asked")
    w.buried()


@spares("effect-undecided", "effect-to-be-released")
def the_daughter_decided(w: World) -> None:
    nobody_decided_on_the_ring(w)
    w.do("instructed", things=[THIRD], wish="release", relation="daughter")


@raises("effect-to-be-released")
def the_ring_waits_for_the_daughter(w: World) -> None:
    ring(w, "release")
    w.ready()


@raises("effect-to-be-released")
def and_waits_after_the_burial(w: World) -> None:
    ring(w, "release")
    w.ready()
    w.close()
    w.buried()


@spares("effect-to-be-released")
def the_ring_was_fetched(w: World) -> None:
    and_waits_after_the_burial(w)
    release(w, authority=RIGHT, **SIGNED)


@raises("effect-elsewhere")
def the_ring_to_be_worn_left_in_a_pouch(w: World) -> None:
    w.arrive(bag(form="pouch"), effect(within="#3", intention="worn"))
    given = {"identity_checked": True, "signed": True}
    w.do("released", things=[f"{CASE}.3"], relation="son", authority="a will", **given)
    w.ready()


@spares("effect-elsewhere")
def a_ring_to_be_released_left_in_a_pouch(w: World) -> None:
    w.arrive(bag(form="pouch"), effect(within="#3", intention="release"))
    given = {"identity_checked": True, "signed": True}
    w.do("released", things=[f"{CASE}.3"], relation="son", authority="a will", **given)
    w.ready()


@raises("effect-elsewhere", "not-in-a-coffin")
def the_ring_lies_in_the_coffin_and_the_body_does_not(w: World) -> None:
    w.arrive(effect(intention="worn"))
    w.identify("closing")
    w.do("put-in", things=[f"{CASE}.3"], into=f"{CASE}.2", scanned=True)
