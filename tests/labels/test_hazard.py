"""Hazard panels follow from the plain state, and their codes tell when relabelling is due."""

from __future__ import annotations

import pytest

from continuity_labels.errors import LabelError
from continuity_labels.hazard import HazardState, caution, colour_advice, panels, panels_for


def due(*, unfixed: bool = False, tenths: int | None = None, treating: bool = False):
    return panels_for(HazardState(unfixed, tenths, treating))


def test_unfixed_contents_carry_the_biohazard_panel() -> None:
    """29 CFR 1910.1030(g)(1)(i); that unfixed tissue counts is 1910.1030(b), from memory."""
    assert due(unfixed=True) == ("biohazard",)
    assert due() == ()
    panel = panels()["biohazard"]
    assert (panel.word, panel.biohazard) == ("BIOHAZARD", True)


@pytest.mark.parametrize(
    ("tenths", "code"),
    [
        (0, None),
        (1, "formaldehyde-0.1"),
        (2, "formaldehyde-0.2"),
        (9, "formaldehyde-0.2"),
        (10, "formaldehyde-1"),
        (37, "formaldehyde-1"),
        (49, "formaldehyde-1"),
        (50, "formaldehyde-5"),
        (249, "formaldehyde-5"),
        (250, "formaldehyde-25"),
        (1000, "formaldehyde-25"),
    ],
)
def test_formaldehyde_panels_change_at_the_published_limits(tenths: int, code: str | None) -> None:
    """CLP: 0.1 % H350, 1 % H341 (Reg. (EU) 2015/491), 5 % and 25 % (ECHA); 0.2 % from memory."""
    assert due(tenths=tenths) == ((code,) if code else ())


def test_statements_stand_by_band() -> None:
    """GisChem's bands from 1 % and from 25 %; "May Cause Cancer" from 29 CFR 1910.1048(m)(2)(i)."""

    def statements(code: str) -> set[str]:
        text = " ".join(panels()[code].lines)
        return {f"H{number}" for number in range(300, 400) if f"(H{number})" in text}

    assert statements("formaldehyde-1") == {"H332", "H317", "H341", "H350"}
    assert statements("formaldehyde-25") == {
        "H301", "H311", "H330", "H314", "H317", "H335", "H341", "H350",
    }  # fmt: skip
    assert {"H315", "H319", "H335"} <= statements("formaldehyde-5")
    for code, panel in panels().items():
        if not panel.biohazard:
            assert panel.word == "DANGER"
            assert panel.lines[1] == "May cause cancer (H350)"
            assert panel.lines[0].startswith("Contains formaldehyde"), code


_PICTOGRAMS = {
    "H301": "GHS06", "H311": "GHS06", "H330": "GHS06", "H314": "GHS05", "H315": "GHS07",
    "H317": "GHS07", "H319": "GHS07", "H332": "GHS07", "H335": "GHS07", "H341": "GHS08",
    "H350": "GHS08",
}  # fmt: skip
"""Of the statements, by CLP Annex I's tables of label elements and Annex V, from memory."""


def test_pictograms_follow_from_the_statements() -> None:
    """CLP article 26(1)(b): where the skull stands, the exclamation mark does not."""
    for panel in panels().values():
        called = {_PICTOGRAMS[code] for code in _PICTOGRAMS if f"({code})" in str(panel.lines)}
        if "GHS06" in called:
            called.discard("GHS07")
        assert set(panel.pictograms) == called
        assert len(panel.pictograms) == len(called)


def test_both_panels_stand_while_treatment_is_under_way() -> None:
    """Partly fixed contents are both."""
    assert due(unfixed=True, tenths=37) == ("biohazard", "formaldehyde-1")
    assert due(tenths=37, treating=True) == ("biohazard", "formaldehyde-1")
    assert due(treating=True) == ("biohazard", "formaldehyde-unstated")
    assert due(tenths=0, treating=True) == ("biohazard",)


def test_relabelling_is_due_exactly_when_the_codes_change() -> None:
    """Fixing ends the biohazard; a little more strength in the same band changes nothing."""
    before = due(unfixed=True, tenths=37, treating=True)
    assert due(unfixed=True, tenths=40, treating=True) == before
    assert due(tenths=37) == ("formaldehyde-1",) != before


@pytest.mark.parametrize("tenths", [-1, 1001])
def test_impossible_strengths_are_refused(tenths: int) -> None:
    """In tenths of a per cent."""
    with pytest.raises(LabelError, match="outside 0 to 1000"):
        HazardState(unfixed=False, formaldehyde_tenths=tenths)


def test_who_decides_is_said() -> None:
    """Law differs by place."""
    assert caution() == "Local codes and licensed practice decide."
    assert "29 CFR 1910.1030(g)(1)(i)(C)" in colour_advice()
