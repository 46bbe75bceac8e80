"""For each objection the smallest scene that raises it, and the nearest that does not.

A scene is a function that builds a `World` and answers with the act that is then judged: its kind
and fields. The sentences stand in `refusals.json`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from continuity.care.house import Key, Role
from tests.care.histories import bag, device, effect, part
from tests.care.history import CASE, OTHER, World

if TYPE_CHECKING:
    from collections.abc import Callable

    from continuity.care.refusal import Objection

    Asked = tuple[str, dict[str, Any]]

BODY, COFFIN, THIRD, FOURTH = (f"{CASE}.{n}" for n in range(1, 5))
THEIRS = f"{OTHER}.3"


@dataclass(frozen=True)
class Judged:
    """A scene, the code it is about, and every code that speaks against its act."""

    code: str
    name: str
    build: Callable[[World], Asked]
    codes: tuple[str, ...]

    def objections(self) -> list[Objection]:
        world = World()
        kind, fields = self.build(world)
        return world.objections(kind, **fields)


JUDGED: list[Judged] = []


def refused(code: str, *also: str) -> Callable:
    def enter(build: Callable[[World], Asked]) -> Callable[[World], Asked]:
        JUDGED.append(Judged(code, build.__name__, build, tuple(sorted((code, *also)))))
        return build

    return enter


def allowed(code: str) -> Callable:
    def enter(build: Callable[[World], Asked]) -> Callable[[World], Asked]:
        JUDGED.append(Judged(code, build.__name__, build, ()))
        return build

    return enter


def act(kind: str, **fields: Any) -> Asked:
    return kind, fields


# Who may sign.


@refused("role")
def an_auditor_moves_the_body(w: World) -> Asked:
    w.arrive()
    return act("moved", things=[BODY], place="table", by=("dot",))


@allowed("role")
def an_assistant_moves_the_body(w: World) -> Asked:
    w.arrive()
    return act("moved", things=[BODY], place="table", by=("cy",))


@refused("second-person")
def one_person_twice_identifies(w: World) -> Asked:
    w.arrive()
    read = [{"what": "name"}]
    return act("identified", thing=BODY, identifiers=read, by=("ada", "ada"))


@allowed("second-person")
def two_persons_identify(w: World) -> Asked:
    w.arrive()
    return act("identified", thing=BODY, identifiers=[{"what": "name"}], by=("ada", "dot"))


# Names.


@refused("no-such-place")
def to_a_place_nobody_named(w: World) -> Asked:
    w.arrive()
    return act("moved", things=[BODY], place="attic")


@allowed("no-such-place")
def to_a_place_that_is_named(w: World) -> Asked:
    w.arrive()
    return act("moved", things=[BODY], place="annex")


@refused("no-such-holder")
def to_a_holder_nobody_named(w: World) -> Asked:
    w.arrive()
    return act("handed-over", things=[BODY], taker="nobody", authority="an order")


@allowed("no-such-holder")
def to_a_holder_that_is_named(w: World) -> Asked:
    w.arrive()
    return act("handed-over", things=[BODY], taker="clinic", authority="an order")


# Opening a case.


@refused("already-open")
def a_case_is_opened_twice(w: World) -> Asked:
    w.arrive()
    return act("case-opened", number=CASE)


@allowed("already-open")
def a_case_is_opened(w: World) -> Asked:
    return act("case-opened", number=CASE)


# Receipt.


@refused("second-decedent")
def two_decedents_come_into_one_case(w: World) -> Asked:
    w.arrive()
    items = [{"what": "decedent", "description": "another"}]
    return act("received", giver="coroner", place="store", items=items)


@refused("second-decedent")
def two_decedents_come_at_once(w: World) -> Asked:
    w.do("case-opened")
    items = [{"what": "decedent", "description": "one"}, {"what": "decedent", "description": "two"}]
    return act("received", giver="coroner", place="store", items=items)


@allowed("second-decedent")
def a_second_decedent_was_declared_and_is_missing(w: World) -> Asked:
    w.arrive()
    items = [{"what": "decedent", "description": "another", "receipt": "missing"}]
    return act("received", giver="coroner", place="store", items=items)


@refused("number-spent")
def a_number_is_used_again_at_receipt(w: World) -> Asked:
    w.arrive()
    items = [effect(thing=COFFIN)]
    return act("received", giver="coroner", place="store", items=items)


@refused("number-spent")
def a_number_is_used_again_for_a_piece(w: World) -> Asked:
    w.arrive(device())
    into = [device(thing=COFFIN, place="table")]
    return act("separated", thing=THIRD, into=into)


@refused("number-spent")
def a_number_is_used_again_for_a_container(w: World) -> Asked:
    w.arrive()
    return act("provided", place="table", items=[bag(thing=COFFIN)])


@allowed("number-spent")
def a_number_nobody_had(w: World) -> Asked:
    w.arrive()
    items = [effect(thing=f"{CASE}.9")]
    return act("received", giver="coroner", place="store", items=items)


@refused("not-a-container")
def a_firm_provides_a_hand(w: World) -> Asked:
    w.arrive()
    return act("provided", place="table", items=[part()])


@allowed("not-a-container")
def a_firm_provides_a_bag(w: World) -> Asked:
    w.arrive()
    return act("provided", place="table", items=[bag()])


# Taking in hand.


@refused("wrong-case")
def anothers_plate_is_moved_in_this_case(w: World) -> Asked:
    w.arrive()
    w.arrive(device(), case=OTHER)
    return act("moved", things=[THEIRS], place="table")


@refused("wrong-case")
def anothers_plate_is_put_into_this_coffin(w: World) -> Asked:
    w.arrive()
    w.arrive(device(), case=OTHER)
    return act("put-in", things=[THEIRS], into=COFFIN)


@refused("wrong-case")
def a_label_is_printed_for_anothers_plate(w: World) -> Asked:
    w.arrive()
    w.arrive(device(), case=OTHER)
    return act("labelled", thing=THEIRS, code="TEST 1")


@refused("wrong-case")
def a_thing_comes_inside_anothers_bag(w: World) -> Asked:
    w.arrive()
    w.arrive(bag(), case=OTHER)
    items = [effect(within=THEIRS)]
    return act("received", giver="coroner", place="store", items=items)


@refused("wrong-case")
def a_matter_is_raised_about_anothers_plate(w: World) -> Asked:
    w.arrive()
    w.arrive(device(), case=OTHER)
    return act("irregularity-raised", things=[THEIRS], what="a scratch")


@refused("wrong-case")
def a_wish_about_anothers_ring(w: World) -> Asked:
    w.arrive()
    w.arrive(effect(), case=OTHER)
    return act("instructed", things=[THEIRS], wish="worn", relation="daughter")


@refused("wrong-case")
def anothers_plate_is_retained_in_this_case(w: World) -> Asked:
    w.arrive()
    w.arrive(device(), case=OTHER)
    w.do("handed-over", case=OTHER, things=[THEIRS], taker="lab", authority="an order")
    return act("retained", holder="lab", things=[THEIRS])


@refused("nothing-seen")
def the_body_was_looked_at_and_nothing_is_said_of_it(w: World) -> Asked:
    w.arrive()
    return act("inspected", thing=BODY)


@allowed("nothing-seen")
def the_body_was_looked_at_and_does_not_leak(w: World) -> Asked:
    w.arrive()
    return act("inspected", thing=BODY, leak=False)


@refused("not-with-the-holder")
def a_plate_that_is_here_is_retained(w: World) -> Asked:
    w.arrive(device())
    return act("retained", holder="lab", things=[THIRD])


@refused("not-with-the-holder")
def a_plate_that_the_clinic_has_is_retained_by_the_laboratory(w: World) -> Asked:
    w.arrive(device())
    w.do("handed-over", things=[THIRD], taker="clinic", authority="an order")
    return act("retained", holder="lab", things=[THIRD])


@allowed("not-with-the-holder")
def a_plate_that_the_laboratory_has_is_retained_by_it(w: World) -> Asked:
    w.arrive(device())
    w.do("handed-over", things=[THIRD], taker="lab", authority="an order")
    return act("retained", holder="lab", things=[THIRD])


@allowed("not-with-the-holder")
def a_plate_that_never_came_is_retained(w: World) -> Asked:
    w.arrive(device(receipt="missing"))
    return act("retained", holder="lab", things=[THIRD])


@refused("already-gone")
def a_released_ring_is_retained(w: World) -> Asked:
    w.arrive(effect())
    w.do("released", things=[THIRD], relation="daughter", authority="a wish")
    return act("retained", holder="lab", things=[THIRD])


@refused("shut")
def a_hand_is_sewn_on_to_a_closed_body(w: World) -> Asked:
    w.arrive(part())
    w.do("cared-for", thing=BODY, step="sutured")
    return act("joined", things=[THIRD], to=BODY)


@allowed("shut")
def a_hand_is_sewn_on_to_an_open_body(w: World) -> Asked:
    w.arrive(part())
    w.do("cared-for", thing=BODY, step="sutured")
    w.do("opened", thing=BODY, reason="to sew a hand on")
    return act("joined", things=[THIRD], to=BODY)


@refused("wrong-case")
def anothers_hand_is_sewn_on(w: World) -> Asked:
    w.arrive()
    w.arrive(part(), case=OTHER)
    return act("joined", things=[THEIRS], to=BODY)


@refused("wrong-case")
def anothers_coffin_is_disposed_of_in_this_case(w: World) -> Asked:
    w.arrive()
    w.arrive(device(), case=OTHER)
    return act(
        "disposed", things=[THEIRS], manner="burial", where="a cemetery", authority="an order"
    )


@refused("wrong-case")
def anothers_part_is_associated_from_this_case(w: World) -> Asked:
    w.arrive()
    w.arrive(part(), case=OTHER)
    return act("associated", things=[THEIRS], to_case="2026-0009", authority="a report")


@allowed("wrong-case")
def an_associated_part_is_this_cases(w: World) -> Asked:
    w.arrive()
    w.do("case-opened", case=OTHER, unidentified=True)
    w.do("received", case=OTHER, giver="coroner", place="store", items=[device()])
    w.do("associated", case=OTHER, things=[f"{OTHER}.1"], to_case=CASE, authority="a report")
    return act("moved", things=[f"{OTHER}.1"], place="table")


@allowed("wrong-case")
def a_shared_coffin_may_be_used(w: World) -> Asked:
    w.arrive()
    w.arrive(case=OTHER)
    coffin = f"{OTHER}.2"
    w.do("coffin-shared", case=OTHER, coffin=coffin, with_cases=[OTHER, CASE], authority="an order")
    return act("put-in", things=[BODY], into=coffin)


@refused("own-thing")
def a_part_is_associated_to_its_own_case(w: World) -> Asked:
    w.arrive(part())
    return act("associated", things=[THIRD], to_case=CASE, authority="a report")


@refused("second-decedent")
def a_decedent_is_associated_to_a_case_that_has_one(w: World) -> Asked:
    w.arrive()
    w.arrive(case=OTHER)
    return act("associated", things=[BODY], to_case=OTHER, authority="a report")


@allowed("second-decedent")
def a_decedent_is_associated_to_a_case_without_one(w: World) -> Asked:
    w.arrive()
    w.do("case-opened", case=OTHER)
    return act("associated", things=[BODY], to_case=OTHER, authority="a report")


@allowed("own-thing")
def a_part_is_associated_to_another_case(w: World) -> Asked:
    w.arrive(part())
    return act("associated", things=[THIRD], to_case=OTHER, authority="a report")


@refused("already-gone")
def a_released_ring_is_moved(w: World) -> Asked:
    w.arrive(effect())
    w.do("released", things=[THIRD], relation="daughter", authority="a wish")
    return act("moved", things=[THIRD], place="table")


@refused("already-gone")
def a_released_ring_is_disposed_of(w: World) -> Asked:
    w.arrive(effect())
    w.do("released", things=[THIRD], relation="daughter", authority="a wish")
    return act(
        "disposed", things=[THIRD], manner="burial", where="a cemetery", authority="an order"
    )


@allowed("already-gone")
def a_ring_is_moved(w: World) -> Asked:
    w.arrive(effect())
    return act("moved", things=[THIRD], place="table")


def _away(w: World) -> None:
    w.arrive(device())
    w.do("handed-over", things=[THIRD], taker="lab", authority="an order")


@refused("not-here")
def a_plate_at_the_laboratory_is_moved(w: World) -> Asked:
    _away(w)
    return act("moved", things=[THIRD], place="table")


@allowed("not-here")
def a_plate_that_came_back_is_moved(w: World) -> Asked:
    _away(w)
    w.do("returned", things=[THIRD], giver="lab", place="store")
    return act("moved", things=[THIRD], place="table")


def _shut_in(w: World) -> None:
    w.arrive(device(), bag())
    w.do("put-in", things=[THIRD], into=FOURTH)
    w.do("sealed", thing=FOURTH)


@refused("shut-in")
def a_plate_in_a_sealed_bag_is_moved(w: World) -> Asked:
    _shut_in(w)
    return act("moved", things=[THIRD], place="table")


@refused("shut-in")
def a_plate_in_a_sealed_bag_is_seen(w: World) -> Asked:
    _shut_in(w)
    return act("sighted", things=[THIRD])


@refused("shut-in")
def a_plate_in_a_sealed_bag_is_recalled(w: World) -> Asked:
    _shut_in(w)
    return act("recalled", things=[THIRD], taker="coroner", authority="an order")


@refused("shut-in")
def a_plate_in_a_sealed_bag_is_weighed(w: World) -> Asked:
    _shut_in(w)
    return act("weighed", thing=THIRD, grams=10)


@allowed("shut-in")
def a_plate_in_an_opened_bag_is_moved(w: World) -> Asked:
    _shut_in(w)
    w.do("opened", thing=FOURTH, reason="to look")
    return act("moved", things=[THIRD], place="table")


# Into and out of containers.


@refused("holds-nothing")
def a_ring_is_put_into_a_ring(w: World) -> Asked:
    w.arrive(effect(), effect())
    return act("put-in", things=[THIRD], into=FOURTH)


@refused("holds-nothing")
def a_ring_is_opened(w: World) -> Asked:
    w.arrive(effect())
    return act("opened", thing=THIRD, reason="to look")


@allowed("holds-nothing")
def a_ring_is_put_into_a_bag(w: World) -> Asked:
    w.arrive(effect(), bag())
    return act("put-in", things=[THIRD], into=FOURTH)


def _sealed_bag(w: World) -> None:
    w.arrive(device(), bag())
    w.do("sealed", thing=FOURTH)


@refused("shut")
def a_plate_is_put_into_a_sealed_bag(w: World) -> Asked:
    _sealed_bag(w)
    return act("put-in", things=[THIRD], into=FOURTH)


@refused("shut")
def a_plate_goes_from_one_bag_into_a_sealed_one(w: World) -> Asked:
    w.arrive(device(within="#2"), bag(), bag())
    w.do("sealed", thing=f"{CASE}.5")
    return act("taken-out", things=[THIRD], into=f"{CASE}.5")


@refused("shut")
def a_piece_is_put_into_a_sealed_bag(w: World) -> Asked:
    _sealed_bag(w)
    return act("separated", thing=THIRD, into=[device(within=FOURTH)])


@allowed("shut")
def a_plate_is_put_into_an_opened_bag(w: World) -> Asked:
    _sealed_bag(w)
    w.do("opened", thing=FOURTH, reason="to look")
    return act("put-in", things=[THIRD], into=FOURTH)


@refused("inside-itself")
def a_bag_is_put_into_the_bag_in_it(w: World) -> Asked:
    w.arrive(bag(), bag(within="#3"))
    return act("put-in", things=[THIRD], into=FOURTH)


@refused("inside-itself", "not-empty", "cannot-be-one")
def a_bag_becomes_part_of_what_is_in_it(w: World) -> Asked:
    w.arrive(bag(), bag(within="#3"))
    w.do("taken-out", things=[FOURTH], place="table")
    w.do("put-in", things=[THIRD], into=FOURTH)
    return act("joined", things=[FOURTH], to=THIRD)


@allowed("inside-itself")
def a_bag_is_put_into_another(w: World) -> Asked:
    w.arrive(bag(), bag())
    return act("put-in", things=[THIRD], into=FOURTH)


@refused("not-inside")
def a_plate_is_taken_out_of_a_bag_it_is_not_in(w: World) -> Asked:
    w.arrive(device(), bag())
    return act("taken-out", things=[THIRD], out_of=FOURTH, place="table")


@refused("not-inside")
def a_plate_is_taken_out_of_nothing(w: World) -> Asked:
    w.arrive(device())
    return act("taken-out", things=[THIRD], place="table")


@refused("not-inside")
def a_device_is_removed_that_was_not_in_the_body(w: World) -> Asked:
    w.arrive(device())
    return act("cared-for", thing=BODY, step="device-removed", removed=THIRD, place="table")


@allowed("not-inside")
def a_plate_is_taken_out_of_its_bag(w: World) -> Asked:
    w.arrive(device(within="#2"), bag())
    return act("taken-out", things=[THIRD], place="table")


@allowed("not-inside")
def a_device_is_removed_from_the_body(w: World) -> Asked:
    w.arrive(device(within="#1"))
    return act("cared-for", thing=BODY, step="device-removed", removed=THIRD, place="table")


@refused("already-open")
def an_opened_bag_is_opened(w: World) -> Asked:
    w.arrive(bag())
    w.do("opened", thing=THIRD, reason="to look")
    return act("opened", thing=THIRD, reason="to look")


@allowed("already-open")
def a_bag_nobody_sealed_is_opened(w: World) -> Asked:
    w.arrive(bag())
    return act("opened", thing=THIRD, reason="to look")


@refused("not-a-container")
def the_body_is_sealed(w: World) -> Asked:
    w.arrive()
    return act("sealed", thing=BODY)


@refused("already-closed")
def a_sealed_bag_is_sealed(w: World) -> Asked:
    w.arrive(bag())
    w.do("sealed", thing=THIRD)
    return act("sealed", thing=THIRD)


@refused("already-closed")
def a_closed_coffin_is_closed(w: World) -> Asked:
    w.arrive()
    w.ready()
    w.close()
    return act("coffin-closed", thing=COFFIN)


@allowed("already-closed")
def a_bag_is_sealed(w: World) -> Asked:
    w.arrive(bag())
    return act("sealed", thing=THIRD)


@refused("never-discarded")
def a_hand_is_discarded(w: World) -> Asked:
    w.arrive(part())
    return act("packaging-discarded", thing=THIRD, empty=True)


@refused("not-empty")
def a_bag_is_discarded_with_a_plate_in_it(w: World) -> Asked:
    w.arrive(bag(), device(within="#3"))
    return act("packaging-discarded", thing=THIRD, empty=True)


@refused("not-empty", "cannot-be-one")
def a_bag_with_a_plate_in_it_becomes_part_of_another(w: World) -> Asked:
    w.arrive(bag(), device(within="#3"), bag())
    return act("joined", things=[THIRD], to=f"{CASE}.5")


@refused("not-looked-into")
def a_bag_is_discarded_and_nobody_looked(w: World) -> Asked:
    w.arrive(bag())
    return act("packaging-discarded", thing=THIRD, empty=False)


@allowed("never-discarded")
def a_bag_is_discarded(w: World) -> Asked:
    w.arrive(bag())
    return act("packaging-discarded", thing=THIRD, empty=True)


@allowed("not-looked-into")
def a_bag_is_discarded_by_one_who_looked(w: World) -> Asked:
    return a_bag_is_discarded(w)


@allowed("not-empty")
def a_bag_is_discarded_from_which_all_was_taken(w: World) -> Asked:
    w.arrive(bag(), device(within="#3"))
    w.do("taken-out", things=[FOURTH], place="table")
    return act("packaging-discarded", thing=THIRD, empty=True)


@refused("label-unknown")
def a_label_is_voided_that_was_never_printed(w: World) -> Asked:
    w.arrive()
    w.label(BODY)
    return act("label-voided", thing=BODY, code="OTHER 1", reason="torn")


@allowed("label-unknown")
def a_label_is_voided(w: World) -> Asked:
    w.arrive()
    printed = w.label(BODY)
    return act("label-voided", thing=BODY, code=printed.act.code, reason="torn")


# From holder to holder.


@refused("not-handed-over")
def the_clinic_signs_for_what_the_laboratory_has(w: World) -> Asked:
    _away(w)
    return act("hand-over-accepted", things=[THIRD], taker="clinic")


@refused("not-handed-over")
def the_laboratory_signs_for_what_is_here(w: World) -> Asked:
    w.arrive(device())
    return act("hand-over-accepted", things=[THIRD], taker="lab")


@allowed("not-handed-over")
def the_laboratory_signs(w: World) -> Asked:
    _away(w)
    return act("hand-over-accepted", things=[THIRD], taker="lab")


@refused("was-here")
def what_never_left_comes_back(w: World) -> Asked:
    w.arrive(device())
    return act("returned", things=[THIRD], giver="lab", place="table")


@allowed("was-here")
def what_never_came_comes(w: World) -> Asked:
    w.arrive(device(receipt="missing"))
    return act("returned", things=[THIRD], giver="coroner", place="table")


@refused("other-holder")
def the_clinic_brings_what_the_laboratory_has(w: World) -> Asked:
    _away(w)
    return act("returned", things=[THIRD], giver="clinic", place="table")


@allowed("other-holder")
def the_laboratory_brings_it(w: World) -> Asked:
    _away(w)
    return act("returned", things=[THIRD], giver="lab", place="table")


@refused("seen-elsewhere")
def a_plate_is_seen_where_it_is_not_recorded(w: World) -> Asked:
    w.arrive(device())
    return act("sighted", things=[THIRD], place="store")


@allowed("seen-elsewhere")
def a_plate_is_seen_where_it_is_recorded(w: World) -> Asked:
    w.arrive(device())
    return act("sighted", things=[THIRD], place="cold-room")


# Care.


@refused("step-does-not-fit")
def a_hand_is_embalmed(w: World) -> Asked:
    w.arrive(part())
    return act("cared-for", thing=THIRD, step="embalmed")


@allowed("step-does-not-fit")
def a_hand_is_washed(w: World) -> Asked:
    w.arrive(part())
    return act("cared-for", thing=THIRD, step="washed")


@refused("never-immersed")
def a_hand_is_drained_that_was_never_immersed(w: World) -> Asked:
    w.arrive(part())
    return act("cared-for", thing=THIRD, step="drained")


@allowed("never-immersed")
def a_hand_is_drained(w: World) -> Asked:
    w.arrive(part())
    w.do("cared-for", thing=THIRD, step="immersed")
    return act("cared-for", thing=THIRD, step="drained")


# What the examiner kept.


@refused("nothing-named")
def nothing_is_retained(w: World) -> Asked:
    w.arrive()
    return act("retained", holder="lab")


@allowed("nothing-named")
def a_heart_is_retained(w: World) -> Asked:
    w.arrive()
    items = [{"what": "specimen", "description": "heart"}]
    return act("retained", holder="lab", items=items)


# Leaving.


@refused("decedent-is-not-released-so")
def the_decedent_is_released_like_a_ring(w: World) -> Asked:
    w.arrive()
    return act("released", things=[BODY], relation="daughter", authority="a wish")


@allowed("decedent-is-not-released-so")
def a_ring_is_released(w: World) -> Asked:
    w.arrive(effect())
    return act("released", things=[THIRD], relation="daughter", authority="a wish")


@refused("no-authority")
def a_ring_is_released_without_authority(w: World) -> Asked:
    w.arrive(effect())
    return act("released", things=[THIRD], relation="daughter")


@refused("no-authority")
def a_plate_is_disposed_of_without_authority(w: World) -> Asked:
    w.arrive(device())
    return act("disposed", things=[THIRD], manner="burial", where="a cemetery")


@allowed("no-authority")
def a_plate_is_disposed_of_on_authority(w: World) -> Asked:
    w.arrive(device())
    return act(
        "disposed", things=[THIRD], manner="burial", where="a cemetery", authority="an order"
    )


@refused("no-method")
def a_lawful_disposal_without_method(w: World) -> Asked:
    w.arrive(part())
    return act(
        "disposed", things=[THIRD], manner="lawful-disposal", where="there", authority="an order"
    )


@allowed("no-method")
def a_lawful_disposal_with_its_method(w: World) -> Asked:
    w.arrive(part())
    return act(
        "disposed",
        things=[THIRD],
        manner="lawful-disposal",
        where="there",
        authority="an order",
        method="incineration",
    )


@refused("coffin-not-closed")
def a_burial_in_an_open_coffin(w: World) -> Asked:
    w.arrive()
    w.ready()
    return act(
        "disposed", things=[COFFIN], manner="burial", where="a cemetery", authority="an order"
    )


@refused("coffin-not-closed")
def a_burial_without_a_coffin(w: World) -> Asked:
    w.arrive()
    return act("disposed", things=[BODY], manner="burial", where="a cemetery", authority="an order")


@allowed("coffin-not-closed")
def a_burial_in_a_closed_coffin(w: World) -> Asked:
    w.arrive()
    w.ready()
    w.close()
    return act(
        "disposed", things=[COFFIN], manner="burial", where="a cemetery", authority="an order"
    )


@refused("not-a-coffin")
def a_bag_is_closed_as_a_coffin(w: World) -> Asked:
    w.arrive(bag(empty=True))
    w.ready()
    w.do("closing-check-signed")
    return act("coffin-closed", thing=THIRD)


@refused("not-a-coffin")
def a_bag_is_shared_as_a_coffin(w: World) -> Asked:
    w.arrive(bag())
    w.arrive(case=OTHER)
    return act("coffin-shared", coffin=THIRD, with_cases=[CASE, OTHER], authority="an order")


@refused("no-closing-check")
def a_coffin_is_closed_and_nobody_checked(w: World) -> Asked:
    w.arrive()
    w.ready()
    return act("coffin-closed", thing=COFFIN)


@refused("no-closing-check")
def a_coffin_is_closed_after_something_moved(w: World) -> Asked:
    w.arrive(bag(empty=True))
    w.ready()
    w.do("closing-check-signed", coffin=COFFIN)
    w.do("moved", things=[THIRD], place="table")
    return act("coffin-closed", thing=COFFIN)


@refused("no-closing-check")
def a_coffin_is_closed_after_something_was_opened(w: World) -> Asked:
    w.arrive(bag(empty=True))
    w.ready()
    w.do("closing-check-signed", coffin=COFFIN)
    w.do("opened", thing=THIRD, reason="to look")
    return act("coffin-closed", thing=COFFIN)


@refused("no-closing-check")
def another_coffin_is_closed_than_was_checked(w: World) -> Asked:
    w.arrive({"what": "container", "form": "coffin", "description": "pine coffin"})
    w.ready()
    w.do("closing-check-signed", coffin=THIRD)
    return act("coffin-closed", thing=COFFIN)


@allowed("no-closing-check")
def a_coffin_is_closed_after_its_check(w: World) -> Asked:
    w.arrive()
    w.ready()
    w.do("closing-check-signed", coffin=COFFIN)
    return act("coffin-closed", thing=COFFIN)


@allowed("not-a-coffin")
def a_coffin_is_closed(w: World) -> Asked:
    return a_coffin_is_closed_after_its_check(w)


@refused("not-closed")
def an_open_coffin_is_reopened(w: World) -> Asked:
    w.arrive()
    return act("coffin-reopened", thing=COFFIN, reason="to look")


@allowed("not-closed")
def a_closed_coffin_is_reopened(w: World) -> Asked:
    w.arrive()
    w.ready()
    w.close()
    return act("coffin-reopened", thing=COFFIN, reason="to look")


@refused("case-not-named")
def a_sharing_that_does_not_name_this_case(w: World) -> Asked:
    w.arrive()
    return act(
        "coffin-shared", coffin=COFFIN, with_cases=[OTHER, "2026-0003"], authority="an order"
    )


@allowed("case-not-named")
def a_sharing_that_names_this_case(w: World) -> Asked:
    w.arrive()
    w.arrive(case=OTHER)
    return act("coffin-shared", coffin=COFFIN, with_cases=[CASE, OTHER], authority="an order")


def _cremated(w: World, manner: str = "cremation") -> None:
    w.arrive(disposition=manner)
    w.do("inspected", thing=BODY, implants="none")
    w.ready()
    w.close()
    w.buried(manner=manner)


ASHES = {"what": "ashes", "description": "the ashes"}


@refused("weights-missing")
def one_weight_for_two_urns(w: World) -> Asked:
    _cremated(w)
    return act(
        "ashes-received", giver="crematory", place="store", items=[ASHES, ASHES], grams=[2000]
    )


@allowed("weights-missing")
def no_weights_at_all(w: World) -> Asked:
    _cremated(w)
    return act("ashes-received", giver="crematory", place="store", items=[ASHES, ASHES])


@refused("not-cremated")
def ashes_of_one_who_was_buried(w: World) -> Asked:
    _cremated(w, "burial")
    return act("ashes-received", giver="crematory", place="store", items=[ASHES])


@refused("not-cremated")
def ashes_of_one_who_is_here(w: World) -> Asked:
    w.arrive()
    return act("ashes-received", giver="crematory", place="store", items=[ASHES])


@allowed("not-cremated")
def ashes_of_one_who_was_cremated(w: World) -> Asked:
    _cremated(w)
    return act("ashes-received", giver="crematory", place="store", items=[ASHES])


# Matters.


@refused("not-open")
def a_matter_is_resolved_that_nobody_raised(w: World) -> Asked:
    w.arrive()
    return act("irregularity-resolved", irregularity=7, resolution="none")


@refused("not-open")
def a_matter_is_resolved_twice(w: World) -> Asked:
    w.arrive()
    raised = w.do("irregularity-raised", what="a stain")
    w.do("irregularity-resolved", irregularity=raised.number, resolution="coffee")
    return act("irregularity-resolved", irregularity=raised.number, resolution="tea")


@allowed("not-open")
def a_matter_is_resolved(w: World) -> Asked:
    w.arrive()
    raised = w.do("irregularity-raised", what="a stain")
    return act("irregularity-resolved", irregularity=raised.number, resolution="coffee")


@refused("no-such-entry")
def an_entry_is_struck_that_is_not_there(w: World) -> Asked:
    w.arrive()
    return act("corrected", strikes="0" * 64, reason="a slip")


@refused("no-such-entry")
def an_entry_is_struck_twice(w: World) -> Asked:
    w.arrive()
    wrong = w.do("inspected", thing=BODY, leak=True)
    w.correct(wrong)
    return act("corrected", strikes=wrong.leaf, reason="a slip")


@refused("no-such-entry")
def details_are_erased_of_an_entry_that_is_not_there(w: World) -> Asked:
    w.arrive()
    return act("personal-details-erased", entries=(0, len(w.chains[CASE])), ground="a law")


@allowed("no-such-entry")
def details_are_erased_of_the_last_entry(w: World) -> Asked:
    w.arrive()
    wrong = w.do("inspected", thing=BODY, leak=True)
    w.correct(wrong)
    return act("personal-details-erased", entries=(wrong.number + 1,), ground="a law")


@allowed("no-such-entry")
def an_entry_is_struck(w: World) -> Asked:
    w.arrive()
    wrong = w.do("inspected", thing=BODY, leak=True)
    return act("corrected", strikes=wrong.leaf, reason="a slip")


@refused("not-clear")
def a_check_is_signed_over_what_it_does_not_name(w: World) -> Asked:
    w.arrive(device())
    w.ready()
    return act("closing-check-signed", coffin=COFFIN)


@refused("no-such-finding")
def a_check_is_signed_over_what_it_does_not_find(w: World) -> Asked:
    w.arrive()
    w.ready()
    return act("closing-check-signed", over=["left-elsewhere"], reason="the family knows")


@refused("no-such-finding")
def a_check_is_signed_over_two_it_does_not_find(w: World) -> Asked:
    w.arrive()
    w.ready()
    return act("closing-check-signed", over=["recalled", "left-elsewhere"], reason="they know")


@refused("not-clear")
def a_check_is_signed_over_two_it_does_not_name(w: World) -> Asked:
    w.arrive(device(), effect())
    w.ready()
    return act("closing-check-signed", coffin=COFFIN)


@refused("no-reason")
def a_check_is_signed_over_findings_without_a_reason(w: World) -> Asked:
    w.arrive(device())
    w.ready()
    return act("closing-check-signed", over=["left-elsewhere"])


@allowed("not-clear")
def a_clear_check_is_signed(w: World) -> Asked:
    w.arrive()
    w.ready()
    return act("closing-check-signed", coffin=COFFIN)


@allowed("no-reason")
def a_check_is_signed_over_what_it_finds_with_a_reason(w: World) -> Asked:
    w.arrive(device())
    w.ready()
    return act("closing-check-signed", over=["left-elsewhere"], reason="the family knows")


@allowed("no-such-finding")
def a_check_is_signed_over_all_it_finds(w: World) -> Asked:
    w.arrive(device(), effect())
    w.ready()
    over = ["effect-undecided", "left-elsewhere"]
    return act("closing-check-signed", over=over, reason="the family knows")


# The register's own chain.

KEY = "eve+00000000+A" + "A" * 20


@refused("already-enrolled")
def a_second_key_for_one_person(w: World) -> Asked:
    del w
    return act("key-enrolled", key=KEY, person="ada", role="mortician")


@allowed("already-enrolled")
def a_first_key_for_one_person(w: World) -> Asked:
    del w
    return act("key-enrolled", key=KEY, person="eve", role="mortician")


RESTORED = {"guard_size": 9, "guard_root": "0" * 64, "size": 7, "reason": "the disk failed"}


@refused("second-director")
def a_director_and_a_mortician_say_it_was_restored(w: World) -> Asked:
    del w
    return act("register-restored", **RESTORED, by=("ada", "ben"))


@allowed("second-director")
def two_directors_say_it_was_restored(w: World) -> Asked:
    w.house.keys["eve+00000000"] = Key("eve+00000000+A", "eve", Role.DIRECTOR)
    return act("register-restored", **RESTORED, by=("ada", "eve"))


@refused("last-director")
def the_last_directors_key_is_revoked(w: World) -> Asked:
    del w
    return act("key-revoked", key="ada+00000000", reason="lost")


@allowed("last-director")
def a_morticians_key_is_revoked(w: World) -> Asked:
    del w
    return act("key-revoked", key="ben+00000000", reason="lost")


@refused("source-for-identifier")
def the_tag_is_named_as_what_was_read(w: World) -> Asked:
    w.arrive()
    return act("identified", thing=BODY, identifiers=[{"what": "name"}, {"what": "body-tag"}])


@allowed("source-for-identifier")
def the_tag_is_named_as_where_it_was_read(w: World) -> Asked:
    w.arrive()
    return act("identified", thing=BODY, identifiers=[{"what": "name", "read_from": "body-tag"}])


# What cannot have come to be so.


@refused("cannot-be-one")
def a_plate_becomes_one_with_the_body(w: World) -> Asked:
    w.arrive(device())
    return act("joined", things=[THIRD], to=BODY)


@refused("cannot-be-one")
def a_hand_becomes_one_with_a_bag(w: World) -> Asked:
    w.arrive(part(), bag())
    return act("joined", things=[THIRD], to=FOURTH)


@refused("cannot-be-one")
def a_bag_becomes_one_with_a_bag(w: World) -> Asked:
    w.arrive(bag(), bag())
    return act("joined", things=[THIRD], to=FOURTH)


@allowed("cannot-be-one")
def a_hand_becomes_one_with_the_body(w: World) -> Asked:
    w.arrive(part())
    return act("joined", things=[THIRD], to=BODY)


@allowed("cannot-be-one")
def a_hand_becomes_one_with_a_specimen(w: World) -> Asked:
    w.arrive(part(), part(what="specimen"))
    return act("joined", things=[THIRD], to=FOURTH)


@allowed("cannot-be-one")
def a_plate_becomes_one_with_a_plate(w: World) -> Asked:
    w.arrive(device(), device())
    return act("joined", things=[THIRD], to=FOURTH)


@refused("not-a-piece")
def a_bag_comes_apart_from_a_hand(w: World) -> Asked:
    w.arrive(part())
    return act("separated", thing=THIRD, into=[bag(place="table")])


@refused("not-a-piece")
def a_body_comes_apart_from_a_bag(w: World) -> Asked:
    w.arrive(bag())
    body = {"what": "decedent", "description": "a body", "place": "table"}
    return act("separated", thing=THIRD, into=[body])


@allowed("not-a-piece")
def half_a_bag_comes_apart_from_a_bag(w: World) -> Asked:
    w.arrive(bag())
    return act("separated", thing=THIRD, into=[bag(place="table")])


@allowed("not-a-piece")
def a_plate_comes_apart_from_a_hand(w: World) -> Asked:
    w.arrive(part())
    return act("separated", thing=THIRD, into=[device(place="table")])


@refused("decedent-divided")
def the_body_is_divided_entirely(w: World) -> Asked:
    w.arrive()
    return act("separated", thing=BODY, into=[part(place="table")], entirely=True)


@allowed("decedent-divided")
def a_hand_comes_apart_from_the_body(w: World) -> Asked:
    w.arrive()
    return act("separated", thing=BODY, into=[part(place="table")])


@refused("no-manner")
def disposed_of_in_no_manner(w: World) -> Asked:
    w.arrive(part())
    how = {"where": "a cemetery", "authority": "an order"}
    return act("disposed", things=[THIRD], manner="undecided", **how)


@allowed("no-manner")
def a_hand_is_buried_by_itself(w: World) -> Asked:
    w.arrive(part())
    how = {"where": "a cemetery", "authority": "an order"}
    return act("disposed", things=[THIRD], manner="burial", **how)


@refused("blank")
def an_authority_that_says_nothing(w: World) -> Asked:
    w.arrive(part())
    return act("handed-over", things=[THIRD], taker="lab", authority=" ")


@refused("blank")
def descriptions_that_say_nothing(w: World) -> Asked:
    w.arrive()
    items = [part(), part(description="\t"), part(organ=" ")]
    return act("received", giver="coroner", place="store", items=items, remark=" ")


@allowed("blank")
def an_authority_that_says_something(w: World) -> Asked:
    w.arrive(part())
    return act("handed-over", things=[THIRD], taker="lab", authority=" order 7")
