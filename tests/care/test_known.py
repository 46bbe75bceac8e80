"""What a case is told of another's thing: enough to go on with, and nothing that nobody said."""

from __future__ import annotations

import json

import pytest
from pydantic import ValidationError

from continuity.care.acts.movement import Moved
from continuity.care.known import Known, Left
from continuity.care.nesting import parts_of
from continuity.care.things import AtPlace, Divided, Released, ThingKind, Unseen
from tests.care.histories import effect, part
from tests.care.history import CASE, World

BODY, THIRD = f"{CASE}.1", f"{CASE}.3"


def test_how_a_thing_left_is_told_with_it_unless_it_came_there_after() -> None:
    w = World()
    w.arrive(effect())
    given = {"relation": "a son", "authority": "next of kin", "signed": True}
    w.do("released", things=[THIRD], **given)
    ring = w.case().things[THIRD]
    told = Known.of(ring, ring)
    assert told.where() == Released("next of kin")
    assert told.left == Left(way="released", relation="a son", authority="next of kin", signed=True)
    assert Known.of(ring, ring, came_after=True).left is None
    assert Known.of(ring, None).where() == Unseen()


def test_what_nobody_said_of_how_a_thing_left_is_not_so() -> None:
    left = Left(way="released")
    assert (left.identity_checked, left.signed) == (False, False)
    assert Known(thing=THIRD, what=ThingKind.EFFECT, description="ring").bears is None


def test_it_is_written_as_plain_json_with_nothing_that_goes_without_saying() -> None:
    ring = Known(
        thing=THIRD, what=ThingKind.EFFECT, description="ring", at_place=AtPlace("table-1")
    )
    act = Moved(things=(THIRD,), place="store", known=(ring,))
    (told,) = act.details()["known"]
    assert json.loads(json.dumps(told)) == told
    assert told.keys() == {"thing", "what", "description", "at_place"}


def test_an_act_once_read_is_never_changed() -> None:
    act = Moved(things=(THIRD,), place="store")
    with pytest.raises(ValidationError, match="frozen"):
        act.place = "elsewhere"


def test_the_pieces_of_a_divided_thing_are_parts_of_it_as_far_as_they_are_known() -> None:
    w = World()
    w.arrive(part())
    pieces = [{"what": "part", "description": n, "place": "store"} for n in ("one", "two")]
    w.do("separated", thing=THIRD, into=pieces, entirely=True)
    things = w.case().things
    assert things[THIRD].where == Divided((f"{CASE}.4", f"{CASE}.5"))
    assert [t.id for t in parts_of(things.get, (), THIRD)] == [f"{CASE}.4", f"{CASE}.5"]
    del things[f"{CASE}.4"]
    assert [t.id for t in parts_of(things.get, (), THIRD)] == [f"{CASE}.5"]
    assert parts_of(things.get, (), BODY) == []
