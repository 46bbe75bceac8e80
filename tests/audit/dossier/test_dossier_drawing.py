"""The drawings: descent, joinings, and gaps that can be seen."""

from __future__ import annotations

from typing import TYPE_CHECKING

from scenario import BODY, CASE, LIMB, VISCERA, Firm, start

from continuity.audit.dossier.brief import gaps
from continuity.audit.dossier.drawing import Box, Drawing, Line, Text, shorten
from continuity.audit.dossier.markup import svg
from continuity.audit.dossier.paper import printable
from continuity.audit.dossier.printed import write_printed
from continuity.audit.dossier.story import tell
from continuity.audit.dossier.timeline import draw_timeline
from continuity.audit.dossier.tree import draw_tree
from continuity.care.acts.retention import Retained

if TYPE_CHECKING:
    import pytest

    from continuity.audit.dossier.what import Dossier


def texts(drawing: Drawing, look: str) -> list[str]:
    return [mark.words for mark in drawing.marks if isinstance(mark, Text) and mark.look == look]


def lines(drawing: Drawing, look: str) -> list[Line]:
    return [mark for mark in drawing.marks if isinstance(mark, Line) and mark.look == look]


def boxes(drawing: Drawing, look: str) -> list[Box]:
    return [mark for mark in drawing.marks if isinstance(mark, Box) and mark.look == look]


def test_each_thing_stands_under_what_it_came_from(sound: Dossier) -> None:
    drawing = draw_tree(tell(sound))
    numbers = texts(drawing, "number")
    assert len(numbers) == 9
    assert numbers.index(f"{CASE}.9") == numbers.index(VISCERA) + 1
    assert len(lines(drawing, "descent")) == 1


def test_what_was_joined_leads_back(sound: Dossier) -> None:
    drawing = draw_tree(tell(sound))
    (line,) = lines(drawing, "joined")
    place = {
        mark.words: mark.y
        for mark in drawing.marks
        if isinstance(mark, Text) and mark.look == "number"
    }
    assert line.points[0][1] == place[LIMB] - 4
    assert line.points[-1][1] == place[BODY] - 4


def test_an_unsigned_hand_over_is_drawn_as_a_gap(sound: Dossier) -> None:
    drawing = draw_timeline(tell(sound))
    assert [box.says for box in boxes(drawing, "gap") if box.says] == ["pathologist, not signed"]
    (label,) = texts(drawing, "on-gap")
    assert label.startswith("pathologist")
    assert "1 gaps or breaks" in drawing.summary


def test_a_signed_hand_over_is_no_gap() -> None:
    firm = start()
    firm.tell("case-opened", disposition="burial")
    firm.tell(
        "received",
        giver="coroner",
        place="cold-room",
        items=[{"what": "decedent", "description": "adult"}],
    )
    firm.tell("handed-over", things=[BODY], taker="coroner", authority="form", accepted=True)
    drawing = draw_timeline(tell(firm.dossier()))
    assert [box.says for box in boxes(drawing, "holder") if box.says] == ["coroner"]
    assert "0 gaps or breaks" in drawing.summary


def test_who_merely_states_to_have_a_thing_leaves_a_gap_that_is_told(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Registers hold such entries, and they stay readable, whatever is refused today."""
    monkeypatch.setattr(Retained, "objections", lambda *_: iter(()))
    firm = start()
    firm.tell("case-opened", disposition="burial")
    items = [
        {"what": "decedent", "description": "adult"},
        {"what": "viscera", "description": "viscera", "within": "#1"},
    ]
    firm.tell("received", giver="coroner", giver_signed=True, place="cold-room", items=items)
    new = [{"what": "specimen", "description": "heart"}]
    firm.tell("retained", holder="pathologist", items=new)
    assert gaps(tell(firm.dossier())) == []  # what never was here changed no hands
    kept = firm.tell("retained", holder="pathologist", things=[f"{CASE}.2"])
    story = tell(firm.dossier())
    (told,) = gaps(story)
    assert told.startswith(
        f"{CASE}.2 (viscera): gap between Alder & Wren, an invented firm and pathologist"
        " (pathology of the invented hospital) at 2026-03-02"
    )
    assert told.endswith(f"; entry {kept.number} is no hand-over from the one to the other.")
    assert "1 gaps or breaks" in draw_timeline(story).summary


def test_a_thing_that_never_came_is_a_gap_from_its_declaration_on() -> None:
    firm = start()
    firm.tell("case-opened", disposition="burial")
    firm.tell(
        "received",
        giver="coroner",
        place="cold-room",
        items=[
            {"what": "decedent", "description": "adult"},
            {"what": "specimen", "description": "heart", "receipt": "missing"},
        ],
    )
    story = tell(firm.dossier())
    assert [b.says for b in boxes(draw_timeline(story), "gap") if b.says] == ["not seen"]


def test_long_silences_are_named(sound: Dossier) -> None:
    assert texts(draw_timeline(tell(sound)), "span") == ["10 h silent"]


def test_many_things_and_deep_descent_stay_on_the_sheet() -> None:
    firm = start()
    firm.tell("case-opened", disposition="burial")
    firm.tell(
        "received",
        giver="coroner",
        place="cold-room",
        items=[
            {"what": "decedent", "description": "adult"},
            *({"what": "effect", "description": "x" * 300} for _ in range(120)),
        ],
    )
    thing = BODY
    for _ in range(30):
        receipt = firm.tell(
            "separated",
            thing=thing,
            into=[{"what": "part", "description": "part of it", "place": "table-1"}],
        )
        thing = receipt.act.introduces()[0]
    dossier = firm.dossier()
    story = tell(dossier)
    for drawing in (draw_tree(story), draw_timeline(story)):
        element = svg(drawing, "drawing")
        assert element.get("role") == "img"
        for mark in drawing.marks:
            for x, y in mark.points if isinstance(mark, Line) else [(mark.x, mark.y)]:
                assert -1 <= x <= 961
                assert -1 <= y <= drawing.height + 1
    assert write_printed(dossier).startswith(b"%PDF-")


def test_words_are_shortened_to_their_room() -> None:
    assert shorten("short", 100, 10) == "short"
    assert shorten("a" * 100, 56, 10) == "a" * 8 + "…"


def test_paper_shows_letters_its_typeface_lacks_by_code_point() -> None:
    assert printable("Zoë 字 \u202e") == "Zoë <U+5B57> <U+202E>"


def test_the_print_is_the_same_every_time_and_names_its_file(sound: Dossier, firm: Firm) -> None:
    assert write_printed(sound) == write_printed(sound)
    assert write_printed(sound) != write_printed(firm.dossier())


def test_hostile_texts_can_be_printed() -> None:
    from hostile import hostile_firm  # noqa: PLC0415

    assert write_printed(hostile_firm().dossier(everything=True)).startswith(b"%PDF-")
