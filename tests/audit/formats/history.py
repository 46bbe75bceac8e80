"""An invented case in which every kind of entry occurs; no person, firm or place in it is real."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING, Any

from continuity.audit.formats.casefile import CaseFile, read_case
from tests.audit.dossier.scenario import CASE, Firm, receive, start

if TYPE_CHECKING:
    from continuity.recording import Receipt
    from continuity.store.protocol import Store

OTHER = "2026-0002"
BODY, BAG, VISCERA, LIMB, BOX, RING, COFFIN, POUCH = (f"{CASE}.{n}" for n in range(1, 9))
MISSING, HEART, NET, BLOCK, SLIDE, ASHES = (f"{CASE}.{n}" for n in range(9, 15))
LABEL = "CT/2026-0001/7/ABCD"
FORMULAS = ('=HYPERLINK("http://evil.example","x")', "+1", "-1", "@SUM(A1)", "\uff1d1", "\t=1")
HOSTILE = 'end";\n=1+1;@x\r\n\x1b[2J \u202eelbaT\u202c </script>'
SECRETS = ("Brandauer", "1951-07-09", "a daughter, named in the papers", "Ilse")
"""Personal details, which no format may hold."""


def every_kind(store: Store | None = None) -> tuple[Firm, dict[str, Receipt]]:
    """The firm after the whole story, and the receipts that a test asks for by name."""
    firm = start(store=store)
    receive(firm)
    named: dict[str, Receipt] = {}

    def tell(kind: str, name: str = "", by: str = "m1 m2", **fields: Any) -> Receipt:
        receipt = firm.tell(kind, by=by, found=True, **fields)
        named[name or kind] = receipt
        return receipt

    firm.record("case-opened", case=OTHER, disposition="cremation", number=OTHER)
    tell(
        "received",
        "short",
        giver="coroner",
        place="table-1",
        giver_signed=False,
        items=[{"what": "specimen", "description": "a block", "receipt": "missing"}],
    )
    tell("retention-stated", kept="some", according_to="the examiner's letter")
    tell(
        "retained",
        holder="pathologist",
        reason="examination",
        until="2026-04-01",
        items=[{"what": "specimen", "description": "heart", "organ": "heart"}],
    )
    tell("instructed", things=[HEART], wish="return-before-the-funeral", relation="daughter")
    tell(
        "provided",
        place="table-1",
        items=[{"what": "container", "form": "net", "description": "clean net"}],
    )
    tell("place-counted", place="table-1", seen=[BODY], missing=[RING], unexpected=[LIMB])
    tell("labelled", thing=BAG, code=LABEL)
    tell("label-voided", thing=BAG, code=LABEL, reason="torn")
    tell("opened", thing=BODY, reason="leak", remark=HOSTILE)
    tell("taken-out", things=[BAG], place="table-1", scanned=True)
    tell("opened", "bag opened", thing=BAG, reason="to treat", seal_found="88142")
    tell("taken-out", "straight into", things=[VISCERA], into=NET)
    tell(
        "separated",
        thing=VISCERA,
        into=[
            {"what": "specimen", "description": "block", "within": NET},
            {"what": "specimen", "description": "slide", "place": "shelf-3"},
        ],
    )
    tell("cared-for", thing=VISCERA, step="immersed", product="fluid", millilitres=3000)
    tell("weighed", thing=VISCERA, grams=6420)
    tell("sealed", thing=NET)
    tell("put-in", things=[NET], into=BODY, scanned=True)
    tell("packaging-discarded", thing=BAG, empty=True)
    tell("opened", "box opened", thing=BOX, reason="for the limb")
    tell("joined", things=[LIMB], to=BODY)
    tell("sighted", things=[BOX], place="shelf-3")
    tell("moved", "moved wrongly", things=[BOX], place="shelf-3")
    tell(
        "corrected",
        "read instead",
        strikes=named["moved wrongly"].leaf,
        reason="not there",
        instead={"kind": "moved", "things": [BOX], "place": "table-1"},
    )
    tell("weighed", "weighed wrongly", thing=BOX, grams=900)
    tell("corrected", "struck", strikes=named["weighed wrongly"].leaf, reason="another box")
    tell("weighed", "weighed rightly", thing=BOX, grams=910)
    tell("corrected", "hasty", strikes=named["weighed rightly"].leaf, reason="hasty")
    tell("corrected", "restored", strikes=named["hasty"].leaf, reason="it was right after all")
    tell("handed-over", things=[SLIDE], taker="pathologist", authority="letter 3")
    tell("hand-over-accepted", things=[SLIDE], taker="pathologist")
    tell("returned", things=[SLIDE], giver="pathologist", giver_signed=True, place="table-1")
    tell("inspected", "broken", thing=NET, seal="broken")
    tell("irregularity-raised", things=[NET], what="the seal is broken")
    tell(
        "irregularity-resolved",
        irregularity=named["irregularity-raised"].number,
        resolution="a new seal",
        by="d1 m1",
    )
    tell("moved", "out of the pouch", things=[RING], place="safe")
    tell(
        "released",
        things=[RING],
        relation="daughter",
        authority="next of kin",
        signed=True,
        personal={"recipient": "Ilse Brandauer (invented)"},
    )
    tell("put-in", "body into coffin", things=[BODY], into=COFFIN)
    tell(
        "identified",
        "not sure",
        thing=BODY,
        stage="closing",
        agree=False,
        identifiers=[{"what": "name"}],
    )
    codes = sorted({f.code for f in firm.register.closing_check(CASE).stops})
    tell("closing-check-signed", coffin=COFFIN, over=codes, reason="an example", by="d1 m1")
    tell("coffin-closed", thing=COFFIN, seal="77")
    tell("coffin-reopened", thing=COFFIN, reason="to look once more")
    tell("recalled", things=[COFFIN], taker="coroner", authority="order 9", accepted=True)
    tell(
        "returned",
        "back again",
        things=[COFFIN],
        giver="coroner",
        giver_signed=True,
        place="cold-room",
    )
    tell("coffin-shared", coffin=COFFIN, with_cases=[CASE, OTHER], authority="order 10", by="d1 m1")
    tell("disposition-changed", disposition="cremation", authority="the daughter")
    tell("associated", things=[SLIDE], to_case=OTHER, authority="the pathologist")
    tell(
        "disposed",
        things=[COFFIN],
        manner="cremation",
        where="the invented crematory",
        authority="permit 4",
    )
    tell(
        "ashes-received",
        giver="crematory",
        place="safe",
        grams=[2400],
        items=[{"what": "ashes", "description": "ashes"}],
    )
    for formula in FORMULAS:
        tell("irregularity-raised", "formula", things=[], what=formula)
    tell("personal-details-erased", ground="an invented ground", by="d1 m1")
    return firm, named


@cache
def told() -> tuple[CaseFile, dict[str, Receipt]]:
    """The case, read once for all tests: nobody can change it."""
    firm, named = every_kind()
    return read_case(firm.register.store, CASE), named
