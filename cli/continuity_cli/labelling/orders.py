"""Orders: what somebody asked to have printed, found in the register and drawn."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from continuity import clock
from continuity.care.things import case_of
from continuity.errors import InputError
from continuity_cli.given import thing_of
from continuity_cli.labelling import codes, faces, prints
from continuity_labels.code import CodeBook
from continuity_labels.errors import LabelError

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence

    from continuity.care.case import Case, Thing
    from continuity.care.house import House
    from continuity.register import Register
    from continuity_cli.labelling.prints import Print
    from continuity_labels.face import Face
    from continuity_labels.stocks import Stock


class Orders:
    """Finds what is asked for and draws it.

    Args:
        register: the open register.
        stocks: what can be printed on, by name.
        stock: what to print everything on; None takes the usual one for each.

    Attributes:
        book: the register's codes.
        notes: what to tell about labels that show less than the description, or are larger.
    """

    def __init__(
        self, register: Register, stocks: Mapping[str, Stock], stock: Stock | None
    ) -> None:
        self.register = register
        self.book = CodeBook(register.id)
        self.notes: list[str] = []
        self._stocks = stocks
        self._stock = stock

    def things(self, texts: Sequence[str], *, due: bool) -> Iterator[Print]:
        """The labels of things, and of all things of cases; each once."""
        found: dict[str, Case] = {}
        for text in texts:
            found |= self._named(text)
        now = clock.now().astimezone()
        policy = self.register.house().policy
        for number, case in found.items():
            thing = case.things[number]
            if due and thing.id not in {t.id for t, _ in faces.due(case, policy)}:
                continue
            details = faces.details_of(case, self.register.personal_details(case.number))
            if faces.names_a_person(thing, details):
                self.notes.append(
                    f"{number}: its description holds a kept name, so the label does not show it"
                )
            code = prints.next_code(self.book, thing)
            face = faces.thing_face(case, thing, code, policy=policy, details=details, now=now)
            yield self._fitting(face, thing, case.number)

    def _fitting(self, face: Face, thing: Thing, case: str) -> Print:
        """Drawn on the usual stock, else on a larger one, else without the description.

        One long description must not keep a whole case without labels.
        """
        stocks = [self._stock] if self._stock else prints.usual_stocks(face, thing, self._stocks)
        plain = replace(face, what=faces.plain_words(thing))
        tries = [(face, stock) for stock in stocks] + [(plain, stocks[-1])]
        for fits, stock in tries[:-1]:
            try:
                return prints.drawn(fits, stock, thing.id, case)
            except LabelError:
                continue
        made = prints.drawn(plain, stocks[-1], thing.id, case)
        if plain != face:
            self.notes.append(
                f"{thing.id}: its description is too long for {stocks[-1].name}, so the label says"
                f" {plain.what}"
            )
        return made

    def _named(self, text: str) -> dict[str, Case]:
        if self.register.store.case_by_name(text) is not None:
            case = self.register.case(text)
            return {thing.id: case for thing in faces.standing(case)}
        number = thing_of(self.register, text)
        case = self.register.case(case_of(number))
        case = self.register.case(case.associated.get(number, case.number))
        return {number: self._bearing(case, number)}

    def _bearing(self, case: Case, number: str) -> Case:
        """The case, if the thing is one of its own and can bear a label."""
        known = case.things.get(number)
        if known is None:
            raise InputError(f"thing {number}: no such thing in this register; check the number")
        if known not in faces.standing(case):
            raise InputError(
                f"thing {number}: it has left under its own number, or never came; there is nothing"
                " to put a label on"
            )
        return case

    def places(self, names: Iterable[str]) -> Iterator[Print]:
        """The labels of places."""
        for name in names:
            place = self._house.places.get(name)
            if place is None:
                raise InputError(f"place {name!r}: none is named so in this register")
            code = codes.place_code(self.book, name)
            yield self._plain(faces.place_face(code, name, place.description))

    def holders(self, names: Iterable[str]) -> Iterator[Print]:
        """The labels of holders."""
        for name in names:
            holder = self._house.holders.get(name)
            if holder is None:
                raise InputError(f"holder {name!r}: none is named so in this register")
            code = codes.holder_code(self.book, name)
            yield self._plain(faces.holder_face(code, name, holder.description))

    def badges(self, persons: Iterable[str]) -> Iterator[Print]:
        """The badges of persons, for the keys that stand."""
        for person in persons:
            keys = [k for k in self._house.keys.values() if k.person == person and not k.revoked]
            if not keys:
                raise InputError(f"person {person!r}: no key of theirs stands in this register")
            code = codes.badge_code(self.book, person, keys[0].reference)
            yield self._plain(faces.badge_face(code, person, keys[0].role.value))

    @property
    def _house(self) -> House:
        return self.register.house()

    def _plain(self, face: Face) -> Print:
        return prints.drawn(face, self._stock or prints.usual_stocks(face, None, self._stocks)[0])
