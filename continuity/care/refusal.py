"""What speaks against an intent, and the refusal that says so."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from continuity.errors import ContinuityError

if TYPE_CHECKING:
    from collections.abc import Sequence


@dataclass(frozen=True, slots=True)
class Objection:
    """A rule of care that speaks against an intent.

    Attributes:
        code: stable, in plain words.
        sentence: why.
        mend: what would mend it.
        findable: whether the same may be recorded as found to be so (`--found`), which opens an
            irregularity. What nobody can find, such as a missing second signature, is not.
    """

    code: str
    sentence: str
    mend: str
    findable: bool = True


class RefusedError(ContinuityError):
    """A rule of care speaks against the intent; nothing was recorded."""

    status = 4
    meaning = "refused by a rule of care; nothing was recorded"

    def __init__(self, objections: Sequence[Objection], what: str) -> None:
        self.objections = tuple(objections)
        first = objections[0]
        more = f" (and {len(objections) - 1} more)" if len(objections) > 1 else ""
        super().__init__(f"{what}: {first.code}: {first.sentence}; {first.mend}{more}")
