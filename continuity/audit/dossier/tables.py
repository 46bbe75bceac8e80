"""Tables, folds and times, as every part of the page writes them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from continuity.audit.dossier.markup import h

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import datetime
    from xml.etree.ElementTree import Element


def clock(text: str) -> str:
    """A time of the record as a person reads it: to the minute, UTC."""
    return f"{text[:10]} {text[11:16]} UTC"


def moment(at: datetime | None) -> str:
    """A moment as a person reads it: to the minute, UTC."""
    return f"{at:%Y-%m-%d %H:%M} UTC" if at else "never"


def fold(words: str, inside: Element) -> Element:
    """Something folded away under a few words."""
    return h("details", h("summary", words), inside)


def head(names: Iterable[str]) -> Element:
    """The head of a table."""
    return h("thead", h("tr", [h("th", name, scope="col") for name in names]))


def table(
    caption: str,
    names: tuple[str, ...],
    rows: Iterable[list[Element | str]],
) -> Element:
    """A table, its first column heading its rows; it scrolls by itself where it is too wide."""
    lines = []
    for first, *rest in rows:
        lines.append(h("tr", h("th", first, scope="row"), [h("td", cell) for cell in rest]))
    return h(
        "div",
        h("table", h("caption", caption), head(names), h("tbody", lines)),
        class_="scroll",
        tabindex="0",
        role="group",
        aria_label=caption,
    )
