from __future__ import annotations

from tests.care.history import CASE, World

from . import bag, part, raises, spares, viscera

BODY, COFFIN, THIRD, FOURTH, FIFTH = (f"{CASE}.{n}" for n in range(1, 6))
TUB = {"what": "container", "form": "tub", "description": "tub"}


def come(w: World, **opened: object) -> None:
    """Viscera in a bag in the body, and a clean bag and a tub beside it."""
    inside = bag(within="#1", inferred=True)
    w.arrive(
        inside,
        viscera(within="#3", inferred=True),
        bag(empty=True),
        {**TUB, "empty": True},
        **opened,
    )


def take_out(w: World) -> None:
    w.do("opened", thing=BODY, reason="to treat")
    w.do("taken-out", things=[THIRD], place="table")
    w.do("opened", thing=THIRD, reason="to treat")
    w.do("taken-out", things=[FOURTH], place="table")


def step(w: World, name: str, thing: str = FOURTH, **how: object) -> None:
    w.do("cared-for", thing=thing, step=name, **how)


def treat(w: World, minutes: int = 240) -> None:
    step(w, "immersed", formaldehyde_tenths=40)
    w.pass_time(minutes=minutes - 1)
    step(w, "drained")


def pack_and_close(w: World) -> None:
    w.label(FOURTH, "biohazard", "formaldehyde-1")
    w.do("put-in", things=[FOURTH], into=FIFTH, scanned=True)
    w.do("sealed", thing=FIFTH, seal="S2")
    w.do("put-in", things=[FIFTH], into=BODY, scanned=True)
    step(w, "sutured", BODY)
    w.ready()


@raises("care-due", "never-looked-into", "never-looked-into")
def sending_abroad_asks_for_treating(w: World) -> None:
    come(w, disposition="sending-abroad")
    w.ready()


@raises("care-due", "never-looked-into", "never-looked-into")
def a_changed_disposition_asks_at_once(w: World) -> None:
    come(w)
    w.ready()
    w.do(
        "disposition-changed", disposition="sending-abroad", authority="an order", day="2026-03-02"
    )


@raises("care-due", "leak-not-tended", "never-looked-into", "never-looked-into")
def a_leaking_body_is_to_be_opened(w: World) -> None:
    come(w)
    w.do("inspected", thing=BODY, leak=True)
    w.ready()


@raises("care-due", "not-seen-empty")
def all_but_the_powder(w: World) -> None:
    come(w)
    w.do("inspected", thing=BODY, leak=True)
    take_out(w)
    for name in ("rinsed", "emptied", "dried"):
        step(w, name)
    pack_and_close(w)


@raises("care-due", "not-seen-empty")
def dried_and_powdered_before_they_were_rinsed(w: World) -> None:
    come(w)
    w.do("inspected", thing=BODY, leak=True)
    take_out(w)
    for name in ("dried", "powdered", "rinsed", "emptied"):
        step(w, name)
    pack_and_close(w)


@raises("care-due", "not-seen-empty")
def powdered_before_they_were_dried(w: World) -> None:
    come(w)
    w.do("inspected", thing=BODY, leak=True)
    take_out(w)
    for name in ("rinsed", "emptied", "powdered", "dried"):
        step(w, name)
    pack_and_close(w)


@raises("care-due", "not-seen-empty")
def dried_and_powdered_before_they_were_drained(w: World) -> None:
    come(w, disposition="sending-abroad")
    take_out(w)
    step(w, "emptied")
    step(w, "dried")
    step(w, "powdered")
    treat(w)
    pack_and_close(w)
    w.do("cared-for", thing=BODY, step="embalmed")


@spares("care-due", "not-seen-empty")
def rinsed_dried_powdered_and_packed(w: World) -> None:
    come(w)
    w.do("inspected", thing=BODY, leak=True)
    take_out(w)
    for name in ("rinsed", "emptied", "dried", "powdered"):
        step(w, name)
    pack_and_close(w)


@spares("care-due", "not-seen-empty")
def treated_dried_and_packed_for_abroad(w: World) -> None:
    come(w, disposition="sending-abroad")
    take_out(w)
    step(w, "emptied")
    treat(w)
    step(w, "dried")
    step(w, "powdered")
    step(w, "embalmed", BODY)
    pack_and_close(w)


@spares("care-due", "never-looked-into", "never-looked-into")
def dry_without_odour_and_sutured_is_left_closed(w: World) -> None:
    come(w)
    w.ready()


@raises("still-under-treatment", "left-elsewhere", "not-seen-empty")
def the_viscera_are_in_the_bath_still(w: World) -> None:
    come(w)
    take_out(w)
    w.do("put-in", things=[FOURTH], into=f"{CASE}.6")
    step(w, "immersed", f"{CASE}.6", formaldehyde_tenths=40)
    w.label(FOURTH, "biohazard", "formaldehyde-1")
    step(w, "sutured", BODY)
    w.ready()


@spares("still-under-treatment", "not-seen-empty")
def drained_in_time(w: World) -> None:
    come(w)
    take_out(w)
    treat(w)
    pack_and_close(w)


@raises("treatment-too-short", "not-seen-empty")
def drained_a_minute_too_early(w: World) -> None:
    come(w)
    take_out(w)
    treat(w, 239)
    pack_and_close(w)


@spares("treatment-too-short", "not-seen-empty")
def too_short_at_first_and_long_enough_then(w: World) -> None:
    come(w)
    take_out(w)
    treat(w, 60)
    treat(w)
    pack_and_close(w)


@raises("treatment-too-short", "treatment-too-short", "not-seen-empty")
def a_piece_keeps_what_was_done_on_the_whole(w: World) -> None:
    come(w)
    take_out(w)
    treat(w, 60)
    pieces = [
        {"what": "viscera", "description": f"piece {n}", "place": "table"} for n in ("a", "b")
    ]
    w.do("separated", thing=FOURTH, into=pieces, entirely=True)
    for number in (7, 8):
        w.label(f"{CASE}.{number}", "biohazard", "formaldehyde-1")
        w.do("put-in", things=[f"{CASE}.{number}"], into=FIFTH, scanned=True)
    w.do("sealed", thing=FIFTH)
    step(w, "sutured", BODY)
    w.ready(FIFTH)


@raises("treatment-too-short")
def a_hand_counts_too(w: World) -> None:
    w.arrive(part(), bag())
    step(w, "immersed", THIRD, formaldehyde_tenths=40)
    step(w, "drained", THIRD)
    w.label(THIRD, "biohazard", "formaldehyde-1")
    w.do("put-in", things=[THIRD], into=FOURTH, scanned=True)
    w.do("sealed", thing=FOURTH)
    w.ready(FOURTH)
