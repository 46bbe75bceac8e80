"""Files that are no dossier, or nearly one: each must be refused in one sentence."""

from __future__ import annotations

from continuity.audit.dossier.page import CLOSES, OPENS
from continuity.audit.dossier.what import Dossier


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
