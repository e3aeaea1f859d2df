"""An explanation for a terminal: what was decided in one region, which rules held, which did not, and what stopped them."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from textwrap import wrap

from coatrules.catalogue.message import message
from coatrules.catalogue.speaking import called, say
from coatrules.conditions.condition import Miss, in_words
from coatrules.formats.resources import schema
from coatrules.learning.observations import AtLeast, Came, Felt, Layers, Length, Observation
from coatrules.order.explanation import Explanation, RuleTrace
from coatrules.order.work_order import WorkOrder
from coatrules.report.rows import texts, what
from coatrules.report.safe_text import plain

NAMES = 20
"""Letters that the names of facts take at least."""


def text(explanation: Explanation, width: int = 88) -> str:
    """The whole explanation as plain text."""
    return "\n".join(map(plain, _lines(explanation, width))).rstrip() + "\n"


def _lines(explanation: Explanation, width: int) -> Iterator[str]:
    order, region = explanation.order, explanation.region
    head = say("explain.head", dog=order.dog_name, region=say.own(order.labels[region]), day=order.date)
    yield from _wrapped(head, width, "")
    yield ""
    yield say("explain.decided")
    steps = [step for step in order.steps if step.region == region and step.bout == 1]
    for step in steps:
        work = what(step)
        yield from _wrapped(
            say("explain.work-with", work=work, how=say.own(step.how)) if step.how else work, width, "  "
        )
        for reason in texts(step.because):
            yield from _wrapped(reason, width, "    - ")
        if step.priority_parts:
            parts = tuple(message(f"explain.priority-{name}", points=n) for name, n in step.priority_parts.items())
            yield from _wrapped(say("explain.priority", priority=step.priority, parts=parts), width, "    ")
    if aside := order.not_worked(region):
        how, because = aside
        yield f"  {say(f'explain.{how}')}"
        for reason in texts(because):
            yield from _wrapped(reason, width, "    - ")
    yield from _rules(say("explain.held"), [trace for trace in explanation.rules if trace.fired], width)
    yield from _rules(say("explain.not-held"), [trace for trace in explanation.rules if not trace.fired], width)
    if explanation.elsewhere:
        yield ""
        yield from _wrapped(say("explain.elsewhere", rules=explanation.elsewhere), width, "")
    yield ""
    yield say("explain.facts")
    facts = {_fact(name): _value(value) for name, value in order.facts[region].items()}
    hair = [say("explain.hair-share", share=share, day=day) for share, day in order.hair[region]]
    facts[say("explain.hair")] = say.amount("series", hair)
    column = max(NAMES, *map(len, facts))
    for name, shown in facts.items():
        yield from _wrapped(f"{name:<{column}} {shown}", width, "  ")
    yield from _pace(order, region, width)


def _fact(name: str) -> str:
    """A fact by the key that rules ask for, behind what the language in force calls it."""
    words = called(name, schema("facts")["properties"].get(name, {}).get("title", name.replace("_", " ")))
    return name if words == name else say("explain.fact", words=words, key=name)


def _value(value: object) -> str:
    """A fact's value; where it is a word of the files, in the language in force."""
    return called(value) if isinstance(value, str) else say.amount("value", value)


def _pace(order: WorkOrder, region: str, width: int) -> Iterator[str]:
    """How fast the coat comes and the work goes, and what that was learned from."""
    pace, speed = order.pace, order.speed
    yield ""
    code = "explain.pace" if pace.observations else "explain.pace-unmeasured"
    figures = say(code, here=pace.of(region), here_sd=pace.sd_of(region), mean=pace.mean, sd=pace.sd)
    yield from _wrapped(figures, width, "")
    if pace.observations:
        for one in sorted(pace.records, key=lambda one: one.day):
            if one.region == region:
                yield from _wrapped(say("explain.seen", day=date.fromordinal(one.day), seen=_record(one)), width, "  ")
        regions = {one.region for one in pace.records}
        if elsewhere := sorted(say.own(order.labels[name]) for name in regions - {region}):
            yield from _wrapped(say("explain.seen-elsewhere", regions=elsewhere), width, "  ")
        low, high = pace.final_80
        yield from _wrapped(say("explain.final", factor=pace.final, low=low, high=high), width, "")
    if layer := order.next_layers.get(region):
        first, last = layer.window
        yield from _wrapped(say("explain.next-layer", day=layer.day, first=first, last=last), width, "")
    comes = order.facts[region].get("comes_easily")
    if isinstance(comes, float):
        yield from _wrapped(say("explain.holds", comes=comes, holds=1 - comes), width, "")
    if speed.entries:
        learned = {"here": speed.of(region), "mean": speed.mean, "sd": speed.sd, "entries": speed.entries}
        yield from _wrapped(say("explain.speed", learned), width, "")


def _record(one: Observation) -> str:
    """What one record says of the hair."""
    match one:
        case Length():
            code = "explain.seen-end" if one.at_end else "explain.seen-length"
            if one.arrived:
                return say(f"{code}-arrived", length_mm=one.length_mm)
            return say(code, length_mm=one.length_mm, age_weeks=one.weeks)
        case AtLeast():
            return say("explain.seen-least", length_mm=one.length_mm)
        case Layers():
            return say("explain.seen-layers", layers=one.layers)
        case Felt():
            return say(f"explain.felt-{one.comes}")
        case Came():
            return say("explain.came", share=one.share)


def _rules(title: str, traces: list[RuleTrace], width: int) -> Iterator[str]:
    if not traces:
        return
    yield ""
    yield title
    for trace in traces:
        yield from _wrapped(say("explain.rule", rule=trace.rule, because=say.own(trace.because)), width, "  ")
        for name, value in trace.facts.items() if trace.fired else ():
            yield from _wrapped(say("explain.met", fact=name, value=value), width, "    + ")
        for miss in trace.misses:
            yield from _wrapped(_miss(miss), width, "    - ")
        if trace.source:
            yield from _wrapped(say("explain.source", source=trace.source), width, "      ")


def _miss(miss: Miss) -> str:
    if not miss.absent:
        return say("explain.stopped", fact=miss.fact, value=miss.value, expected=miss.expected)
    known = miss.expected == str(in_words({}))
    code = "explain.stopped-unknown" if known else "explain.stopped-unknown-wanted"
    return say(code, fact=miss.fact, expected=miss.expected)


def _wrapped(sentence: str, width: int, indent: str) -> Iterator[str]:
    further = " " * (len(indent) + (2 if not indent.strip() else 0))
    # An id is not broken at its dashes: it must be found again in the profile.
    yield from wrap(
        sentence,
        width,
        initial_indent=indent,
        subsequent_indent=further,
        break_on_hyphens=False,
        break_long_words=False,
    )
