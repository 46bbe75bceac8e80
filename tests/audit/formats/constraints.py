"""What PROV-CONSTRAINTS (W3C Recommendation, 30 April 2013) forbids, of what the documents use.

Section 6.1: an entity is generated once and ended once (here: by one activity). Section 6.2: no
use before generation or after the end (constraints 36-38), the lives of specializations lie within
those of what they specialize (43, 44), and what is derived comes strictly after its origin (41,
42); the numbers are from memory. Constraint 30 onward: events lie within their activities.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from typing import Any

Made = dict[str, dict[str, dict[str, Any]]]


def broken(made: Made) -> list[str]:
    """Each breach, in words."""
    return [*_twice(made), *_out_of_time(made), *_circles(made)]


def _twice(made: Made):
    for kind, word in (("wasGeneratedBy", "generated"), ("wasInvalidatedBy", "ended")):
        counts = Counter(r["prov:entity"] for r in made.get(kind, {}).values())
        yield from (f"{entity} is {word} twice" for entity, n in counts.items() if n > 1)


def _out_of_time(made: Made):
    begun = {r["prov:entity"]: r["prov:time"] for r in made.get("wasGeneratedBy", {}).values()}
    ended = {r["prov:entity"]: r["prov:time"] for r in made.get("wasInvalidatedBy", {}).values()}
    for entity in begun.keys() & ended.keys():
        if begun[entity] > ended[entity]:
            yield f"{entity} ends before it begins"
    for kind in ("used", "wasGeneratedBy", "wasInvalidatedBy"):
        yield from _outside(made, made.get(kind, {}).values())
    for r in made.get("used", {}).values():
        if r["prov:time"] < begun.get(r["prov:entity"], ""):
            yield f"{r['prov:entity']} is used before its generation"
        if r["prov:time"] > ended.get(r["prov:entity"], "9"):
            yield f"{r['prov:entity']} is used after its end"
    yield from _out_of_line(made, begun, ended)


def _outside(made: Made, relations):
    for r in relations:
        activity = made["activity"][r["prov:activity"]]
        if not activity["prov:startTime"] <= r["prov:time"] <= activity["prov:endTime"]:
            yield f"{r} lies outside its activity"
        if r["prov:entity"] not in made["entity"]:
            yield f"{r['prov:entity']} is nowhere described"


def _out_of_line(made: Made, begun: dict[str, str], ended: dict[str, str]):
    for r in made.get("specializationOf", {}).values():
        special, general = r["prov:specificEntity"], r["prov:generalEntity"]
        if begun.get(special, "9") < begun.get(general, ""):
            yield f"{special} begins before {general}"
        if general in ended and ended.get(special, "9") > ended[general]:
            yield f"{special} outlives {general}"
    for r in made.get("wasDerivedFrom", {}).values():
        new, old = r["prov:generatedEntity"], r["prov:usedEntity"]
        if begun.get(new, "9") < begun.get(old, ""):
            yield f"{new} is older than {old}, which it comes from"


def _circles(made: Made):
    onward = defaultdict(set)
    for r in made.get("wasDerivedFrom", {}).values():
        onward[r["prov:usedEntity"]].add(r["prov:generatedEntity"])
    for start in list(onward):
        seen: set[str] = set()
        ends = [start]
        while ends:
            for entity in onward.get(ends.pop(), ()):
                if entity == start:
                    yield f"{start} comes from itself"
                if entity not in seen:
                    seen.add(entity)
                    ends.append(entity)
