"""Canonical JSON: published values, the strict reader, and properties against the rfc8785 library."""

from __future__ import annotations

import json
import math
import struct

import pytest
import rfc8785
from hypothesis import given
from hypothesis import strategies as st

from continuity.errors import FormatError
from continuity.ledger import canonical

# RFC 8785 appendix B: IEEE 754 bits, JSON text (None: an error).
APPENDIX_B = [
    ("0000000000000000", "0"),
    ("8000000000000000", "0"),
    ("0000000000000001", "5e-324"),
    ("8000000000000001", "-5e-324"),
    ("7fefffffffffffff", "1.7976931348623157e+308"),
    ("ffefffffffffffff", "-1.7976931348623157e+308"),
    ("4340000000000000", "9007199254740992"),
    ("c340000000000000", "-9007199254740992"),
    ("4430000000000000", "295147905179352830000"),
    ("7fffffffffffffff", None),
    ("7ff0000000000000", None),
    ("44b52d02c7e14af5", "9.999999999999997e+22"),
    ("44b52d02c7e14af6", "1e+23"),
    ("44b52d02c7e14af7", "1.0000000000000001e+23"),
    ("444b1ae4d6e2ef4e", "999999999999999700000"),
    ("444b1ae4d6e2ef4f", "999999999999999900000"),
    ("444b1ae4d6e2ef50", "1e+21"),
    ("3eb0c6f7a0b5ed8c", "9.999999999999997e-7"),
    ("3eb0c6f7a0b5ed8d", "0.000001"),
    ("41b3de4355555553", "333333333.3333332"),
    ("41b3de4355555554", "333333333.33333325"),
    ("41b3de4355555555", "333333333.3333333"),
    ("41b3de4355555556", "333333333.3333334"),
    ("41b3de4355555557", "333333333.33333343"),
    ("becbf647612f3696", "-0.0000033333333333333333"),
    ("43143ff3c1cb0959", "1424953923781206.2"),
]

# RFC 8785 section 3.2.2 (input) and section 3.2.4 (UTF-8 bytes).
SAMPLE = r"""{
  "numbers": [333333333.33333329, 1E30, 4.50, 2e-3, 0.000000000000000000000000001],
  "string": "\u20ac$\u000F\u000aA'\u0042\u0022\u005c\\\"\/",
  "literals": [null, true, false]
}"""
SAMPLE_CANONICAL = bytes.fromhex(
    "7b 22 6c 69 74 65 72 61 6c 73 22 3a 5b 6e 75 6c 6c 2c 74 72"
    "75 65 2c 66 61 6c 73 65 5d 2c 22 6e 75 6d 62 65 72 73 22 3a"
    "5b 33 33 33 33 33 33 33 33 33 2e 33 33 33 33 33 33 33 2c 31"
    "65 2b 33 30 2c 34 2e 35 2c 30 2e 30 30 32 2c 31 65 2d 32 37"
    "5d 2c 22 73 74 72 69 6e 67 22 3a 22 e2 82 ac 24 5c 75 30 30"
    "30 66 5c 6e 41 27 42 5c 22 5c 5c 5c 5c 5c 22 2f 22 7d"
)

# RFC 8785 section 3.2.3: the property sorting sample.
SORT_SAMPLE = r"""{
  "\u20ac": "Euro Sign",
  "\r": "Carriage Return",
  "\ufb33": "Hebrew Letter Dalet With Dagesh",
  "1": "One",
  "\ud83d\ude00": "Emoji: Grinning Face",
  "\u0080": "Control",
  "\u00f6": "Latin Small Letter O With Diaeresis"
}"""
SORTED_VALUES = [
    "Carriage Return",
    "One",
    "Control",
    "Latin Small Letter O With Diaeresis",
    "Euro Sign",
    "Emoji: Grinning Face",
    "Hebrew Letter Dalet With Dagesh",
]

text = st.text(max_size=12)
values = st.recursive(
    st.none() | st.booleans() | st.integers(-canonical.MAX_INTEGER, canonical.MAX_INTEGER) | text,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(text, inner, max_size=4),
    max_leaves=20,
)
objects = st.dictionaries(text, values, max_size=6)


@pytest.mark.parametrize(("bits", "expected"), APPENDIX_B)
def test_appendix_b_is_reproduced_by_the_library_and_its_floats_refused_here(bits, expected):
    (number,) = struct.unpack(">d", bytes.fromhex(bits))
    if expected is None:
        assert not math.isfinite(number)
        with pytest.raises(rfc8785.FloatDomainError):
            rfc8785.dumps(number)
    else:
        assert rfc8785.dumps(number) == expected.encode()
    with pytest.raises(FormatError, match="is a float"):
        canonical.encode({"n": number})


@pytest.mark.parametrize("number", [0, 1, -1, 2**53 - 1, -(2**53) + 1, 1424953923781206])
def test_integers_up_to_2_53_are_written_plainly(number):
    data = canonical.encode({"n": number})
    assert data == b'{"n":%d}' % number
    assert canonical.decode(data) == {"n": number}


@pytest.mark.parametrize(
    "number", [2**53, -(2**53), 295147905179352830000, pytest.param(10**5000, id="huge")]
)
def test_greater_integers_are_refused(number):
    with pytest.raises(FormatError):
        canonical.encode({"n": number})


@pytest.mark.parametrize("digits", ["9007199254740992", "-9007199254740992", "9" * 5000])
def test_greater_integers_are_not_read(digits):
    with pytest.raises(FormatError, match="beyond 2"):
        canonical.decode(b'{"n":%b}' % digits.encode())


def test_the_sample_of_the_rfc():
    assert rfc8785.dumps(json.loads(SAMPLE)) == SAMPLE_CANONICAL
    without_floats = json.loads(SAMPLE)
    del without_floats["numbers"]
    expected = SAMPLE_CANONICAL.replace(
        b',"numbers":[333333333.3333333,1e+30,4.5,0.002,1e-27]', b""
    )
    assert canonical.encode(without_floats) == expected
    assert canonical.decode(expected) == without_floats
    with pytest.raises(FormatError, match="is not an integer"):
        canonical.decode(SAMPLE_CANONICAL)


def test_names_are_sorted_by_utf_16_code_unit():
    value = canonical.parse(SORT_SAMPLE.encode())
    data = canonical.encode(value)
    assert list(canonical.decode(data).values()) == SORTED_VALUES
    by_code_point = json.dumps(value, sort_keys=True, ensure_ascii=False, separators=(",", ":"))
    with pytest.raises(FormatError, match="canonical form"):
        canonical.decode(by_code_point.encode())


@pytest.mark.parametrize(
    "data",
    [
        b'{"a":1,"a":1}',
        b'{"a":1,"a":2}',
        b'{"b":1,"a":2}',
        b'{"a": 1}',
        b' {"a":1}',
        b'{"a":1} ',
        b'{"a":1}\n',
        b'{"a":1}{}',
        b'{"a":1.0}',
        b'{"a":1e2}',
        b'{"a":-0}',
        b'{"a":01}',
        b'{"a":+1}',
        b'{"a":NaN}',
        b'{"a":Infinity}',
        b'{"a":-Infinity}',
        b'{"a":"\\u0041"}',
        b'{"a":"\\/"}',
        b'{"a":"\\u000A"}',
        b'{"a":"\\u000f"}'.replace(b"f", b"F"),
        b'{"a":"\n"}',
        b'{"a":"\\ud800"}',
        b'{"\\ud800":1}',
        b'{"a":"\\ud83d\\ude00"}',
        b'{"a":"\xed\xa0\x80"}',
        b'{"a":"\xff"}',
        b'\xef\xbb\xbf{"a":1}',
        b'{"a":tru}',
        b"{'a':1}",
        b"[]",
        b'"a"',
        b"1",
        b"null",
        b"",
        b"{",
    ],
)
def test_every_other_spelling_is_refused(data):
    with pytest.raises(FormatError):
        canonical.decode(data)


@pytest.mark.parametrize(
    "value",
    [{"a": "\ud800"}, {"\ud800": 1}, {1: 2}, {"a": b"x"}, {"a": {1, 2}}, {"a": object()}],
)
def test_what_json_cannot_hold_is_refused(value):
    with pytest.raises(FormatError):
        canonical.encode(value)


def nested(levels: int) -> dict:
    value: dict = {}
    for _ in range(levels - 1):
        value = {"a": value}
    return value


def test_32_levels_are_the_deepest():
    assert canonical.decode(canonical.encode(nested(32))) == nested(32)
    with pytest.raises(FormatError, match="32 levels"):
        canonical.encode(nested(33))
    with pytest.raises(FormatError, match="32 levels"):
        canonical.decode(rfc8785.dumps(nested(33)))


def test_many_flat_arrays_are_not_deep():
    value = {"a": [[] for _ in range(100)]}
    assert canonical.decode(canonical.encode(value)) == value


@pytest.mark.parametrize("data", [b'{"a":' * 10_000 + b"1" + b"}" * 10_000, b"[" * 60_000])
def test_absurd_depth_is_an_error_like_any_other(data):
    with pytest.raises(FormatError):
        canonical.decode(data, max_bytes=100_000)


def test_65535_bytes_are_the_longest():
    longest = {"a": "x" * (canonical.MAX_BYTES - len('{"a":""}'))}
    data = canonical.encode(longest)
    assert len(data) == 65_535
    assert canonical.decode(data) == longest
    longest["a"] += "x"
    with pytest.raises(FormatError, match="65535"):
        canonical.encode(longest)
    with pytest.raises(FormatError, match="65535"):
        canonical.decode(data + b" ")


def test_parse_takes_any_spacing_but_no_doubled_name():
    assert canonical.parse(b' { "b" : [1, 2],\n "a":"\\u0041"} ') == {"b": [1, 2], "a": "A"}
    for data in (b'{"a":1,"a":1}', b'{"a":1.5}', b'{"a":"\\ud800"}', b'{"a":1} x', b"[" * 33):
        with pytest.raises(FormatError):
            canonical.parse(data)


@given(objects)
def test_written_as_the_library_writes_it_and_read_back(value):
    data = canonical.encode(value)
    assert data == rfc8785.dumps(value)
    assert canonical.decode(data) == value


@given(objects)
def test_the_library_and_the_reader_agree_on_what_is_canonical(value):
    """The reader compares with the standard encoder where that is as good; here it is not told."""
    data = json.dumps(value, ensure_ascii=False, sort_keys=True, separators=(",", ":")).encode()
    if data == rfc8785.dumps(value):
        assert canonical.decode(data) == value
    else:
        with pytest.raises(FormatError):
            canonical.decode(data)


@given(objects, st.data())
def test_a_flipped_bit_never_reads_as_the_same_value(value, data):
    original = canonical.encode(value)
    bit = data.draw(st.integers(0, len(original) * 8 - 1))
    flipped = bytearray(original)
    flipped[bit // 8] ^= 1 << bit % 8
    try:
        found = canonical.decode(bytes(flipped))
    except FormatError:
        return
    assert canonical.encode(found) == bytes(flipped) != original


@given(st.binary(max_size=60))
def test_any_bytes_are_read_or_refused_never_a_crash(data):
    try:
        value = canonical.decode(data)
    except FormatError:
        return
    assert canonical.encode(value) == data
