from __future__ import annotations

from datetime import timedelta

from tests.care.history import CASE, MORNING, OTHER, World

from . import bag, device, effect, part, raises, spares

BODY, COFFIN, THIRD, FOURTH, FIFTH = (f"{CASE}.{n}" for n in range(1, 6))


def second_coffin(**fields: object) -> dict[str, object]:
    return {"what": "container", "form": "coffin", "description": "pine coffin", **fields}


@raises("no-decedent")
def a_case_with_nobody_in_it(w: World) -> None:
    w.do("case-opened", disposition="burial")


@raises("no-decedent")
def a_case_of_unknown_remains_with_nothing_in_it(w: World) -> None:
    w.do("case-opened", disposition="burial", unidentified=True)


@spares("no-decedent", "left-elsewhere", "hazard-label-missing")
def remains_whose_person_is_unknown_may_be_a_part(w: World) -> None:
    w.do("case-opened", disposition="burial", unidentified=True)
    w.do("received", giver="coroner", place="store", items=[part()])


@raises("disposition-undecided")
def nobody_has_decided(w: World) -> None:
    w.arrive(disposition="undecided")
    w.ready()


@spares("disposition-undecided")
def the_family_has_decided(w: World) -> None:
    nobody_has_decided(w)
    w.do("disposition-changed", disposition="burial", authority="the family's order")


@raises("disposition-undecided", "cause-struck")
def the_entry_that_said_it_was_struck(w: World) -> None:
    opened = w.do("case-opened", disposition="burial", release_authority="release 7")
    items = [
        {"what": "decedent", "description": "the decedent"},
        {"what": "container", "form": "coffin", "description": "oak coffin"},
    ]
    w.do("received", giver="coroner", place="store", items=items, authority="release 7")
    w.identify("receipt")
    w.do("inspected", thing=BODY, leak=False)
    w.do("retention-stated", kept="none", according_to="the report")
    w.ready()
    w.correct(opened)


@raises("recalled")
def the_coroner_called_it_back(w: World) -> None:
    w.arrive()
    w.identify("closing")
    w.do("recalled", things=[BODY], taker="coroner", authority="a new order", accepted=True)


@spares("recalled")
def the_body_came_back_from_the_coroner(w: World) -> None:
    w.arrive()
    w.do("recalled", things=[BODY], taker="coroner", authority="a new order", accepted=True)
    w.do("returned", things=[BODY], giver="coroner", place="cold-room")
    w.ready()


@raises("not-in-a-coffin")
def the_body_lies_in_the_cold_room(w: World) -> None:
    w.arrive()
    w.identify("closing")


@raises("not-in-a-coffin")
def what_is_in_the_body_is_where_the_body_is(w: World) -> None:
    w.arrive(bag(), effect(intention="worn"))
    w.do("put-in", things=[THIRD], into=BODY)
    w.do("put-in", things=[FOURTH], into=THIRD)
    w.do("cared-for", thing=BODY, step="sutured")
    w.identify("closing")


@spares("not-in-a-coffin")
def the_body_lies_in_its_coffin(w: World) -> None:
    w.arrive()
    w.ready()


@raises("left-elsewhere")
def a_plate_lies_in_the_store(w: World) -> None:
    w.arrive(device())
    w.do("moved", things=[THIRD], place="store")
    w.ready()


@raises("left-elsewhere")
def a_hand_lies_in_a_bag_in_the_annex(w: World) -> None:
    w.arrive(part(), bag())
    w.label(THIRD, "biohazard")
    w.do("put-in", things=[THIRD], into=FOURTH, scanned=True)
    w.do("sealed", thing=FOURTH, seal="S1")
    w.do("moved", things=[FOURTH], place="annex")
    w.ready()


@spares("left-elsewhere")
def empty_packaging_may_stay(w: World) -> None:
    w.arrive(bag(empty=True), second_coffin())
    w.ready()


@spares("left-elsewhere")
def the_plate_lies_in_the_coffin(w: World) -> None:
    w.arrive(device())
    w.ready(THIRD)


@raises("taken-out-after-sighting")
def sighted_and_then_taken_out(w: World) -> None:
    w.arrive(device())
    w.ready(THIRD)
    w.do("sighted", things=[THIRD], for_closing=True)
    w.do("taken-out", things=[THIRD], place="table")


@spares("taken-out-after-sighting", "left-elsewhere")
def taken_out_and_never_sighted_for_the_closing(w: World) -> None:
    w.arrive(device())
    w.ready(THIRD)
    w.do("sighted", things=[THIRD])
    w.do("taken-out", things=[THIRD], place="table")


@raises("left-behind")
def buried_without_the_plate(w: World) -> None:
    w.arrive(device())
    w.ready()
    w.close(over=["left-elsewhere"], reason="the family knows")
    w.buried()


@raises("left-behind")
def the_coffin_went_and_the_plate_stayed(w: World) -> None:
    w.arrive(device())
    w.ready()
    w.close(over=["left-elsewhere"], reason="the family knows")
    w.do("handed-over", things=[COFFIN], taker="crematory", authority="an order", accepted=True)


@raises("left-behind")
def buried_and_a_plate_was_in_another_coffin(w: World) -> None:
    w.arrive(device(), second_coffin())
    w.do("put-in", things=[THIRD], into=FOURTH)
    w.ready()
    w.close(over=["left-in-former-coffin"], reason="the family knows")
    w.buried()


@raises("left-behind")
def a_part_is_this_persons_after_the_burial(w: World) -> None:
    w.arrive()
    w.ready()
    w.close()
    w.buried()
    w.do("case-opened", case=OTHER, disposition="burial", unidentified=True)
    w.do("received", case=OTHER, giver="coroner", place="store", items=[device()])
    w.do("associated", case=OTHER, things=[f"{OTHER}.1"], to_case=CASE, authority="a report")


@spares("left-behind", "inside-another-case")
def a_part_in_another_cases_bag_is_this_persons_after_the_burial(w: World) -> None:
    w.arrive()
    w.ready()
    w.close()
    w.buried()
    w.do("case-opened", case=OTHER, disposition="burial", unidentified=True)
    items = [bag(), device(within="#1")]
    w.do("received", case=OTHER, giver="coroner", place="store", items=items)
    w.do("associated", case=OTHER, things=[f"{OTHER}.2"], to_case=CASE, authority="a report")


@spares("left-behind")
def the_plate_was_given_to_the_family(w: World) -> None:
    buried_without_the_plate(w)
    w.do(
        "released",
        things=[THIRD],
        relation="daughter",
        authority="her written wish",
        identity_checked=True,
        signed=True,
    )


@raises("left-in-former-coffin")
def the_coffin_was_exchanged_and_a_plate_stayed_in_it(w: World) -> None:
    w.arrive(device(), second_coffin())
    w.lay_in(THIRD)
    w.do("taken-out", things=[BODY], place="table")
    w.lay_in(coffin=FOURTH)
    w.sight_for_closing(coffin=FOURTH)


@spares("left-in-former-coffin")
def the_coffin_was_exchanged_with_all_in_it(w: World) -> None:
    w.arrive(device(), second_coffin())
    w.lay_in(THIRD)
    w.do("taken-out", things=[BODY, THIRD], place="table")
    w.lay_in(THIRD, coffin=FOURTH)
    w.sight_for_closing(coffin=FOURTH)


@raises("not-signed-for")
def the_laboratory_has_not_signed(w: World) -> None:
    w.arrive(bag(), device())
    w.do("put-in", things=[FOURTH], into=THIRD)
    w.do("handed-over", things=[THIRD], taker="lab", authority="the coroner's order")
    w.ready()


@spares("not-signed-for", "with-a-holder")
def the_laboratory_signed_later(w: World) -> None:
    the_laboratory_has_not_signed(w)
    w.do("hand-over-accepted", things=[THIRD], taker="lab")


@raises("with-a-holder")
def the_laboratory_has_a_plate(w: World) -> None:
    w.arrive(device())
    w.do("handed-over", things=[THIRD], taker="lab", authority="an order", accepted=True)
    w.ready()


@raises("with-a-holder")
def the_clinic_has_the_body(w: World) -> None:
    w.arrive(effect(within="#1", intention="release"))
    w.identify("closing")
    w.do("handed-over", things=[BODY], taker="clinic", authority="an order", accepted=True)


@spares("with-a-holder", "disposal-awaited")
def the_plate_may_stay_there(w: World) -> None:
    the_laboratory_has_a_plate(w)
    w.do("instructed", things=[THIRD], wish="donation", relation="daughter")


@raises("disposition-not-recorded", now=MORNING + timedelta(days=9))
def the_day_has_passed_and_nobody_says_what_was_done(w: World) -> None:
    w.arrive(day="2026-03-10")
    w.ready()
    w.close()
    w.do("handed-over", things=[COFFIN], taker="crematory", authority="an order", accepted=True)


@spares("disposition-not-recorded", now=MORNING + timedelta(days=8))
def the_day_is_today(w: World) -> None:
    the_day_has_passed_and_nobody_says_what_was_done(w)


@spares("disposition-not-recorded", now=MORNING + timedelta(days=9))
def the_day_has_passed_and_it_is_still_here(w: World) -> None:
    w.arrive(day="2026-03-10")
    w.ready()
    w.close()


@raises("known-by-number-only")
def an_entry_names_what_nobody_brought(w: World) -> None:
    w.arrive()
    w.do("sighted", things=[f"{CASE}.7"], force=True)
    w.ready()


@spares("known-by-number-only")
def the_entry_was_corrected(w: World) -> None:
    w.arrive()
    wrong = w.do("sighted", things=[f"{CASE}.7"], force=True)
    w.correct(wrong)
    w.ready()


@raises("in-what-was-never-seen", "declared-not-found")
def a_plate_in_a_box_that_never_came(w: World) -> None:
    w.arrive(bag(receipt="missing"), device(within="#3"))
    w.ready()


@spares("in-what-was-never-seen", "declared-not-found", "declared-not-found")
def neither_the_box_nor_the_plate_came(w: World) -> None:
    w.arrive(bag(receipt="missing"), device(within="#3", receipt="missing"))
    w.ready()


def counted(w: World, place: str, **found: tuple[str, ...]) -> None:
    w.do("place-counted", place=place, **found)


@raises("missing-at-count", "left-elsewhere")
def the_count_did_not_find_the_plate(w: World) -> None:
    w.arrive(device())
    w.ready()
    counted(w, "cold-room", missing=(THIRD,))


@spares("missing-at-count", "left-elsewhere")
def the_plate_was_scanned_after_the_count(w: World) -> None:
    the_count_did_not_find_the_plate(w)
    w.do("sighted", things=[THIRD], place="cold-room")


@spares("missing-at-count", "left-elsewhere")
def the_plate_was_moved_after_the_count(w: World) -> None:
    the_count_did_not_find_the_plate(w)
    w.do("moved", things=[THIRD], place="cold-room")


@spares("missing-at-count", "left-elsewhere")
def the_count_was_of_another_place(w: World) -> None:
    w.arrive(device())
    w.ready()
    counted(w, "cold-room", seen=(BODY, THIRD))
    counted(w, "store", missing=(THIRD,))


@raises("missing-at-count", "left-elsewhere")
def the_next_count_does_not_say_whether_the_plate_is_there(w: World) -> None:
    the_count_did_not_find_the_plate(w)
    counted(w, "cold-room", seen=(BODY,))


@raises("missing-at-count", "left-elsewhere")
def the_plate_was_shut_in_unseen_after_the_count(w: World) -> None:
    """What it is recorded in goes elsewhere, and is scanned there in its stead."""
    w.arrive(bag(), {**device(), "within": "#3"})
    w.do("sighted", things=["2026-0001.3", "2026-0001.4"])
    w.ready()
    counted(w, "cold-room", seen=("2026-0001.3",), missing=("2026-0001.4",))
    w.do("sealed", thing="2026-0001.3", seal="7")
    w.do("moved", things=["2026-0001.3"], place="store", scanned=True)
    counted(w, "store", seen=("2026-0001.3",), uncounted=("2026-0001.4",))


@raises("found-elsewhere-at-count", "left-elsewhere")
def the_count_found_the_plate_in_the_store(w: World) -> None:
    w.arrive(device())
    w.ready()
    counted(w, "cold-room")
    counted(w, "store", unexpected=(THIRD,))


@spares("found-elsewhere-at-count", "left-elsewhere")
def the_next_count_found_the_plate_in_its_place(w: World) -> None:
    the_count_found_the_plate_in_the_store(w)
    counted(w, "cold-room", seen=(BODY, THIRD))


@spares("found-elsewhere-at-count", "left-elsewhere")
def the_plate_was_recorded_there_after_the_count(w: World) -> None:
    the_count_found_the_plate_in_the_store(w)
    w.do("moved", things=[THIRD], place="store")


@spares("found-elsewhere-at-count", "left-elsewhere")
def the_plate_was_scanned_elsewhere_after_the_count(w: World) -> None:
    the_count_found_the_plate_in_the_store(w)
    w.do("sighted", things=[THIRD], place="cold-room")


def _a_day_on(w: World) -> None:
    w.do("sighted", things=[BODY, COFFIN])
    w.identify("closing")


@raises("place-not-counted")
def nobody_counted_the_cold_room_for_a_day(w: World) -> None:
    w.arrive()
    w.lay_in()
    counted(w, "cold-room")
    w.pass_time(hours=24)
    _a_day_on(w)


@raises("place-not-counted")
def another_place_was_counted_alone(w: World) -> None:
    w.arrive()
    w.lay_in()
    w.pass_time(hours=24)
    counted(w, "store")
    _a_day_on(w)


@spares("place-not-counted")
def it_was_brought_there_within_the_day(w: World) -> None:
    w.arrive()
    w.lay_in()
    w.pass_time(hours=24)
    w.do("moved", things=[COFFIN], place="store")
    _a_day_on(w)


@spares("place-not-counted")
def counted_within_the_day(w: World) -> None:
    w.arrive()
    w.lay_in()
    w.pass_time(hours=24)
    counted(w, "cold-room")
    _a_day_on(w)


@raises("long-in-store")
def thirty_days_and_a_minute_here(w: World) -> None:
    w.arrive()
    w.lay_in()
    w.clock = MORNING + timedelta(days=30)
    counted(w, "cold-room")
    _a_day_on(w)


@spares("long-in-store", now=MORNING + timedelta(days=30, minutes=1))
def thirty_days_here(w: World) -> None:
    w.arrive()
    w.lay_in()
    w.clock = MORNING + timedelta(days=29, hours=23)
    counted(w, "cold-room")
    _a_day_on(w)


@spares("long-in-store", "not-identified-at-closing", "with-a-holder")
def long_with_somebody_else(w: World) -> None:
    w.arrive()
    w.do("handed-over", things=[BODY], taker="clinic", authority="an order", accepted=True)
    w.clock = MORNING + timedelta(days=50)


@spares("left-in-former-coffin")
def a_ring_between_the_inner_and_the_outer_coffin(w: World) -> None:
    w.arrive(second_coffin(), effect(intention="goes-along"))
    w.do("put-in", things=[COFFIN, f"{CASE}.4"], into=THIRD, scanned=True)
    w.ready()
    w.do("sighted", things=[THIRD], for_closing=True)


@raises("never-sighted")
def nobody_scanned_the_outer_coffin(w: World) -> None:
    w.arrive(second_coffin())
    w.do("put-in", things=[COFFIN], into=THIRD, scanned=True)
    w.ready()


@raises("other-than-planned", "ashes-awaited", "implants-not-stated")
def cremated_though_burial_was_planned(w: World) -> None:
    w.arrive()
    w.ready()
    w.close()
    w.buried(manner="cremation")


@raises("other-than-planned", "battery-inside", "ashes-awaited")
def cremated_with_a_battery_though_burial_was_planned(w: World) -> None:
    w.arrive(device(within="#1", power="battery"))
    w.ready()
    w.close()
    w.buried(manner="cremation")


@spares("other-than-planned")
def buried_as_was_planned(w: World) -> None:
    w.arrive()
    w.ready()
    w.close()
    w.buried()


def given(w: World, **kept: object) -> None:
    w.arrive(part(**kept))
    how = {"relation": "son", "authority": "a will", "identity_checked": True, "signed": True}
    w.do("released", things=[THIRD], **how)
    w.ready()


@raises("went-apart")
def a_hand_was_given_away(w: World) -> None:
    given(w)


@raises("went-apart")
def a_hand_was_given_away_in_its_box(w: World) -> None:
    w.arrive(bag(form="box"), part(within="#3"))
    w.do("inspected", thing=THIRD, leak=False)
    how = {"relation": "son", "authority": "a will", "identity_checked": True, "signed": True}
    w.do("released", things=[THIRD], **how)
    w.ready()


@raises("went-apart")
def a_hand_was_buried_by_itself(w: World) -> None:
    w.arrive(part())
    w.do("disposed", things=[THIRD], manner="burial", where="a cemetery", authority="an order")
    w.ready()


@spares("went-apart")
def a_hand_was_given_away_as_the_family_wished(w: World) -> None:
    given(w)
    w.do("instructed", things=[THIRD], wish="release", relation="son")


@spares("went-apart")
def a_hand_was_buried_with_the_body(w: World) -> None:
    w.arrive(part())
    w.label(THIRD, "biohazard")
    w.ready(THIRD)
    w.close()
    w.buried()


@raises("with-a-holder")
def the_laboratory_has_an_empty_bag(w: World) -> None:
    w.arrive(bag(empty=True))
    w.do("handed-over", things=[THIRD], taker="lab", authority="an order", accepted=True)
    w.ready()


@raises("left-elsewhere", "another-case-inside", "irregularity-open")
def a_bag_with_a_plate_and_anothers_plate_is_no_line_of_its_own(w: World) -> None:
    w.arrive(bag(), device(within="#3"))
    w.arrive(device(), case=OTHER)
    w.do("put-in", things=[f"{OTHER}.3"], into=THIRD, found=True)
    w.ready()


@spares("taken-out-after-sighting", "left-elsewhere", "irregularity-open")
def seen_on_the_table_for_the_closing(w: World) -> None:
    w.arrive(device())
    w.ready(THIRD)
    w.do("sighted", things=[THIRD], for_closing=True, place="table", found=True)


@raises("left-behind")
def buried_and_a_bag_with_a_plate_was_in_another_coffin(w: World) -> None:
    w.arrive(device(), second_coffin(), bag())
    w.do("put-in", things=[THIRD], into=FIFTH)
    w.do("put-in", things=[FIFTH], into=FOURTH)
    w.ready()
    w.close(over=["left-in-former-coffin"], reason="the family knows")
    w.buried()


@raises("not-signed-for", "inside-another-case", "irregularity-open")
def a_plate_went_in_anothers_coffin_and_nobody_signed(w: World) -> None:
    w.arrive(device())
    w.arrive(case=OTHER)
    coffin = f"{OTHER}.2"
    w.do("put-in", things=[THIRD], into=coffin, found=True)
    w.do("handed-over", case=OTHER, things=[coffin], taker="crematory", authority="an order")
    w.ready()


@spares("not-signed-for", case=OTHER)
def a_coffin_that_may_be_shared_went_without_this_decedent(w: World) -> None:
    w.arrive()
    w.arrive(case=OTHER)
    w.do("coffin-shared", coffin=COFFIN, with_cases=[CASE, OTHER], authority="an order")
    w.ready(case=OTHER)
    w.ready()
    w.do("handed-over", things=[COFFIN], taker="crematory", authority="an order")


@raises("in-what-was-never-seen", "declared-not-found")
def a_plate_was_put_into_a_box_that_never_came(w: World) -> None:
    w.arrive(bag(receipt="missing"), device())
    w.do("put-in", things=[FOURTH], into=THIRD, force=True)
    w.ready()


@spares("found-elsewhere-at-count", "left-elsewhere")
def the_plate_was_taken_away_after_the_count(w: World) -> None:
    the_count_found_the_plate_in_the_store(w)
    w.do("moved", things=[THIRD], place="annex")


@spares("found-elsewhere-at-count", "left-elsewhere", "out-of-order")
def the_plate_had_been_taken_there_before_the_count(w: World) -> None:
    w.arrive(device())
    before = w.clock
    w.ready()
    counted(w, "store", unexpected=(THIRD,))
    w.do("moved", things=[THIRD], place="store", at=before)


@spares("place-not-counted", "not-identified-at-closing")
def counted_a_day_ago_to_the_minute(w: World) -> None:
    w.arrive()
    w.lay_in()
    counted(w, "cold-room")
    w.pass_time(hours=24, minutes=-3)
    w.do("sighted", things=[BODY])
    w.do("sighted", things=[COFFIN])


@spares("long-in-store", "declared-not-found", now=MORNING + timedelta(days=40))
def a_decedent_who_never_came_is_not_long_here(w: World) -> None:
    w.do("case-opened", disposition="burial", release_authority="release 7")
    items = [{"what": "decedent", "description": "the decedent", "receipt": "missing"}]
    w.do("received", giver="coroner", place="cold-room", items=items)
    w.do("retention-stated", kept="none", according_to="the report")
