"""Thirty ways in which remains, parts and records were lost or mixed up, as they are on record.

Each has the history that tells it here in miniature, and what catches it: a finding of the
closing check, or a refusal of the rules. The published sources stand beside each.
"""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING, Any, NamedTuple

import pytest

from continuity.care import closing
from continuity.care.findings.base import Neighbour
from continuity.errors import InputError
from tests.care.histories import bag, device, effect, part
from tests.care.history import CASE, OTHER, World, identifiers

if TYPE_CHECKING:
    from collections.abc import Callable

BODY, COFFIN, THIRD, FOURTH = (f"{CASE}.{n}" for n in range(1, 5))
THEIR_BODY, THEIR_COFFIN, THEIR_THIRD = (f"{OTHER}.{n}" for n in range(1, 4))
HEART = {"what": "specimen", "description": "heart", "organ": "heart"}


class Mode(NamedTuple):
    """A failure on record."""

    number: int
    what: str
    source: str
    build: Callable[[World], Any]
    findings: frozenset[str]
    refusals: frozenset[str]


MODES: list[Mode] = []


def caught(
    number: int, what: str, source: str, *findings: str, refused: tuple[str, ...] = ()
) -> Callable[[Callable[[World], Any]], Callable[[World], Any]]:
    """What catches it: these findings in the check, these refusals of what the history answers."""

    def enter(build: Callable[[World], Any]) -> Callable[[World], Any]:
        MODES.append(Mode(number, what, source, build, frozenset(findings), frozenset(refused)))
        return build

    return enter


@caught(
    1,
    "wrong body released, viewed or cremated",
    "HTA reportable incidents",
    "inside-another-case",
    refused=("wrong-case",),
)
def _(w: World) -> Any:
    w.arrive()
    w.arrive(case=OTHER)
    refusal = w.objections("put-in", things=[THEIR_BODY], into=COFFIN)
    w.do("put-in", things=[BODY], into=THEIR_COFFIN, found=True)
    return refusal


@caught(
    2,
    "fewer than three identifiers; age or a paper as proof",
    "HTA T1(c)",
    "too-few-identifiers",
)
def _(w: World) -> Any:
    w.arrive()
    w.identify("closing", "name", "age", "mortuary-number")


@caught(3, "same or similar names not flagged", "HTA T1(d)", "similar-name")
def _(w: World) -> Any:
    w.arrive()
    return {"neighbours": (Neighbour(OTHER, 93),)}


@caught(
    4,
    "identity read from shelf, fridge or board",
    "HTA reportable incidents",
    "identity-not-from-the-body",
)
def _(w: World) -> Any:
    w.arrive()
    w.identify("closing", read_from="shelf-plate")


@caught(
    5,
    "released before authority, or to one who had no right",
    "HTA reportable incidents; SI 2013/1629, reg 21",
    "no-release-authority",
    "released-without-authority",
    "release-incomplete",
    refused=("no-authority",),
)
def _(w: World) -> Any:
    w.arrive(effect(), effect(), release_authority=None)
    w.do("released", things=[THIRD], relation="a neighbour", found=True)
    return w.objections("released", things=[FOURTH], relation="a neighbour")


@caught(6, "part left behind after release, found later", "HTA reportable incidents", "left-behind")
def _(w: World) -> Any:
    w.arrive(part())
    w.ready()
    over = ["hazard-label-missing", "left-elsewhere"]
    w.close(over=over, reason="nobody looked")
    w.buried()


@caught(
    7,
    "another's organ in the container or the body",
    "HTA incidents 2014-16; ETS 80, Art. 5(c)",
    "another-case-inside",
    refused=("wrong-case",),
)
def _(w: World) -> Any:
    w.arrive()
    w.arrive(part(), part(), case=OTHER)
    w.do("put-in", things=[THEIR_THIRD], into=BODY, found=True)
    return w.objections("put-in", things=[f"{OTHER}.4"], into=BODY)


@caught(
    8,
    "container label present, contents missing; seal or bag breached",
    "Dover mortuary, 2009",
    "seal-broken",
    "seal-differs",
    "weight-fell",
    "lighter-than-its-contents",
)
def _(w: World) -> Any:
    w.arrive(bag(found_seal="S1"), device(within="#3"))
    w.do("weighed", thing=FOURTH, grams=900, force=True)
    w.do("weighed", thing=THIRD, grams=1000)
    w.do("inspected", thing=THIRD, seal="broken", seal_number="S9")
    w.do("weighed", thing=THIRD, grams=40)


@caught(
    9,
    "part lost between two custodians, no receipt",
    "HTA T1(h); ASTM E1492",
    "not-signed-for",
    "custody-gap",
)
def _(w: World) -> Any:
    w.arrive(device(), device())
    w.do("handed-over", things=[THIRD], taker="lab", authority="an order")
    w.do("handed-over", things=[FOURTH], taker="lab", authority="an order", accepted=True)
    w.do("returned", things=[FOURTH], giver="clinic", place="table", found=True)


@caught(
    10,
    "specimen retained with no reason, period or owner; never returned",
    "police audit 2010-12; NZ Coroners Act 2006, s49",
    "retention-incomplete",
    "return-awaited",
)
def _(w: World) -> Any:
    w.arrive()
    w.do("retained", holder="lab", items=[HEART])
    w.do("instructed", things=[THIRD], wish="return-before-the-funeral", relation="son")


@caught(11, "retention period over, no decision", "SI 2005/420, r9(9)", "period-expired")
def _(w: World) -> Any:
    w.arrive()
    w.do("retained", holder="lab", items=[HEART], until="2026-03-01")


@caught(
    12,
    "disposal or retention against the family's recorded choice",
    "HTA reportable incidents",
    "against-wish",
)
def _(w: World) -> Any:
    w.arrive()
    w.do("retained", holder="lab", items=[HEART])
    w.do("instructed", things=[THIRD], wish="return-later", relation="son")
    w.do(
        "disposed",
        things=[THIRD],
        manner="lawful-disposal",
        where="there",
        authority="an order",
        method="incineration",
    )


@caught(
    13,
    "family not told of retention before release",
    "Isaacs; NZ Coroners Act 2006, s50; Shipley",
    "family-not-told",
    "retention-unknown",
)
def _(w: World) -> Any:
    w.arrive()
    w.do("retained", holder="lab", items=[HEART], family_told=False)
    w.do("retention-stated", kept="unknown", according_to="no report came")


@caught(
    14,
    "disposal recorded without method or authority, or assumed done",
    "HTA D2; police audit",
    "disposal-incomplete",
    "disposal-awaited",
    refused=("no-authority", "no-method"),
)
def _(w: World) -> Any:
    w.arrive()
    w.do("retained", holder="lab", items=[HEART, HEART])
    w.do("instructed", things=[FOURTH], wish="lawful-disposal", relation="son")
    how = {"things": [THIRD], "manner": "lawful-disposal", "where": "there"}
    refusal = w.objections("disposed", **how)
    w.do("disposed", found=True, **how)
    return refusal


@caught(
    15,
    "body closed while parts, viscera or effects are open",
    "NZ Coroners Act 2006, s44, s53",
    "left-elsewhere",
    "effect-elsewhere",
    refused=("not-clear", "no-closing-check"),
)
def _(w: World) -> Any:
    w.arrive(part(), effect(intention="worn"))
    w.ready()
    return [
        *w.objections("closing-check-signed", coffin=COFFIN),
        *w.objections("coffin-closed", thing=COFFIN),
    ]


@caught(
    16,
    "derived piece not linked to its parent",
    "HTA T1(g); ASTM E1459",
    "piece-without-record",
)
def _(w: World) -> Any:
    """A piece can only be brought in by naming what it came from; one that is lost shows."""
    w.arrive(device())
    with pytest.raises(InputError, match="thing: is needed"):
        w.do("separated", into=[device(place="table")])
    pieces = [device(place="table"), device(place="table")]
    w.do("separated", thing=THIRD, into=pieces, entirely=True)
    case = w.case()
    assert case.things[FOURTH].parents == (THIRD,)
    del case.things[FOURTH]
    return {"case": case}


@caught(
    17,
    "number used again, or something happens after a thing was destroyed",
    "GS1 CBV 2.0: destroying",
    "left-and-found-here",
    refused=("number-spent", "already-gone"),
)
def _(w: World) -> Any:
    w.arrive(effect())
    w.do("released", things=[THIRD], relation="son", authority="a wish")
    refusals = [
        *w.objections("moved", things=[THIRD], place="table"),
        *w.objections("received", giver="coroner", place="store", items=[effect(thing=THIRD)]),
    ]
    w.do("moved", things=[THIRD], place="table", found=True)
    return refusals


@caught(
    18,
    "count right and identities wrong; count short or over",
    "GS1 CBV 2.0: mismatch_instance, mismatch_quantity",
    "identities-differ",
    "declared-not-found",
    "found-not-declared",
)
def _(w: World) -> Any:
    w.arrive(effect(receipt="missing"), effect(receipt="extra"))
    items = [device(receipt="missing"), part(receipt="extra")]
    w.do("received", giver="coroner", place="store", items=items)


@caught(
    19,
    "completeness inferred, never verified",
    "GS1 CBV 2.0: completeness_inferred",
    "never-looked-into",
)
def _(w: World) -> Any:
    w.arrive(bag(within="#1", inferred=True))


@caught(
    20,
    "location unknown, audit not done, move without identity check",
    "HTA T1(b), T1(e)",
    "not-sighted",
    "never-sighted",
    "not-identified-at-closing",
)
def _(w: World) -> Any:
    w.arrive(effect(intention="worn"))
    w.do("put-in", things=[BODY, THIRD], into=COFFIN)


@caught(
    21,
    "effects lost, swapped or buried against the list",
    "ETS 80, Art. 5(c); WV 6-2-19",
    "effect-against-wish",
    "effect-undecided",
    "effect-elsewhere",
)
def _(w: World) -> Any:
    w.arrive(effect(intention="release"), effect(), effect(intention="worn"))
    w.lay_in(THIRD, FOURTH)


@caught(
    22,
    "battery implant not declared or removed before cremation",
    "NY PBH 4202",
    "battery-inside",
    "implants-not-stated",
)
def _(w: World) -> Any:
    """The undeclared one in another case, whose check is asked too."""
    w.arrive(device(power="battery", within="#1"), disposition="cremation")
    w.arrive(case=OTHER, disposition="cremation")
    return {"also": OTHER}


@caught(
    23,
    "identity disc missing or changed; ashes mixed",
    "COMAR 09.34.08.06; AL 395-X-6-.13",
    "disc-differs",
    "disc-not-read",
    "ashes-implausible",
)
def _(w: World) -> Any:
    w.arrive(disposition="cremation", age_group="adult")
    w.ready()
    w.buried(manner="cremation", force=True)
    come = {"giver": "crematory", "place": "store"}
    ashes = {"what": "ashes", "description": "the ashes"}
    w.do("ashes-received", items=[ashes], grams=[5000], disc_agrees=False, **come)
    w.do("ashes-received", items=[ashes], grams=[10], **come)


@caught(
    24,
    "the party named downstream never received it",
    "Colorado, 2023: certificates named crematories that did not cremate",
    "not-signed-for",
    "disposition-not-recorded",
)
def _(w: World) -> Any:
    w.arrive(day="2026-03-03")
    w.lay_in()
    w.do("handed-over", things=[COFFIN], taker="crematory", authority="an order")
    return {"now": w.clock + timedelta(days=3)}


@caught(
    25,
    "hazard label missing or out of date after a treatment",
    "29 CFR 1910.1048(m)",
    "hazard-label-missing",
    "hazard-label-out-of-date",
)
def _(w: World) -> Any:
    w.arrive(part(), part())
    w.label(FOURTH, "biohazard", "formaldehyde-1")
    for hand in (THIRD, FOURTH):
        w.do("cared-for", thing=hand, step="immersed", formaldehyde_tenths=40)


@caught(
    26,
    "damage or leak not recorded on receipt, or left alone",
    "HTA reportable incidents; COMAR 09.34.08.05",
    "condition-not-noted",
    "leak-not-tended",
)
def _(w: World) -> Any:
    w.arrive(bag(), part(within="#3"))
    w.do("inspected", thing=BODY, leak=True)


@caught(
    27,
    "access by one who had no business there",
    "Fuller inquiry",
    "signed-outside-role",
    "seal-differs",
    refused=("role",),
)
def _(w: World) -> Any:
    w.arrive(bag(found_seal="S1"))
    refusal = w.objections("opened", thing=THIRD, reason="none", by=("dot",))
    w.do("opened", thing=THIRD, reason="none", seal_found="S7", by=("dot",), force=True)
    return refusal


@caught(
    28,
    "record altered afterwards; a correction hides the original",
    "GS1 EPCIS 2.0: error declaration; Alder Hey records",
    "closing-sighting-corrected",
)
def _(w: World) -> Any:
    w.arrive()
    w.ready()
    wrong = w.do("sighted", things=[COFFIN], for_closing=True)
    w.correct(wrong)
    assert wrong in w.case().struck_events
    assert wrong in w.chains[CASE]


@caught(
    29,
    "implausible weight: emptied, doubled, two persons' organs",
    "Molina & DiMaio 2012; ICRP 89; Warren & Maples 1997",
    "implausible-weight",
    "weight-rose",
    "weight-fell",
)
def _(w: World) -> Any:
    w.arrive({**HEART, "what": "device"}, device(), sex="male", age_group="adult")
    w.do("weighed", thing=THIRD, grams=900)
    for grams in (1000, 2000, 10):
        w.do("weighed", thing=FOURTH, grams=grams)


@caught(30, "body long in store, off the current list", "HTA T1(f) [from memory]", "long-in-store")
def _(w: World) -> Any:
    w.arrive()
    return {"now": w.clock + timedelta(days=31)}


@pytest.mark.parametrize("mode", MODES, ids=lambda m: f"{m.number}-{m.what}")
def test_a_failure_on_record_is_caught(mode: Mode) -> None:
    w = World()
    answer = mode.build(w)
    ask = dict(answer) if isinstance(answer, dict) else {}
    refused = {o.code for o in answer} if isinstance(answer, list) else set()
    found = set()
    if "case" in ask:
        found |= {f.code for f in closing.check(ask["case"], w.house.policy, w.clock).findings}
    else:
        if "also" in ask:
            found |= set(w.codes(ask.pop("also")))
        found |= set(w.codes(**ask))
    assert mode.findings <= found
    assert mode.refusals <= refused
    assert mode.findings | mode.refusals


def test_all_thirty_are_told_in_their_order() -> None:
    assert [mode.number for mode in MODES] == list(range(1, 31))
    assert all(mode.source for mode in MODES)


def test_a_history_without_any_of_them_raises_nothing() -> None:
    w = World()
    w.arrive(part(), bag(), effect(intention="worn"))
    w.label(THIRD, "biohazard")
    w.do("put-in", things=[THIRD], into=FOURTH, scanned=True)
    w.do("sealed", thing=FOURTH, seal="S1")
    w.ready(FOURTH, f"{CASE}.5")
    w.do("identified", thing=BODY, identifiers=identifiers("name"))
    assert w.codes() == []
    w.close()
    w.buried()
    assert w.check().words == "clear"
