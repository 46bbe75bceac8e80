"""Changes: what came, moved or was opened, after which a closing check speaks of no more."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from continuity.care.case import Case
    from continuity.care.records import Moment


def changed_since(
    case: Case, coffin: str, since: Moment, until: Moment | None = None
) -> tuple[Moment, ...]:
    """When something of the case, or in the coffin, came, was moved, or was opened.

    Args:
        case: the case whose check it is.
        coffin: the coffin's number.
        since: when the check was signed; what happened at that moment is not after it.
        until: when the coffin was closed; what happened then or later is not asked for.
    """
    once_own = (t for t in case.things.values() if t.case == case.number)
    near = {t.id: t for t in (*case.own, *once_own, *case.all_contents(coffin))}
    moments = {
        moment
        for thing in near.values()
        for moment in (
            thing.came if thing.moved else None,
            *thing.changes,
            *(closure.moment for closure in thing.closures if not closure.shut),
        )
        if moment is not None and since < moment and (until is None or moment < until)
    }
    return tuple(sorted(moments))
