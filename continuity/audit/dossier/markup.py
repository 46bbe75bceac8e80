"""HTML and SVG as a tree of elements: the one way by which text comes onto the page.

Text is only ever given as text and escaped when the tree is written, so nothing that stands in
an entry can become markup.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, TypeAlias
from xml.etree.ElementTree import Element, tostring

from continuity.audit.dossier.drawing import WIDTH as DRAWING_WIDTH
from continuity.audit.dossier.drawing import Box, Dot, Drawing, Line, Text
from continuity.audit.dossier.visible import visible

if TYPE_CHECKING:
    from continuity.audit.dossier.drawing import Mark

Child: TypeAlias = Element | str | Iterable["Child"] | None


def h(tag: str, *children: Child, **attributes: str | None) -> Element:
    """Make an element; hidden characters in its texts become visible.

    Args:
        tag: The element's name.
        children: Texts, elements, and lists of these; None is left out.
        attributes: By name; `class_` and `data_row` become `class` and `data-row`; None is left
            out.
    """
    element = Element(tag)
    for name, value in attributes.items():
        if value is not None:
            element.set(name.rstrip("_").replace("_", "-"), visible(value))
    for child in children:
        _add(element, child)
    return element


def verbatim(tag: str, text: str, **attributes: str | None) -> Element:
    """Make an element around a text of several lines, shown as it is."""
    element = h(tag, **attributes)
    element.text = visible(text, kept="\n")
    return element


def raw(tag: str, text: str, **attributes: str | None) -> Element:
    """Make a style, script or data element, whose text HTML does not read as markup.

    Raises:
        ValueError: The text could end the element.
    """
    if "</" in text and tag != "style" and f"</{tag}" in text.lower():
        raise ValueError(f"the text would end its {tag} element")
    element = h(tag, **attributes)
    element.text = text
    return element


def write(root: Element) -> bytes:
    """Write a page."""
    html: bytes = tostring(root, encoding="utf-8", method="html")
    return b"<!doctype html>\n" + html + b"\n"


def svg(drawing: Drawing, name: str) -> Element:
    """Write a drawing as SVG, with its title and summary for those who cannot see it."""
    title, summary = f"{name}-title", f"{name}-summary"
    return h(
        "svg",
        h("title", drawing.title, id=title),
        h("desc", drawing.summary, id=summary),
        [_mark(mark) for mark in drawing.marks],
        viewBox=f"0 0 {DRAWING_WIDTH} {_number(drawing.height)}",
        role="img",
        aria_labelledby=title,
        aria_describedby=summary,
        class_=f"drawing {name}",
    )


def _mark(mark: Mark) -> Element:
    match mark:
        case Line(points, look):
            path = " ".join(f"{_number(x)},{_number(y)}" for x, y in points)
            return h("polyline", points=path, class_=f"d-{look}")
        case Dot(x, y, radius, look):
            return h("circle", cx=_number(x), cy=_number(y), r=_number(radius), class_=f"d-{look}")
        case Box(x, y, width, height, look, corner, says):
            return h(
                "rect",
                h("title", says) if says else None,
                x=_number(x),
                y=_number(y),
                width=_number(width),
                height=_number(height),
                rx=_number(corner) if corner else None,
                class_=f"d-{look}",
            )
        case Text(x, y, words, look, anchor, _):
            return h(
                "text",
                words,
                x=_number(x),
                y=_number(y),
                text_anchor=None if anchor == "start" else anchor,
                class_=f"d-{look}",
            )


def _number(value: float) -> str:
    return f"{value:.1f}".removesuffix(".0")


def _add(element: Element, child: Child) -> None:
    if child is None:
        return
    if isinstance(child, str):
        text = visible(child)
        if len(element):
            element[-1].tail = (element[-1].tail or "") + text
        else:
            element.text = (element.text or "") + text
    elif isinstance(child, Element):
        element.append(child)
    else:
        for one in child:
            _add(element, one)
