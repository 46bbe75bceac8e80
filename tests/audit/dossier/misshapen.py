"""Files that are no dossier, or nearly one: each must be refused in one sentence."""

from __future__ import annotations

from continuity.audit.dossier.page import CLOSES, OPENS
from continuity.audit.dossier.what import Dossier
from continuity.ledger import canonical


def misshapen() -> dict[str, bytes]:
    plain = Dossier("t", "w", "r", "c", None, (), None, (), (), (), (), ()).encode()
    deep = b'{"entries":' + b"[" * 500_000 + b"]" * 500_000 + b"}"
    return {
        "nothing": b"",
        "no-machine-part": b"<!doctype html><p>nothing</p>",
        "two-machine-parts": b"<x>" + (OPENS + plain + CLOSES) * 2,
        "unclosed": b"<x>" + OPENS + plain,
        "other-version": plain.replace(b"dossier/1", b"dossier/7"),
        "no-format": plain.replace(b"continuity-dossier/1", b"something-else/1"),
        "field-unknown": plain[:-1] + b',"x":1}',
        "field-missing": plain.replace(b'"case":"c",', b""),
        "number-as-text": plain.replace(b'"case":"c"', b'"case":7'),
        "float": plain.replace(b'"case":"c"', b'"case":1.5'),
        "name-doubled": plain.replace(b'"case":"c"', b'"case":"c","case":"c"'),
        "not-utf8": plain.replace(b'"c"', b'"\xff"'),
        "surrogate": plain.replace(b'"c"', b'"\\ud800"'),
        "deep": deep,
        "huge-number": plain.replace(b'"case":"c"', b'"case":' + b"9" * 1_000_000),
        "entries-no-list": plain.replace(b'"entries":[]', b'"entries":{}'),
        "entry-misshapen": plain.replace(b'"entries":[]', b'"entries":[{"note":"x"}]'),
        "proof-too-long": plain.replace(
            b'"entries":[]',
            b'"entries":[{"note":"x","position":0,"proof":['
            + b",".join([b'"' + b"A" * 43 + b'="'] * 64)
            + b"]}]",
        ),
        "hash-too-short": plain.replace(
            b'"entries":[]', b'"entries":[{"note":"x","position":0,"proof":["AAAA"]}]'
        ),
        "position-negative": plain.replace(
            b'"entries":[]', b'"entries":[{"note":"x","position":-1,"proof":null}]'
        ),
        "spaced": b" {" + plain[1:].replace(b":", b": "),
        "page-spaced": b"<x>" + OPENS + plain.replace(b":", b": ") + CLOSES,
        "page-array": b"<x>" + OPENS + b"[]" + CLOSES,
    }


BENT = {
    "earlier-with-a-field-too-many": ("earlier", lambda one: one | {"x": 1}),
    "earlier-of-no-size": ("earlier", lambda one: one | {"size": "40"}),
    "withheld-with-a-field-too-many": ("withheld", lambda one: one | {"x": 1}),
    "disclosure-with-a-field-too-many": ("disclosures", lambda one: one | {"x": 1}),
    "index-word-with-a-field-too-many": (
        "index",
        lambda one: one | {"case": one["case"] | {"x": 1}},
    ),
    "index-at-no-position": (
        "index",
        lambda one: one | {"entry": one["entry"] | {"position": True}},
    ),
}
"""What is done to one part of a sound dossier: nothing unknown is passed over in it."""


def bent(sound: bytes, name: str) -> bytes:
    """A sound machine part with one part of it misshapen."""
    part, bend = BENT[name]
    value = canonical.decode(sound, max_bytes=len(sound))
    found = value[part]
    value[part] = bend(found) if part == "index" else [bend(found[0]), *found[1:]]
    return canonical.encode(value, max_bytes=2 * len(sound))
