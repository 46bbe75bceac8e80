"""Folding: what a correction says in the chain of a case that the struck entry did not touch."""

from __future__ import annotations

from continuity.care.things import Inside
from tests.care.histories import device
from tests.care.history import CASE, OTHER, World


def test_a_correction_is_read_where_the_struck_entry_never_stood() -> None:
    w = World()
    w.arrive(device())
    w.arrive(case=OTHER)
    plate, box = f"{CASE}.3", f"{OTHER}.2"
    moved = w.do("moved", things=[plate], place="store")
    instead = {"kind": "put-in", "things": [plate], "into": box}
    assert plate not in w.case(OTHER).things
    w.correct(moved, instead=instead)
    for case in (CASE, OTHER):
        assert w.case(case).things[plate].where == Inside(box), case


def test_a_correction_goes_into_every_chain_that_the_struck_entry_stands_in() -> None:
    w = World()
    w.arrive(device())
    w.arrive(case=OTHER)
    plate, box = f"{CASE}.3", f"{OTHER}.2"
    wrong = w.do("put-in", things=[plate], into=box, found=True)
    w.do("taken-out", things=[plate], place="store")
    w.do("moved", case=OTHER, things=[box], place="table")
    w.correct(wrong)
    assert [w.chains[case][-1].act.kind for case in (CASE, OTHER)] == ["corrected"] * 2
