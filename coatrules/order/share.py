"""How much of a region's coat is taken today, and why: the only place where a share is decided."""

from __future__ import annotations

from datetime import date
from typing import NamedTuple

from coatrules.coat.measures import cover_limit, mass_longer
from coatrules.coat.queue import WHOLE, mass_of
from coatrules.coat.ripening import HORIZON_DAYS, days_until_ripe
from coatrules.dog.safety import PUPPY_MINUTES, STOP_SHARE
from coatrules.dog.strippable import NEARLY_ALL, RIPE_FROM
from coatrules.order.facts import number
from coatrules.order.pulled_lately import counts_for
from coatrules.order.reasons import Reason
from coatrules.order.region_today import RegionToday
from coatrules.profile.model import LayerTarget

LEAST_SHARE = 0.03
"""Below this a pull is not worth the dog's time (DEVELOPERS.md, "How much")."""
HALF_RIPE = 0.5
"""Ripe share of the coat from which nearly everything comes well."""
SOFT_CLIPS = 2
"""Clips not yet stripped out from which a coat is soft: three or four kill the wire (growth.csv, E097)."""
SOFT_SHARE = 0.4
"""The most that is asked of a soft coat that is stripped whole, and of ripe hair only, until a hand has felt that it comes: three
visits take the clipped hair out (common practice, no source)."""


class Share(NamedTuple):
    """How much is taken (parts per million), why, and which rules contradict each other."""

    mass: int
    because: list[Reason]
    conflicts: tuple[Reason, ...]


def asks_nearly_all(target: LayerTarget, mass: int) -> bool:
    """Whether so much is an ask of nearly everything, with which growing hair would be stripped."""
    return mass >= NEARLY_ALL * WHOLE or (target.full_strip and mass >= max(mass_of(target.take.usual), 1))


def of_growing_hair(target: LayerTarget, mass: int) -> int:
    """What is left of an ask of nearly everything where too little of the coat is ripe."""
    usual = mass_of(target.take.usual)
    return min(mass, usual) if usual < NEARLY_ALL * WHOLE else 0


def waits_for_ripeness(target: LayerTarget, mass: int) -> bool:
    """Whether nothing at all is asked of growing hair where so much would be of ripe hair."""
    return asks_nearly_all(target, mass) and not of_growing_hair(target, mass)


def share(today: RegionToday, target: LayerTarget) -> Share:
    """Returns how much of a region to take (DEVELOPERS.md, "How much")."""
    coat, growth = today.own.coat, today.own.growth
    mass = mass_of(target.take.usual)
    because = [because_share("coat.usual", mass)]

    first = _first_coat(today)
    if first:
        mass = first
        because = [because_share("coat.first-coat", mass)]
    # What was pulled lately counts towards all that one visit may take; of a puppy coat whatever is left comes out.
    lately = 0 if first else today.lately.mass
    on = today.lately.judged if lately else today.day  # what a coat asks for and bears is that of the day of the visit

    longest = target.longest_mm[1] if target.longest_mm is not None else float("inf")
    overgrown = mass_longer(coat, growth, today.pace, on, longest)
    if overgrown and overgrown + lately > mass:
        mass = overgrown + lately
        because.append(because_share("coat.overgrown", overgrown))

    floors = [effect.take.at_least for effect, _ in today.acting if effect.take.at_least is not None]
    caps = [effect.take.at_most for effect, _ in today.acting if effect.take.at_most is not None]
    if today.own.last_reaction == "stop":
        caps.append(STOP_SHARE)
    usual_most = 1.0 if first else target.take.at_most  # a share of the coat that rolls, not of the one before it
    floor, cap = mass_of(max(floors, default=0.0)), mass_of(min([*caps, usual_most]))
    conflict: tuple[Reason, ...] = ()
    if floor > cap:
        conflict = (Reason(rule="coat.conflict", facts={"at_least": floor / WHOLE, "at_most": cap / WHOLE}),)
    if floor > mass:
        mass = floor
        because.extend(
            [
                because_share("coat.floor", mass),
                *today.because_of(lambda e: e.take.at_least is not None and mass_of(e.take.at_least) == floor),
            ]
        )
    if cap < mass:
        mass = cap
        because.extend(
            [
                because_share("coat.cap", mass),
                *today.because_of(lambda e: e.take.at_most is not None and mass_of(e.take.at_most) == cap),
            ]
        )

    # A puppy coat comes out whole: what follows has not come through yet.
    if target.cover is not None and not target.full_strip and not first:
        limit = lately + cover_limit(coat, growth, today.pace, on, target.cover.at_least)
        if today.own.seen is not None and today.own.seen.see_through:
            limit = lately
            because.append(Reason(rule="coat.seen-through"))
        low = mass_of(target.take.low_spot)
        if mass > max(limit, low):
            mass = max(limit, low)
            because.append(because_share("coat.cover" if limit > low else "coat.low-spot", mass))

    if not first:  # a puppy coat is at rest as a whole
        mass = _ripe_enough(today, target, mass, because)
    held = None if asks_nearly_all(target, mass) else today.held_since
    if lately:
        mass = max(mass - lately, 0)
        day = date.fromordinal(today.lately.day)
        because.append(Reason(rule="coat.pulled-lately", facts={"share": lately / WHOLE, "day": day}))
    if held is not None and mass:
        mass = round(mass * (1 - counts_for(today.compiled, today.day - held)))
        because.append(Reason(rule="coat.held-lately", facts={"day": date.fromordinal(held)}))
    ready = round(number(today.facts["ready_share"]) * WHOLE)
    if mass > ready:
        mass = ready
        if mass:
            because.append(because_share("coat.not-ready", mass))
    return Share(mass, because, conflict)


def _first_coat(today: RegionToday) -> int:
    """Returns how much of the coat the puppy was born with comes out today: all of it, as far as the time reaches.

    What is left of it on calm parts when the puppy is grown comes out so too; elsewhere it goes as any other coat.
    """
    oldest, due, age = today.own.coat.cohorts[0], today.compiled.first_coat_weeks, today.facts.get("age_weeks")
    if oldest.day != today.born or due is None or age is None or number(age) < due or not today.is_calm:
        return 0
    minutes = today.region.region.minutes.get("pull", 0.0) / today.speed
    there_is = number(today.facts["minutes"])
    if today.stage == "first-coat":
        there_is = min(there_is, PUPPY_MINUTES)
    fits = WHOLE if minutes <= there_is else int(WHOLE * there_is / minutes)
    return min(oldest.mass, fits)


def _ripe_enough(today: RegionToday, target: LayerTarget, mass: int, because: list[Reason]) -> int:
    """Returns how much of an ask of nearly everything remains: hair that still grows is not stripped with it.

    What the hand felt today outranks the computed share. A rolled coat never waits: its usual share is asked whatever.
    """
    comes = today.facts.get("comes")
    if not asks_nearly_all(target, mass):
        if comes == "holds" and mass:
            because.append(Reason(rule="coat.holds"))
        return mass
    if comes == "easily":
        return mass
    fallback = of_growing_hair(target, mass)
    ripe = number(today.facts["ripe_share"]) + today.lately.mass / WHOLE
    if comes == "holds":
        because.append(Reason(rule="coat.holds-all"))
        return fallback
    if today.own.clips >= SOFT_CLIPS:
        because.append(Reason(rule="coat.soft", facts={"clips": today.own.clips, "share": SOFT_SHARE}))
        return fallback or min(mass, mass_of(SOFT_SHARE), mass_of(ripe))
    if ripe < RIPE_FROM and comes != "mixed":
        code = "coat.unripe-usual" if fallback else "coat.unripe"
        because.append(_unripe(today, code, round(RIPE_FROM * WHOLE)))
        return fallback
    if ripe < HALF_RIPE:
        because.append(_unripe(today, "coat.better-later", round(HALF_RIPE * WHOLE)))
    return mass


def _unripe(today: RegionToday, rule: str, mass: int) -> Reason:
    """Returns the reason that names the first day on which so much is ripe."""
    own = today.own
    days = days_until_ripe(own.coat.cohorts, own.growth, today.pace, today.day, mass)
    day = date.fromordinal(today.day + (HORIZON_DAYS if days is None else days))
    return Reason(rule=rule, facts={"ripe_share": today.facts["ripe_share"], "day": day})


def because_share(rule: str, mass: int) -> Reason:
    """Returns a reason that names a share."""
    return Reason(rule=rule, facts={"share": mass / WHOLE})
