"""Stocks: the built-in ones, a firm's own, and what is refused."""

from __future__ import annotations

from pathlib import Path

import pytest

from continuity_labels.errors import StockError
from continuity_labels.stocks import builtin_stocks, find_stock, load_stocks

OWN = """
[[stock]]
name = "card-80x40"
about = "An invented card"
shape = "label"
width_mm = 80
height_mm = 40.0
dpi = 300
"""
SHEET = """
[[stock]]
name = "own-sheet"
about = "An invented sheet"
shape = "sheet"
width_mm = 70.0
height_mm = 40.0
dpi = 600
[stock.page]
width_mm = 210.0
height_mm = 297.0
columns = 2
rows = 6
left_mm = 10.0
top_mm = 10.0
across_mm = 75.0
down_mm = 42.0
"""


def written(folder: Path, text: str) -> Path:
    path = folder / "stocks.toml"
    path.write_text(text, encoding="utf-8")
    return path


def test_every_shape_and_resolution_is_built_in() -> None:
    """Tape, labels, bands, a tag, sheets for A4 and US letter; 203 and 300 dpi."""
    stocks = builtin_stocks()
    assert {stock.shape for stock in stocks.values()} == {"label", "tape", "band", "tag", "sheet"}
    for size in ("label-100x50", "label-50x25", "tape-62"):
        assert {stocks[f"{size}-{dpi}"].dpi for dpi in (203, 300)} == {203, 300}
    pages = {(s.page.width_mm, s.page.height_mm) for s in stocks.values() if s.page}
    assert pages == {(210.0, 297.0), (215.9, 279.4)}
    with pytest.raises(TypeError):
        stocks["x"] = stocks["tape-62-203"]


def test_own_stocks_stand_beside_the_built_in_ones(tmp_path: Path) -> None:
    """Whole numbers are welcome as measures."""
    stocks = load_stocks(written(tmp_path, OWN + SHEET))
    assert stocks["card-80x40"].dots(25.4) == 300
    assert find_stock("own-sheet", stocks).page.columns == 2
    assert set(builtin_stocks()) < set(stocks)


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("", "stock: Field required"),
        ("[[stock]", "is not TOML"),
        ("stock = []", "stock: List should have at least 1 item"),
        (OWN.replace("dpi = 300", ""), "stock number 1 dpi: Field required"),
        (OWN + 'ink = "red"\n', "stock number 1 ink: Extra inputs are not permitted"),
        (OWN.replace("300", '"300"'), "stock number 1 dpi: Input should be a valid integer"),
        (OWN.replace("300", "72"), "dpi: Input should be greater than or equal to 150"),
        (OWN.replace("40.0", "-1.0"), "height_mm: Input should be greater than 0"),
        (OWN.replace("40.0", "nan"), "height_mm: Input should be"),
        (OWN.replace("card-80x40", "Card 80"), "name: String should match pattern"),
        (OWN.replace("40.0", "4.0"), "the margins leave no room to print"),
        (OWN + "colour = true\norange = true\n", "colour and orange exclude each other"),
        (OWN.replace('"label"', '"sheet"'), "a sheet has a page table"),
        (SHEET.replace('"sheet"', '"label"'), "a sheet has a page table"),
        (SHEET.replace("rows = 6", "rows = 7"), "its grid reaches 155 x 302 mm, the page has"),
        (SHEET.replace("75.0", "60.0"), "its columns overlap"),
        (SHEET.replace("42.0", "39.0"), "its rows overlap"),
        (OWN + OWN, "describes 'card-80x40' twice"),
        (OWN.replace("card-80x40", "tape-62-203"), "a built-in stock; choose another name"),
    ],
)
def test_a_wrong_file_is_refused_with_its_place(tmp_path: Path, text: str, why: str) -> None:
    """One sentence: which file, which stock, what is wrong."""
    with pytest.raises(StockError) as refusal:
        load_stocks(written(tmp_path, text))
    assert why in str(refusal.value)
    assert "stocks.toml" in str(refusal.value)
    assert "\n" not in str(refusal.value)


def test_a_missing_or_unreadable_file_is_refused(tmp_path: Path) -> None:
    """Never a traceback."""
    with pytest.raises(StockError, match="cannot be read"):
        load_stocks(tmp_path / "none.toml")
    path = tmp_path / "bytes.toml"
    path.write_bytes(b"\xff\xfe")
    with pytest.raises(StockError, match="cannot be read"):
        load_stocks(path)


def test_a_file_is_read_no_further_than_a_stock_file_can_be_long(tmp_path: Path) -> None:
    """An endless file is refused at once."""
    full = OWN + "#" * (256 * 1024 - len(OWN))
    assert "card-80x40" in load_stocks(written(tmp_path, full))
    with pytest.raises(StockError, match=r"stocks\.toml is longer than 256 KiB; name a TOML file"):
        load_stocks(written(tmp_path, full + "#"))
    with pytest.raises(StockError, match="/dev/zero is longer than 256 KiB"):
        load_stocks(Path("/dev/zero"))


def test_near_names_are_offered() -> None:
    """A mistyped stock is answered with what there is."""
    with pytest.raises(StockError, match="no stock is called 'label-50x25'; there are label-50x25"):
        find_stock("label-50x25")
    with pytest.raises(StockError, match="ankle-band-300, "):
        find_stock("zzzz")


def test_the_documented_stock_file_is_read(tmp_path: Path) -> None:
    """`labels/README.md` shows every key there is."""
    page = (Path(__file__).parents[2] / "labels" / "README.md").read_text(encoding="utf-8")
    example = page.split("```toml\n")[1].split("```")[0]
    path = written(tmp_path, example.replace('"label"  ', '"sheet"  '))
    stock = load_stocks(path)["card-80x40"]
    for model in (type(stock), type(stock.page)):
        assert all(f"\n{field} = " in example for field in model.model_fields if field != "page")
    single = load_stocks(written(tmp_path, example.split("[stock.page]")[0]))["card-80x40"]
    assert single.shape == "label"


def test_the_documented_example_runs() -> None:
    """The first lines of `labels/README.md`."""
    page = (Path(__file__).parents[2] / "labels" / "README.md").read_text(encoding="utf-8")
    names: dict[str, object] = {}
    exec(page.split("```python\n")[1].split("```")[0], names)  # noqa: S102
    assert names["png"].startswith(b"\x89PNG")
    assert names["hazard_labels"] == []
