"""When an order is daring: a second statement of what hands and tools keep to on every dog, written apart from the floor in the code.

An order is more daring than another by every way in which it passes these bounds: where it works, how much it takes, for how
long, with what, and on what hair. Nothing here is imported from what it checks. Where no source is named it is common practice,
no source; the places that are only cut and how tender a place is follow the guides that ``points-of-the-dog`` names for each.
What a profile merely wants (shares, lengths, cover, which parts a breed clips for its look) is no bound: two breeds may differ.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import date, timedelta
from itertools import pairwise
from typing import Any

from coatrules import WorkOrder

ONLY_CUT = frozenset(
    {
        *("perineum", "genitals", "armpits", "groin", "front-pads", "hind-pads"),
        *("ears-inside", "eyelid-rims", "lip-edges"),
    }
)
TENDER: Mapping[str, tuple[str, float, float]] = {
    "throat": ("high", 2, 5),
    "ears-outside ears-inside": ("medium", 3, 5),
    "stop muzzle brows cheeks moustache beard": ("medium", 3, 5),
    "forechest": ("medium", 3, 4),
    "buttocks tail-under": ("high", 2, 5),
    "belly flanks": ("high", 2, 5),
    "front-toes hind-toes": ("high", 2, 5),
    "front-pads hind-pads": ("medium", 3, 3),
    "armpits groin": ("high", 2, 3),
    "genitals perineum": ("high", 2, 3),
    "eyelid-rims lip-edges": ("high", 2, 3),
}
"""Places that feel more than others: how much, minutes of work in a row at most, and of rest before they are touched again."""
FINGERS_ONLY = frozenset(
    ("stop", "muzzle", "brows", "cheeks", "moustache", "beard", "front-toes", "hind-toes"),
)
HARD = ("knife", "stone", "rake")
HANDLED_ONLY = frozenset(("skull", "forefeet", "hindfeet"))
CHAINS = (
    "neck-top withers back loin croup tail-top tail-under perineum genitals groin belly brisket forechest throat beard",
    "neck-sides shoulders ribs flanks thighs lower-thighs hocks hindfeet hind-toes hind-pads",
    "shoulders upper-arms forearms front-pasterns forefeet front-toes front-pads",
    "neck-top skull stop muzzle moustache lip-edges",
    "skull ears-outside ears-inside",
    "ears-outside cheeks beard lip-edges",
    "stop brows eyelid-rims",
    "loin flanks belly",
    "back ribs brisket",
    "croup thighs buttocks perineum",
    "upper-arms armpits brisket",
)
"""Ways over the dog on which each point lies beside the next."""
PUPPY_WEEKS, NO_PUPPY_COAT_BEFORE_WEEKS, PUPPY_MINUTES = 26, 13, 10
"""Norfolk terrier coat care, 2000 (minutes); Miniature Schnauzer rolling guide and a Smoushond club (13 weeks), as in the profiles."""
FIRST_VISIT_MINUTES, DAY_MINUTES = 15, 180
STOP_RESTS_DAYS, STOP_SHARE = 21, 0.1
NEARLY_ALL, LEAST_RIPE = 0.6, 0.1
NO_HAND_WORK = frozenset(("bruises-easily", "in-whelp", "long-medication", "nursing"))
NO_WORK = frozenset(("parasites", "recent-surgery", "unwell"))
TINY = 1e-6

Told = Sequence[Mapping[str, Any]]
"""What is told of a dog, oldest first: visits as plain data, but ``ago`` (days) in the place of the day."""


def beside(name: str) -> set[str]:
    """The points that lie beside one for certain."""
    pairs = [pair for chain in CHAINS for pair in pairwise(chain.split())]
    return {b if a == name else a for a, b in pairs if name in (a, b)}


def breaches(
    order: WorkOrder, told: Told, names: Mapping[str, tuple[str, ...]], weeks: float | None, minutes: float | None
) -> Iterator[str]:
    """Yields every way in which an order is daring. ``names``: the regions that each name in ``told`` stands for; ``weeks``: the
    dog's age; ``minutes``: there are."""
    day = order.date
    by_hand = {step.region for step in order.steps if step.task in ("pull", "card")} - {None}
    touched = {step.region for step in order.steps} - {None}
    share = {step.region: step.share for step in order.steps if step.share is not None}
    for name in by_hand & ONLY_CUT:
        yield f"{name}: worked by hand where hair is only cut"
    skin, said, health = _last_word(told, names)
    for name in (name for name, seen in skin.items() if seen == "unsound"):
        if name in touched:
            yield f"{name}: worked on unsound skin"
        yield from (f"{other}: worked by hand beside {name}" for other in by_hand & beside(name))
    for name, (ago, reaction) in said.items():
        if reaction == "stop" and name in touched:
            if ago < STOP_RESTS_DAYS:
                yield f"{name}: worked before its rest was over"
            elif share.get(name, 0.0) > STOP_SHARE + TINY and not _worked_since(
                told, names, name, ago - STOP_RESTS_DAYS
            ):
                yield f"{name}: {share[name]} of it pulled after a stop"
    if (touched and health & NO_WORK) or (by_hand and health & NO_HAND_WORK):
        yield f"worked in spite of {sorted(health)}"
    yield from _of_time(order, told, weeks, minutes)
    yield from _of_tools(order)
    yield from _of_bouts(order)
    yield from _of_hair(order, told, names, share, day, weeks)
    if weeks is not None and weeks < PUPPY_WEEKS:
        tender = {name for names in TENDER for name in names.split()} | HANDLED_ONLY
        yield from (f"{name}: touched on a puppy" for name in touched & tender)
        if weeks < NO_PUPPY_COAT_BEFORE_WEEKS and share:
            yield "a puppy's coat is pulled before any comes out"


def _last_word(
    told: Told, names: Mapping[str, tuple[str, ...]]
) -> tuple[dict[str, str], dict[str, tuple[int, str]], set[str]]:
    """What was last said of each region's skin and last borne there, and what holds of the dog's health."""
    skin: dict[str, str] = {}
    said: dict[str, tuple[int, str]] = {}
    health: set[str] = set()
    for visit in told:
        for key in _largest_first(visit.get("seen", {}), names):
            skin |= (
                dict.fromkeys(names[key], visit["seen"][key].get("skin") or "") if "skin" in visit["seen"][key] else {}
            )
        for key in _largest_first(visit.get("reactions", {}), names):
            said |= dict.fromkeys(names[key], (visit["ago"], visit["reactions"][key]))
        health = set(visit.get("health", health))
    return skin, said, health


def _largest_first(keys: Mapping[str, Any], names: Mapping[str, tuple[str, ...]]) -> list[str]:
    return sorted(keys, key=lambda key: -len(names[key]))


def _worked_since(told: Told, names: Mapping[str, tuple[str, ...]], name: str, ago: int) -> bool:
    """Whether hand work is on record there since so many days ago: then the place was borne again, as nobody said otherwise."""
    works = [
        done
        for visit in told
        if visit["ago"] <= ago
        for part, done in visit.get("work", {}).items()
        if name in names[part]
    ]
    return any(done.get("pull") or done.get("card") for done in works)


def _of_time(order: WorkOrder, told: Told, weeks: float | None, minutes: float | None) -> Iterator[str]:
    spent = sum(visit.get("minutes", 0.0) for visit in told if visit["ago"] == 0)
    most = PUPPY_MINUTES if weeks is not None and weeks < PUPPY_WEEKS else DAY_MINUTES
    on_the_table = sum(step.minutes for step in order.steps)
    if on_the_table > max(0.0, most - spent) + TINY:
        yield f"{on_the_table} minutes on the table, {spent} before them"
    if minutes is not None and on_the_table > minutes:
        yield f"{on_the_table} minutes where there are {minutes}"
    first = not any(visit["ago"] for visit in told)
    if first and minutes is not None and minutes <= FIRST_VISIT_MINUTES and any(step.share for step in order.steps):
        yield "pulled at a short first visit"


def _of_tools(order: WorkOrder) -> Iterator[str]:
    for step in order.steps:
        if step.task == "pull" and step.region in FINGERS_ONLY and any(word in step.tools for word in HARD):
            yield f"{step.region}: pulled with {step.tools}"
        if step.task == "clip" and step.region in ("eyelid-rims", "lip-edges") and "scissors" not in step.tools:
            yield f"{step.region}: cut with {step.tools or 'anything'}"


def _of_bouts(order: WorkOrder) -> Iterator[str]:
    """A tender place is worked for no longer than it bears, and rests before it is touched again."""
    for places, (_, bout, rest) in TENDER.items():
        row, since = 0.0, rest
        for step in order.steps:
            if step.region not in places.split():
                row, since = 0.0, since + step.minutes
                continue
            if not row and since < rest - TINY:
                yield f"{step.region}: rested {since} minutes of {rest}"
            row, since = row + step.minutes, 0.0
            if row > bout + TINY:
                yield f"{step.region}: {row} minutes in a row"


def _of_hair(
    order: WorkOrder,
    told: Told,
    names: Mapping[str, tuple[str, ...]],
    share: Mapping[str | None, float],
    day: date,
    weeks: float | None,
) -> Iterator[str]:
    for name, hair in order.hair.items():
        if weeks is not None and min(pulled for _, pulled in hair) < day - timedelta(weeks=weeks):
            yield f"{name}: hair older than the dog"
        taken = share.get(name, 0.0)
        if taken > sum(mass for mass, _ in hair) + TINY:
            yield f"{name}: more than there is"
        felt = [
            visit
            for visit in told
            if not visit["ago"]
            for part, seen in visit.get("seen", {}).items()
            if "comes" in seen
        ]
        puppy_coat = weeks is not None and weeks < 2 * PUPPY_WEEKS and len(hair) == 1
        if taken >= NEARLY_ALL and sum(order.ripe[name]) < LEAST_RIPE - TINY and not felt and not puppy_coat:
            yield f"{name}: {taken} pulled of a coat that grows"
