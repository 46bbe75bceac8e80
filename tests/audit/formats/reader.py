"""A naive reader of EPCIS events who knows nothing but them: what is inside what, in the end."""

from __future__ import annotations

from typing import Any


def standing(events: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """The events that no error declaration takes back, by the hour."""
    wrong = {e["eventID"] for e in events if "errorDeclaration" in e}
    return sorted((e for e in events if e["eventID"] not in wrong), key=lambda e: e["eventTime"])


def inside(events: list[dict[str, Any]]) -> dict[str, str]:
    """What each thing lies in, in the end."""
    held: dict[str, str] = {}
    for event in standing(events):
        match event["type"], event.get("action"):
            case "AggregationEvent", "DELETE":
                for child in event["childEPCs"]:
                    if held.get(child) == event["parentID"]:
                        del held[child]
            case "AggregationEvent", _:
                held |= dict.fromkeys(event["childEPCs"], event["parentID"])
            case "ObjectEvent", "DELETE":
                for thing in event["epcList"]:
                    held.pop(thing, None)
    return held


def gone(events: list[dict[str, Any]]) -> set[str]:
    """The things after whose end another event names them: CBV calls that an error."""
    ended: set[str] = set()
    found: set[str] = set()
    for event in standing(events):
        named = {*event.get("epcList", ()), *event.get("childEPCs", ()), event.get("parentID")}
        found |= named & ended
        if event["type"] == "ObjectEvent" and event["action"] == "DELETE":
            ended |= set(event["epcList"])
    return found
