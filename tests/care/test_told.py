"""What an entry tells that asks for something: struck, each of it is missed aloud."""

from __future__ import annotations

from typing import Any

import pytest

from continuity.care.entries import read_act
from continuity.care.findings.corrections import told

BODY, BAG = "2026-0001.1", "2026-0001.3"
LOOK = {"kind": "inspected", "thing": BAG}
CARE = {"kind": "cared-for", "thing": BODY}
CASES: list[tuple[dict[str, Any], list[str]]] = [
    (
        {"kind": "case-opened", "number": "2026-0001", "unidentified": True},
        ["an unidentified decedent"],
    ),
    (
        {
            "kind": "disposition-changed",
            "disposition": "cremation",
            "authority": "an order",
            "above_ground": True,
            "long_delay": True,
        },
        ["cremation as the disposition", "a vault or crypt above ground", "a long wait"],
    ),
    (LOOK, []),
    ({**LOOK, "leak": True, "odour": True}, [f"a leak of {BAG}", f"an odour of {BAG}"]),
    ({**LOOK, "dry": False, "empty": False}, [f"{BAG}, not dry", f"{BAG}, not empty"]),
    ({**LOOK, "dry": True, "empty": True}, []),
    ({**LOOK, "seal": "broken"}, [f"the seal of {BAG}, broken"]),
    ({**LOOK, "seal": "absent"}, [f"the seal of {BAG}, absent"]),
    ({**LOOK, "suture": "gaping"}, [f"the suture of {BAG}, gaping"]),
    ({**LOOK, "suture": "absent"}, [f"the suture of {BAG}, absent"]),
    ({**LOOK, "implants": "found"}, [f"implants found in {BAG}"]),
    ({**LOOK, "implants": "unknown"}, [f"implants unknown in {BAG}"]),
    ({**LOOK, "implants": "none"}, []),
    (
        {"kind": "instructed", "things": [BAG], "wish": "release", "relation": "son"},
        [f"the wish release for {BAG}"],
    ),
    ({**CARE, "step": "immersed"}, [f"{BODY} being immersed"]),
    ({**CARE, "step": "injected"}, [f"{BODY} being injected"]),
    ({**CARE, "step": "embalmed"}, [f"{BODY} being embalmed"]),
    ({**CARE, "step": "sutured"}, []),
    ({"kind": "opened", "thing": BAG, "reason": "to look"}, [f"{BAG} being opened"]),
    ({"kind": "weighed", "thing": BAG, "grams": 310}, [f"310 g as the weight of {BAG}"]),
    *(
        (
            {
                "kind": "ashes-received",
                "giver": "crematory",
                "place": "store",
                "items": [{"thing": BAG, "what": "ashes", "description": "ashes"}],
                "disc_agrees": agrees,
            },
            [f"another's identity disc with {BAG}"] * (agrees is False),
        )
        for agrees in (True, False)
    ),
    (
        {
            "kind": "received",
            "giver": "coroner",
            "place": "store",
            "giver_signed": False,
            "items": [
                {"thing": BODY, "what": "part", "description": "a foot", "receipt": "extra"},
                {"thing": BAG, "what": "part", "description": "a hand", "receipt": "missing"},
                {
                    "thing": "2026-0001.4",
                    "what": "container",
                    "form": "bag",
                    "description": "a bag",
                    "declared_seal": "77",
                    "found_seal": "78",
                    "declared_label": "A",
                    "found_label": "A",
                },
            ],
        },
        [
            f"{BODY} (a foot) found and not declared",
            f"{BAG} (a hand) declared and not found",
            "the coming of 2026-0001.4 (a bag)",
            "seal 78 on 2026-0001.4 (a bag), declared as 77",
            "coroner, who did not sign",
        ],
    ),
    *(
        ({"kind": "retention-stated", "kept": kept, "according_to": "the report"}, words)
        for kept, words in (
            ("none", []),
            ("some", ["something kept by the examiner"]),
            ("unknown", ["no knowledge of what the examiner kept"]),
        )
    ),
    *(
        (
            {
                "kind": "returned",
                "things": [BAG],
                "giver": "lab",
                "place": "store",
                "giver_signed": signed,
            },
            [f"lab, who did not sign for {BAG}"] * (not signed),
        )
        for signed in (True, False)
    ),
    (
        {
            "kind": "received",
            "giver": "coroner",
            "place": "store",
            "items": [
                {
                    "thing": BAG,
                    "what": "effect",
                    "description": "a ring",
                    "declared_label": "A",
                    "found_label": "B",
                },
                {
                    "thing": "2026-0001.4",
                    "what": "container",
                    "form": "bag",
                    "description": "a bag",
                    "receipt": "missing",
                },
            ],
        },
        [
            f"label B on {BAG} (a ring), declared as A",
            "2026-0001.4 (a bag) declared and not found",
        ],
    ),
    ({**LOOK, "seal": "intact", "seal_number": "77"}, [f"the seal number 77 on {BAG}"]),
    *(
        (
            {
                "kind": "identified",
                "thing": BODY,
                "agree": agree,
                "identifiers": [{"what": "name"}],
            },
            [f"identifiers of {BODY} that did not agree"] * (agree is False),
        )
        for agree in (True, False, None)
    ),
    *(
        (
            {
                "kind": "retained",
                "holder": "lab",
                "things": [BAG, BODY],
                "family_told": knows,
                **how,
            },
            [f"{BAG}, {BODY} kept by lab", *words],
        )
        for knows, how, words in (
            (True, {}, []),
            (None, {"until": "2026-04-02"}, [f"{BAG}, {BODY} kept until 2026-04-02"]),
            (False, {}, [f"a family not told that {BAG}, {BODY} is kept"]),
        )
    ),
    *(
        (
            {
                "kind": "handed-over",
                "things": [BAG],
                "taker": "lab",
                "authority": "an order",
                "accepted": signed,
            },
            [f"{BAG} with lab, who had not signed"] * (not signed),
        )
        for signed in (True, False)
    ),
    ({"kind": "coffin-reopened", "thing": BAG, "reason": "to look"}, [f"{BAG} being opened"]),
    (
        {"kind": "closing-check-signed", "over": ["not-sealed", "no-decedent"], "reason": "so"},
        ["closing over not-sealed, no-decedent"],
    ),
    ({"kind": "closing-check-signed"}, []),
    (
        {**CARE, "step": "washed", "formaldehyde_tenths": 40},
        [f"formaldehyde on {BODY}"],
    ),
    ({**CARE, "step": "washed", "formaldehyde_tenths": 0}, []),
    ({"kind": "place-counted", "place": "store", "seen": [BODY], "uncounted": [BAG]}, []),
    (
        {"kind": "place-counted", "place": "store", "missing": [BODY, BAG]},
        [f"{BODY}, {BAG} not found at store"],
    ),
    (
        {"kind": "place-counted", "place": "store", "unexpected": [BODY, BAG]},
        [f"{BODY}, {BAG} found at store"],
    ),
    (
        {"kind": "recalled", "things": [BAG], "taker": "lab", "authority": "an order"},
        [f"{BAG} called back by lab"],
    ),
]


@pytest.mark.parametrize(("fields", "words"), CASES, ids=[str(n) for n in range(len(CASES))])
def test_an_entry_tells_what_asks_for_something(fields: dict[str, Any], words: list[str]) -> None:
    assert list(told(read_act(fields))) == words
