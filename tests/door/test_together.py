"""A case follows another's thing while the two are together, and says nothing of it after that."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest

from continuity.audit.dossier.story import stays
from continuity.care.findings.accounts import Account, account

if TYPE_CHECKING:
    from tests.door.conftest import Firm

A, B, NOBODY = "2026-0001", "2026-0002", "2026-0009"
A_BODY, A_BAG, A_VISCERA = f"{A}.1", f"{A}.2", f"{A}.3"
B_BODY, B_BAG, B_VISCERA, B_COFFIN = f"{B}.1", f"{B}.2", f"{B}.3", f"{B}.4"
HAND, BOX = f"{NOBODY}.1", f"{NOBODY}.2"


@pytest.fixture
def two(firm: Firm) -> Firm:
    """Two persons, and a hand in a box of whom nobody knows."""
    firm.open(A)
    firm.open(B)
    firm.record("case-opened", NOBODY, unidentified=True)
    firm.record(
        "received",
        NOBODY,
        giver="coroner",
        place="table-1",
        items=[
            {"what": "part", "description": "a hand", "within": "#2"},
            {"what": "container", "form": "box", "description": "a box"},
        ],
    )
    return firm


def follows(firm: Firm, case: str) -> set[str]:
    """The things of others that a case follows."""
    return {thing for thing in firm.register.case(case).things if not thing.startswith(case)}


def intruders(firm: Firm, case: str) -> set[str]:
    """The things of others that the closing check finds in a case's own."""
    found = firm.register.closing_check(case).findings
    return {t for f in found if f.code == "another-case-inside" for t in f.things}


def find(firm: Firm, kind: str, case: str, **fields: Any) -> Any:
    return firm.record(kind, case, found=True, **fields)


def associate(firm: Firm, *things: str, to: str = B) -> Any:
    fields = {"things": list(things), "to_case": to, "authority": "a comparison"}
    return firm.record("associated", NOBODY, by=(firm.director, firm.mortician), **fields)


@pytest.mark.parametrize("struck_in", [A, B])
def test_what_was_found_in_another_and_struck_leaves_no_trace_in_either_case(
    two: Firm, struck_in: str
) -> None:
    found = find(two, "put-in", A, things=[B_BAG], into=A_BODY)
    assert follows(two, A) == {B_BAG, B_VISCERA}
    assert follows(two, B) == {A_BODY}
    two.record("corrected", struck_in, strikes=found.leaf, reason="a wrong scan")
    for case in (A, B):
        assert follows(two, case) == set()
        assert intruders(two, case) == set()
        assert two.register.entries(case)[-1].act.kind == "corrected"


def test_what_was_taken_out_again_is_followed_no_longer(two: Firm) -> None:
    find(two, "put-in", A, things=[B_BAG], into=A_BODY)
    taken = two.record("taken-out", B, things=[B_BAG], place="cold-room")
    assert taken.mirrored == (A,)
    assert follows(two, A) == follows(two, B) == set()
    assert two.record("moved", B, things=[B_BAG], place="table-1").mirrored == ()


def test_where_anothers_thing_was_is_told_until_the_two_were_parted(two: Firm) -> None:
    find(two, "put-in", A, things=[B_BAG], into=A_BODY)
    together = two.now[0]
    two.record("taken-out", B, things=[B_BAG], place="cold-room")
    told = [stay for stay in stays(two.register.case(A)) if stay.thing == B_BAG]
    assert [(stay.since.at, stay.until and stay.until.at) for stay in told] == [
        (together, two.now[0])
    ]


def test_a_box_that_comes_back_emptied_is_known_to_be_empty(two: Firm) -> None:
    find(two, "put-in", A, things=[A_BAG], into=BOX)
    find(two, "put-in", B, things=[BOX], into=B_COFFIN)
    assert follows(two, B) == {BOX, A_BAG, A_VISCERA, HAND}
    find(two, "taken-out", B, things=[BOX], place="table-1")
    assert follows(two, B) == set()
    emptied = two.record("taken-out", A, things=[A_BAG], place="cold-room")
    assert emptied.mirrored == (NOBODY,)
    associate(two, BOX)
    assert intruders(two, B) == {HAND}
    assert follows(two, B) == {BOX, HAND}


def test_what_comes_in_by_an_act_of_its_own_case_is_told_to_whoever_follows_the_box(
    two: Firm,
) -> None:
    find(two, "put-in", B, things=[BOX], into=B_COFFIN)
    came = find(two, "put-in", A, things=[A_BAG], into=BOX)
    assert set(came.mirrored) == {NOBODY, B}
    associate(two, BOX)
    assert intruders(two, B) == {A_BAG, HAND}


def test_moving_what_anothers_thing_was_made_one_with_is_told_to_that_case(two: Firm) -> None:
    find(two, "joined", A, things=[HAND], to=A_VISCERA)
    assert two.record("moved", A, things=[A_BAG], place="cold-room").mirrored == (NOBODY,)
    two.record("opened", A, thing=A_BAG, reason="to look")
    assert {A_VISCERA, A_BAG} <= follows(two, NOBODY)


@pytest.mark.parametrize("came_after", [False, True])
def test_what_left_in_a_box_has_left_for_whoever_learns_of_both_later(
    two: Firm, came_after: bool
) -> None:
    if came_after:
        two.record("taken-out", NOBODY, things=[HAND], place="table-1")
    two.record("released", NOBODY, things=[BOX], relation="an office", authority="an order")
    if came_after:
        find(two, "put-in", NOBODY, things=[HAND], into=BOX)
    associate(two, HAND, BOX)
    case = two.register.case(B)
    stands = Account.IN_WHAT_IS_GONE if came_after else Account.LEFT_ALONG
    assert account(case, case.things[HAND]) is stands
    lost = {f.code for f in two.register.closing_check(B).findings if HAND in f.things}
    assert ("in-what-is-no-more" in lost) is came_after


def test_a_corrected_release_is_corrected_for_whoever_learned_of_it(two: Firm) -> None:
    left = {"things": [BOX], "relation": "an office", "authority": "an order"}
    released = two.record("released", NOBODY, **left)
    associate(two, BOX)
    instead = {"kind": "released", **left, "identity_checked": True, "signed": True}
    two.record("corrected", NOBODY, strikes=released.leaf, reason="omitted", instead=instead)
    known = two.register.case(B).things[BOX].leaving
    assert known is not None
    assert (known.identity_checked, known.signed) == (True, True)


def test_what_never_left_by_a_correction_never_left_for_whoever_learned_of_it(two: Firm) -> None:
    left = {"things": [BOX], "relation": "an office", "authority": "an order"}
    released = two.record("released", NOBODY, **left)
    associate(two, HAND, BOX)
    two.record("corrected", NOBODY, strikes=released.leaf, reason="it is here")
    things = two.register.case(B).things
    assert [things[thing].leaving for thing in (HAND, BOX)] == [None, None]
