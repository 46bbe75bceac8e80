"""Canonical JSON after RFC 8785, narrowed: no floats, at most 65,535 bytes and 32 levels deep.

`encode` decides which bytes are written; `decode` accepts those bytes only. Signed bytes are kept
and hashed as they stand: nothing is ever made canonical anew in order to verify it.
"""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any, NoReturn

import rfc8785

from continuity.errors import FormatError

if TYPE_CHECKING:
    from collections.abc import Callable

MAX_BYTES = 65_535
"""Longest document, in bytes: an entry still fits C2SP tlog-tiles' two-byte lengths."""

MAX_DEPTH = 32
"""Most arrays and objects inside one another."""

MAX_INTEGER = 2**53 - 1
"""Largest magnitude every JSON reader keeps exact (RFC 7493 section 2.2)."""

_LONGEST_INTEGER = len(str(-MAX_INTEGER))
_LEADS_ABOVE_BMP = bytes(range(0xF0, 0xF5))


def encode(value: Any, *, max_bytes: int = MAX_BYTES) -> bytes:
    """Write a value as canonical JSON (RFC 8785 section 3.2).

    Args:
        value: None, bool, int, str, and lists, tuples and dicts of these.
        max_bytes: Longest result allowed.

    Raises:
        FormatError: A float, an integer beyond ±(2^53 - 1), a lone surrogate, a key that is not
            text, a type JSON has not, or a value too deep or too long.
    """
    _refuse_unfit(value, MAX_DEPTH)
    try:
        data = _encoder.encode(value).encode()
        if not _sorts_alike(data):
            data = rfc8785.dumps(value)
    except UnicodeEncodeError:
        raise FormatError("A text in the value holds a lone surrogate; remove it.") from None
    except TypeError as error:
        raise FormatError(f"The value cannot stand in a record: {error}.") from None
    if len(data) > max_bytes:
        raise FormatError(f"The value takes {len(data)} bytes as JSON; at most {max_bytes} fit.")
    return data


def decode(data: bytes, *, max_bytes: int = MAX_BYTES) -> dict[str, Any]:
    """Read a canonical JSON object, refusing every other spelling of the same value.

    Raises:
        FormatError: The bytes are not exactly what `encode` writes for an object.
    """
    text, value = _read(data, _decoder.raw_decode, max_bytes)
    if type(value) is not dict:
        raise FormatError("The JSON is not an object.")
    # A doubled name comes out once, so it differs, and so does whatever follows the object.
    if text.isascii() or _sorts_alike(data):
        if _encoder.encode(value) == text:
            return value
    elif encode(value, max_bytes=max_bytes) == data:
        return value
    raise FormatError("The JSON is not in canonical form (RFC 8785).")


def parse(data: bytes, *, max_bytes: int = MAX_BYTES) -> Any:
    """Read JSON that others wrote: any spacing and order, but nothing that two readers see twice.

    Raises:
        FormatError: Not UTF-8 JSON, a doubled name, a float, an integer beyond ±(2^53 - 1), a lone
            surrogate, or a value too deep or too long.
    """
    _, value = _read(data, _read_whole, max_bytes)
    encode(value, max_bytes=max_bytes)
    return value


def _read(
    data: bytes, decode_text: Callable[[str], tuple[Any, int]], max_bytes: int
) -> tuple[str, Any]:
    if len(data) > max_bytes:
        raise FormatError(f"The JSON is {len(data)} bytes long; at most {max_bytes} are read.")
    try:
        text = data.decode()
        value, _ = decode_text(text)
    except UnicodeDecodeError:
        raise FormatError("The JSON is not UTF-8.") from None
    except RecursionError:
        raise FormatError("The JSON is nested too deeply.") from None
    except ValueError as error:
        raise FormatError(f"The JSON cannot be read: {error}.") from None
    # Counting brackets is an upper bound on depth, and far cheaper than walking the value.
    if data.count(b"{") + data.count(b"[") > MAX_DEPTH:
        _refuse_unfit(value, MAX_DEPTH)
    return text, value


def _sorts_alike(data: bytes) -> bool:
    """Whether names stand in one order by code point, as Python sorts, and by UTF-16 code unit.

    RFC 8785 section 3.2.3 asks for the second; they differ only where a character above U+FFFF
    occurs.
    """
    return len(data.translate(None, _LEADS_ABOVE_BMP)) == len(data)


def _refuse_unfit(value: Any, levels_left: int) -> None:
    """Refuse what the standard encoder would write otherwise, or as something else."""
    if isinstance(value, str):
        return
    if isinstance(value, float):
        raise FormatError(f"The number {value} is a float; write it as an integer or as text.")
    if isinstance(value, int):
        if not -MAX_INTEGER <= value <= MAX_INTEGER:
            raise FormatError("An integer in the value is beyond 2^53 - 1; write it as text.")
    elif isinstance(value, dict | list | tuple):
        if not levels_left:
            raise FormatError(f"The value is more than {MAX_DEPTH} levels deep.")
        if isinstance(value, dict):
            if not all(isinstance(name, str) for name in value):
                raise FormatError("A name in the value is not text.")
            value = value.values()
        for inner in value:
            _refuse_unfit(inner, levels_left - 1)


def _integer(digits: str) -> int:
    if len(digits) <= _LONGEST_INTEGER:
        number = int(digits)
        if -MAX_INTEGER <= number <= MAX_INTEGER:
            return number
    raise ValueError("an integer beyond 2^53 - 1 stands in it")


def _refuse_number(digits: str) -> NoReturn:
    raise ValueError(f"the number {digits[:32]} is not an integer")


def _each_name_once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    result = dict(pairs)
    if len(result) != len(pairs):
        raise ValueError("a name occurs twice in one object")
    return result


def _read_whole(text: str) -> tuple[Any, int]:
    return _careful_decoder.decode(text), len(text)


_decoder = json.JSONDecoder(
    parse_int=_integer, parse_float=_refuse_number, parse_constant=_refuse_number
)
_careful_decoder = json.JSONDecoder(
    parse_int=_integer,
    parse_float=_refuse_number,
    parse_constant=_refuse_number,
    object_pairs_hook=_each_name_once,
)
_encoder = json.JSONEncoder(
    ensure_ascii=False, sort_keys=True, separators=(",", ":"), check_circular=False
)
