"""The structure of an EPCIS 2.0 document, in this project's own words.

Sources: GS1 EPCIS 2.0 (June 2022), sections 7.3 and 7.4, what each event holds and must hold; CBV
2.0, sections 7.1 to 7.4, the vocabularies; RFC 3986, the form of a URI; RFC 3339, times. The
published JSON Schema is asked beside this where a copy of it is at hand (`test_epcis.py`).
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Iterator

STEPS = {
    "accepting",
    "arriving",
    "assembling",
    "collecting",
    "commissioning",
    "consigning",
    "creating_class_instance",
    "cycle_counting",
    "decommissioning",
    "departing",
    "destroying",
    "disassembling",
    "dispensing",
    "encoding",
    "entering_exiting",
    "holding",
    "inspecting",
    "installing",
    "killing",
    "loading",
    "other",
    "packing",
    "picking",
    "receiving",
    "removing",
    "repackaging",
    "repairing",
    "replacing",
    "reserving",
    "retail_selling",
    "sampling",
    "sensor_reporting",
    "shipping",
    "staging_outbound",
    "stock_taking",
    "stocking",
    "storing",
    "transporting",
    "unloading",
    "unpacking",
    "void_shipping",
}
DISPOSITIONS = {
    "active",
    "available",
    "completeness_inferred",
    "completeness_verified",
    "conformant",
    "container_closed",
    "container_open",
    "damaged",
    "destroyed",
    "dispensed",
    "disposed",
    "encoded",
    "expired",
    "in_progress",
    "in_transit",
    "inactive",
    "mismatch_class",
    "mismatch_instance",
    "mismatch_quantity",
    "needs_replacement",
    "no_pedigree_match",
    "non_conformant",
    "non_sellable_other",
    "partially_dispensed",
    "recalled",
    "reserved",
    "retail_sold",
    "returned",
    "sellable_accessible",
    "sellable_not_accessible",
    "stolen",
    "unavailable",
    "unknown",
}
EVERY = {"eventTime", "eventTimeZoneOffset", "eventID", "type", "errorDeclaration"}
WHERE_AND_WHY = {
    "bizStep",
    "disposition",
    "readPoint",
    "bizLocation",
    "bizTransactionList",
    "sourceList",
    "destinationList",
    "sensorElementList",
}
HELD = {"action", "parentID", "childEPCs"}
FIELDS = {
    "ObjectEvent": {"action", "epcList"},
    "AggregationEvent": HELD,
    "AssociationEvent": HELD,
    "TransformationEvent": {"inputEPCList", "outputEPCList"},
}
LISTS = ("epcList", "childEPCs", "inputEPCList", "outputEPCList")
URI = re.compile(
    r"[A-Za-z][A-Za-z0-9+.-]*:(?://[A-Za-z0-9.:-]+)?(?:[A-Za-z0-9._~!$&'()*+,;=:@/?-]|%[0-9A-F]{2})+"
)
TIME = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{3}Z")
OFFSET = re.compile(r"[+-](?:(?:0\d|1[0-3]):[0-5]\d|14:00)")


def faults(document: dict[str, Any]) -> list[str]:
    """What is not as the standard wants it, in words."""
    return [*_document(document), *(f for e in events(document) for f in _event(e))]


def events(document: dict[str, Any]) -> list[dict[str, Any]]:
    return document["epcisBody"]["eventList"]


def _document(document: dict[str, Any]) -> Iterator[str]:
    wanted = ["@context", "type", "schemaVersion", "creationDate", "epcisBody"]
    if list(document) != wanted:
        yield f"the document holds {list(document)}"
    if document["type"] != "EPCISDocument" or document["schemaVersion"] != "2.0":
        yield "it is no EPCIS 2.0 document"
    if not TIME.fullmatch(document["creationDate"]):
        yield "creationDate is no time"


def _event(event: dict[str, Any]) -> Iterator[str]:
    name = f"{event.get('type')} {event.get('eventID')}"
    fields = FIELDS.get(event.get("type", ""))
    if fields is None:
        yield f"{name} is of no known type"
        return
    standard = {field for field in event if ":" not in field}
    yield from (f"{name} has {f}" for f in standard - fields - EVERY - WHERE_AND_WHY)
    needed = fields | {"eventTime", "eventTimeZoneOffset", "eventID", "bizStep"}
    yield from (f"{name} lacks {f}" for f in needed - standard)
    for field in LISTS:
        things = event.get(field, ["x:y"])
        if not things or len(set(things)) != len(things):
            yield f"{name}: {field} is empty, or names a thing twice"
    if event.get("parentID") in event.get("childEPCs", ()):
        yield f"{name} is inside itself"
    if event.get("action", "ADD") not in {"ADD", "OBSERVE", "DELETE"}:
        yield f"{name} acts strangely"
    for field, words in (("bizStep", STEPS), ("disposition", DISPOSITIONS)):
        word = event.get(field)
        if word and word not in words and not (":" in word and URI.fullmatch(word)):
            yield f"{name}: {field} {word} is neither of the vocabulary nor a URI"
    if not TIME.fullmatch(event["eventTime"]) or not OFFSET.fullmatch(event["eventTimeZoneOffset"]):
        yield f"{name} is at no time"
    yield from (f"{name}: {u} is no URI" for u in _uris(event) if not URI.fullmatch(u))
    yield from _declaration(name, event.get("errorDeclaration"))


def _uris(event: dict[str, Any]) -> Iterator[str]:
    yield event["eventID"]
    yield from (event[f] for f in ("parentID",) if f in event)
    yield from (thing for field in LISTS for thing in event.get(field, ()))
    yield from (event[f]["id"] for f in ("readPoint", "bizLocation") if f in event)
    yield from (t["bizTransaction"] for t in event.get("bizTransactionList", ()))
    for side in ("source", "destination"):
        for party in event.get(f"{side}List", ()):
            assert party["type"] in {"possessing_party", "owning_party", "location"}
            yield party[side]


def _declaration(name: str, declaration: dict[str, Any] | None) -> Iterator[str]:
    if declaration is None:
        return
    if not TIME.fullmatch(declaration.get("declarationTime", "")):
        yield f"{name} is declared wrong at no time"
    if declaration.get("reason") not in {"did_not_occur", "incorrect_data"}:
        yield f"{name} is declared wrong for no reason"
    for uri in declaration.get("correctiveEventIDs", ()):
        if not URI.fullmatch(uri):
            yield f"{name}: {uri} is no URI"
