"""Identity: the decedent is who the papers say, read from the body, by two persons, twice."""

from __future__ import annotations

from typing import TYPE_CHECKING

from continuity.care.findings.base import Found, Look, finding, name
from continuity.care.things import Unseen

if TYPE_CHECKING:
    from collections.abc import Iterator

    from continuity.care.case import Thing
    from continuity.care.records import Identification

_T1C = "HTA traceability standard T1(c): three identifiers, at least one of them unique"
_WHEN = {"receipt": "at the receipt", "closing": "for the closing"}


def present(look: Look) -> Thing | None:
    """The decedent, where there is a body to identify."""
    body = look.body
    return body if body and not isinstance(body.where, Unseen) else None


def latest(look: Look, stage: str) -> Identification | None:
    """The last identification of the decedent at a stage; one for closing must be fresh."""
    body = look.body
    made = [
        i for i in look.case.identifications if i.stage == stage and body and i.thing == body.id
    ]
    last = made[-1] if made else None
    if last and stage == "closing" and look.now - last.moment.at > look.span("closing-sighting"):
        return None
    return last


def _made(look: Look) -> Iterator[tuple[Thing, Identification]]:
    body = present(look)
    for stage in ("receipt", "closing"):
        identification = latest(look, stage)
        if body and identification:
            yield body, identification


def valid(look: Look, identification: Identification, *, from_body: bool = True) -> set[str]:
    """The identifiers that count: those the policy lists, and that were read from the body."""
    rule = look.policy.identifiers
    return {
        what
        for what, read_from in identification.identifiers
        if what in rule.counted and (read_from in rule.from_body or not from_body)
    }


def _again(look: Look, identification: Identification, body: Thing, sentence: str) -> Found:
    mend = _anew(look, body, identification.stage)
    return look.found(sentence, mend, body, shown_by=(identification.moment,))


def _anew(look: Look, body: Thing, stage: str) -> str:
    """How the decedent is identified so that it counts."""
    rule, persons = look.policy.identifiers, look.policy.act("identified").persons
    return (
        f"read at least {rule.least} identifiers from the tag of {body.id}, one of them unique,"
        f" {persons} persons together, and say so if all agree (identified --thing {body.id}"
        f" --stage {stage} --agree --identifier what=...,read_from={rule.from_body[0]})"
    )


@finding("not-identified-at-receipt", "HTA traceability standard T1(e): identity at every move")
def not_identified_at_receipt(look: Look) -> Iterator[Found]:
    """The decedent was not identified when it was received."""
    body = present(look)
    if body and latest(look, "receipt") is None:
        yield look.found(
            f"{name(body)} was not identified at its receipt",
            _anew(look, body, "receipt"),
            body,
            shown_by=(body.came,),
        )


@finding("not-identified-at-closing", "HTA traceability standard T1(e): identity at every move")
def not_identified_at_closing(look: Look) -> Iterator[Found]:
    """The decedent was not identified for the closing, within the policy's window."""
    body = present(look)
    if body and latest(look, "closing") is None:
        made = [i.moment for i in look.case.identifications if i.stage == "closing"]
        long_ago = ", only too long before it" if made else ""
        yield look.found(
            f"{name(body)} was not identified for the closing{long_ago}",
            _anew(look, body, "closing"),
            body,
            shown_by=made[-1:] or (body.came,),
        )


@finding("identifiers-disagree", "HTA reportable incidents: wrong body released or viewed")
def identifiers_disagree(look: Look) -> Iterator[Found]:
    """The identifiers read did not agree with the papers."""
    for body, made in _made(look):
        if made.agree is False:
            sentence = f"the identifiers of {name(body)} did not agree {_WHEN[made.stage]}"
            yield _again(look, made, body, sentence)


@finding("agreement-not-stated", "HTA reportable incidents: wrong body released or viewed")
def agreement_not_stated(look: Look) -> Iterator[Found]:
    """Identifiers were read, and nobody said whether they agree with the papers."""
    for body, made in _made(look):
        if made.agree is None:
            sentence = (
                f"the identifiers of {name(body)} were read {_WHEN[made.stage]}, and nobody said"
                " whether they agree with the papers"
            )
            yield _again(look, made, body, sentence)


@finding("too-few-identifiers", _T1C)
def too_few_identifiers(look: Look) -> Iterator[Found]:
    """Fewer identifiers were read than the policy asks for; what it does not list is none."""
    least, counted = look.policy.identifiers.least, look.policy.identifiers.counted
    for body, made in _made(look):
        read = valid(look, made, from_body=False)
        if len(read) < least:
            yield _again(
                look,
                made,
                body,
                f"{name(body)} was identified {_WHEN[made.stage]} by {len(read)} of the {least}"
                f" identifiers needed; what counts is {', '.join(counted)}",
            )


@finding("identity-not-from-the-body", "HTA reportable incidents: plate or paper read, not the tag")
def identity_not_from_the_body(look: Look) -> Iterator[Found]:
    """Enough identifiers were read, yet not from the body's own tag."""
    least = look.policy.identifiers.least
    for body, made in _made(look):
        read = valid(look, made)
        if len(read) < least <= len(valid(look, made, from_body=False)):
            yield _again(
                look,
                made,
                body,
                f"{name(body)} was identified {_WHEN[made.stage]} with {len(read)} of {least}"
                " identifiers said to be read from the body; a plate or a paper does not count",
            )


@finding("no-unique-identifier", _T1C)
def no_unique_identifier(look: Look) -> Iterator[Found]:
    """None of the identifiers read is one that only one decedent can have."""
    rule = look.policy.identifiers
    for body, made in _made(look):
        read = valid(look, made)
        if len(read) >= rule.least and not read & set(rule.unique):
            yield _again(
                look,
                made,
                body,
                f"{name(body)} was identified {_WHEN[made.stage]} by nothing that only one decedent"
                f" can have ({', '.join(rule.unique)})",
            )


@finding("identified-by-too-few", "HTA good practice: two-person identification check")
def identified_by_too_few(look: Look) -> Iterator[Found]:
    """Fewer enrolled persons identified the decedent than the policy asks for."""
    needed = look.policy.act("identified").persons
    for body, made in _made(look):
        house = look.house if look.house and look.house.keys else None
        enrolled = {p for p in made.persons if house is None or house.ever_roles(p)}
        if len(enrolled) < needed:
            yield _again(
                look,
                made,
                body,
                f"{name(body)} was identified {_WHEN[made.stage]} by {len(enrolled)} of the"
                f" {needed} enrolled persons needed",
            )


@finding("similar-name", "HTA traceability standard T1(d): same or similar names are flagged")
def similar_name(look: Look) -> Iterator[Found]:
    """Another decedent in care has the same or a similar name."""
    body = present(look)
    if body is None:
        return
    for neighbour in look.neighbours:
        how = "the same name as" if neighbour.percent == 100 else "a name like that of"  # noqa: PLR2004
        yield look.found(
            f"{name(body)} has {how} the decedent of case {neighbour.case}",
            f"read a unique identifier from the tag of {body.id} at every move (identified)",
            body,
            cases=(neighbour.case,),
        )


@finding("person-unknown", "NV 451.665; MT 37-19-704: unidentified remains are refused")
def person_unknown(look: Look) -> Iterator[Found]:
    """The remains came as unidentified, and no sound identification by name was recorded."""
    body = present(look)
    if not (body and look.case.unidentified):
        return
    least = look.policy.identifiers.least
    named = (i for i in look.case.identifications if i.agree and "name" in valid(look, i))
    if not any(len(valid(look, i)) >= least for i in named):
        yield look.found(
            f"{name(body)} came as unidentified, and nobody has said who it is",
            f"identify {body.id} by name, on the authority's word (identified --identifier"
            " what=name)",
            body,
            shown_by=(look.case.opened,),
        )
