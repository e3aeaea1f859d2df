"""An explanation for a terminal: what was decided in one region, which rules held, which did not, and what stopped them."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from textwrap import wrap

from coatrules.catalogue.english.amounts import date_words, day_words, weeks_words
from coatrules.conditions.condition import Miss
from coatrules.learning.observations import AtLeast, Came, Felt, Layers, Length, Observation
from coatrules.order.explanation import Explanation, RuleTrace
from coatrules.order.work_order import WorkOrder
from coatrules.report.rows import texts, what
from coatrules.report.safe_text import plain


def text(explanation: Explanation, width: int = 88) -> str:
    """The whole explanation as plain text."""
    return "\n".join(map(plain, _lines(explanation, width))).rstrip() + "\n"


def _lines(explanation: Explanation, width: int) -> Iterator[str]:
    order, region = explanation.order, explanation.region
    yield f"{order.dog_name} · {order.labels[region]} · {day_words(order.date)}"
    yield ""
    yield "Decided"
    steps = [step for step in order.steps if step.region == region and step.bout == 1]
    for step in steps:
        yield from _wrapped(f"{what(step)}{f' with {step.how}' if step.how else ''}", width, "  ")
        for reason in texts(step.because):
            yield from _wrapped(reason, width, "    - ")
        if step.priority_parts:
            parts = ", ".join(f"{name.replace('_', ' ')} {value:g}" for name, value in step.priority_parts.items())
            yield f"    priority {step.priority:g}: {parts}"
    for title, aside in (
        ("left alone", order.left_alone),
        ("put off to next time", order.deferred),
        ("not to be touched", order.not_to_be_touched),
    ):
        if region in aside:
            yield f"  {title}"
            for reason in texts(aside[region]):
                yield from _wrapped(reason, width, "    - ")
    yield from _rules("Rules that held", [trace for trace in explanation.rules if trace.fired], width)
    yield from _rules("Rules that did not hold", [trace for trace in explanation.rules if not trace.fired], width)
    if explanation.elsewhere:
        yield ""
        yield from _wrapped(f"Not for this region: {', '.join(explanation.elsewhere)}.", width, "")
    yield ""
    yield "Facts"
    for name, value in order.facts[region].items():
        yield f"  {name:<20} {_value(value)}"
    yield f"  {'hair':<20} " + ", ".join(f"{share:.0%} from {day}" for share, day in order.hair[region])
    yield from _pace(order, region, width)


def _pace(order: WorkOrder, region: str, width: int) -> Iterator[str]:
    """How fast the coat comes and the work goes, and what that was learned from."""
    pace, speed = order.pace, order.speed
    yield ""
    figures = (
        f"Pace {pace.of(region):.2f} ± {pace.sd_of(region):.2f} here, {pace.mean:.2f} ± {pace.sd:.2f} for this dog"
    )
    if not pace.observations:
        yield from _wrapped(f"{figures}; nothing measured yet.", width, "")
    else:
        yield from _wrapped(f"{figures}, learned from", width, "")
        for one in sorted(pace.records, key=lambda one: one.day):
            if one.region == region:
                yield f"  {date_words(date.fromordinal(one.day))}: {_record(one)}"
        regions = {one.region for one in pace.records}
        if elsewhere := sorted(order.labels[name] for name in regions - {region}):
            yield from _wrapped(f"What was seen elsewhere: {', '.join(elsewhere)}.", width, "  ")
    if layer := order.next_layers.get(region):
        first, last = (date_words(day) for day in layer.window)
        yield from _wrapped(
            f"Next layer long enough to grip on {day_words(layer.day)}, 8 times in 10 from {first} to {last}.",
            width,
            "",
        )
    if speed.entries:
        speed_figures = f"{speed.of(region):.2f} here, {speed.mean:.2f} ± {speed.sd:.2f} on this dog"
        yield from _wrapped(
            f"Hands' speed {speed_figures} (1 is the profile's), learned from recorded minutes: {speed.entries}.",
            width,
            "",
        )


def _record(one: Observation) -> str:
    """What one record says of the hair."""
    match one:
        case Length():
            age = "that the dog came with" if one.arrived else f"{weeks_words(one.weeks)} old"
            return f"{one.length_mm:g} mm on hair {age}" + (", at its end" if one.at_end else "")
        case AtLeast():
            return f"{one.length_mm:g} mm or more"
        case Layers():
            return f"{one.layers} layer{'s' if one.layers != 1 else ''} seen"
        case Felt():
            return {"easily": "came easily", "mixed": "came in part", "holds": "held"}[one.comes]
        case Came():
            return f"{one.share:.0%} of what was asked came"


def _rules(title: str, traces: list[RuleTrace], width: int) -> Iterator[str]:
    if not traces:
        return
    yield ""
    yield title
    for trace in traces:
        yield from _wrapped(f"{trace.rule}: {trace.because}", width, "  ")
        for name, value in trace.facts.items() if trace.fired else ():
            yield f"    + {name} is {_value(value)}"
        for miss in trace.misses:
            yield from _wrapped(_miss(miss), width, "    - ")
        if trace.source:
            yield from _wrapped(f"source: {trace.source}", width, "      ")


def _miss(miss: Miss) -> str:
    if miss.absent:
        wanted = f", wanted {miss.expected}" if miss.expected != "known" else ""
        return f"stopped by {miss.fact}: not known here{wanted}"
    return f"stopped by {miss.fact}: it is {_value(miss.value)}, wanted {miss.expected}"


def _value(value: object) -> str:
    match value:
        case bool():
            return "yes" if value else "no"
        case float():
            return f"{value:.2f}".rstrip("0").rstrip(".")
        case list() | tuple():
            return ", ".join(map(str, value)) or "none"
    return str(value)


def _wrapped(sentence: str, width: int, indent: str) -> Iterator[str]:
    further = " " * (len(indent) + (2 if not indent.strip() else 0))
    # An id is not broken at its dashes: it must be found again in the profile.
    yield from wrap(sentence, width, initial_indent=indent, subsequent_indent=further, break_on_hyphens=False)
