"""The fold: whatever stands written adds up, in the order of what happened, at any moment."""

from __future__ import annotations

from datetime import timedelta
from itertools import permutations
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from continuity.care.case import Case
from continuity.care.entries import read_act
from continuity.care.fold import fold, standing
from continuity.care.records import Moment, Sighting
from continuity.care.things import (
    AtPlace,
    Discarded,
    Divided,
    Inside,
    PartOf,
    Released,
    ThingKind,
    Unseen,
    WithHolder,
)
from tests.care.histories import bag, device, effect, part, viscera
from tests.care.history import CASE, MORNING, OTHER, World

BODY, COFFIN, THIRD, FOURTH, FIFTH, SIXTH = (f"{CASE}.{n}" for n in range(1, 7))
NINTH = f"{CASE}.9"


@pytest.fixture
def w() -> World:
    world = World()
    world.arrive(device(), bag())
    return world


def where(w: World, thing: str = THIRD, **until: object) -> object:
    return w.case(**until).things[thing].where


def folded(w: World, events: object) -> Case:
    return fold(f"id-{CASE}", CASE, events)


# The order of what happened.


def test_entries_add_up_in_whatever_order_they_are_read(w: World) -> None:
    w.do("put-in", things=[THIRD], into=FOURTH)
    w.do("sealed", thing=FOURTH, seal="S1")
    whole = w.case()
    for chain in permutations(w.chains[CASE][-3:]):
        assert folded(w, [*w.chains[CASE][:-3], *chain]) == whole
    assert folded(w, reversed(w.chains[CASE])) == whole


def test_a_late_entry_stands_where_it_happened(w: World) -> None:
    early = w.clock
    w.pass_time(minutes=10)
    w.do("moved", things=[THIRD], place="table")
    w.do("moved", things=[THIRD], place="annex", at=early)
    assert where(w) == AtPlace("table")
    assert [e.number for e in w.case().events][-2:] == [6, 5]


def test_entries_of_one_instant_keep_the_order_of_their_numbers(w: World) -> None:
    noon = w.clock
    w.do("moved", things=[THIRD], place="table", at=noon)
    w.do("moved", things=[THIRD], place="annex", at=noon)
    assert where(w) == AtPlace("annex")
    assert Moment(noon, 1) < Moment(noon, 2) < Moment(noon + timedelta(seconds=1), 0)


def test_adding_one_more_is_folding_anew(w: World) -> None:
    case = Case(f"id-{CASE}", CASE)
    for event in w.chains[CASE]:
        case.apply(event)
    assert case == w.case()


# As it was known, and as it was.


def test_as_known_then_leaves_out_what_was_recorded_later(w: World) -> None:
    early = w.clock
    w.pass_time(minutes=10)
    late = w.do("moved", things=[THIRD], place="annex", at=early)
    just_before = late.recorded_at - timedelta(milliseconds=1)
    assert where(w, known_until=just_before) == AtPlace("cold-room")
    assert where(w, known_until=late.recorded_at) == AtPlace("annex")


def test_as_it_was_then_leaves_out_what_happened_later(w: World) -> None:
    w.pass_time(minutes=10)
    moved = w.do("moved", things=[THIRD], place="annex")
    just_before = moved.occurred_at - timedelta(milliseconds=1)
    assert where(w, happened_until=just_before) == AtPlace("cold-room")
    assert where(w, happened_until=moved.occurred_at) == AtPlace("annex")


def test_a_correction_holds_of_the_past_as_it_was_and_not_as_it_was_known(w: World) -> None:
    wrong = w.do("moved", things=[THIRD], place="annex")
    after = wrong.recorded_at
    w.pass_time(minutes=10)
    w.correct(wrong, instead={"kind": "moved", "things": [THIRD], "place": "table"})
    assert where(w, known_until=after) == AtPlace("annex")
    assert where(w, happened_until=after) == AtPlace("table")
    assert where(w) == AtPlace("table")


# Corrections.


def test_a_struck_entry_did_not_happen_and_stays_legible(w: World) -> None:
    wrong = w.do("moved", things=[THIRD], place="annex")
    struck = w.correct(wrong)
    case = w.case()
    assert where(w) == AtPlace("cold-room")
    assert case.struck == {wrong.leaf: struck.number}
    assert case.struck_events == (wrong,)
    assert wrong not in case.events
    assert struck in case.events


def test_what_is_read_instead_stands_under_the_struck_entrys_number_and_time(w: World) -> None:
    wrong = w.do("moved", things=[THIRD], place="annex")
    w.do("moved", things=[THIRD], place="store")
    correction = w.correct(wrong, instead={"kind": "moved", "things": [THIRD], "place": "table"})
    (read,) = [e for e in w.case().events if e.number == wrong.number]
    assert where(w) == AtPlace("store")
    assert read.act == read_act({"kind": "moved", "things": [THIRD], "place": "table"})
    assert (read.occurred_at, read.leaf) == (wrong.occurred_at, wrong.leaf)
    assert (read.recorded_at, read.by, read.persons) == (
        correction.recorded_at,
        correction.by,
        correction.persons,
    )


def test_a_correction_of_the_time_moves_the_entry(w: World) -> None:
    wrong = w.do("moved", things=[THIRD], place="annex")
    w.do("moved", things=[THIRD], place="store")
    later = w.clock
    w.pass_time(minutes=1)
    w.correct(
        wrong,
        instead={"kind": "moved", "things": [THIRD], "place": "annex"},
        happened_at=later.isoformat(),
    )
    assert where(w) == AtPlace("annex")


def test_a_struck_correction_strikes_nothing(w: World) -> None:
    moved = w.do("moved", things=[THIRD], place="annex")
    first = w.correct(moved)
    assert where(w) == AtPlace("cold-room")
    second = w.correct(first)
    assert where(w) == AtPlace("annex")
    assert w.case().struck == {first.leaf: second.number}
    w.correct(second)
    assert where(w) == AtPlace("cold-room")


def test_the_later_of_two_corrections_of_one_entry_holds(w: World) -> None:
    wrong = w.do("moved", things=[THIRD], place="annex")
    w.correct(wrong, instead={"kind": "moved", "things": [THIRD], "place": "table"})
    strike = {"strikes": wrong.leaf, "reason": "a slip"}
    instead = {"kind": "moved", "things": [THIRD], "place": "store"}
    w.do("corrected", **strike, instead=instead)
    assert where(w) == AtPlace("store")


def test_a_struck_things_number_is_never_used_again(w: World) -> None:
    wrong = w.do("received", giver="coroner", place="store", items=[device()])
    w.correct(wrong)
    assert FIFTH not in w.case().things
    again = w.do("received", giver="coroner", place="store", items=[device()])
    assert again.act.items[0].thing == f"{CASE}.6"


def test_a_corrected_receipt_keeps_its_numbers(w: World) -> None:
    wrong = w.do("received", giver="coroner", place="store", items=[device()])
    items = [device(description="brass plate")]
    instead = {"kind": "received", "giver": "coroner", "place": "store", "items": items}
    w.correct(wrong, instead=instead)
    assert w.case().things[FIFTH].description == "brass plate"


def test_nothing_stands_of_no_entries() -> None:
    assert standing([]) == ([], {})
    assert fold("id", CASE, []) == Case("id", CASE)


# Acts that touch two cases.


def test_what_touches_two_cases_stands_in_both_chains(w: World) -> None:
    w.arrive(device(), case=OTHER)
    put = w.do("put-in", things=[f"{OTHER}.3"], into=FOURTH, found=True)
    here, there = w.case(), w.case(OTHER)
    assert here.things[f"{OTHER}.3"].where == there.things[f"{OTHER}.3"].where == Inside(FOURTH)
    assert there.things[FOURTH].what is ThingKind.CONTAINER
    assert there.events[-1].mirrors == put.leaf
    assert there.irregularities[there.events[-1].number].codes == ("wrong-case",)
    assert here.irregularities[put.number].codes == ("wrong-case",)


def test_a_correction_strikes_the_copy_too(w: World) -> None:
    w.arrive(device(), case=OTHER)
    put = w.do("put-in", things=[f"{OTHER}.3"], into=FOURTH, found=True)
    w.correct(put)
    assert w.case(OTHER).things[f"{OTHER}.3"].where == AtPlace("cold-room")
    assert w.case(OTHER).struck.keys() == {put.leaf}
    assert [e.mirrors for e in w.case(OTHER).struck_events] == [put.leaf]
    assert not w.case(OTHER).irregularities


def test_a_case_is_read_alone(w: World) -> None:
    """What another case does to its own things is not this case's to know, unless it is told."""
    w.arrive(bag(), case=OTHER)
    w.do("put-in", things=[THIRD], into=f"{OTHER}.3", found=True)
    w.do("moved", case=OTHER, things=[f"{OTHER}.3"], place="annex")
    assert w.case().resting(THIRD) == AtPlace("annex")


# Walks that cannot hang.


def test_walks_end_in_a_circle(w: World) -> None:
    w.do("put-in", things=[FOURTH], into=COFFIN)
    w.do("put-in", things=[COFFIN], into=FOURTH, force=True)
    w.do("put-in", things=[THIRD], into=FOURTH, force=True)
    case = w.case()
    assert [t.id for t in case.containers_of(THIRD)] == [FOURTH, COFFIN]
    assert [t.id for t in case.containers_of(FOURTH)] == [COFFIN]
    assert {t.id for t in case.all_contents(COFFIN)} == {FOURTH, THIRD}
    assert case.resting(THIRD) == Inside(FOURTH)
    assert case.holder(THIRD) == "here"


def test_a_thing_inside_itself_ends_the_walk(w: World) -> None:
    case = w.case()
    case.things[THIRD].where = Inside(THIRD)
    assert case.containers_of(THIRD) == []
    assert case.all_contents(THIRD) == []


@given(st.lists(st.tuples(st.integers(1, 6), st.integers(1, 6)), max_size=12))
def test_walks_end_whatever_lies_in_what(moves: list[tuple[int, int]]) -> None:
    case = Case("id", CASE)
    for inner, outer in moves:
        case.know(f"{CASE}.{inner}", Moment(MORNING, 0)).where = Inside(f"{CASE}.{outer}")
    for thing in case.things:
        around = case.containers_of(thing)
        assert len({t.id for t in around}) == len(around)
        assert thing not in {t.id for t in case.all_contents(thing)}
        case.resting(thing)
        case.holder(thing)


# What each act leaves behind.


def test_what_is_moved_takes_along_what_is_in_it(w: World) -> None:
    w.do("put-in", things=[THIRD], into=FOURTH)
    w.do("moved", things=[FOURTH], place="annex")
    case = w.case()
    assert case.things[THIRD].where == Inside(FOURTH)
    assert case.resting(THIRD) == AtPlace("annex")
    assert {t.id for t in case.at_place("annex")} == {THIRD, FOURTH}


def test_who_holds_a_thing_is_who_holds_what_it_is_in(w: World) -> None:
    w.do("put-in", things=[THIRD], into=FOURTH)
    w.do("handed-over", things=[FOURTH], taker="lab", authority="an order")
    case = w.case()
    assert case.things[FOURTH].where == WithHolder("lab", accepted=False)
    assert case.holder(THIRD) == "lab"
    w.do("hand-over-accepted", things=[FOURTH], taker="lab")
    assert w.case().things[FOURTH].where == WithHolder("lab", accepted=True)


def test_a_signature_for_one_thing_leaves_the_other_unsigned(w: World) -> None:
    w.do("handed-over", things=[THIRD], taker="lab", authority="an order")
    w.do("handed-over", things=[FOURTH], taker="lab", authority="an order")
    w.do("hand-over-accepted", things=[FOURTH], taker="lab")
    signed = {t.things: t.accepted is not None for t in w.case().transfers[-2:]}
    assert signed == {(THIRD,): False, (FOURTH,): True}


def test_a_divided_thing_exists_only_as_its_pieces(w: World) -> None:
    pieces = [device(place="table"), device(within=FOURTH)]
    w.do("separated", thing=THIRD, into=pieces, entirely=True)
    case = w.case()
    assert case.things[THIRD].where == Divided((FIFTH, f"{CASE}.6"))
    assert case.things[FIFTH].where == AtPlace("table")
    assert case.things[f"{CASE}.6"].where == Inside(FOURTH)
    assert case.things[FIFTH].parents == (THIRD,)


def test_a_piece_taken_of_a_thing_leaves_it_where_it_was(w: World) -> None:
    w.do("separated", thing=THIRD, into=[device(place="table")])
    assert where(w) == AtPlace("cold-room")


def test_a_reattached_hand_is_one_with_the_body_and_its_box_is_empty() -> None:
    w = World()
    w.arrive(bag(), part(within="#3"))
    w.do("taken-out", things=[FOURTH], place="table")
    w.do("joined", things=[FOURTH], to=BODY)
    case = w.case()
    assert case.things[FOURTH].where == PartOf(BODY)
    assert case.things[FOURTH].gone
    assert case.contents(THIRD) == []


def test_what_was_in_discarded_packaging_is_recorded_in_it_still(w: World) -> None:
    w.do("put-in", things=[THIRD], into=FOURTH)
    w.do("packaging-discarded", thing=FOURTH, empty=True, found=True)
    case = w.case()
    assert case.things[FOURTH].where == Discarded()
    assert [t.id for t in case.contents(FOURTH)] == [THIRD]


def test_what_was_declared_and_did_not_come_was_never_seen() -> None:
    w = World()
    w.arrive(effect(receipt="missing"))
    assert where(w) == Unseen()
    assert w.case().things[THIRD].receipt == "missing"


@pytest.mark.parametrize(
    ("kind", "fields"),
    [
        ("sighted", {"things": [NINTH]}),
        ("received", {"giver": "coroner", "place": "table", "items": [device(within=NINTH)]}),
        ("put-in", {"things": [THIRD], "into": NINTH}),
        ("taken-out", {"things": [THIRD], "out_of": NINTH, "place": "table"}),
        ("taken-out", {"things": [THIRD], "into": NINTH}),
        ("joined", {"things": [THIRD], "to": NINTH}),
        ("coffin-shared", {"coffin": NINTH, "with_cases": [CASE, OTHER], "authority": "x"}),
    ],
)
def test_a_named_thing_nobody_brought_is_kept_as_mentioned(
    w: World, kind: str, fields: dict[str, Any]
) -> None:
    w.do(kind, force=True, **fields)
    thing = w.case().things[f"{CASE}.9"]
    assert (thing.receipt, thing.where) == ("mentioned", Unseen())
    assert thing.description == "known by number only"
    assert w.case().highest_item == 9


def test_a_scan_where_it_is_not_recorded_puts_it_there(w: World) -> None:
    seen = w.do("sighted", things=[THIRD], place="annex", found=True)
    assert where(w) == AtPlace("annex")
    thing = w.case().things[THIRD]
    assert thing.moved == seen.moment
    assert thing.last_sighting == Sighting(seen.moment, scanned=True, for_closing=False)


def test_a_released_thing_is_gone_with_all_that_stands_behind_it(w: World) -> None:
    given = w.do("released", things=[THIRD], relation="son", authority="a wish", signed=True)
    thing = w.case().things[THIRD]
    assert thing.where == Released("a wish")
    assert thing.leaving is not None
    assert (thing.leaving.moment, thing.leaving.way, thing.leaving.relation) == (
        given.moment,
        "released",
        "son",
    )
    assert (thing.leaving.identity_checked, thing.leaving.signed) == (False, True)


def test_opening_looks_in_and_reads_the_seal() -> None:
    w = World()
    w.arrive(bag(found_seal="S1"), viscera(within="#3", inferred=True))
    assert w.case().things[THIRD].shut
    assert w.case().things[THIRD].seal == "S1"
    w.do("opened", thing=THIRD, reason="to look", seal_found="S2")
    thing = w.case().things[THIRD]
    assert not thing.shut
    assert thing.seal is None
    assert thing.closures[-1].seal == "S2"
    assert not w.case().things[FOURTH].inferred


def test_what_is_seen_of_a_pack_is_remembered_by_the_tissue_in_it() -> None:
    w = World()
    w.arrive(bag(), viscera(within="#3"), effect(within="#3"))
    seen = w.do("inspected", thing=THIRD, leak=True)
    case = w.case()
    ((on, condition),) = case.things[FOURTH].around
    assert (on, condition.moment, condition.leak) == (THIRD, seen.moment, True)
    assert case.things[FIFTH].around == []


def test_what_is_seen_of_the_coffin_is_not() -> None:
    w = World()
    w.arrive(part())
    w.lay_in(THIRD)
    w.do("inspected", thing=COFFIN, leak=True)
    assert w.case().things[THIRD].around == []


def test_what_is_done_on_the_coffin_or_the_body_is_not_done_on_what_is_in_it() -> None:
    w = World()
    w.arrive(part(within="#1"))
    w.do("cared-for", thing=BODY, step="washed")
    w.lay_in()
    w.do("cared-for", thing=COFFIN, step="disinfected")
    assert w.case().things[THIRD].steps == []


def test_what_is_done_on_a_bag_is_done_on_the_tissue_in_it_alone() -> None:
    w = World()
    w.arrive(bag(), viscera(within="#3"), effect(within="#3"))
    w.do("cared-for", thing=THIRD, step="rinsed")
    case = w.case()
    assert [s.step for s in case.things[FOURTH].steps] == ["rinsed"]
    assert [s.step for s in case.things[THIRD].steps] == ["rinsed"]
    assert case.things[FIFTH].steps == []


def test_the_last_step_of_a_name_is_found_from_the_end() -> None:
    w = World()
    w.arrive()
    w.do("cared-for", thing=BODY, step="washed")
    last = w.do("cared-for", thing=BODY, step="washed")
    body = w.case().things[BODY]
    assert body.step("dressed", "washed").moment == last.moment
    assert body.step("dressed") is None


def test_a_voided_label_is_not_in_force_and_a_new_print_voids_the_old(w: World) -> None:
    first = w.label(THIRD, "biohazard")
    second = w.label(THIRD)
    assert w.case().things[THIRD].label.code == second.act.code
    w.do("label-voided", thing=THIRD, code=second.act.code, reason="torn")
    assert w.case().things[THIRD].label is None
    again = {"code": first.act.code, "panels": ["biohazard"]}
    w.do("labelled", thing=THIRD, **again)
    assert w.case().things[THIRD].label.panels == ("biohazard",)


def test_a_wish_for_an_effect_is_its_intention(w: World) -> None:
    w.do("received", giver="coroner", place="store", items=[effect(), part()])
    w.do("instructed", things=[FIFTH, f"{CASE}.6"], wish="worn", relation="son")
    case = w.case()
    assert case.things[FIFTH].intention == "worn"
    assert case.things[f"{CASE}.6"].intention is None
    assert case.things[f"{CASE}.6"].instruction.instruction == "worn"
    w.do("instructed", things=[FIFTH], wish="donation", relation="son")
    assert w.case().things[FIFTH].intention == "worn"


def test_sex_and_age_group_are_kept_until_told_otherwise() -> None:
    w = World()
    w.arrive(sex="male")
    assert (w.case().sex, w.case().age_group) == ("male", None)
    w.identify("other", age_group="adult")
    assert (w.case().sex, w.case().age_group) == ("male", "adult")
    w.identify("other", sex="female")
    assert (w.case().sex, w.case().age_group) == ("female", "adult")


def test_a_device_removed_lies_where_it_was_set_down() -> None:
    w = World()
    w.arrive(device(within="#1"))
    w.do("cared-for", thing=BODY, step="device-removed", removed=THIRD, place="table")
    assert where(w) == AtPlace("table")


def test_a_disposition_takes_all_that_is_in_the_coffin(w: World) -> None:
    w.do("put-in", things=[THIRD], into=FOURTH)
    w.lay_in(FOURTH)
    gone = w.buried(force=True)
    case = w.case()
    for thing in (BODY, COFFIN, FOURTH, THIRD):
        assert case.things[thing].gone
        assert case.things[thing].leaving.moment == gone.moment
    assert case.things[THIRD].rested_in == (FOURTH, COFFIN)
    assert case.disposed == (gone.moment, "burial")
    assert case.coffin is None


def test_a_part_disposed_of_alone_is_not_the_disposition(w: World) -> None:
    w.do("disposed", things=[THIRD], manner="burial", where="there", authority="an order")
    assert w.case().disposed is None


def test_an_irregularity_is_resolved_once(w: World) -> None:
    raised = w.do("irregularity-raised", things=[THIRD], what="a dent", about=["seal-differs"])
    matter = w.case().irregularities[raised.number]
    assert (matter.text, matter.things, matter.about) == ("a dent", (THIRD,), ("seal-differs",))
    first = w.do("irregularity-resolved", irregularity=raised.number, resolution="old")
    again = {"irregularity": raised.number, "resolution": "new"}
    w.do("irregularity-resolved", force=True, **again)
    matter = w.case().irregularities[raised.number]
    assert (matter.resolved, matter.resolution, matter.resolved_by) == (first.moment, "old", "ada")


def test_what_was_found_so_opens_an_irregularity_about_what_it_names(w: World) -> None:
    found = w.do("returned", things=[THIRD], giver="lab", place="table", found=True)
    matter = w.case().irregularities[found.number]
    assert (matter.codes, matter.things) == (("was-here",), (THIRD,))
    assert matter.text == f"returned of {THIRD}, found so in spite of was-here"
    assert matter.moment == found.moment


def test_the_body_is_back_from_the_coroner_when_the_body_is(w: World) -> None:
    called = w.do("recalled", things=[BODY, THIRD], taker="coroner", authority="an order")
    assert w.case().recalled == called.moment
    w.do("returned", things=[THIRD], giver="coroner", place="table")
    assert w.case().recalled == called.moment
    w.do("returned", things=[BODY], giver="coroner", place="table")
    assert w.case().recalled is None


def test_own_things_stand_in_order_of_number() -> None:
    w = World()
    w.arrive(*(device() for _ in range(9)))
    assert [t.id for t in w.case().own] == [f"{CASE}.{n}" for n in range(1, 12)]


def test_the_next_number_follows_the_highest_ever_named(w: World) -> None:
    numbers = w.case().next_things()
    assert [next(numbers), next(numbers)] == [FIFTH, f"{CASE}.6"]


@pytest.mark.parametrize("scanned", [True, False])
@pytest.mark.parametrize("kind", ["moved", "put-in", "taken-out", "returned"])
def test_an_act_done_with_a_scan_is_a_sighting(w: World, kind: str, *, scanned: bool) -> None:
    if kind == "taken-out":
        w.do("put-in", things=[THIRD], into=FOURTH)
    if kind == "returned":
        w.do("handed-over", things=[THIRD], taker="lab", authority="an order")
    fields = {
        "moved": {"place": "table"},
        "put-in": {"into": FOURTH},
        "taken-out": {"place": "table"},
        "returned": {"giver": "lab", "place": "table"},
    }[kind]
    done = w.do(kind, things=[THIRD], scanned=scanned, **fields)
    seen = [Sighting(done.moment, scanned=True, for_closing=False)] if scanned else []
    assert w.case().things[THIRD].sightings == seen


def test_an_identification_is_a_scan_if_the_tag_was_read(w: World) -> None:
    tag = w.identify("closing")
    plate = w.identify("other", read_from="shelf-plate")
    assert w.case().things[BODY].sightings[-2:] == [
        Sighting(tag.moment, scanned=True, for_closing=True),
        Sighting(plate.moment, scanned=False, for_closing=False),
    ]


def test_of_several_identifiers_one_read_off_the_tag_makes_a_scan(w: World) -> None:
    read = [
        {"what": "name", "read_from": "paper"},
        {"what": "date-of-birth", "read_from": "body-tag"},
    ]
    w.do("identified", thing=BODY, identifiers=read)
    assert w.case().things[BODY].last_sighting.scanned


def test_identifiers_that_disagree_open_a_matter_of_that_name(w: World) -> None:
    read = w.identify("receipt", agree=False)
    assert w.case().irregularities[read.number].codes == ("identifiers-disagree",)


def test_a_matter_that_an_act_opens_says_too_in_spite_of_what_it_was_recorded(w: World) -> None:
    w.do("handed-over", things=[BODY], taker="clinic", authority="an order")
    read = w.identify("other", agree=False, found=True)
    assert w.case().irregularities[read.number].codes == ("identifiers-disagree", "not-here")


def test_a_scan_is_one_only_where_there_was_a_label_to_be_scanned(w: World) -> None:
    def last() -> tuple[bool, bool]:
        seen = w.do("sighted", things=[SIXTH])
        sighting = w.case().things[SIXTH].last_sighting
        assert sighting.moment == seen.moment
        return sighting.scanned, sighting.no_label

    bare = {"what": "part", "description": "a foot", "found_label": None}
    w.do("received", giver="coroner", place="table", items=[{**bare, "found_label": "T 5"}, bare])
    assert last() == (False, True)
    w.label(FIFTH)
    assert last() == (False, True)
    first = w.label(SIXTH)
    assert last() == (True, False)
    second = w.label(SIXTH)
    w.do("label-voided", thing=SIXTH, code=second.act.code, reason="torn")
    assert last() == (False, True)
    assert first.act.code in w.case().things[SIXTH].voided
    w.do("put-in", things=[SIXTH], into=FOURTH)
    assert last() == (True, False)


def test_what_a_thing_came_with_can_be_scanned_until_it_is_voided(w: World) -> None:
    assert w.case().things[THIRD].borne == "its own tag"
    w.label(THIRD)
    assert w.case().things[THIRD].borne == w.case().things[THIRD].label.code


def test_the_tag_of_the_body_can_be_scanned_once_it_was_read() -> None:
    w = World()
    w.do("case-opened")
    body = {"what": "decedent", "description": "the decedent", "found_label": None}
    w.do("received", giver="coroner", place="table", items=[body])
    w.identify("receipt", read_from="paper")
    w.do("sighted", things=[BODY])
    w.identify("receipt")
    w.do("sighted", things=[BODY])
    seen = [(s.scanned, s.no_label) for s in w.case().things[BODY].sightings]
    assert seen == [(False, False), (False, True), (True, False), (True, False)]


def test_a_shared_coffin_is_known_by_its_label_in_every_case_it_is_used_for() -> None:
    w = World()
    w.arrive(bag(form="coffin", found_label=None))
    w.arrive(case=OTHER)
    borne = w.label(THIRD).act.code
    both = [CASE, OTHER]
    w.do("coffin-shared", coffin=THIRD, with_cases=both, authority="an order")
    w.do("put-in", case=OTHER, things=[f"{OTHER}.1"], into=THIRD)
    assert w.case(OTHER).things[THIRD].borne == borne
    w.do("label-voided", thing=THIRD, code=borne, reason="torn")
    assert w.case(OTHER).things[THIRD].borne is None
    w.do("sighted", case=OTHER, things=[THIRD])
    assert w.case(OTHER).things[THIRD].borne is None
    assert w.case(OTHER).things[THIRD].last_sighting.no_label


def test_a_matter_a_person_raised_says_so(w: World) -> None:
    raised = w.do("irregularity-raised", what="a stain")
    assert w.case().irregularities[raised.number].codes == ("raised",)
