"""What a page shows, as one digest that it carries, so that a changed word shows in a browser too.

It guards against a hand that edits the page and leaves the rest alone. Nothing signs it: whoever
changes words, digest and script together is caught by `reading` alone, which tells the page anew.
The page's script walks the same way (`shows` in check.js).
"""

from __future__ import annotations

import re
from hashlib import sha256
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Iterator
    from xml.etree.ElementTree import Element

NAME: Final = "shows"
"""The name of the page's `meta` element that holds it."""

_ESCAPED: Final = {"&": "&amp;", "<": "&lt;", '"': "&quot;"}


def digest(title: str, policy: str, body: Element) -> str:
    """SHA-256, in hex, of title, policy and everything in the body.

    Attributes and texts count, in the order in which they stand; white space right in the body
    does not, for a parser moves it. The policy names the digests of style and script.
    """
    words = "".join((_safe(title), "\n", _safe(policy), "\n", *_walk(body, outermost=True)))
    return sha256(words.encode()).hexdigest()


def _walk(element: Element, *, outermost: bool = False) -> Iterator[str]:
    yield f"<{element.tag}"
    if not outermost:
        yield from (f' {name}="{_safe(value)}"' for name, value in sorted(element.items()))
    yield ">"
    yield from _text(element.text, blank=outermost)
    for child in element:
        yield from _walk(child)
        yield from _text(child.tail, blank=outermost)
    yield f"</{element.tag}>"


def _text(text: str | None, *, blank: bool) -> Iterator[str]:
    if text and not (blank and not text.strip(" \n")):
        yield _safe(text)


def _safe(text: str) -> str:
    return re.sub('[&<"]', lambda found: _ESCAPED[found[0]], text)
