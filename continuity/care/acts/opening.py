"""A case is opened, its planned disposition changes, and what the examiner kept is stated."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar, Literal

from pydantic import Field, field_validator

from continuity.care.acts.base import Act
from continuity.care.records import Planned
from continuity.care.refusal import Objection
from continuity.care.things import AgeGroup, CaseNumber, Digest, Disposition, Sex, Text
from continuity.care.times import Day

if TYPE_CHECKING:
    from collections.abc import Iterator

    from continuity.care.case import Case
    from continuity.care.records import Event
    from continuity.care.scene import Scene


class CaseOpened(Act):
    """A case was opened, on the coroner's release. Personal details: name, date-of-birth, ..."""

    kind: Literal["case-opened"] = "case-opened"
    changes_presence: ClassVar[bool] = True
    number: CaseNumber
    coroner_reference: Text | None = None
    release_authority: Text | None = Field(None, description="on whose authority, which document")
    disposition: Disposition = Disposition.UNDECIDED
    day: Day | None = Field(None, description="the planned day of the disposition")
    above_ground: bool = Field(default=False, description="a vault or crypt above ground")
    long_delay: bool = Field(default=False, description="a long wait is expected")
    unidentified: bool = Field(default=False, description="remains whose person is not yet known")
    sex: Sex | None = Field(None, description="for the tables of organ weights; identifies nobody")
    age_group: AgeGroup | None = Field(None, description="for the same tables")

    def opens(self) -> str:
        """This case."""
        return self.number

    def apply(self, case: Case, event: Event) -> None:
        """Open the case with its first plan."""
        case.number = self.number
        case.opened = event.moment
        case.coroner_reference = self.coroner_reference
        case.release_authority = self.release_authority
        case.unidentified = self.unidentified
        case.sex = self.sex
        case.age_group = self.age_group
        case.plans.append(
            Planned(
                event.moment,
                self.disposition,
                self.day,
                self.release_authority,
                long_delay=self.long_delay,
                above_ground=self.above_ground,
            )
        )

    def objections(self, scene: Scene) -> Iterator[Objection]:
        """A case is opened once."""
        if scene.case.opened is not None:
            yield Objection(
                "already-open",
                f"case {self.number} is already open",
                "record into that case, or choose another number",
                findable=False,
            )


class DispositionChanged(Act):
    """Another disposition, or another day, was decided."""

    kind: Literal["disposition-changed"] = "disposition-changed"
    disposition: Disposition
    day: Day | None = None
    above_ground: bool = False
    long_delay: bool = False
    authority: Text = Field(description="who decided, and by which document")
    document: Digest | None = None

    def apply(self, case: Case, event: Event) -> None:
        """Put the new plan in force."""
        case.plans.append(
            Planned(
                event.moment,
                self.disposition,
                self.day,
                self.authority,
                long_delay=self.long_delay,
                above_ground=self.above_ground,
            )
        )


class RetentionStated(Act):
    """What the examiner's papers say of organs kept: none, some, or unknown."""

    kind: Literal["retention-stated"] = "retention-stated"
    kept: Literal["none", "some", "unknown"]
    according_to: Text = Field(description="the report, letter or person that says so")

    @field_validator("according_to")
    @classmethod
    def _not_blank(cls, text: str) -> str:
        if not text.strip():
            raise ValueError("say which report, letter or person states it")
        return text

    def apply(self, case: Case, event: Event) -> None:
        """Note the statement."""
        case.retained_stated = (event.moment, self.kept)
