"""Symbols against the published tables, sizes and recommendations of ISO/IEC 18004."""

from __future__ import annotations

import pytest

from continuity_labels.codewords import codeword_map
from continuity_labels.errors import LabelError, StockError
from continuity_labels.symbol import Level, fit_symbol, make_symbol

TEXT = "TEK1G9QWE2MN8XYZ4189"

CAPACITY = {
    1: (25, 20, 16, 10),
    2: (47, 38, 29, 20),
    3: (77, 61, 47, 35),
    4: (114, 90, 67, 50),
    5: (154, 122, 87, 64),
    6: (195, 154, 108, 84),
    7: (224, 178, 125, 93),
    8: (279, 221, 157, 122),
    9: (335, 262, 189, 143),
    10: (395, 311, 221, 174),
}
"""Alphanumeric characters for L, M, Q, H: ISO/IEC 18004:2006 Table 7, as recomputed from the
block tables of nayuki/QR-Code-generator (MIT)."""


@pytest.mark.parametrize("version", CAPACITY)
def test_capacity_is_the_published_one(version: int) -> None:
    """So many characters fit the version, one more needs the next."""
    for level, characters in zip(Level, CAPACITY[version], strict=True):
        for more in (0, 1):
            symbol = make_symbol("A" * (characters + more), level, dots=4, dpi=203)
            assert symbol.version == version + more


def test_the_published_worked_size_comes_out() -> None:
    """qrcode.com, "How to determine the size": 50 characters, level M, 400 dpi, four dots."""
    symbol = make_symbol("A" * 50, Level.M, dots=4, dpi=400)
    assert symbol.version == 3
    assert len(symbol.modules) == 29
    assert symbol.module_mm == pytest.approx(0.254)
    assert symbol.module_mm * 29 == pytest.approx(7.366)
    assert symbol.side_mm == pytest.approx(9.398)


@pytest.mark.parametrize(
    ("dpi", "dots", "mm"),
    [(300, 4, 0.33), (300, 5, 0.42), (300, 6, 0.5), (203, 4, 0.5), (203, 5, 0.63), (203, 6, 0.75),
     (600, 4, 0.17), (600, 5, 0.21), (600, 6, 0.25)],
)  # fmt: skip
def test_module_sizes_are_the_published_ones(dpi: int, dots: int, mm: float) -> None:
    """qrcode.com, "Point for setting the module size": its table, to its two places.

    The page cuts 0.339 to 0.33, elsewhere it rounds; its "200 dpi" are eight dots to the mm, 203.2.
    """
    assert make_symbol("A", Level.H, dots=dots, dpi=dpi).module_mm == pytest.approx(mm, abs=0.0101)


def test_a_code_fills_version_two_at_level_h() -> None:
    """Twenty characters are all that version 2 holds at level H."""
    symbol = make_symbol(TEXT, Level.H, dots=4, dpi=203)
    assert (symbol.version, len(symbol.modules)) == (2, 25)
    assert make_symbol(f"{TEXT}A", Level.H, dots=4, dpi=203).version == 3


def test_the_largest_whole_number_of_dots_is_taken() -> None:
    """33 modules with the quiet zone: 200 dots give 6 each, 198 in all."""
    symbol = fit_symbol(TEXT, space_dots=200, dpi=300, least_module_mm=0.33)
    assert (symbol.level, symbol.dots, symbol.side_dots) == (Level.H, 6, 198)


def test_level_q_is_taken_only_where_h_does_not_fit() -> None:
    """26 characters: version 3 at level H (37 modules a side), version 2 at Q (33)."""
    text = "A" * 26
    assert fit_symbol(text, space_dots=148, dpi=203, least_module_mm=0.33).level is Level.H
    assert fit_symbol(text, space_dots=147, dpi=203, least_module_mm=0.33).level is Level.Q


def test_too_small_a_space_is_refused_with_both_sizes() -> None:
    """Four dots at 203 dpi are 0.50 mm, 33 modules 16.5 mm."""
    with pytest.raises(StockError) as refusal:
        fit_symbol(TEXT, space_dots=131, dpi=203, least_module_mm=0.33)
    assert str(refusal.value) == (
        "a module would measure 0.38 mm and must have at least 0.50 mm (4 dots at 203 dpi): the "
        "symbol needs 16.5 mm with its quiet zone, where 16.4 mm are free; take a larger stock."
    )


def test_a_fine_printer_still_keeps_the_least_module() -> None:
    """At 600 dpi four dots are 0.17 mm: eight are needed for 0.33."""
    assert fit_symbol(TEXT, space_dots=33 * 8, dpi=600, least_module_mm=0.33).dots == 8
    with pytest.raises(StockError, match="8 dots at 600 dpi"):
        fit_symbol(TEXT, space_dots=33 * 8 - 1, dpi=600, least_module_mm=0.33)


@pytest.mark.parametrize("text", ["lower", "Ä", "A_B"])
def test_only_the_alphanumeric_set_is_encoded(text: str) -> None:
    """Never byte mode in silence."""
    with pytest.raises(LabelError, match="outside QR's alphanumeric set"):
        make_symbol(text, Level.H, dots=4, dpi=203)


def test_uneven_or_endless_symbols_are_refused() -> None:
    """Three dots a module; more than version 40 holds at level H (1852)."""
    with pytest.raises(LabelError, match="at least 4"):
        make_symbol("A", Level.H, dots=3, dpi=203)
    with pytest.raises(LabelError, match="1853 characters are more"):
        make_symbol("A" * 1853, Level.H, dots=4, dpi=203)


def test_codeword_map_covers_the_published_number_of_codewords() -> None:
    """Data and correction codewords: 44, 70, 100, 134, 172 (nayuki's tables), eight bits each."""
    for version, total in zip(range(2, 7), (44, 70, 100, 134, 172), strict=True):
        words = codeword_map(17 + 4 * version)
        assert sorted(set(words.values())) == list(range(total))
        assert len(words) == total * 8
    with pytest.raises(LabelError):
        codeword_map(21)


def test_codeword_map_finds_the_mode_and_length_of_a_symbol() -> None:
    """The first four bits unmasked are 0010, alphanumeric; the next nine say twenty."""
    symbol = make_symbol(TEXT, Level.H, dots=4, dpi=203)
    cells = list(codeword_map(25))[:13]
    format_bits = [symbol.modules[8][column] for column in (2, 3, 4)]
    mask = sum(bit << place for bit, place in zip(format_bits, (2, 1, 0), strict=True)) ^ 0b101
    inverted = {
        0: lambda r, c: (r + c) % 2 == 0,
        1: lambda r, c: r % 2 == 0,
        2: lambda r, c: c % 3 == 0,
        3: lambda r, c: (r + c) % 3 == 0,
        4: lambda r, c: (r // 2 + c // 3) % 2 == 0,
        5: lambda r, c: r * c % 2 + r * c % 3 == 0,
        6: lambda r, c: (r * c % 2 + r * c % 3) % 2 == 0,
        7: lambda r, c: ((r + c) % 2 + r * c % 3) % 2 == 0,
    }[mask]
    bits = "".join(str(int(symbol.modules[r][c] ^ inverted(r, c))) for r, c in cells)
    assert bits == "0010" + f"{20:09b}"
