"""A case follows another's thing while the two are together: what it is told, when it lets go."""

from __future__ import annotations

import pytest

from continuity.care.findings.accounts import Account, account
from continuity.care.things import AtPlace, Inside
from tests.care.histories import bag, device, effect, part
from tests.care.history import CASE, OTHER, World

COFFIN, BAG, SECOND = (f"{CASE}.{n}" for n in (2, 3, 4))
THEIRS, FOURTH = (f"{OTHER}.{n}" for n in (3, 4))
NOBODY = "2026-0009"


@pytest.fixture
def w() -> World:
    """Two bags of one case; of the other a pacemaker that bears no label."""
    world = World()
    world.arrive(bag(), bag())
    world.arrive(device(found_label=None, power="battery"), case=OTHER)
    return world


def follows(w: World, case: str = CASE) -> set[str]:
    """The things of others that a case follows."""
    return {thing for thing in w.case(case).things if not thing.startswith(case)}


def together(w: World, into: str = BAG) -> object:
    return w.do("put-in", things=[THEIRS], into=into, found=True)


def apart(w: World, **where: str) -> object:
    return w.do("taken-out", case=OTHER, things=[THEIRS], **(where or {"place": "table"}))


def test_what_is_taken_out_again_is_let_go_and_what_comes_back_is_followed_again(w: World) -> None:
    together(w)
    assert follows(w) == {THEIRS}
    assert w.case().parted == {}
    apart(w)
    assert follows(w) == set()
    assert w.case().parted[THEIRS].where == AtPlace("table")
    w.do("moved", case=OTHER, things=[THEIRS], place="store")
    assert w.case().parted[THEIRS].where == AtPlace("table"), "no more was heard of it"
    together(w)
    assert w.case().things[THEIRS].where == Inside(BAG)
    assert w.case().parted == {}


def test_all_that_its_own_case_knows_of_a_thing_is_told(w: World) -> None:
    items = [
        bag(),
        part(organ="heart", within="#1"),
        effect(intention="worn", within="#1"),
        device(power="battery", within="#1"),
    ]
    w.do("received", case=OTHER, giver="coroner", place="store", items=items)
    w.do("put-in", things=[FOURTH], into=BAG, found=True)
    here, there = w.case().things, w.case(OTHER).things
    for number in (4, 5, 6, 7):
        learned, own = here[f"{OTHER}.{number}"], there[f"{OTHER}.{number}"]
        for field in ("what", "form", "description", "organ", "power", "intention", "where"):
            assert getattr(learned, field) == getattr(own, field), field
        assert learned.receipt == "learned"


def test_what_others_are_told_of_ones_own_thing_changes_nothing_of_it(w: World) -> None:
    w.label(BAG)
    together(w)
    assert w.case().things[BAG].found_label == "its own tag"
    assert w.case(OTHER).things[BAG].borne == w.case().things[BAG].label.code


def test_anothers_ashes_are_told_with_what_their_disc_said(w: World) -> None:
    w.buried(case=OTHER, manner="cremation", force=True)
    w.do("disposed", case=OTHER, things=[f"{OTHER}.1"], manner="cremation", where="x", force=True)
    ashes = {"what": "ashes", "description": "ashes"}
    came = {"giver": "crematory", "place": "store", "items": [ashes], "disc_agrees": False}
    w.do("ashes-received", case=OTHER, **came)
    w.do("put-in", things=[FOURTH], into=BAG, found=True)
    assert w.case().things[FOURTH].disc_agrees is False


def test_what_befell_a_thing_while_it_was_thought_apart_is_told_when_that_is_struck(
    w: World,
) -> None:
    together(w)
    code = w.label(THEIRS, case=OTHER).act.code
    w.do("sighted", case=OTHER, things=[THEIRS])
    assert w.case().things[THEIRS].borne == code
    taken = apart(w)
    w.do("label-voided", case=OTHER, thing=THEIRS, code=code, reason="torn")
    w.correct(taken)
    assert w.case().things[THEIRS].where == Inside(BAG)
    assert w.case().things[THEIRS].borne is None


def test_a_correction_tells_where_a_thing_has_come_to_since(w: World) -> None:
    """What is read instead is of then; what the correction tells is of now."""
    together(w)
    taken = apart(w)
    w.do("moved", case=OTHER, things=[THEIRS], place="annex")
    instead = {"kind": "taken-out", "things": [THEIRS], "out_of": BAG, "into": SECOND}
    w.correct(taken, instead=instead)
    assert w.case(OTHER).things[THEIRS].where == AtPlace("annex")
    assert follows(w) == set()


# What has left for good.


def test_what_left_in_anothers_coffin_stays_told_with_the_hour_at_which_it_left(w: World) -> None:
    together(w, COFFIN)
    w.lay_in()
    gone = w.buried(force=True)
    assert follows(w) == {THEIRS}
    assert follows(w, OTHER) == {COFFIN}
    w.do("irregularity-raised", things=[THEIRS], what="whose?", found=True)
    assert w.case().things[THEIRS].leaving.moment == gone.moment


def test_what_was_buried_with_another_and_is_found_here_is_here_for_both(w: World) -> None:
    together(w, COFFIN)
    w.lay_in()
    w.buried(force=True)
    w.do("moved", case=OTHER, things=[THEIRS], place="table", found=True)
    w.do("moved", things=[COFFIN], place="annex", found=True)
    for case in (CASE, OTHER):
        assert w.case(case).things[THEIRS].where == AtPlace("table")
        assert w.case(case).things[COFFIN].where == AtPlace("annex")


@pytest.mark.parametrize("came_after", [False, True])
def test_what_left_before_it_turned_out_to_be_this_persons(w: World, *, came_after: bool) -> None:
    hand, box = f"{NOBODY}.1", f"{NOBODY}.2"
    w.do("case-opened", case=NOBODY, unidentified=True)
    items = [part(within="#2"), bag()]
    w.do("received", case=NOBODY, giver="coroner", place="store", items=items)
    given = {"relation": "a clinic", "authority": "an order"}
    w.do("released", case=NOBODY, things=[box], **given)
    if came_after:
        w.do("taken-out", case=NOBODY, things=[hand], place="table", found=True)
        w.do("put-in", case=NOBODY, things=[hand], into=box, found=True)
    stands = Account.IN_WHAT_IS_GONE if came_after else Account.LEFT_ALONG
    case = w.case(NOBODY)
    assert account(case, case.things[hand]) is stands
    w.do("associated", case=NOBODY, things=[hand, box], to_case=CASE, authority="a report")
    case = w.case()
    assert account(case, case.things[hand]) is stands
    assert case.things[box].leaving.relation == "a clinic"


# A coffin that may be shared.


def test_a_coffin_that_may_be_shared_is_followed_before_anybody_lies_in_it(w: World) -> None:
    w.do("coffin-shared", coffin=COFFIN, with_cases=[CASE, OTHER], authority="an order")
    assert follows(w, OTHER) == {COFFIN}
    w.do("moved", things=[COFFIN], place="annex")
    assert w.case(OTHER).things[COFFIN].where == AtPlace("annex")


def test_and_not_by_a_case_that_only_knows_of_the_sharing(w: World) -> None:
    w.arrive(case=NOBODY)
    shared = {"coffin": COFFIN, "authority": "an order"}
    w.do("coffin-shared", with_cases=[CASE, NOBODY], **shared)
    first = w.chains[CASE][-1]
    w.do("coffin-shared", with_cases=[CASE, OTHER], **shared)
    w.correct(first)
    assert [s.cases for s in w.case(NOBODY).shares] == [(CASE, OTHER)]
    assert follows(w, NOBODY) == set()


# Corrections that touch two cases.


def test_a_copy_is_corrected_from_the_case_it_stands_in(w: World) -> None:
    put = w.do("put-in", things=[THEIRS], into=BAG, found=True)
    copy = w.chains[OTHER][-1]
    w.correct(copy)
    assert w.case().struck.keys() == w.case(OTHER).struck.keys() == {put.leaf}
    assert w.case().contents(BAG) == []


def test_what_is_read_instead_happened_then_also_in_a_case_that_learns_of_it_now(w: World) -> None:
    wrong = w.do("moved", things=[SECOND], place="table")
    w.pass_time(hours=3)
    w.correct(wrong, instead={"kind": "put-in", "things": [THEIRS], "into": BAG})
    assert w.case().things[THEIRS].moved.at == wrong.occurred_at
    assert w.case(OTHER).things[THEIRS].moved.at == wrong.occurred_at


def test_a_second_correction_is_heard_wherever_the_struck_entry_stands(w: World) -> None:
    wrong = w.do("put-in", things=[THEIRS], into=BAG, found=True)
    w.correct(wrong, instead={"kind": "moved", "things": [BAG], "place": "table"})
    w.do("corrected", strikes=wrong.leaf, reason="a slip")
    for case in (CASE, OTHER):
        assert [e.number for e in w.case(case).events if e.act.kind == "moved"] == []
