"""Invented labels for the tests: no person, firm or place here exists."""

from __future__ import annotations

from datetime import date, datetime, timedelta, timezone

from continuity_labels.code import Code, CodeBook, CodeType
from continuity_labels.face import Face, FaceKind, Identifier, Moment
from continuity_labels.hazard import HazardState

BOOK = CodeBook("example-register")
DAY = date(2031, 4, 2)
NOON = datetime(2031, 4, 2, 12, 5, tzinfo=timezone(timedelta(hours=2)))


def code(kind: CodeType, print_number: int = 1) -> Code:
    return Code(kind, BOOK.tag, "9QWE2MN8XYZ4", print_number)


THING = Face(
    FaceKind.THING,
    code(CodeType.THING, 2),
    "Viscera bag, wet pack",
    ordinal=(2, 3),
    case_number="2031-0147",
    day=DAY,
    moments=(Moment("Opened", NOON),),
    initials=2,
)
TREATED = Face(
    FaceKind.THING,
    code(CodeType.THING),
    "Treatment container",
    ordinal=(3, 3),
    case_number="2031-0147",
    day=DAY,
    moments=(Moment("Immersed", NOON),),
    initials=1,
    hazard=HazardState(unfixed=True, formaldehyde_tenths=37, treating=True),
    responsible="Example Mortuary, 1 Invented Lane, Sampleton",
)
UNFIXED = Face(
    FaceKind.THING,
    code(CodeType.THING),
    "Viscera bag, wet pack",
    ordinal=(1, 3),
    case_number="2031-0147",
    day=DAY,
    moments=(Moment("Opened"),),
    initials=1,
    hazard=HazardState(unfixed=True),
)
DECEDENT = Face(
    FaceKind.DECEDENT,
    code(CodeType.THING),
    "Decedent",
    day=DAY,
    initials=2,
    identifiers=(
        Identifier("Name", "Exempla, Ada Łucja"),
        Identifier("Date of birth", "1950-01-31"),
        Identifier("Case", "2031-0147", unique=True),
    ),
)
PLACE = Face(FaceKind.PLACE, code(CodeType.PLACE), "Cold room 2, bay 4")
BADGE = Face(FaceKind.BADGE, code(CodeType.BADGE), "M. Sample, mortician")
FACES = {
    "thing": THING,
    "treated": TREATED,
    "unfixed": UNFIXED,
    "decedent": DECEDENT,
    "place": PLACE,
    "badge": BADGE,
}
