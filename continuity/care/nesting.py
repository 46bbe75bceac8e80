"""What lies in what: walks outwards and inwards that a loop in the record cannot keep going."""

from __future__ import annotations

from typing import TYPE_CHECKING

from continuity.care.things import Divided, Inside, PartOf

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from continuity.care.case import Thing


def lies_in(thing: Thing, outer: str, ways: tuple[type[Inside | PartOf], ...] = (Inside,)) -> bool:
    """Whether a thing lies directly in another, or belongs to it in one of these ways."""
    return isinstance(thing.where, ways) and thing.where.thing == outer


def parts_of(
    find: Callable[[str], Thing | None], things: Iterable[Thing], outer: str
) -> list[Thing]:
    """What, of these things, lies directly in another, is one with it, or was divided from it."""
    inner = [t for t in things if lies_in(t, outer, (Inside, PartOf))]
    whole = find(outer)
    if whole and isinstance(whole.where, Divided):
        inner += [t for t in map(find, whole.where.into) if t]
    return inner


def outwards(
    find: Callable[[str], Thing | None],
    thing: str,
    ways: tuple[type[Inside | PartOf], ...] = (Inside,),
) -> list[Thing]:
    """What a thing is in, what that is in, and so on, innermost first."""
    chain: list[Thing] = []
    seen = {thing}
    inner = find(thing)
    while inner and isinstance(inner.where, ways) and inner.where.thing not in seen:
        inner = find(inner.where.thing)
        if inner:
            seen.add(inner.id)
            chain.append(inner)
    return chain


def inwards(held: Callable[[str], Iterable[Thing]], thing: str) -> list[Thing]:
    """What a thing holds, what that holds, and so on; `held` says what lies directly in one."""
    found: dict[str, Thing] = {}
    open_ends = [thing]
    while open_ends:
        for inner in held(open_ends.pop()):
            if inner.id not in found and inner.id != thing:
                found[inner.id] = inner
                open_ends.append(inner.id)
    return list(found.values())
