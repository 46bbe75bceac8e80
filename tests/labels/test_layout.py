"""Faces on stocks: everything said is printed, nothing overlaps, nothing is scaled."""

from __future__ import annotations

from dataclasses import replace

import pytest

from continuity_labels.drawing import Disc, Drawing, Polygon, Rect, SymbolMark, Text
from continuity_labels.errors import FaceError, StockError
from continuity_labels.face import Face, Identifier
from continuity_labels.hazard import HazardState, panels, panels_for
from continuity_labels.layout import draw_label, print_advice
from continuity_labels.stocks import builtin_stocks, find_stock
from continuity_labels.symbol import Level
from continuity_labels.typeface import width_of
from tests.labels.samples import BADGE, DECEDENT, FACES, PLACE, THING, TREATED, UNFIXED

SMALL = find_stock("label-50x25-203")
LARGE = find_stock("label-100x50-203")


def words(drawing: Drawing) -> str:
    return " ".join(mark.text for mark in drawing.marks if isinstance(mark, Text))


def symbols(drawing: Drawing) -> list[SymbolMark]:
    return [mark for mark in drawing.marks if isinstance(mark, SymbolMark)]


@pytest.fixture(scope="module")
def drawn() -> dict[tuple[str, str], tuple[Drawing, ...]]:
    """Every face on every stock."""
    return {
        (name, kind): draw_label(face, stock)
        for name, stock in builtin_stocks().items()
        for kind, face in FACES.items()
    }


def test_every_kind_of_label_fits_every_stock(drawn) -> None:
    """And says all it has to say, in whole words."""
    for (name, kind), drawings in drawn.items():
        face = FACES[kind]
        said = " ".join(words(drawing) for drawing in drawings)
        assert face.code.grouped in said, (name, kind)
        for text in (face.what, *(each.value for each in face.identifiers)):
            assert set(text.split()) <= set(said.split()), (name, kind, text)
        if face.ordinal:
            assert "{} of {}".format(*face.ordinal) in said
            assert f"Case {face.case_number}" in said
        if face.initials:
            assert "Initials" in said


def test_modules_are_whole_dots_and_never_too_small(drawn) -> None:
    """At least four dots and the stock's own least, level H, four modules of quiet zone."""
    for (name, kind), drawings in drawn.items():
        stock = builtin_stocks()[name]
        found = symbols(drawings[0])
        assert len(found) == (2 if stock.symbols == 2 or stock.fold else 1), (name, kind)
        for mark in found:
            symbol = mark.symbol
            assert symbol.text == FACES[kind].code.text
            assert symbol.level is Level.H
            assert symbol.dots >= 4
            assert symbol.module_mm >= stock.least_module_mm
            assert symbol.side_mm <= stock.largest_symbol_mm


def test_nothing_leaves_the_label_and_nothing_enters_a_quiet_zone(drawn) -> None:
    """Text is measured with the font it is printed in."""
    for place, drawings in drawn.items():
        for drawing in drawings:
            for mark in drawing.marks:
                left, top, right, foot = extent(mark)
                assert left >= 0, (place, mark)
                assert top >= 0, (place, mark)
                assert right <= drawing.width, (place, mark)
                assert foot <= drawing.height, (place, mark)
                if isinstance(mark, SymbolMark):
                    continue
                for symbol in symbols(drawing):
                    x0, y0, x1, y1 = extent(symbol)
                    assert right <= x0 or left >= x1 or foot <= y0 or top >= y1, (place, mark)


def extent(mark) -> tuple[float, float, float, float]:
    match mark:
        case Rect():
            return mark.x, mark.y, mark.x + mark.width, mark.y + mark.height
        case Disc():
            return (
                mark.x - mark.radius,
                mark.y - mark.radius,
                mark.x + mark.radius,
                mark.y + mark.radius,
            )
        case Polygon():
            xs, ys = zip(*mark.points, strict=True)
            return min(xs), min(ys), max(xs), max(ys)
        case SymbolMark():
            side = mark.symbol.side_dots
            return mark.x, mark.y, mark.x + side, mark.y + side
        case Text():
            width = width_of(mark.text, mark.size, bold=mark.bold)
            left = mark.x - {"left": 0, "middle": width / 2, "right": width}[mark.anchor]
            return left, mark.y - mark.size * 0.8, left + width, mark.y + mark.size * 0.05
    raise AssertionError(mark)


def test_text_is_never_smaller_than_the_least() -> None:
    """1.8 mm from line to line."""
    for face in (THING, TREATED, DECEDENT):
        for drawing in draw_label(face, SMALL):
            for mark in drawing.marks:
                if isinstance(mark, Text):
                    assert mark.size >= round(1.8 * 203 / 25.4)


def test_no_name_stands_on_a_bag() -> None:
    """Only the decedent's own tag carries the three identifiers."""
    said = words(draw_label(DECEDENT, LARGE)[0])
    assert "Date of birth: 1950-01-31" in said
    assert "Łucja" in said
    assert "Exempla" not in words(draw_label(THING, LARGE)[0])


def test_a_superseding_print_says_so() -> None:
    """Whoever holds two labels sees which one counts."""
    assert "Print 2, earlier void" in words(draw_label(THING, LARGE)[0])
    assert "Print" not in words(draw_label(TREATED, LARGE)[0])


def test_times_are_printed_with_the_date_or_left_to_be_written() -> None:
    """On the label's own day the time alone."""
    assert "Date 2031-04-02 Opened 12:05" in words(draw_label(THING, LARGE)[0])
    assert "Opened 2031-04-02 12:05" in words(draw_label(replace(THING, day=None), LARGE)[0])
    written = draw_label(UNFIXED, LARGE)[0]
    at = next(mark for mark in written.marks if isinstance(mark, Text) and mark.text == "Opened")
    assert any(isinstance(m, Rect) and m.y == at.y and m.x > at.x for m in written.marks)


def test_both_panels_stand_on_a_large_label_and_apart_on_a_small_one() -> None:
    """A panel too small to be read is no panel."""
    (one,) = draw_label(TREATED, LARGE)
    for text in ("BIOHAZARD", "DANGER", "1 Invented Lane"):
        assert text in words(one)
    label, biohazard, formaldehyde = draw_label(TREATED, SMALL)
    assert "BIOHAZARD" not in words(label)
    assert "BIOHAZARD" in words(biohazard)
    assert "DANGER GHS08 GHS07" in words(formaldehyde)
    for drawing in (biohazard, formaldehyde):
        assert not symbols(drawing)


def test_who_decides_is_the_first_to_give_way_on_a_full_label() -> None:
    """It stands wherever there is room for it, and never costs a pictogram or a statement."""
    fixed = replace(TREATED, hazard=HazardState(unfixed=False, formaldehyde_tenths=1))
    assert "Local codes and licensed practice decide." in words(draw_label(fixed, LARGE)[0])
    assert "Local codes" in words(draw_label(UNFIXED, LARGE)[0])
    assert "Local codes" not in words(draw_label(TREATED, LARGE)[0])


@pytest.mark.parametrize("tenths", [1, 2, 10, 50, 250])
@pytest.mark.parametrize("name", ["label-100x50-203", "tape-62-300", "ankle-band-300"])
def test_pictograms_stand_beside_the_words_at_their_least_side(name: str, tenths: int) -> None:
    """A side of 10 mm: CLP annex I 1.2.1.4, table 1.3; as many as the panel calls for."""
    stock = find_stock(name)
    state = HazardState(unfixed=False, formaldehyde_tenths=tenths)
    drawings = draw_label(replace(TREATED, hazard=state), stock)
    frames = [m for d in drawings for m in d.marks if isinstance(m, Polygon) and m.ink == "red"]
    (code,) = panels_for(state)
    assert len(frames) == len(panels()[code].pictograms)
    for frame in frames:
        (_, top), (right, _), (_, foot), (left, _) = frame.points
        assert foot - top == pytest.approx(right - left)
        assert (foot - top) / 2**0.5 >= stock.dots(10) - 1
    assert print_advice(replace(TREATED, hazard=state), stock, drawings)[0].startswith("CLP annex")


def test_a_stock_too_small_for_pictograms_names_them_and_asks_for_stickers() -> None:
    """In words, never as an empty frame: 29 CFR 1910.1200 appendix C.2.3.1."""
    drawings = draw_label(TREATED, SMALL)
    assert not any(getattr(mark, "ink", "") == "red" for d in drawings for mark in d.marks)
    _, stickers = print_advice(TREATED, SMALL, drawings)
    assert "add ready-made stickers" in stickers


def test_a_long_description_does_not_make_all_beside_it_small() -> None:
    """The case number stays at least 2.4 mm high."""
    long = replace(THING, what="Viscera bag, wet pack, received open with a torn outer bag")
    (label,) = draw_label(long, LARGE)
    size = next(m.size for m in label.marks if isinstance(m, Text) and "Case" in m.text)
    assert size >= LARGE.dots(2.4)


def test_no_responsible_party_leaves_a_line_to_write_on() -> None:
    """29 CFR 1910.1048(m)(2)(ii) asks for name and address."""
    assert "Responsible" in words(draw_label(replace(TREATED, responsible=None), LARGE)[0])


def test_the_biohazard_symbol_is_drawn_as_a_vector() -> None:
    """Three lobes, three cut-outs, the hole; slits, horns and three pieces of ring."""
    marks = draw_label(UNFIXED, LARGE)[0].marks
    assert sum(isinstance(mark, Disc) for mark in marks) == 7
    assert sum(isinstance(mark, Polygon) for mark in marks) == 9


def test_orange_is_printed_only_where_the_printer_has_it() -> None:
    """Thermal is black on white or on orange stock; there is advice where neither is orange."""
    colour = find_stock("sheet-a4-2x5")
    orange = find_stock("label-100x50-300-orange")
    for stock, expected in ((LARGE, False), (orange, False), (colour, True)):
        drawing = draw_label(UNFIXED, stock)[0]
        inks = {mark.ink for mark in drawing.marks if not isinstance(mark, SymbolMark)}
        assert ("orange" in inks) is expected
        assert drawing.colour is expected
    (advice,) = print_advice(UNFIXED, LARGE, draw_label(UNFIXED, LARGE))
    assert advice.startswith("29 CFR 1910.1030(g)(1)(i)(C)")
    for face, stock in ((UNFIXED, orange), (UNFIXED, colour), (THING, LARGE), (TREATED, colour)):
        assert print_advice(face, stock, draw_label(face, stock)) == ()


def test_tape_is_as_long_as_it_needs_to_be() -> None:
    """In steps of 5 mm from 30 mm."""
    tape = find_stock("tape-62-300")
    lengths = [round(draw_label(face, tape)[0].size_mm[1]) for face in (PLACE, THING, TREATED)]
    assert lengths == sorted(lengths)
    assert lengths[0] == 30
    assert lengths[2] > lengths[1]
    assert all(length % 5 == 0 for length in lengths)


def test_more_words_than_a_stock_holds_are_refused() -> None:
    """Nothing is cut off in silence."""
    long = replace(THING, what="Separated part of the left lower limb with adherent clothing " * 2)
    with pytest.raises(StockError, match="take a larger stock or fewer words"):
        draw_label(long, SMALL)
    unbroken = replace(PLACE, what="X" * 80)
    with pytest.raises(StockError, match="do not fit"):
        draw_label(unbroken, LARGE)


def test_a_stock_too_small_for_the_symbol_is_refused() -> None:
    """It says how small the module would be."""
    tiny = SMALL.model_copy(update={"height_mm": 16.0})
    with pytest.raises(StockError, match=r"must have at least 0\.50 mm"):
        draw_label(PLACE, tiny)


def test_names_in_any_script_are_printed() -> None:
    """Transliterated where the font has no letter; control characters are refused."""
    first, *others = DECEDENT.identifiers
    greek = replace(DECEDENT, identifiers=(replace(first, value="Παράδειγμα Δ"), *others))
    assert "Paradeigma D" in words(draw_label(greek, LARGE)[0])
    broken = (Identifier("Name", "A\x00B"), *others)
    with pytest.raises(FaceError, match="control character"):
        draw_label(replace(DECEDENT, identifiers=broken), LARGE)
    assert "M. Sample," in words(
        draw_label(replace(BADGE, what="M.\n Sample, mortician"), LARGE)[0]
    )


def test_bands_and_folded_tags_carry_the_symbol_twice() -> None:
    """One is seen from either side; the back of a folded tag has lines for whoever receives."""
    folded: Face = THING
    drawing = draw_label(folded, find_stock("sheet-a4-folded-tags"))[0]
    left, right = symbols(drawing)
    assert left.x < drawing.width // 2 <= right.x
    assert "Received" in words(drawing)
