"""URIs for what a register names: its things, places, holders, persons, cases and entries.

EPCIS and PROV want a URI for everything. A register owns no domain; its id is 128 random bits.
So the URIs are `https` ones under `.invalid`, the top-level domain that can never be anybody's
(RFC 2606, section 2; RFC 6761, section 6.4): well formed (RFC 3986), legible, different for every
register, and never leading to a stranger's page. A firm that owns a domain gives its own base.
"""

from __future__ import annotations

from typing import TYPE_CHECKING
from urllib.parse import quote, urlsplit
from uuid import NAMESPACE_URL, uuid5

from continuity.errors import InputError

if TYPE_CHECKING:
    from continuity.audit.formats.casefile import CaseFile

ANYWHERE = "https://continuity.invalid"
TERMS = f"{ANYWHERE}/terms/"
"""Where this program's own words stand, in any format that wants a URI for them."""


class Names:
    """The URIs of one register.

    Things, places and cases lie under `/obj/`, `/loc/` and `/bt/`, parties under `/party/`, as
    the GS1 Core Business Vocabulary wants private URLs for them (its section 8; from memory).
    """

    def __init__(self, register: str, base: str | None = None) -> None:
        self.base = _checked(base) if base else f"{ANYWHERE}/{quote(register)}"

    @classmethod
    def of(cls, file: CaseFile, base: str | None = None) -> Names:
        """The URIs of the register a case comes from.

        Raises:
            InputError: The base is not an absolute `https` or `http` URL, or has a query or
                a fragment.
        """
        return cls(file.register, base)

    def thing(self, thing: str) -> str:
        """A thing."""
        return f"{self.base}/obj/{quote(thing, safe='')}"

    def place(self, place: str) -> str:
        """A place of the firm."""
        return f"{self.base}/loc/{quote(place, safe='')}"

    def party(self, holder: str) -> str:
        """Who answers for things: a holder outside, or `here`, the firm itself."""
        return f"{self.base}/party/{quote(holder, safe='')}"

    def case(self, number: str) -> str:
        """A case."""
        return f"{self.base}/bt/{quote(number, safe='')}"

    def event(self, leaf: str, what: str) -> str:
        """One event that an entry is told in: as long as it says the same, the same URI.

        CBV 2.0 wants a UUID or a hash for it; this is a UUID from a name (RFC 9562, section 5.5).
        """
        return f"urn:uuid:{uuid5(NAMESPACE_URL, f'{TERMS}event/{leaf}?{what}')}"


def _checked(base: str) -> str:
    try:
        parts = urlsplit(base)
    except ValueError:
        parts = urlsplit("")
    plain = base.isascii() and base.isprintable() and not any(c in base for c in ' "<>\\^`{|}')
    bare = not parts.query and not parts.fragment and not base.endswith(("?", "#"))
    if parts.scheme not in {"https", "http"} or not parts.netloc or not plain or not bare:
        raise InputError(
            f"base {base!r}: give a URL of a domain that is yours, as in"
            " https://records.example/custody, with neither query nor fragment"
        )
    return base.rstrip("/")
