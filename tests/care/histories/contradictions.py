from __future__ import annotations

from tests.care.history import CASE, World, identifiers

from . import bag, device, effect, part, raises, spares
from .retained import something_was_kept

BODY, COFFIN, THIRD = (f"{CASE}.{n}" for n in range(1, 4))


@raises("retention-restated")
def something_was_kept_and_then_nothing(w: World) -> None:
    something_was_kept(w)
    w.do("retention-stated", kept="none", according_to="a letter")


@spares("retention-restated", "retained-not-listed")
def nothing_was_kept_and_then_something(w: World) -> None:
    something_was_kept_and_then_nothing(w)
    w.do("retention-stated", kept="some", according_to="a second letter")


def looks(w: World, **seen: object) -> None:
    w.do("inspected", thing=BODY, **seen)


@raises("seen-otherwise")
def it_leaked_and_then_it_did_not(w: World) -> None:
    w.arrive()
    looks(w, leak=True)
    looks(w, leak=False)
    w.ready()


@raises("seen-otherwise")
def it_leaked_and_was_dressed_and_then_it_did_not(w: World) -> None:
    w.arrive()
    looks(w, leak=True)
    w.do("cared-for", thing=BODY, step="dressed")
    looks(w, leak=False)
    w.ready()


@raises("seen-otherwise", "seen-otherwise", "seen-otherwise")
def it_smelled_and_gaped_and_was_wet_and_then_it_was_not(w: World) -> None:
    w.arrive()
    looks(w, odour=True, suture="gaping", dry=False)
    looks(w, odour=False, suture="sound", dry=True)
    w.ready()


@spares("seen-otherwise")
def it_leaked_and_was_washed_and_then_it_did_not(w: World) -> None:
    w.arrive()
    looks(w, leak=True)
    w.do("cared-for", thing=BODY, step="washed")
    looks(w, leak=False)
    w.ready()


@spares("seen-otherwise")
def it_gaped_and_was_sutured_and_then_it_did_not(w: World) -> None:
    w.arrive()
    looks(w, suture="gaping")
    w.do("cared-for", thing=BODY, step="sutured")
    looks(w, suture="sound")
    w.ready()


@spares("seen-otherwise", "leak-not-tended")
def it_leaks_still(w: World) -> None:
    w.arrive()
    looks(w, leak=True)
    looks(w, leak=True)
    w.ready()


@raises("identified-otherwise", "irregularity-open")
def they_did_not_agree_and_then_they_did(w: World) -> None:
    w.arrive()
    w.lay_in()
    w.identify("other", agree=False)
    w.sight_for_closing()


@spares("identified-otherwise", "identifiers-disagree", "irregularity-open")
def they_agreed_and_then_they_did_not(w: World) -> None:
    w.arrive()
    w.ready()
    w.identify("closing", agree=False)


def wishes(w: World, *wishes: str) -> None:
    w.arrive(effect(intention="goes-along"))
    for wish in wishes:
        w.do("instructed", things=[THIRD], wish=wish, relation="son")
    w.ready(THIRD)


@raises("wish-changed")
def it_was_to_be_released_and_then_to_be_worn(w: World) -> None:
    wishes(w, "release", "worn")


@spares("wish-changed")
def it_was_to_be_worn_and_that_was_said_again(w: World) -> None:
    wishes(w, "worn", "worn")


@raises("wish-changed", "return-later")
def it_was_to_come_back_before_the_funeral_and_then_later(w: World) -> None:
    w.arrive(effect())
    w.do("handed-over", things=[THIRD], taker="lab", authority="an order", accepted=True)
    for wish, who in (("return-before-the-funeral", "son"), ("return-later", "daughter")):
        w.do("instructed", things=[THIRD], wish=wish, relation=who)
    w.ready()


@raises("seen-otherwise")
def it_leaked_and_a_device_was_removed_and_then_it_did_not(w: World) -> None:
    w.arrive(device(within="#1"))
    looks(w, leak=True)
    w.do("cared-for", thing=BODY, step="device-removed", removed=THIRD, place="table")
    looks(w, leak=False)
    w.do("cared-for", thing=BODY, step="sutured")
    w.ready(THIRD)


@spares("seen-otherwise")
def its_seal_was_broken_and_it_was_sealed_anew(w: World) -> None:
    w.arrive(bag(empty=True))
    w.do("sealed", thing=THIRD, seal="S1")
    w.do("inspected", thing=THIRD, seal="broken")
    w.do("opened", thing=THIRD, reason="to look")
    w.do("sealed", thing=THIRD, seal="S2")
    w.do("inspected", thing=THIRD, seal="intact")
    w.ready()


@spares("identified-otherwise", "irregularity-open")
def the_tag_of_a_hand_did_not_agree_and_the_bodys_did(w: World) -> None:
    w.arrive(part())
    w.label(THIRD, "biohazard")
    read = identifiers("name")
    w.do("identified", thing=THIRD, agree=False, identifiers=read)
    w.ready(THIRD)


@spares("identified-otherwise", "irregularity-open", "no-decedent", "left-elsewhere")
def the_tag_of_a_hand_did_not_agree_and_no_body_came(w: World) -> None:
    w.do("case-opened", disposition="burial", release_authority="release 7")
    w.do("received", giver="coroner", place="store", items=[part()])
    w.label(BODY, "biohazard")
    w.do("identified", thing=BODY, agree=False, identifiers=identifiers("name"))


@raises("identified-otherwise", "identified-otherwise", "irregularity-open", "irregularity-open")
def they_did_not_agree_twice_and_then_they_did(w: World) -> None:
    w.arrive()
    w.lay_in()
    w.identify("other", agree=False)
    w.identify("other", agree=False)
    w.sight_for_closing()
