"""What a body chart says: for each region a shade and words, of what the order asks or of one fact."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import pairwise
from math import floor, log10

from attrs import frozen

from coatrules.catalogue.amounts import share_as_told
from coatrules.catalogue.message import message
from coatrules.catalogue.speaking import say
from coatrules.formats.resources import fact_unit, schema
from coatrules.order.work_order import Step, WorkOrder
from coatrules.problems import InputError, Problem, nearest_fix
from coatrules.report.chart import (
    BLUE,
    DEEP_BLUE,
    GREEN,
    GREY,
    MIDDLE_BLUE,
    ORANGE,
    PALE,
    PALE_BLUE,
    PURPLE,
    SKY,
    VERMILLION,
    WHITE,
    YELLOW,
    Shade,
)
from coatrules.report.rows import what


@frozen
class Shading:
    """A shade and words for every region of the profile, and the shades in the order of the legend."""

    title: str
    regions: Mapping[str, Shade]
    words: Mapping[str, str]

    @property
    def legend(self) -> list[Shade]:
        """The shades in use, each once, in the order in which they were thought up."""
        return sorted(dict.fromkeys(self.regions.values()), key=lambda shade: _ORDER.get(shade, 0))


PULL_LITTLE = Shade(message("shade.pull-little"), PALE_BLUE, "..", BLUE)
PULL_SOME = Shade(message("shade.pull-some"), MIDDLE_BLUE, "//", BLUE)
PULL_MUCH = Shade(message("shade.pull-much"), DEEP_BLUE, "", WHITE)
CARD = Shade(message("shade.card"), GREEN, "--", WHITE)
CUT = Shade(message("shade.cut"), ORANGE, "||")
LATER = Shade(message("shade.later"), YELLOW, "oo", GREY)
ALONE = Shade(message("shade.alone"), WHITE, "", GREY)
HANDS_OFF = Shade(message("shade.hands-off"), VERMILLION, "XX", WHITE)
_ORDER = {
    shade: rank for rank, shade in enumerate((PULL_MUCH, PULL_SOME, PULL_LITTLE, CARD, CUT, LATER, ALONE, HANDS_OFF))
}


def by_order(order: WorkOrder) -> Shading:
    """What the order asks of each region."""
    steps: dict[str, list[Step]] = {}
    for step in order.steps:
        if step.region is not None and step.bout == 1:
            steps.setdefault(step.region, []).append(step)
    shades = {name: _shade_of(order, name, steps.get(name, [])) for name in order.labels}
    words = {
        name: ", ".join(dict.fromkeys(map(what, steps[name]))) if name in steps else shades[name].words
        for name in order.labels
    }
    return Shading(say("picture.asked"), shades, words)


def _shade_of(order: WorkOrder, region: str, steps: list[Step]) -> Shade:
    if not steps and (aside := order.not_worked(region)):
        return {"deferred": LATER, "not_to_be_touched": HANDS_OFF, "left_alone": ALONE}[aside[0]]
    share = max((step.share or 0.0 for step in steps), default=0.0)
    if share:
        as_told = share_as_told(share)  # so the shade says what the line of work does
        return PULL_MUCH if as_told >= 1 / 4 else PULL_SOME if as_told >= 1 / 6 else PULL_LITTLE
    kinds = {step.task for step in steps}
    return CUT if kinds - {"card"} else CARD if kinds else ALONE


# Cividis (Nuñez, Anderton and Renslow, PLoS ONE 13:e0199239, 2018) at 0.95, 0.72, 0.5, 0.27 and 0.05: light to dark in
# grey too, and seen alike with and without colour blindness.
_SCALE = (
    ("#f3db42", "", GREY),
    ("#b4a76f", "..", GREY),
    ("#7d7c78", "//", WHITE),
    ("#48526c", "xx", SKY),
    ("#002b62", "", WHITE),
)
DARK = frozenset(colour for colour, _, ink in _SCALE if ink != GREY)
"""Colours on which a dark line between two regions cannot be seen."""
_KINDS = ((SKY, ""), (ORANGE, "//"), (GREEN, ".."), (PURPLE, "xx"), (YELLOW, "||"), (VERMILLION, "--"), (BLUE, "oo"))
UNKNOWN = Shade(message("fact.not-known"), PALE, "", GREY)


def by_fact(order: WorkOrder, fact: str) -> Shading:
    """One fact in each region; raises ``InputError`` for a fact that no region has."""
    values = {name: facts[fact] for name, facts in order.all_facts.items() if fact in facts}
    if not values:
        fact_names = {name for facts in order.all_facts.values() for name in facts}
        raise InputError([Problem(code="no-such-fact", params={"fact": fact}, fix=nearest_fix(fact, fact_names))])
    catalogue = schema("facts")["properties"].get(fact, {})
    unit = fact_unit(fact) or ""
    numbers = {name: float(value) for name, value in values.items() if isinstance(value, int | float)}
    numbers = {name: value for name, value in numbers.items() if not isinstance(values[name], bool)}
    if len(numbers) == len(values):
        bands = _bands(list(numbers.values()), unit)
        shades = {name: next(shade for top, shade in bands if value <= top) for name, value in numbers.items()}
        rank_of = {shade.words: rank for rank, (_, shade) in enumerate(bands)}
    else:
        listed = [fact_words(value, unit) for value in catalogue.get("enum", ())]
        in_use = {fact_words(value, unit) for value in values.values()}
        legend_words = [*(words for words in listed if words in in_use), *sorted(in_use - set(listed))]
        kinds = {words: Shade(words, *_KINDS[rank % len(_KINDS)]) for rank, words in enumerate(legend_words)}
        shades = {name: kinds[fact_words(value, unit)] for name, value in values.items()}
        rank_of = {words: rank for rank, words in enumerate(legend_words)}
    regions = {name: shades.get(name, UNKNOWN) for name in order.labels}
    ordered = sorted(regions, key=lambda name: rank_of.get(regions[name].words, len(rank_of)))
    words = {name: fact_words(values[name], unit) if name in values else UNKNOWN.words for name in order.labels}
    return Shading(
        say.own(catalogue.get("title", fact.replace("_", " "))), {name: regions[name] for name in ordered}, words
    )


def fact_words(value: object, unit: str) -> str:
    """A fact's value with its unit, as people say it."""
    match value:
        case bool():
            return say("fact.yes" if value else "fact.no")
        case int() | float() if unit == "share":
            return say("fact.share", percent=round(value * 100))
        case int() | float():
            number = say.amount("number", round(float(value), 1))
            counted = unit in ("mm", "weeks", "minutes")
            return say(f"fact.{unit}", number=number, value=round(float(value), 1)) if counted else number
        case list() | tuple():
            return ", ".join(map(str, value)) or say("fact.none")
    return say.own(str(value).replace("-", " "))


def _bands(values: list[float], unit: str) -> list[tuple[float, Shade]]:
    """At most five bands of one width that hold all values, each with its top and its shade."""
    low, high = (0.0, 1.0) if unit == "share" else (min(values), max(values))
    counted = unit not in ("share", "mm", "weeks", "minutes") and all(value == int(value) for value in values)
    step = 0.2 if unit == "share" else _round_step(max((high - low) / 4, 1.0 if counted or high == low else 0.0))
    first = floor(low / step + 1e-9)
    tops = [step * (first + number + 1) for number in range(5)]
    bottoms = [step * first, *tops]
    words = [say("fact.band", low=fact_words(a, unit), high=fact_words(b, unit)) for a, b in pairwise(bottoms)]
    if counted and step == 1:
        tops = [step * (first + number) for number in range(5)]
        words = [fact_words(int(top), unit) for top in tops]
    scale = [Shade(band_words, *look) for band_words, look in zip(words, _SCALE, strict=True)]
    return [(top + 1e-9, shade) for top, shade in zip(tops, scale, strict=True)]


def _round_step(raw: float) -> float:
    """The least of 1, 2, 5 times a power of ten that is not below ``raw``."""
    power: float = 10.0 ** floor(log10(raw))
    return next(step * power for step in (1, 2, 5, 10) if step * power >= raw * (1 - 1e-9))
