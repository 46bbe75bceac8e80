"""Sixteen stations recording into one register: no fork, no gap, a bounded wait, and right refusals.

`make writers` lets them record for a minute (CONTINUITY_SECONDS) and prints how long they waited.
"""

from __future__ import annotations

import os
import subprocess
import time
from collections import Counter
from typing import TYPE_CHECKING, Any

import pytest

from continuity.ledger import merkle
from continuity.ledger.keys import save_private
from continuity.store.sqlite import WAIT, SqliteStore
from tests.faults.firm import CASES, STATIONS, key
from tests.faults.test_crashes import COMMAND

if TYPE_CHECKING:
    from tests.faults.firm import Firm
    from tests.faults.nursery import Nursery

SECONDS = float(os.environ.get("CONTINUITY_SECONDS", "2"))
CASE, OTHER = CASES
BODY, BAG, COFFIN, BOX = (f"{CASE}.{number}" for number in (1, 2, 4, 5))


@pytest.mark.timeout(60 + 4 * SECONDS)
def test_sixteen_stations_record_without_a_fork_a_gap_or_a_loss(
    nursery: Nursery, firm: Firm
) -> None:
    before = firm.size()
    children = [nursery.start("station", firm.folder, person, SECONDS) for person in STATIONS]
    assert [child.next() for child in children] == ["ready"] * len(STATIONS)
    firm.folder.with_name("go").touch()
    results = [child.finish(60 + SECONDS)[1] for child in children]
    assert [wrong for _, _, wrong in results if wrong] == []
    acknowledged = sorted(ack for acks, _, _ in results for ack in acks)
    opened = 2 * len(STATIONS)
    leaves = firm.leaves()
    assert len(leaves) == before + opened + len(acknowledged)
    assert all(leaves[position] == leaf for position, leaf in acknowledged)
    assert len({position for position, _ in acknowledged}) == len(acknowledged)
    with SqliteStore.open(firm.path) as store:
        assert store.integrity() == []
        for case in store.cases():
            numbers = [stored.number for stored in store.entries(case.case_id)]
            assert numbers == list(range(case.length))
        tree = merkle.TreeBuilder()
        for stored in store.scan():
            tree.append(merkle.leaf_hash(stored.note))
        assert merkle.root(len(leaves), store.read_hashes) == tree.root()
    assert firm.verify().codes == ()
    waits = sorted(wait for _, all_of_one, _ in results for wait in all_of_one)
    each = sorted(len(acks) for acks, _, _ in results)
    told = {q: round(1000 * waits[int(len(waits) * q)]) for q in (0.5, 0.9, 0.99)}
    print(
        f"{len(acknowledged)} entries in {SECONDS:g} s; each station {each[0]} to {each[-1]};"
        f" wait in ms: {told}, longest {round(1000 * waits[-1])}"
    )
    assert waits[-1] < WAIT / 2, "nobody waits so long that they are told to come again"
    assert each[0] * 8 > each[-1], "the lock goes round"


def race(
    nursery: Nursery, firm: Firm, acts: dict[str, dict[str, Any]], rounds: int = 1
) -> list[Any]:
    """What each station was told, round by round, when all tried at the same moment."""
    moments = [time.time() + 0.15 + 0.05 * number for number in range(rounds)]
    children = [
        nursery.start("race", firm.folder, person, [[moment, act] for moment in moments])
        for person, act in acts.items()
    ]
    return list(zip(*(child.finish() for child in children), strict=True))


def taken_out(into: str) -> dict[str, Any]:
    return {"kind": "taken-out", "things": [BAG], "out_of": BODY, "into": into, "scanned": True}


def test_of_two_stations_that_put_one_bag_into_two_places_one_is_told_no(
    nursery: Nursery, firm: Firm
) -> None:
    acts = {"m1": taken_out(COFFIN), "m2": taken_out(BOX)}
    back = {"kind": "taken-out", "things": [BAG], "into": BODY}
    winners = Counter[str]()
    for _ in range(6):
        (told,) = race(nursery, firm, acts)
        assert sorted(outcome for outcome, *_ in told) == ["done", "refused"]
        winner = "m1" if told[0][0] == "done" else "m2"
        winners[winner] += 1
        refused = next(rest for outcome, *rest in told if outcome == "refused")
        assert refused == [["not-inside"]]
        register = firm.open()
        with register.store:
            where = register.case(CASE).things[BAG].where
        assert where.thing == {"m1": COFFIN, "m2": BOX}[winner]
        firm.record(**back)
    assert firm.verify().codes == ()


def test_of_two_plain_put_ins_at_once_one_is_told_no_whatever_was_looked_at(
    nursery: Nursery, firm: Firm
) -> None:
    """Nobody says what it was taken out of: what decides is that both had looked before."""
    for _ in range(4):
        looked = firm.size()
        put = {"kind": "put-in", "things": [BAG], "scanned": True, "as_of": looked}
        (told,) = race(nursery, firm, {"m1": put | {"into": COFFIN}, "m2": put | {"into": BOX}})
        assert sorted(outcome for outcome, *_ in told) == ["done", "refused"]
        assert next(rest for outcome, *rest in told if outcome == "refused") == [
            ["moved-meanwhile"]
        ]
        assert firm.size() == looked + 1
    assert firm.verify().codes == ()


def test_of_two_stations_that_scan_one_bag_into_two_places_one_shows_why_not(
    nursery: Nursery, firm: Firm
) -> None:
    children = [
        nursery.start("scan_race", firm.folder, person, BAG, into)
        for person, into in (("m1", COFFIN), ("m2", BOX))
    ]
    assert [child.next() for child in children] == ["scanned", "scanned"]
    firm.folder.with_name("go").touch()
    told = [child.finish()[1] for child in children]
    assert sorted(word for word, _ in told) == ["RECORDED", "REFUSED"]
    lost = [word for word, _ in told].index("REFUSED")
    winner, into = (("m2", BOX), ("m1", COFFIN))[lost]
    assert told[lost][1] == (
        f"{BAG} (viscera bag) was moved after you looked: {winner} recorded put-in, and it is"
        f" inside {into}"
    )
    register = firm.open()
    with register.store:
        assert register.case(CASE).things[BAG].where.thing == into


def test_of_two_commands_begun_before_either_recorded_one_is_told_no(firm: Firm) -> None:
    """Both wait for their passphrase while the other one records."""
    programs = []
    for person, into in (("m1", COFFIN), ("m2", BOX)):
        pipe = firm.folder / f"passphrase-{person}"
        os.mkfifo(pipe)
        (firm.keys / f"{person}.key").unlink()
        save_private(key(person), firm.keys / f"{person}.key", b"a passphrase")
        words = ["record", "put-in", "--thing", BAG, "--into", into, "--as", person]
        program = subprocess.Popen(
            [COMMAND, *words, "--passphrase-file", str(pipe)],
            env=os.environ
            | {"CONTINUITY_REGISTER": str(firm.path), "CONTINUITY_KEYS": str(firm.keys)},
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
        )
        programs.append((program, pipe.open("w")))  # opens once the other end is read from
    told = []
    for program, pipe in programs:
        with pipe:
            pipe.write("a passphrase\n")
        out, err = program.communicate(timeout=60)
        told.append((program.returncode, out, err))
    assert told[0][0] == 0
    status, out, err = told[1]
    assert (status, out) == (4, b"")
    assert b"moved-meanwhile" in err
    assert f"m1 recorded put-in, and it is inside {COFFIN}".encode() in err


@pytest.mark.parametrize(
    ("act", "code"),
    [
        ({"kind": "sealed", "thing": COFFIN, "seal": "S-1"}, "already-closed"),
        ({"kind": "packaging-discarded", "thing": BOX, "empty": True}, "already-gone"),
        ({"kind": "case-opened", "case": "2026-0009", "disposition": "burial"}, "already-open"),
    ],
    ids=lambda given: given["kind"] if isinstance(given, dict) else "",
)
def test_what_can_be_done_once_is_done_once(
    act: dict[str, Any], code: str, nursery: Nursery, firm: Firm
) -> None:
    before = firm.size()
    (told,) = race(nursery, firm, dict.fromkeys(STATIONS[:6], act))
    outcomes = Counter(outcome for outcome, *_ in told)
    assert outcomes == {"done": 1, "refused": 5}
    assert all(rest[0] == [code] for outcome, *rest in told if outcome == "refused")
    assert firm.size() == before + 1
    assert firm.verify().codes == ()


def test_no_two_new_things_get_one_number(nursery: Nursery, firm: Firm) -> None:
    item = {"what": "effect", "description": "a ring"}
    act = {
        "kind": "received",
        "case": CASE,
        "giver": "coroner",
        "place": "table-1",
        "items": [item],
    }
    told = race(nursery, firm, dict.fromkeys(STATIONS[:8], act), rounds=3)
    assert {outcome for each in told for outcome, *_ in each} == {"done"}
    register = firm.open()
    with register.store:
        rings = [t for t in register.case(CASE).things.values() if t.description == "a ring"]
    assert sorted(int(ring.id.rpartition(".")[2]) for ring in rings) == list(range(6, 30))
    assert firm.verify().codes == ()


def test_two_cases_that_touch_each_other_at_once_have_the_same_acts_in_the_same_order(
    nursery: Nursery, firm: Firm
) -> None:
    def found(case: str, other: str) -> dict[str, Any]:
        put = {"kind": "put-in", "case": case, "things": [f"{case}.2"], "found": True}
        return {**put, "into": f"{other}.4"}

    acts = {"m1": found(CASE, OTHER), "m2": found(OTHER, CASE), "m3": found(CASE, OTHER)}
    told = race(nursery, firm, acts, rounds=4)
    assert {outcome for each in told for outcome, *_ in each} == {"done"}
    register = firm.open()
    with register.store:
        one, other = (
            [event.origin for event in register.entries(case) if event.act.kind == "put-in"]
            for case in CASES
        )
    assert one == other
    assert len(one) == 12
    assert firm.verify().codes == ()
