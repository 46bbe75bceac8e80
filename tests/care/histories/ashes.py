from __future__ import annotations

from tests.care.history import CASE, World

from . import part, raises, spares

BODY, COFFIN, THIRD, FOURTH = (f"{CASE}.{n}" for n in range(1, 5))
SIGNED = {"authority": "a wish", "identity_checked": True, "signed": True}
ASHES = {"what": "ashes", "description": "the ashes"}


def cremated(w: World) -> None:
    w.arrive(disposition="cremation")
    w.do("inspected", thing=BODY, implants="none")
    w.ready()
    w.close()
    w.buried(manner="cremation")


def come(w: World, *items: dict[str, object], agrees: bool | None = True) -> None:
    w.do(
        "ashes-received",
        giver="crematory",
        place="store",
        items=list(items or (ASHES,)),
        disc_agrees=agrees,
    )


def release(w: World, *things: str) -> None:
    w.do("released", things=list(things), relation="daughter", **SIGNED)


@raises("ashes-awaited")
def cremated_and_no_ashes(w: World) -> None:
    cremated(w)


@spares("ashes-awaited")
def the_ashes_came_and_were_fetched(w: World) -> None:
    cremated(w)
    come(w)
    release(w, THIRD)


@spares("ashes-awaited")
def a_burial_leaves_no_ashes(w: World) -> None:
    w.arrive()
    w.ready()
    w.close()
    w.buried()


@raises("ashes-without-cremation", "ashes-here")
def ashes_came_while_the_body_lay_here_and_a_director_said_how(w: World) -> None:
    w.arrive()
    w.ready()
    fields = {"giver": "crematory", "place": "store", "items": [ASHES], "disc_agrees": True}
    number = w.do("ashes-received", found=True, **fields).number
    w.do("irregularity-resolved", irregularity=number, resolution="they were expected")


@spares("ashes-without-cremation", "ashes-here")
def the_ashes_of_a_cremated_decedent_came(w: World) -> None:
    cremated(w)
    come(w)


@spares("ashes-without-cremation", "ashes-here", "went-apart")
def the_ashes_of_a_hand_came_first(w: World) -> None:
    w.arrive(part())
    w.do("disposed", things=[THIRD], manner="cremation", where="a crematory", authority="a wish")
    w.ready()
    fields = {"giver": "crematory", "place": "store", "items": [ASHES], "disc_agrees": True}
    number = w.do("ashes-received", found=True, **fields).number
    w.do("irregularity-resolved", irregularity=number, resolution="the hand was cremated alone")


@raises("disc-differs", "ashes-here")
def the_disc_is_another_persons(w: World) -> None:
    cremated(w)
    come(w, agrees=False)


@spares("disc-differs", "ashes-here")
def a_director_settled_the_disc(w: World) -> None:
    the_disc_is_another_persons(w)
    raised = w.do("irregularity-raised", things=[THIRD], what="whose?", about=["disc-differs"])
    w.do("irregularity-resolved", irregularity=raised.number, resolution="a worn figure")


@raises("disc-not-read", "ashes-here")
def nobody_read_the_disc(w: World) -> None:
    cremated(w)
    come(w, agrees=None)


@raises("disc-not-read")
def nobody_read_the_disc_and_the_ashes_are_gone(w: World) -> None:
    cremated(w)
    come(w, agrees=None)
    release(w, THIRD)


@spares("disc-not-read", "ashes-here", "ashes-here")
def portions_have_no_disc_of_their_own(w: World) -> None:
    cremated(w)
    come(w)
    consent(w)
    divide(w)


@raises("ashes-here")
def the_ashes_stand_in_the_store(w: World) -> None:
    cremated(w)
    come(w)


@raises("ashes-here")
def the_ashes_stand_in_an_urn(w: World) -> None:
    cremated(w)
    come(w, {"what": "container", "form": "urn", "description": "urn"}, ASHES)
    w.do("put-in", things=[FOURTH], into=THIRD)


@spares("ashes-here")
def the_ashes_were_buried(w: World) -> None:
    cremated(w)
    come(w)
    w.do("disposed", things=[THIRD], manner="burial", where="a cemetery", authority="an order")


def consent(w: World) -> None:
    w.do("instructed", things=[THIRD], wish="release", relation="daughter")


def divide(w: World) -> None:
    into = [{"what": "ashes", "description": f"half {n}", "place": "store"} for n in "ab"]
    w.do("separated", thing=THIRD, into=into, entirely=True)


@raises("ashes-divided", "ashes-here")
def divided_without_consent(w: World) -> None:
    cremated(w)
    come(w)
    divide(w)
    release(w, FOURTH)


@spares("ashes-divided")
def divided_with_consent_and_each_half_fetched(w: World) -> None:
    cremated(w)
    come(w)
    consent(w)
    divide(w)
    release(w, FOURTH, f"{CASE}.5")


@raises("went-apart")
def the_ashes_were_disposed_of_and_nobody_wished_it(w: World) -> None:
    cremated(w)
    come(w)
    how = {"where": "a tip", "authority": "an order", "method": "scattered"}
    w.do("disposed", things=[THIRD], manner="lawful-disposal", **how)


@spares("went-apart")
def ashes_that_were_buried(w: World) -> None:
    cremated(w)
    come(w)
    w.do("disposed", things=[THIRD], manner="burial", where="a cemetery", authority="an order")


@raises("ashes-without-cremation", "ashes-here", "irregularity-open")
def ashes_came_of_a_decedent_who_was_buried(w: World) -> None:
    w.arrive()
    w.ready()
    w.close()
    w.buried()
    fields = {"giver": "crematory", "place": "store", "items": [ASHES], "disc_agrees": True}
    w.do("ashes-received", found=True, **fields)


@raises("disc-not-read", "ashes-here", "ashes-without-cremation")
def nobody_read_the_disc_of_ashes_that_came_from_another_firm(w: World) -> None:
    w.arrive()
    w.do("received", giver="clinic", place="store", items=[ASHES])
    w.ready()
