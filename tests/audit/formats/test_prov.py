"""PROV-JSON as the `prov` library reads it, within PROV-CONSTRAINTS, and true to the case."""

from __future__ import annotations

import json
import warnings
from collections import Counter

import pytest
from prov.model import ProvDocument

from continuity.audit.formats.names import TERMS
from continuity.audit.formats.prov import document, prov_text
from continuity.care.things import AtPlace, Inside, WithHolder
from continuity.care.times import write_time
from tests.audit.dossier.scenario import CASE
from tests.audit.formats.constraints import broken
from tests.audit.formats.history import (
    ASHES,
    BAG,
    BLOCK,
    BODY,
    LIMB,
    SECRETS,
    VISCERA,
    told,
)


@pytest.fixture(scope="module")
def made() -> dict:
    return document(told()[0])


def read(text: str) -> ProvDocument:
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        return ProvDocument.deserialize(content=text, format="json")


def test_the_prov_library_reads_it_and_writes_the_same():
    first = read("".join(prov_text(told()[0])))
    again = read(first.serialize(format="json"))
    assert first == again
    assert len(first.records) == sum(
        len(v) for k, v in document(told()[0]).items() if k != "prefix"
    )
    assert {n.prefix for n in first.namespaces} >= {"thing", "state", "entry", "person"}


def test_each_entry_is_one_activity(made):
    lines = told()[0].lines
    activities = made["activity"]
    assert list(activities) == [f"entry:{CASE}/{line.number}" for line in lines]
    for line, activity in zip(lines, activities.values(), strict=True):
        assert activity["continuity:leaf"] == line.event.leaf
        assert activity["continuity:number"] == line.number
        assert json.loads(activity["continuity:details"]) == line.entry.details


def test_it_keeps_the_constraints(made):
    assert broken(made) == []


@pytest.mark.parametrize(
    ("kind", "what"),
    [
        ("wasGeneratedBy", "generated twice"),
        ("wasInvalidatedBy", "ended twice"),
    ],
)
def test_the_check_of_the_constraints_can_fail(made, kind, what):
    twice = {**made, kind: {**made[kind], "_:again": next(iter(made[kind].values()))}}
    assert any(what in one for one in broken(twice))


def test_the_check_sees_a_use_after_the_end(made):
    ended = next(r for r in made["wasInvalidatedBy"].values() if r["prov:entity"][:5] == "state")
    use = {**ended, "prov:activity": f"entry:{CASE}/60", "prov:time": "2026-12-01T00:00:00.000Z"}
    late = {**made, "used": {**made["used"], "_:late": use}}
    assert any("used after its end" in one for one in broken(late))


def test_the_check_sees_a_circle_of_derivations(made):
    one = next(iter(made["wasDerivedFrom"].values()))
    back = {
        "prov:generatedEntity": one["prov:usedEntity"],
        "prov:usedEntity": one["prov:generatedEntity"],
    }
    circle = {**made, "wasDerivedFrom": {**made["wasDerivedFrom"], "_:back": back}}
    assert any("comes from itself" in one for one in broken(circle))


def test_at_the_end_each_thing_is_where_the_case_has_it(made):
    """The states that never ended are the whereabouts of today, one for each thing still here."""
    case = told()[0].case
    ended = {r["prov:entity"] for r in made["wasInvalidatedBy"].values()}
    state_of: dict[str, list[dict]] = {}
    for r in made["specializationOf"].values():
        if r["prov:specificEntity"] not in ended:
            state = made["entity"][r["prov:specificEntity"]]
            state_of.setdefault(r["prov:generalEntity"].removeprefix("thing:"), []).append(state)
    assert {t: len(s) for t, s in state_of.items()} == {
        t.id: 1 for t in case.things.values() if not t.gone
    }
    for thing in case.things.values():
        assert (f"thing:{thing.id}" in ended) == thing.gone
        if thing.gone:
            continue
        (state,) = state_of[thing.id]
        location = state.get("prov:location", {}).get("$")
        match thing.where:
            case AtPlace(place):
                assert location == f"place:{place}"
            case Inside(container):
                assert location == f"thing:{container}"
            case WithHolder(holder, _):
                assert state["continuity:heldBy"]["$"] == f"party:{holder}"
            case _:
                assert state["continuity:neverSeen"] is True
        assert state["continuity:closed"] == thing.shut


def origins(made, entity):
    found = [r for r in made["wasDerivedFrom"].values() if r["prov:generatedEntity"] == entity]
    return {r["prov:usedEntity"] for r in found}


def test_descent(made):
    _, named = told()
    parted, joined = named["separated"].number, named["joined"].number
    assert origins(made, f"thing:{BLOCK}") == {f"thing:{VISCERA}"}
    assert origins(made, f"thing:{ASHES}") == {f"thing:{BODY}"}
    straight = named["straight into"].number
    assert origins(made, f"state:{BLOCK}/{parted}") == {f"state:{VISCERA}/{straight}"}
    assert origins(made, f"state:{VISCERA}/{parted}") == {f"state:{VISCERA}/{straight}"}
    came_from = origins(made, f"state:{BODY}/{joined}")
    assert {entity.rpartition("/")[0] for entity in came_from} == {f"state:{BODY}", f"state:{LIMB}"}


def test_ashes_use_nothing_that_is_gone(made):
    ashes = f"entry:{CASE}/{told()[1]['ashes-received'].number}"
    assert [r for r in made["used"].values() if r["prov:activity"] == ashes] == []
    (derived,) = [
        r
        for r in made["wasDerivedFrom"].values()
        if r["prov:generatedEntity"].startswith(f"state:{ASHES}/")
    ]
    assert "prov:activity" not in derived


def test_what_is_gone_was_ended_by_the_entry_that_says_so(made):
    _, named = told()
    by = {r["prov:entity"]: r["prov:activity"] for r in made["wasInvalidatedBy"].values()}
    assert by[f"thing:{BAG}"] == f"entry:{CASE}/{named['packaging-discarded'].number}"
    assert by[f"thing:{LIMB}"] == f"entry:{CASE}/{named['joined'].number}"
    assert by[f"thing:{BODY}"] == f"entry:{CASE}/{named['disposed'].number}"
    assert by[f"thing:{VISCERA}"] == f"entry:{CASE}/{named['disposed'].number}", "went along"


def test_corrections(made):
    _, named = told()
    wrong, right = named["moved wrongly"].number, named["read instead"].number
    struck = made["activity"][f"entry:{CASE}/{wrong}"]
    correction = made["activity"][f"entry:{CASE}/{right}"]
    assert {"$": "continuity:Struck", "type": "xsd:QName"} in struck["prov:type"]
    assert struck["continuity:struckBy"]["$"] == f"entry:{CASE}/{right}"
    assert correction["continuity:strikes"]["$"] == f"entry:{CASE}/{wrong}"
    effects = Counter(
        record["prov:activity"]
        for kind in ("used", "wasGeneratedBy", "wasInvalidatedBy")
        for record in made[kind].values()
    )
    assert f"entry:{CASE}/{wrong}" not in effects
    assert effects[f"entry:{CASE}/{right}"] == 3
    assert correction["prov:startTime"] == struck["prov:startTime"], "read as of that hour"
    recorded = correction["continuity:recordedAt"]["$"]
    assert recorded == write_time(told()[0].lines[right].event.recorded_at)


def test_agents_are_ids_and_nothing_more(made):
    assert set(made["agent"]) == {
        "person:m1",
        "person:m2",
        "person:d1",
        "party:coroner",
        "party:pathologist",
        "party:crematory",
    }
    for agent, record in made["agent"].items():
        assert record == {"prov:label": agent.partition(":")[2]}
    roles = Counter(r["prov:role"]["$"] for r in made["wasAssociatedWith"].values())
    lines = told()[0].lines
    assert roles["continuity:recorder"] == len(lines)
    assert roles["continuity:signer"] == sum(len(x.event.persons) - 1 for x in lines)
    assert roles["continuity:giver"] == sum(hasattr(x.event.act, "giver") for x in lines) >= 5
    text = json.dumps(made)
    assert [secret for secret in SECRETS if secret in text] == []


def test_the_firms_own_base():
    made = document(told()[0], "https://records.example/custody/")
    assert made["prefix"]["thing"] == "https://records.example/custody/obj/"
    assert made["prefix"]["continuity"] == TERMS
