"""Whatever a day brings, every format tells it whole: on the random days of `tests/properties`."""

from __future__ import annotations

import csv
import json
from collections import Counter
from datetime import UTC, datetime
from typing import Any

from hypothesis import HealthCheck, settings
from hypothesis.stateful import run_state_machine_as_test
from prov.model import ProvDocument

from continuity.audit.formats.casefile import CaseFile, read_case
from continuity.audit.formats.epcis import epcis_text
from continuity.audit.formats.names import Names
from continuity.audit.formats.prov import document
from continuity.audit.formats.rows import csv_text, jsonl_text
from continuity.care.things import Inside
from tests.audit.formats import reader
from tests.audit.formats.constraints import broken
from tests.audit.formats.structure import events, faults
from tests.properties.days import Days

MADE = datetime(2031, 12, 1, tzinfo=UTC)
seen: Counter[str] = Counter()


class ToldInFormats(Days):
    """A random day, told in each format when it is over."""

    def teardown(self) -> None:
        for case in self.cases:
            file = read_case(self.firm.register.store, case)
            seen.update(line.event.act.kind for line in file.lines)
            seen["struck"] += sum(line.struck_by is not None for line in file.lines)
            rows_are_whole(file)
            prov_is_whole(file)
            epcis_is_whole(file)
        super().teardown()


def test_any_day():
    seen.clear()
    chosen = settings(
        max_examples=15,
        stateful_step_count=30,
        derandomize=True,
        suppress_health_check=list(HealthCheck),
    )
    run_state_machine_as_test(ToldInFormats, settings=chosen)
    assert seen["received"] > 0


def rows_are_whole(file: CaseFile) -> None:
    numbers = [line.number for line in file.lines]
    assert [json.loads(text)["number"] for text in jsonl_text(file)] == numbers
    rows = list(csv.DictReader("".join(csv_text(file)).splitlines(keepends=True), strict=True))
    assert [int(row["number"]) for row in rows] == numbers


def prov_is_whole(file: CaseFile) -> None:
    made = document(file)
    assert [a["continuity:number"] for a in made["activity"].values()] == [
        line.number for line in file.lines
    ]
    assert broken(made) == []
    ended = {r["prov:entity"] for r in made.get("wasInvalidatedBy", {}).values()}
    states = Counter(
        r["prov:generalEntity"]
        for r in made.get("specializationOf", {}).values()
        if r["prov:specificEntity"] not in ended
    )
    there = {f"thing:{t.id}": int(not t.gone) for t in file.case.own}
    assert {thing: states[thing] for thing in there} == there
    text = json.dumps(made)
    read = ProvDocument.deserialize(content=text, format="json")
    assert read == ProvDocument.deserialize(content=read.serialize(format="json"), format="json")


def epcis_is_whole(file: CaseFile) -> None:
    made: dict[str, Any] = json.loads("".join(epcis_text(file, MADE)))
    assert faults(made) == []
    told = [e for e in events(made) if e["continuity:part"] == 1]
    plain = Counter(e["continuity:entry"] for e in told if "errorDeclaration" not in e)
    declared = Counter(
        e["errorDeclaration"]["continuity:entry"] for e in told if "errorDeclaration" in e
    )
    strikes = {line.number for line in file.lines if line.strikes is not None}
    assert declared == Counter(strikes)
    assert plain | declared == Counter(line.number for line in file.lines)
    assert len({(e["eventID"], "errorDeclaration" in e) for e in events(made)}) == len(events(made))
    names = Names.of(file)
    held = reader.inside(events(made))
    there = {t.id: t.where for t in file.case.own if not t.gone}
    assert {t: held.get(names.thing(t)) for t in there} == {
        t: names.thing(where.thing) if isinstance(where, Inside) else None
        for t, where in there.items()
    }
