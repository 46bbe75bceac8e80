"""How things come and leave, where one act is about several of them."""

from __future__ import annotations

import pytest

from continuity.care.records import Moment, Transfer
from tests.care.histories import bag, device, part, viscera
from tests.care.history import CASE, OTHER, World

BODY, COFFIN, THIRD, FOURTH, FIFTH, SIXTH = (f"{CASE}.{n}" for n in range(1, 7))
NINTH = f"{CASE}.9"


@pytest.fixture
def w() -> World:
    world = World()
    world.arrive(device(), bag())
    return world


def test_the_ashes_are_of_the_decedent_and_their_urn_is_not(w: World) -> None:
    w.lay_in()
    w.buried(manner="cremation", force=True)
    urn = {"what": "container", "form": "urn", "description": "brass urn"}
    ashes = {"what": "ashes", "description": "ashes"}
    came = w.do("ashes-received", giver="crematory", place="store", items=[urn, ashes])
    case = w.case()
    assert (case.things[FIFTH].parents, case.things[SIXTH].parents) == ((), (BODY,))
    assert case.transfers[-1] == Transfer(
        came.moment, (FIFTH, SIXTH), "crematory", "here", None, None, came.moment, came.number
    )


def test_neither_giving_the_decedent_away_nor_its_coming_back_says_who_released_it() -> None:
    w = World()
    w.arrive(release_authority=None)
    w.do("handed-over", things=[BODY], taker="lab", authority="an order", force=True)
    assert "no-release-authority" in w.codes()
    w = World()
    w.arrive(release_authority=None)
    w.do("returned", things=[BODY], giver="lab", place="table", found=True)
    assert "no-release-authority" in w.codes()


def test_what_is_called_back_beside_the_body_or_without_one_does_not_call_the_body_back(
    w: World,
) -> None:
    w.do("recalled", things=[THIRD], taker="coroner", authority="an order")
    assert w.case().recalled is None
    w.do("case-opened", case=OTHER, unidentified=True)
    w.do("received", case=OTHER, giver="coroner", place="table", items=[part()])
    w.do("recalled", case=OTHER, things=[f"{OTHER}.1"], taker="coroner", authority="an order")
    assert w.case(OTHER).recalled is None


def test_a_decedent_is_not_released_in_what_holds_other_things_too(w: World) -> None:
    w.do("put-in", things=[BODY, THIRD], into=FOURTH)
    given = {"relation": "a daughter", "authority": "a wish"}
    assert w.refusals("released", things=[FOURTH], **given) == ["decedent-is-not-released-so"]


def test_the_disposition_of_several_things_is_the_decedents_if_one_of_them_holds_it(
    w: World,
) -> None:
    w.lay_in()
    gone = {"manner": "burial", "where": "a cemetery", "authority": "burial order 9"}
    assert w.refusals("disposed", things=[COFFIN, FOURTH], **gone) == ["coffin-not-closed"]
    assert w.refusals("disposed", things=[FOURTH], **gone) == []


def test_the_decedent_is_disposed_of_out_of_the_closed_coffin(w: World) -> None:
    w.lay_in()
    w.do("coffin-closed", thing=COFFIN, found=True)
    gone = {"manner": "burial", "where": "a cemetery", "authority": "burial order 9"}
    assert w.refusals("disposed", things=[BODY], **gone) == []
    assert w.refusals("disposed", things=[NINTH], **gone) == []


def test_viscera_go_into_a_closed_body_by_no_seam(w: World) -> None:
    w.do(
        "received", giver="coroner", place="table", items=[viscera(organ="leg"), part(organ="leg")]
    )
    w.do("cared-for", thing=BODY, step="sutured")
    assert w.refusals("joined", things=[FIFTH], to=BODY) == ["shut"]
    assert w.refusals("joined", things=[SIXTH], to=BODY) == []


def test_who_came_for_what_was_buried_was_not_asked(w: World) -> None:
    w.lay_in()
    w.buried(force=True)
    leaving = w.case().things[BODY].leaving
    assert leaving is not None
    assert (leaving.identity_checked, leaving.signed) == (False, False)


def test_moments_are_the_same_whoever_tells_of_them(w: World) -> None:
    assert Moment(w.clock, 7, told=7) == Moment(w.clock, 7, told=9)
