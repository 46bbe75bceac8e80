"""Faces: what may stand on which label."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

import pytest

from continuity_labels.errors import FaceError
from continuity_labels.face import Face, FaceKind, Identifier, Moment
from tests.labels.samples import BADGE, DECEDENT, PLACE, THING


@pytest.mark.parametrize("face", [THING, PLACE, BADGE])
def test_no_identifiers_outside_the_decedents_own_tag(face: Face) -> None:
    """HTA T1(c): identification is not written on the outside of body bags."""
    with pytest.raises(FaceError, match="carries no name and no other personal detail"):
        replace(face, identifiers=DECEDENT.identifiers)


def test_a_decedents_tag_carries_exactly_three_one_of_them_unique() -> None:
    """HTA T1(c): three identifiers, at least one unique."""
    for some in (DECEDENT.identifiers[:2], (*DECEDENT.identifiers, DECEDENT.identifiers[0]), ()):
        with pytest.raises(FaceError, match=f"and was given {len(some)}"):
            replace(DECEDENT, identifiers=some)
    none_unique = tuple(replace(each, unique=False) for each in DECEDENT.identifiers)
    with pytest.raises(FaceError, match="at least one of them unique"):
        replace(DECEDENT, identifiers=none_unique)


@pytest.mark.parametrize("label", ["Age", "age at death", "Stated AGE"])
def test_age_is_no_identifier(label: str) -> None:
    """HTA traceability guidance: use the date of birth."""
    first, second, third = DECEDENT.identifiers
    with pytest.raises(FaceError, match="give the date of birth"):
        replace(DECEDENT, identifiers=(first, Identifier(label, "81"), third))
    replace(DECEDENT, identifiers=(first, Identifier("Language", "x"), third))
    with pytest.raises(FaceError, match="empty"):
        replace(DECEDENT, identifiers=(first, replace(second, value=" "), third))


def test_a_face_matches_its_code() -> None:
    """A badge's code on a bag would make a person of it."""
    with pytest.raises(FaceError, match="is a badge's and cannot stand on a thing's label"):
        replace(THING, code=BADGE.code)
    with pytest.raises(FaceError, match="is a thing's and cannot stand on a place's label"):
        replace(PLACE, code=THING.code)
    assert replace(THING, kind=FaceKind.THING) == THING


@pytest.mark.parametrize(
    ("change", "why"),
    [
        ({"what": " "}, "must say what it is fixed to"),
        ({"ordinal": (0, 3)}, "0 of 3 is no count"),
        ({"ordinal": (4, 3)}, "4 of 3 is no count"),
        ({"initials": 4}, "up to three initials, not 4"),
        ({"moments": (Moment("Opened", datetime(2031, 4, 2, 12, 5)),)}, "needs its offset"),  # noqa: DTZ001
    ],
)
def test_what_contradicts_itself_is_refused(change: dict[str, object], why: str) -> None:
    """Before anything is drawn."""
    with pytest.raises(FaceError, match=why):
        replace(THING, **change)
