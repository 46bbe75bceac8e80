from __future__ import annotations

from datetime import timedelta

from tests.care.history import CASE, MORNING, World

from . import device, part, raises, spares

BODY, COFFIN, THIRD = (f"{CASE}.{n}" for n in range(1, 4))
FULL = {
    "reason": "neuropathology",
    "until": "2026-04-02",
    "authority": "the coroner's written order",
    "family_told": True,
}
HEART = {"what": "specimen", "description": "heart", "organ": "heart"}
RELEASE = {"relation": "daughter", "identity_checked": True, "signed": True}


def keep(w: World, *, wish: str | None = "donation", **how: object) -> None:
    """The laboratory keeps the heart; the rest is as it should be."""
    w.arrive()
    w.do("retention-stated", kept="some", according_to="the report")
    w.do("retained", holder="lab", items=[HEART], **{**FULL, **how})
    if wish:
        w.do("instructed", things=[THIRD], wish=wish, relation="daughter")
    w.ready()


@raises("retention-unknown")
def nobody_asked_what_was_kept(w: World) -> None:
    w.arrive()
    w.chains[CASE].pop()
    w.ready()


@raises("retention-unknown")
def nobody_knows_what_was_kept(w: World) -> None:
    w.arrive()
    w.do("retention-stated", kept="unknown", according_to="the report")
    w.ready()


@spares("retention-unknown", "disposal-awaited")
def what_is_recorded_as_kept_was_asked(w: World) -> None:
    w.arrive()
    w.chains[CASE].pop()
    w.do("retained", holder="lab", items=[HEART], **FULL)
    w.do("instructed", things=[THIRD], wish="donation", relation="daughter")
    w.ready()


@spares("retention-unknown", "no-decedent")
def nobody_asks_before_anybody_came(w: World) -> None:
    w.do("case-opened", disposition="burial")


@raises("retained-not-listed")
def something_was_kept(w: World) -> None:
    w.arrive()
    w.do("retention-stated", kept="some", according_to="the report")
    w.ready()


@spares("retained-not-listed", "disposal-awaited")
def something_was_kept_and_listed(w: World) -> None:
    keep(w)


@raises("retained-against-statement", "disposal-awaited")
def nothing_was_kept_and_yet_a_heart(w: World) -> None:
    keep(w)
    w.do("retention-stated", kept="none", according_to="a letter")


@spares("retained-against-statement", "disposal-awaited")
def some_was_kept_and_a_heart_is(w: World) -> None:
    keep(w)


@raises("retention-incomplete", "disposal-awaited")
def nobody_says_why_or_until_when_or_by_whose_order(w: World) -> None:
    keep(w, reason=None, until=None, authority=None)


@raises("retention-incomplete", "disposal-awaited")
def nobody_says_until_when(w: World) -> None:
    keep(w, until=None)


@spares("retention-incomplete", "disposal-awaited")
def it_was_recorded_again_in_full(w: World) -> None:
    keep(w, reason=None)
    w.do("retained", holder="lab", things=[THIRD], **FULL)


@raises("family-not-told", "disposal-awaited")
def the_family_was_not_told(w: World) -> None:
    keep(w, family_told=False)


@raises("family-not-told", "disposal-awaited")
def nobody_knows_whether_the_family_was_told(w: World) -> None:
    keep(w, family_told=None)


@spares("family-not-told", "disposal-awaited")
def the_family_was_told(w: World) -> None:
    keep(w)


@raises("no-instruction")
def the_family_has_not_said(w: World) -> None:
    keep(w, wish=None)


@spares("no-instruction", "return-later")
def the_family_has_said(w: World) -> None:
    keep(w, wish="return-later")


@raises("period-expired", "disposal-awaited")
def the_period_ended_yesterday(w: World) -> None:
    keep(w, until="2026-03-01")


@spares("period-expired", "disposal-awaited")
def the_period_ends_today(w: World) -> None:
    keep(w, until="2026-03-02")


@raises("return-awaited")
def the_heart_is_to_come_back_before_the_funeral(w: World) -> None:
    keep(w, wish="return-before-the-funeral")


@raises("return-awaited")
def the_heart_is_to_go_along(w: World) -> None:
    keep(w, wish="goes-along")


@raises("return-awaited")
def the_heart_is_to_be_with_the_body(w: World) -> None:
    keep(w, wish="worn")


@spares("return-awaited", "effect-elsewhere")
def a_ring_to_go_along_is_told_among_the_effects(w: World) -> None:
    w.arrive({"what": "effect", "description": "ring"})
    w.do("instructed", things=[THIRD], wish="goes-along", relation="daughter")
    w.do("handed-over", things=[THIRD], taker="lab", authority="an order", accepted=True)
    w.ready()


@raises("return-later")
def a_ring_to_be_released_is_at_the_laboratory(w: World) -> None:
    w.arrive({"what": "effect", "description": "ring", "intention": "release"})
    w.do("instructed", things=[THIRD], wish="release", relation="daughter")
    w.do("handed-over", things=[THIRD], taker="lab", authority="an order", accepted=True)
    w.ready()


@spares("return-awaited")
def the_heart_came_back(w: World) -> None:
    keep(w, wish="return-before-the-funeral")
    w.do("returned", things=[THIRD], giver="lab", place="table")
    w.label(THIRD, "biohazard")
    w.do("put-in", things=[THIRD], into=COFFIN, scanned=True)


@raises("return-later")
def the_heart_is_to_come_back_some_day(w: World) -> None:
    keep(w, wish="return-later")


@spares("return-later", "left-elsewhere")
def the_heart_came_back_some_day(w: World) -> None:
    keep(w, wish="return-later")
    w.do("returned", things=[THIRD], giver="lab", place="table")
    w.label(THIRD, "biohazard")


@raises("disposal-awaited")
def the_heart_is_to_be_disposed_of(w: World) -> None:
    keep(w, wish="lawful-disposal")


@spares("disposal-awaited")
def the_heart_was_disposed_of(w: World) -> None:
    keep(w, wish="lawful-disposal")
    dispose(w, "lawful-disposal", method="incineration")


def dispose(w: World, manner: str, *things: str, **how: object) -> None:
    w.do(
        "disposed",
        things=list(things or (THIRD,)),
        manner=manner,
        where="a crematory",
        **{"authority": "an order", **how},
    )


@raises("disposal-incomplete", "irregularity-open")
def nobody_says_how_it_was_disposed_of_or_why(w: World) -> None:
    keep(w, wish="lawful-disposal")
    dispose(w, "lawful-disposal", authority=None, found=True)


@raises("disposal-incomplete", "irregularity-open")
def nobody_says_how_it_was_disposed_of(w: World) -> None:
    keep(w, wish="lawful-disposal")
    dispose(w, "lawful-disposal", found=True)


@raises("disposal-incomplete", "irregularity-open")
def two_disposed_of_at_once_are_told_once(w: World) -> None:
    w.arrive(device(), device())
    w.ready()
    dispose(w, "burial", THIRD, f"{CASE}.4", authority=None, found=True)


@spares("disposal-incomplete")
def a_burial_needs_no_method(w: World) -> None:
    keep(w, wish="return-later")
    dispose(w, "burial")


@raises("against-wish")
def disposed_of_and_the_family_wanted_it_back(w: World) -> None:
    keep(w, wish="return-later")
    dispose(w, "lawful-disposal", method="incineration")


@raises("against-wish")
def buried_and_the_family_wanted_it_donated(w: World) -> None:
    keep(w, wish="donation")
    dispose(w, "burial")


@spares("against-wish")
def a_director_settled_that(w: World) -> None:
    disposed_of_and_the_family_wanted_it_back(w)
    raised = w.do(
        "irregularity-raised", things=[THIRD], what="who ordered it?", about=["against-wish"]
    )
    w.do("irregularity-resolved", irregularity=raised.number, resolution="the lab's mistake")


@spares("against-wish")
def donated_as_was_wished(w: World) -> None:
    keep(w, wish="donation")
    dispose(w, "donation")


@spares("against-wish")
def the_wish_came_after_it_was_done(w: World) -> None:
    keep(w, wish=None)
    dispose(w, "lawful-disposal", method="incineration")
    w.do("instructed", things=[THIRD], wish="return-later", relation="daughter")


@raises("wish-not-followed")
def a_donated_hand_lies_in_the_coffin(w: World) -> None:
    w.arrive(part())
    w.label(THIRD, "biohazard")
    w.do("instructed", things=[THIRD], wish="donation", relation="daughter")
    w.ready(THIRD)


@raises("wish-not-followed")
def a_hand_to_be_released_lies_in_the_coffin(w: World) -> None:
    w.arrive(part())
    w.label(THIRD, "biohazard")
    w.do("instructed", things=[THIRD], wish="release", relation="daughter")
    w.ready(THIRD)


@spares("wish-not-followed")
def a_hand_that_goes_along_lies_in_the_coffin(w: World) -> None:
    w.arrive(part())
    w.label(THIRD, "biohazard")
    w.do("instructed", things=[THIRD], wish="goes-along", relation="daughter")
    w.ready(THIRD)


@spares("period-expired", "no-instruction", now=MORNING + timedelta(days=30, hours=1))
def what_is_kept_of_a_buried_person_goes_on(w: World) -> None:
    keep(w, wish=None)
    w.close(over=["no-instruction"], reason="the family cannot say yet")
    w.buried()


@raises("disposal-incomplete", "against-wish")
def nobody_says_in_what_manner(w: World) -> None:
    keep(w, wish="lawful-disposal")
    dispose(w, "undecided", force=True)
