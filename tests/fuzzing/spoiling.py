"""Sound input spoilt at random, for machines on which no coverage-guided fuzzer installs."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import random
    from collections.abc import Sequence

TOKENS = (
    b"\x00",
    b"\n",
    b"\n\n",
    b"\r\n",
    b"\xff",
    b"\xc3\x28",
    b"\xed\xa0\x80",
    "\u2014 ".encode(),
    "\u202e".encode(),
    "\u0661".encode(),
    b"\x1b[2J",
    b"{",
    b"[",
    b"[" * 2000,
    b'{"a":' * 500,
    b"}",
    b"]",
    b'"',
    b"\\u0000",
    b"\\ud800",
    b"null",
    b"true",
    b"-0",
    b"1e999",
    b"NaN",
    b"9" * 30,
    b"9" * 5000,
    b"18446744073709551616",
    b"-1",
    b"0",
    b"#1",
    b"2026-0001.1",
    b"9999-12-31T23:59:59-23:59",
    b"0001-01-01T00:00:00+23:59",
    b"+",
    b"=",
    b"AAAA",
    b"' OR 1=1 --",
    b"../../etc/passwd",
    b"continuity-entry/2\n",
    b"[[a]]\n",
    b"a.b.c=1\n",
    b"value = 1e400\n",
)


def spoilt(sound: Sequence[bytes], chance: random.Random, longest: int) -> bytes:
    """One input: a sound one with a few wounds, seldom none."""
    data = bytearray(chance.choice(sound))
    for _ in range(chance.choice((0, 1, 1, 1, 2, 3, 8))):
        at = chance.randrange(len(data) + 1)
        match chance.randrange(8):
            case 0 if data:
                data[at % len(data)] ^= 1 << chance.randrange(8)
            case 1 if data:
                data[at % len(data)] = chance.randrange(256)
            case 2:
                del data[at : at + chance.choice((1, 2, 8, 64))]
            case 3:
                data[at:at] = chance.choice(TOKENS)
            case 4:
                other = chance.choice(sound)
                begin = chance.randrange(len(other) + 1)
                data[at:] = other[begin:]
            case 5:
                end = at + chance.choice((1, 4, 16, 64))
                data[at:at] = data[at:end] * chance.choice((1, 2, 50))
            case 6:
                data[at : at + chance.choice((1, 4))] = chance.choice(TOKENS)
            case _:
                data[at:at] = chance.randbytes(chance.choice((1, 2, 8)))
    return bytes(data[:longest])
