r"""Label codes: minted, printed in groups, and read back without ever taking a wrong one.

A code is twenty characters, of five parts:

    TEK1G-9QWE-2MN8-XYZ4-189
    |\__/ \____________/ |\/
    |  |        |        | check: two digits over all before them (see `check`)
    |  |        |        print: 1 to 31, as 1-9 A-Z of the alphabet
    |  |        unique: sixty bits of chance, so that no code is guessed from another
    |  register tag: twenty bits of the SHA-256 of the register's id
    type: thing, place, badge, holder, action

The first three parts are the identity and never change; a reprint has the next print number, so
that a label replaced after damage is recognised as superseded when it turns up again. The symbol
holds the twenty characters bare; people read and type the groups.

The check finds every slip of a single character or exchanged pair. A worse misreading passes it
once in 97 times, and then names one of 2^60 codes that the register has never given out: whoever
reads a code still looks it up.
"""

from __future__ import annotations

import hashlib
import re
import secrets
from dataclasses import dataclass, replace
from enum import StrEnum
from functools import cached_property
from typing import Final

from continuity_labels.check import ALPHABET, check_digits, check_holds
from continuity_labels.errors import (
    DamagedCodeError,
    LabelError,
    NotALabelError,
    OtherRegisterError,
)

LENGTH: Final = 20
"""Characters in a code: what a QR symbol of version 2 holds at level H (ISO/IEC 18004)."""

LAST_PRINT: Final = len(ALPHABET) - 1
"""The highest print number that one character can say."""

_TAG, _UNIQUE = 4, 12
_GROUPS = (5, 4, 4, 4, 3)
_LOOK_ALIKES = str.maketrans("OIL", "011")
_IGNORED = re.compile(r"[\s\u00ad\u2010-\u2015\u2212_.-]+")


class CodeType(StrEnum):
    """What a code stands for; the value is the code's first character."""

    THING = "T"
    PLACE = "P"
    BADGE = "B"
    HOLDER = "H"
    ACTION = "A"


@dataclass(frozen=True)
class Code:
    """One label's code.

    Attributes:
        type: what it stands for.
        tag: four characters that say which register.
        unique: twelve characters that say which thing.
        print_number: 1 for the first label of the thing, one more for each reprint.

    Raises:
        LabelError: a part has the wrong length, characters or range.
    """

    type: CodeType
    tag: str
    unique: str
    print_number: int = 1

    def __post_init__(self) -> None:
        for part, text, length in (("tag", self.tag, _TAG), ("unique part", self.unique, _UNIQUE)):
            if len(text) != length or not set(text) <= set(ALPHABET):
                raise LabelError(
                    f"a code's {part} is {length} characters of {ALPHABET}, not {text!r}."
                )
        if not 1 <= self.print_number <= LAST_PRINT:
            raise LabelError(
                f"print number {self.print_number} is outside 1 to {LAST_PRINT}; "
                "give the thing a new code and link the two."
            )

    @property
    def identity(self) -> str:
        """Seventeen characters that stay the same over all reprints: type, tag and unique part."""
        return f"{self.type.value}{self.tag}{self.unique}"

    @cached_property
    def text(self) -> str:
        """The twenty characters that the symbol holds."""
        body = self.identity + ALPHABET[self.print_number]
        return body + check_digits(body)

    @property
    def grouped(self) -> str:
        """The code as people read it: five groups, the print number and check in the last."""
        groups, start = [], 0
        for length in _GROUPS:
            groups.append(self.text[start : start + length])
            start += length
        return "-".join(groups)

    def supersedes(self, other: Code) -> bool:
        """Whether this is a later print of the same label, so that the other is out of use."""
        return self.identity == other.identity and self.print_number > other.print_number

    def __str__(self) -> str:
        return self.grouped


@dataclass(frozen=True)
class CodeBook:
    """Mints and reads the codes of one register.

    Attributes:
        register_id: the register's own id, any text; two registers whose ids differ share a tag
            once in 2^20 pairs, and even then no code of one stands in the other's records.

    Raises:
        LabelError: the register id is empty.
    """

    register_id: str

    def __post_init__(self) -> None:
        if not self.register_id.strip():
            raise LabelError("a code book needs the id of its register, which is empty here.")

    @cached_property
    def tag(self) -> str:
        """Four characters, twenty bits of SHA-256, that bind a code to this register."""
        return self._derive("tag", _TAG)

    def mint(self, kind: CodeType) -> Code:
        """A new code that nobody could have guessed, at its first print.

        Raises:
            LabelError: actions are not minted; see `derived`.
        """
        if kind is CodeType.ACTION:
            raise LabelError("an action's code follows from the register; take it from an action.")
        return Code(kind, self.tag, _characters(secrets.randbits(5 * _UNIQUE), _UNIQUE))

    def derived(self, word: str) -> Code:
        """The one code of an action in this register: always the same, so it needs no record."""
        return Code(CodeType.ACTION, self.tag, self._derive(f"action {word}", _UNIQUE))

    def reprint(self, code: Code) -> Code:
        """The same identity with the next print number.

        Raises:
            LabelError: the code has had its last print.
            OtherRegisterError: the code belongs to another register.
        """
        self._own(code)
        return replace(code, print_number=code.print_number + 1)

    def parse(self, text: str) -> Code:
        """Read a scanned or typed code.

        Lower case, spaces, hyphens and dots are tolerated, and so are O for 0 and I or L for 1,
        none of which stands in a code.

        Raises:
            NotALabelError: the text does not have a code's shape.
            DamagedCodeError: it has, but the check digits disagree.
            OtherRegisterError: it is whole, and belongs to another register.
        """
        code = read_any(text)
        self._own(code)
        return code

    def _own(self, code: Code) -> None:
        if code.tag != self.tag:
            raise OtherRegisterError(
                f"the label {code.grouped} belongs to another register "
                f"(its tag is {code.tag}, this register's is {self.tag})."
            )

    def _derive(self, purpose: str, length: int) -> str:
        digest = hashlib.sha256(f"continuity-label/1 {purpose}\n{self.register_id}".encode())
        return _characters(int.from_bytes(digest.digest()) >> (256 - 5 * length), length)


def read_any(text: str) -> Code:
    """Read a code of whatever register: for telling whose label a stray one is.

    Raises:
        NotALabelError: the text does not have a code's shape.
        DamagedCodeError: it has, but it was misread or mistyped.
    """
    plain = _IGNORED.sub("", text).upper()
    if not (plain.isascii() and plain.isalnum()):
        raise NotALabelError(f"{_shown(text)} is not a label: a code is letters and digits only.")
    if len(plain) != LENGTH:
        raise NotALabelError(
            f"{_shown(text)} is not a whole label: it has {len(plain)} characters, "
            f"a code has {LENGTH}."
        )
    plain = plain.translate(_LOOK_ALIKES)
    body, digits = plain[:-2], plain[-2:]
    if (
        not set(body) <= set(ALPHABET)
        or not check_holds(body, digits)
        or body[0] not in set(CodeType)
        or body[-1] == "0"
    ):
        raise DamagedCodeError(
            f"{_shown(text)} was misread or mistyped: its check digits disagree; "
            "scan it again, or type all five groups."
        )
    unique = body[1 + _TAG : -1]
    return Code(CodeType(body[0]), body[1 : 1 + _TAG], unique, ALPHABET.index(body[-1]))


def _characters(number: int, length: int) -> str:
    return "".join(ALPHABET[number >> 5 * place & 31] for place in reversed(range(length)))


def _shown(text: str) -> str:
    longest = 48
    return repr(text if len(text) <= longest else text[:longest] + "…")
