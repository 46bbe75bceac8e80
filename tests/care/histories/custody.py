from __future__ import annotations

from datetime import timedelta

from continuity.care.house import House
from tests.care.history import CASE, World

from . import bag, device, raises, spares

BODY, COFFIN, THIRD, FOURTH = (f"{CASE}.{n}" for n in range(1, 5))


def lend(w: World, *, taker: str = "lab", accepted: bool = True, thing: str = THIRD) -> None:
    w.do("handed-over", things=[thing], taker=taker, authority="an order", accepted=accepted)


def back(w: World, *, giver: str = "lab", thing: str = THIRD, **how: object) -> None:
    w.do("returned", things=[thing], giver=giver, place="table", **how)


def plate(w: World, *items: dict[str, object]) -> None:
    w.arrive(device(), *items)


@raises("one-sided-hand-over")
def who_delivered_did_not_sign(w: World) -> None:
    w.arrive()
    w.do("received", giver="coroner", place="store", items=[device()], giver_signed=False)
    w.ready(THIRD)


@raises("one-sided-hand-over")
def nobody_said_whether_who_delivered_signed(w: World) -> None:
    w.arrive()
    w.do("received", giver="coroner", place="store", items=[device()], giver_signed=None)
    w.ready(THIRD)


@raises("one-sided-hand-over")
def nobody_said_whether_who_brought_it_back_signed(w: World) -> None:
    plate(w)
    lend(w)
    back(w, giver_signed=None)
    w.ready(THIRD)


@raises("one-sided-hand-over")
def it_came_back_and_the_laboratory_had_never_signed(w: World) -> None:
    plate(w)
    lend(w, accepted=False)
    back(w)
    w.ready(THIRD)


@raises("one-sided-hand-over")
def the_laboratory_did_not_sign_for_bringing_it(w: World) -> None:
    plate(w)
    lend(w)
    back(w, giver_signed=False)
    w.ready(THIRD)


@spares("one-sided-hand-over")
def all_have_signed(w: World) -> None:
    plate(w)
    lend(w)
    back(w)
    w.ready(THIRD)


@spares("one-sided-hand-over", "not-signed-for")
def while_it_is_there_it_is_not_signed_for(w: World) -> None:
    plate(w)
    lend(w, accepted=False)
    w.ready()


@spares("one-sided-hand-over", "declared-not-found")
def nothing_of_an_unsigned_delivery_came(w: World) -> None:
    w.arrive()
    items = [device(receipt="missing")]
    w.do("received", giver="coroner", place="store", items=items, giver_signed=False)
    w.ready()


@raises("custody-gap", "irregularity-open")
def it_went_to_the_laboratory_and_came_from_the_clinic(w: World) -> None:
    plate(w)
    lend(w)
    back(w, giver="clinic", found=True)
    w.ready(THIRD)


@raises("custody-gap", "irregularity-open", "left-elsewhere")
def it_lies_in_the_store_and_nobody_brought_it_back(w: World) -> None:
    plate(w)
    lend(w)
    w.do("moved", things=[THIRD], place="store", found=True)
    w.ready()


@raises("custody-gap", "irregularity-open", "with-a-holder")
def it_is_in_a_bag_that_is_with_the_laboratory(w: World) -> None:
    plate(w, bag())
    lend(w, thing=FOURTH)
    w.do("put-in", things=[THIRD], into=FOURTH, found=True)
    w.ready()


@raises("custody-gap")
def the_laboratory_signed_an_hour_and_more_afterwards(w: World) -> None:
    plate(w)
    lend(w, accepted=False)
    w.pass_time(minutes=60)
    w.do("hand-over-accepted", things=[THIRD], taker="lab")
    back(w)
    w.ready(THIRD)


@spares("custody-gap")
def the_laboratory_signed_within_the_hour(w: World) -> None:
    plate(w)
    lend(w, accepted=False)
    w.pass_time(minutes=59)
    w.do("hand-over-accepted", things=[THIRD], taker="lab")
    back(w)
    w.ready(THIRD)


@spares("custody-gap")
def what_is_in_the_bag_goes_and_comes_with_it(w: World) -> None:
    plate(w, bag())
    w.do("put-in", things=[THIRD], into=FOURTH)
    lend(w, thing=FOURTH)
    back(w, thing=FOURTH)
    w.do("taken-out", things=[THIRD], place="table")
    w.ready(THIRD)


def kept(w: World, **how: object) -> None:
    w.do("retention-stated", kept="some", according_to="a letter")
    why = {"reason": "a test", "until": "2026-05-01", "authority": "an order"}
    w.do("retained", holder="lab", things=[THIRD], family_told=True, **why, **how)


@spares("custody-gap", "no-instruction")
def the_examiner_keeps_what_it_was_given(w: World) -> None:
    plate(w)
    lend(w)
    kept(w)
    w.ready()


@raises("custody-gap", "no-instruction", "irregularity-open")
def the_examiner_has_what_nobody_gave_it(w: World) -> None:
    plate(w)
    kept(w, found=True)
    w.ready()


@raises("two-holders", "irregularity-open")
def handed_over_while_the_clinic_had_it(w: World) -> None:
    plate(w)
    lend(w, taker="clinic")
    w.do(
        "handed-over",
        things=[THIRD],
        taker="lab",
        authority="an order",
        accepted=True,
        found=True,
    )
    back(w)
    w.ready(THIRD)


@raises("two-holders", "irregularity-open")
def it_came_back_and_had_never_left(w: World) -> None:
    plate(w)
    back(w, found=True)
    w.ready(THIRD)


@spares("two-holders", "irregularity-open", "recorded-late")
def the_return_that_was_missed_is_recorded_at_its_time(w: World) -> None:
    plate(w)
    lend(w, taker="clinic")
    w.pass_time(minutes=180)
    missed = w.clock - timedelta(minutes=150)
    w.do(
        "handed-over",
        things=[THIRD],
        taker="lab",
        authority="an order",
        accepted=True,
        found=True,
    )
    w.do("returned", things=[THIRD], giver="clinic", place="table", at=missed)
    back(w)
    w.ready(THIRD)


@raises("two-places-at-once", "irregularity-open")
def scanned_here_while_the_laboratory_had_it(w: World) -> None:
    plate(w)
    lend(w)
    w.do("sighted", things=[THIRD], found=True)
    back(w)
    w.ready(THIRD)


@spares("two-places-at-once")
def scanned_before_and_after_it_was_away(w: World) -> None:
    plate(w)
    w.do("sighted", things=[THIRD])
    lend(w)
    back(w)
    w.do("sighted", things=[THIRD])
    w.ready(THIRD)


@raises("recorded-late")
def recorded_two_hours_and_more_afterwards(w: World) -> None:
    w.arrive()
    w.ready()
    w.do("inspected", thing=BODY, leak=False, at=w.clock - timedelta(minutes=121))


@spares("recorded-late", "out-of-order")
def recorded_two_hours_afterwards(w: World) -> None:
    w.arrive()
    w.ready()
    w.do("inspected", thing=BODY, leak=False, at=w.clock - timedelta(minutes=2))


@spares("recorded-late")
def recorded_at_the_end_of_the_two_hours(w: World) -> None:
    w.arrive()
    w.ready()
    now = w.clock
    w.do("inspected", thing=BODY, leak=False, recorded=now + timedelta(minutes=120))


@raises("dated-ahead")
def dated_three_minutes_ahead(w: World) -> None:
    w.arrive()
    w.ready()
    w.do("inspected", thing=BODY, leak=False, at=w.clock + timedelta(minutes=3))


@spares("dated-ahead")
def dated_two_minutes_ahead(w: World) -> None:
    w.arrive()
    w.ready()
    w.do("inspected", thing=BODY, leak=False, at=w.clock + timedelta(minutes=2))


@raises("clock-went-back")
def the_stations_clock_went_back_two_minutes_and_a_second(w: World) -> None:
    w.arrive()
    w.ready()
    noon = w.clock
    second = timedelta(seconds=1)
    w.do("inspected", thing=BODY, leak=False, at=noon, recorded=noon + 60 * second)
    w.do("inspected", thing=BODY, odour=False, at=noon + 30 * second, recorded=noon - 61 * second)


@spares("clock-went-back")
def two_stations_differ_by_two_minutes(w: World) -> None:
    w.arrive()
    w.ready()
    noon = w.clock
    second = timedelta(seconds=1)
    w.do("inspected", thing=BODY, leak=False, at=noon, recorded=noon + 60 * second)
    w.do("inspected", thing=BODY, odour=False, at=noon + 30 * second, recorded=noon - 60 * second)


@spares("clock-went-back", "cause-struck")
def a_correction_is_recorded_later_than_what_it_replaces(w: World) -> None:
    w.arrive()
    wrong = w.do("inspected", thing=BODY, leak=True)
    w.ready()
    w.pass_time(minutes=10)
    w.correct(wrong, instead={"kind": "inspected", "thing": BODY, "leak": False})


@raises("out-of-order")
def recorded_after_what_happened_later(w: World) -> None:
    w.arrive()
    w.ready()
    w.do("inspected", thing=BODY, leak=False, at=w.clock - timedelta(minutes=3))


@spares("out-of-order")
def recorded_in_order(w: World) -> None:
    w.arrive()
    w.ready()


@raises("signed-outside-role")
def an_auditor_moved_the_body(w: World) -> None:
    w.arrive()
    w.do("moved", things=[BODY], place="table", by=("dot",), force=True)
    w.ready()


@raises("signed-outside-role")
def a_mortician_resolved_a_matter(w: World) -> None:
    w.arrive()
    raised = w.do("irregularity-raised", what="a stain")
    w.do(
        "irregularity-resolved",
        irregularity=raised.number,
        resolution="washed",
        by=("ben",),
        force=True,
    )
    w.ready()


@spares("signed-outside-role")
def a_mortician_moved_the_body(w: World) -> None:
    w.arrive()
    w.do("moved", things=[BODY], place="table", by=("ben",))
    w.ready()


@spares("signed-outside-role", house=House())
def a_house_without_keys_says_nothing_of_roles(w: World) -> None:
    w.arrive()
    w.ready()


@raises("signed-by-too-few")
def one_director_signed_the_check(w: World) -> None:
    w.arrive()
    w.ready()
    w.do("closing-check-signed", coffin=COFFIN, by=("ada",), force=True)


@raises("signed-by-too-few")
def one_director_twice_is_one(w: World) -> None:
    w.arrive()
    w.ready()
    w.do("closing-check-signed", coffin=COFFIN, by=("ada", "ada"), force=True)


@spares("signed-by-too-few")
def two_signed_the_check(w: World) -> None:
    w.arrive()
    w.ready()
    w.do("closing-check-signed", coffin=COFFIN)


@raises("signed-by-too-few", house=None)
def the_policy_asked_for_two_without_a_house_to_tell(w: World) -> None:
    one_director_signed_the_check(w)


@spares("signed-by-too-few")
def what_was_enough_then_is_enough(w: World) -> None:
    w.arrive()
    w.do("moved", things=[BODY], place="table", by=("ben",))
    w.ready()
    rule = w.house.policy.acts["any"].model_copy(update={"persons": 3})
    acts = {**w.house.policy.acts, "any": rule}
    stricter = w.house.policy.model_copy(update={"acts": acts})
    w.house.policies.append((w.clock, stricter))
