"""The codes that need no entry: of places, holders, badges and acts, and what a scanned one means.

They follow from the register's id and a word, so that a lost board or a worn place label is printed
again as it was. None of them is secret: a badge says who is meant, and the key behind it, unlocked
by its PIN, is what signs. A badge's word names the key as well, so that replacing or revoking the
key is the end of a lost badge.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from continuity_labels.actions import Action, action_code
from continuity_labels.code import Code, CodeBook, CodeType

if TYPE_CHECKING:
    from collections.abc import Iterator

    from continuity.care.house import House


@dataclass(frozen=True, slots=True)
class Stands:
    """What a code stands for.

    Attributes:
        type: place, badge, holder or action.
        name: the place, the person, the holder, or the action's word.
        void: a badge whose key was replaced or revoked.
    """

    type: CodeType
    name: str
    void: bool = False


def derived(book: CodeBook, kind: CodeType, word: str) -> Code:
    """The one code of a place, a badge or a holder in this register."""
    # The kind stands in the word too, so that a place and a holder of one name share no characters.
    return replace(book.derived(f"{kind.name.lower()} {word}"), type=kind)


def place_code(book: CodeBook, place: str) -> Code:
    """The code of a named place."""
    return derived(book, CodeType.PLACE, place)


def holder_code(book: CodeBook, holder: str) -> Code:
    """The code of a named holder."""
    return derived(book, CodeType.HOLDER, holder)


def badge_code(book: CodeBook, person: str, key: str) -> Code:
    """The code of a person's badge for as long as the key of this reference signs."""
    return derived(book, CodeType.BADGE, f"{person} {key}")


class Directory:
    """What every derived code of a register stands for; made anew when the house has changed."""

    def __init__(self, book: CodeBook) -> None:
        self._book = book
        self._size = (-1, -1, -1)
        self._known: dict[str, Stands] = {}

    def find(self, code: Code, house: House) -> Stands | None:
        """What a code stands for; None if this register has named nothing by it."""
        revoked = sum(key.revoked for key in house.keys.values())
        size = (len(house.places) + len(house.holders), len(house.keys), revoked)
        if size != self._size:
            self._size, self._known = size, dict(self._all(house))
        return self._known.get(code.identity)

    def _all(self, house: House) -> Iterator[tuple[str, Stands]]:
        for action in Action:
            yield (
                action_code(self._book, action).identity,
                Stands(CodeType.ACTION, action.value),
            )
        for place in house.places:
            yield place_code(self._book, place).identity, Stands(CodeType.PLACE, place)
        for holder in house.holders:
            yield holder_code(self._book, holder).identity, Stands(CodeType.HOLDER, holder)
        for reference, key in house.keys.items():
            code = badge_code(self._book, key.person, reference)
            yield code.identity, Stands(CodeType.BADGE, key.person, void=key.revoked)
