"""The page: a dossier as one HTML file that needs nothing else, and checks itself.

The page is a function of the machine part and of this program's version: `reading` makes it anew
and compares, so that no word on it can be changed unseen.
"""

from __future__ import annotations

import base64
from functools import cache
from hashlib import sha256
from importlib import resources
from typing import TYPE_CHECKING

from continuity.audit.dossier import shows
from continuity.audit.dossier.markup import h, raw, write
from continuity.audit.dossier.sections import body, foot, masthead
from continuity.audit.dossier.story import tell

if TYPE_CHECKING:
    from xml.etree.ElementTree import Element

    from continuity.audit.dossier.story import Story
    from continuity.audit.dossier.what import Dossier

OPENS = b'<script type="application/json" id="dossier">'
CLOSES = b"</script>"
"""What stands around the machine part; `reading` looks for it."""


def write_page(dossier: Dossier) -> bytes:
    """Write a dossier as an HTML file.

    Raises:
        FormatError: Its entries cannot be read.
    """
    return write(_page(tell(dossier)))


def embedded(dossier: Dossier) -> str:
    """The machine part as it stands in the page: no text in it can end its element."""
    return dossier.encode().decode().replace("<", "\\u003c")


def _page(story: Story) -> Element:
    style, script = _part("page.css"), _part("check.js")
    policy = (
        f"default-src 'none'; style-src '{_hash(style)}'; script-src '{_hash(script)}';"
        " base-uri 'none'; form-action 'none'"
    )
    title = f"Dossier of case {story.case.number}"
    words = h(
        "body",
        h("a", "To the contents", href="#main", class_="skip"),
        masthead(story),
        h("main", *body(story), id="main"),
        foot(story),
        raw("script", embedded(story.dossier), type="application/json", id="dossier"),
        raw("script", script),
    )
    return h(
        "html",
        h(
            "head",
            h("meta", charset="utf-8"),
            _http("Content-Security-Policy", policy),
            h("meta", name="viewport", content="width=device-width, initial-scale=1"),
            h("meta", name="color-scheme", content="light dark"),
            h("meta", name="referrer", content="no-referrer"),
            h("meta", name=shows.NAME, content=shows.digest(title, policy, words)),
            h("title", title),
            raw("style", style),
        ),
        words,
        lang="en",
    )


def _http(name: str, content: str) -> Element:
    element = h("meta", content=content)
    element.set("http-equiv", name)
    return element


@cache
def _part(name: str) -> str:
    return resources.files(__package__).joinpath(name).read_text("utf-8")


@cache
def _hash(text: str) -> str:
    """The source expression by which a policy allows exactly this text (CSP level 3, 8.1)."""
    return f"sha256-{base64.b64encode(sha256(text.encode()).digest()).decode()}"
