"""What somebody moved after another had looked is told to whoever acts on what they saw."""

from __future__ import annotations

from continuity.care import rules
from tests.care.histories import device, effect
from tests.care.history import CASE, OTHER, World

THIRD, FOURTH = f"{CASE}.3", f"{CASE}.4"


def told(w: World, looked: World, *things: str) -> list[str]:
    act = w.act("moved", {"things": things, "place": "table"}, w.scene())
    cases = {CASE: looked.case()}
    return [o.sentence for o in rules.moved_meanwhile(act, cases, {CASE: w.case()})]


def two() -> tuple[World, World]:
    worlds = (World(), World())
    for w in worlds:
        w.arrive(device(), effect())
    return worlds


def test_where_it_is_now_is_told_in_words() -> None:
    w, looked = two()
    w.do("released", things=[FOURTH], relation="a son", authority="next of kin")
    w.do("moved", things=[THIRD], place="store")
    assert told(w, looked, THIRD, FOURTH) == [
        f"{THIRD} (steel plate) was moved after you looked: ada recorded moved, and it is at store",
        f"{FOURTH} (plain ring) was moved after you looked: ada recorded released, and it is gone",
    ]


def test_what_did_not_move_or_is_of_a_case_that_did_not_go_on_or_was_never_seen_is_not_told() -> (
    None
):
    w, looked = two()
    w.arrive(case=OTHER)
    w.do("provided", place="store", items=[{**device(), "what": "container", "form": "box"}])
    assert told(w, looked, THIRD, f"{OTHER}.1", f"{CASE}.5", f"{CASE}.77") == []


def test_what_came_is_read_otherwise_under_the_numbers_it_has() -> None:
    w = World()
    w.do("case-opened", disposition="burial")
    came = w.do("received", giver="coroner", place="store", items=[device()])
    items = [{**device(), "description": "titanium plate", "thing": f"{CASE}.1"}]
    instead = {"kind": "received", "giver": "coroner", "place": "store", "items": items}
    w.correct(came, instead=instead)
    assert w.case().things[f"{CASE}.1"].description == "titanium plate"
