"""What labels are printed on: built-in stocks, and a firm's own from a TOML file.

The built-in list (`stocks.toml`) is generic geometry, no maker's. A file of one's own has the
same form; `labels/README.md` shows one. Everything is checked where it enters: unknown keys,
measures out of range, a grid that leaves its page.
"""

from __future__ import annotations

import difflib
import tomllib
from functools import cache
from importlib import resources
from types import MappingProxyType
from typing import TYPE_CHECKING, Annotated, Literal, Self

from pydantic import BaseModel, ConfigDict, Field, ValidationError, model_validator

from continuity_labels.errors import StockError
from continuity_labels.symbol import MM_PER_INCH

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

Length = Annotated[float, Field(gt=0, le=1000)]
Offset = Annotated[float, Field(ge=0, le=1000)]
_SLACK_MM = 0.05
_MOST_BYTES = 256 * 1024
"""Room for over a thousand stocks: an endless file must not be read to its end."""


class Page(BaseModel):
    """The sheet on which labels stand in rows and columns; all measures in millimetres.

    Attributes:
        width_mm: of the sheet.
        height_mm: of the sheet.
        columns: labels side by side.
        rows: labels one below the other.
        left_mm: from the sheet's left edge to the first label.
        top_mm: from its upper edge to the first label.
        across_mm: from one label's left edge to the next one's.
        down_mm: from one label's upper edge to the next one's.
        cut_marks: whether marks for cutting stand at the sheet's edges (plain card, no die cut).
    """

    model_config = ConfigDict(extra="forbid", frozen=True, strict=True)

    width_mm: Length
    height_mm: Length
    columns: int = Field(ge=1, le=50)
    rows: int = Field(ge=1, le=100)
    left_mm: Offset
    top_mm: Offset
    across_mm: Length
    down_mm: Length
    cut_marks: bool = False


class Stock(BaseModel):
    """One kind of label; all measures in millimetres.

    Attributes:
        name: as it is asked for.
        about: one line for people.
        shape: label, tape (continuous: as long as its text needs), band (wrist, ankle),
            tag (tied on) or sheet.
        width_mm: of one label; of the tape.
        height_mm: of one label; for tape the longest piece.
        dpi: the printer's dots per inch.
        margin_mm: left bare on every side.
        least_module_mm: the smallest module that this stock and printer carry.
        largest_symbol_mm: the symbol grows no larger, quiet zone included.
        eyelet_mm: left bare at the left edge for an eyelet or a string.
        symbols: 2 puts one at either end, so that one is seen on a curved limb.
        fold: the label is folded once across its width; the back repeats the symbol.
        colour: the printer has colour, so the hazard panel is printed orange.
        orange: the stock itself is fluorescent orange or orange-red.
        page: where the labels stand, for shape sheet.
    """

    model_config = ConfigDict(extra="forbid", frozen=True, strict=True)

    name: str = Field(pattern=r"^[a-z0-9]+(-[a-z0-9]+)*$", max_length=60)
    about: str = Field(min_length=1, max_length=200)
    shape: Literal["label", "tape", "band", "tag", "sheet"]
    width_mm: Length
    height_mm: Length
    dpi: int = Field(ge=150, le=1200)
    margin_mm: Offset = 2.0
    least_module_mm: Annotated[float, Field(ge=0.25, le=5)] = 0.33
    largest_symbol_mm: Length = 30.0
    eyelet_mm: Offset = 0.0
    symbols: Literal[1, 2] = 1
    fold: bool = False
    colour: bool = False
    orange: bool = False
    page: Page | None = None

    @model_validator(mode="after")
    def _fits(self) -> Self:
        if (self.page is not None) != (self.shape == "sheet"):
            raise ValueError("a sheet has a page table, and nothing else has one")
        if 2 * self.margin_mm + self.eyelet_mm >= min(self.width_mm, self.height_mm):
            raise ValueError("the margins leave no room to print")
        if self.colour and self.orange:
            raise ValueError(
                "orange stock is printed in black: colour and orange exclude each other"
            )
        if self.page is not None:
            page = self.page
            right = page.left_mm + (page.columns - 1) * page.across_mm + self.width_mm
            below = page.top_mm + (page.rows - 1) * page.down_mm + self.height_mm
            if right > page.width_mm + _SLACK_MM or below > page.height_mm + _SLACK_MM:
                raise ValueError(
                    f"its grid reaches {right:g} x {below:g} mm, "
                    f"the page has {page.width_mm:g} x {page.height_mm:g} mm"
                )
            if page.columns > 1 and page.across_mm + _SLACK_MM < self.width_mm:
                raise ValueError("its columns overlap: across_mm is less than width_mm")
            if page.rows > 1 and page.down_mm + _SLACK_MM < self.height_mm:
                raise ValueError("its rows overlap: down_mm is less than height_mm")
        return self

    def dots(self, mm: float) -> int:
        """Millimetres as whole printer dots, to the nearest."""
        return round(mm * self.dpi / MM_PER_INCH)


class _Catalogue(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True, strict=True)

    stock: list[Stock] = Field(min_length=1)


@cache
def builtin_stocks() -> Mapping[str, Stock]:
    """The stocks that come with the package, by name."""
    text = resources.files("continuity_labels").joinpath("stocks.toml").read_text(encoding="utf-8")
    return MappingProxyType(_read(text, "the built-in stocks"))


def load_stocks(path: Path) -> Mapping[str, Stock]:
    """The built-in stocks and a firm's own, by name.

    Args:
        path: a TOML file of `[[stock]]` tables.

    Raises:
        StockError: the file cannot be read, is longer than 256 KiB, is not TOML, describes a
            stock wrongly, or takes a name that is taken.
    """
    try:
        with path.open("rb") as file:
            data = file.read(_MOST_BYTES + 1)
        if len(data) > _MOST_BYTES:
            raise StockError(
                f"the stock file {path} is longer than {_MOST_BYTES // 1024} KiB; name a TOML file"
                " of [[stock]] tables."
            )
        text = data.decode("utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise StockError(f"the stock file {path} cannot be read: {error}.") from None
    own = _read(text, str(path))
    taken = sorted(own.keys() & builtin_stocks().keys())
    if taken:
        raise StockError(f"{path} describes {taken[0]!r}, a built-in stock; choose another name.")
    return MappingProxyType({**builtin_stocks(), **own})


def find_stock(name: str, stocks: Mapping[str, Stock] | None = None) -> Stock:
    """One stock by its name.

    Raises:
        StockError: no stock has the name; near ones are offered.
    """
    known = builtin_stocks() if stocks is None else stocks
    if name in known:
        return known[name]
    near = difflib.get_close_matches(name, known, n=3, cutoff=0.4) or sorted(known)
    raise StockError(f"no stock is called {name!r}; there are {', '.join(near)}.")


def _read(text: str, where: str) -> dict[str, Stock]:
    try:
        given = tomllib.loads(text)
    except (ValueError, RecursionError) as error:
        raise StockError(f"{where} is not TOML: {error}.") from None
    try:
        catalogue = _Catalogue.model_validate(given)
    except ValidationError as error:
        first = error.errors(include_url=False)[0]
        place = " ".join(
            f"number {step + 1}" if isinstance(step, int) else str(step) for step in first["loc"]
        )
        why = first["msg"].removeprefix("Value error, ").rstrip(".")
        raise StockError(f"{where}, {place or 'the whole'}: {why}.") from None
    named: dict[str, Stock] = {}
    for stock in catalogue.stock:
        if stock.name in named:
            raise StockError(f"{where} describes {stock.name!r} twice; keep one.")
        named[stock.name] = stock
    return named
