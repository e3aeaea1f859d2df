"""The short sheet: what must be decided, then the work in at most twelve lines, one a pass, then the next visit. Reasons on request."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from datetime import timedelta

from coatrules.catalogue.amounts import half_up
from coatrules.catalogue.speaking import say
from coatrules.order.work_order import WorkOrder
from coatrules.problems import InputError, Problem, nearest_fix
from coatrules.profile.floor import DAY_MINUTES
from coatrules.report.box import (
    decided,
    fills_a_day,
    is_a_strip,
    minutes_put_off,
    offers_strip,
    tells_of_coat,
    visits_decide,
)
from coatrules.report.groups import groups_of
from coatrules.report.owner import parts_words
from coatrules.report.passes import (
    MOST_LINES,
    Detail,
    PassLine,
    Stretch,
    details,
    parts,
    pass_lines,
    where,
)
from coatrules.report.rows import label, time_words
from coatrules.report.safe_text import plain
from coatrules.report.text import wrapped

WIDTH = 80
NARROWEST = 40
"""Characters of the narrowest terminal that lines are made for; below ``WIDTH`` the work takes more lines."""
SOON = timedelta(days=7)
"""A window that begins sooner than that after the work is told by its end: nobody brings a dog back the day after."""


def sheet(order: WorkOrder, width: int = WIDTH) -> str:
    """Returns the order on one screen, lines no longer than ``width`` characters (``NARROWEST`` or more)."""
    return "\n".join(map(plain, _lines(order, max(width, NARROWEST)))).rstrip() + "\n"


def _lines(order: WorkOrder, width: int) -> Iterator[str]:
    who = say("sheet.who", dog=order.dog_name, profile=say.own(order.profile_label), day=order.date)
    time = time_words(order, "sheet.time")
    if len(who) + len(time) < width:
        yield f"{who}{time:>{width - len(who)}}"
    else:
        yield from wrapped(who, width, "")
        yield f"{time:>{width}}"
    yield from _box(decided(order), width)
    yield from _work(order, width)
    if order.deferred:
        yield from wrapped(put_off(order), width, "")
    yield from wrapped(next_visit(order), width, "")
    yield from wrapped(say("sheet.skin"), width, "")
    yield from wrapped(" ".join(_how(order)), width, "")


def _how(order: WorkOrder) -> Iterator[str]:
    """The commands that show more, and that do what the box offers: they are of use at a terminal alone, not on paper."""
    yield say("sheet.findings", findings=len(order.findings)) if order.findings else say("sheet.more")
    if tells_of_coat(order) and not is_a_strip(order) and any(offers_strip(one, order) for one in order.findings):
        yield say("sheet.how-strip")
    if order.show is not None and visits_decide(order):
        yield say("sheet.how-show", iso=order.show.day.isoformat())
    known = {message.code for message in (*order.refer, *order.first)}
    for code in sorted({"first.health", "skin.unsound"} & known):
        yield say(f"sheet.how-{code}")
    if fills_a_day(order):
        yield say("sheet.how-two-days", half=half_up(DAY_MINUTES / 2))


def put_off(order: WorkOrder) -> str:
    """Returns in one line what waits for another day, and how many minutes it would take."""
    worked = {step.region for step in order.steps}
    by_task: dict[str, list[str]] = {}  # of parts that are worked in part, what is not done there
    for region, waits in order.deferred.items():
        for task in waits.tasks if region in worked else ():
            by_task.setdefault(task, []).append(region)
    whole = [region for region in order.deferred if region not in worked]
    named = [parts_words(order, whole)] if whole else []
    named += [
        say("sheet.tender-other", task=say(f"task.{task}"), parts=_named(order, those))
        for task, those in by_task.items()
    ]
    return say("sheet.put-off", parts=say.amount("clauses", named), minutes=minutes_put_off(order))


def _named(order: WorkOrder, regions: Collection[str]) -> str:
    return parts(order, Stretch(tuple(name for name in order.labels if name in regions), "", "", True, ()))


def _box(sentences: Sequence[str], width: int) -> Iterator[str]:
    yield "┌" + "─" * (width - 2) + "┐"
    for sentence in sentences:
        for line in wrapped(sentence, width - 4, ""):
            yield f"│ {line:<{width - 4}} │"
    yield "└" + "─" * (width - 2) + "┘"


def _work(order: WorkOrder, width: int) -> Iterator[str]:
    """The lines of work, as full as twelve of them can be."""
    passes = pass_lines(order)
    most = MOST_LINES * WIDTH // min(width, WIDTH)
    chosen = details(passes, lambda one, detail: len(list(_pass(order, one, width, detail))), most)
    for one, detail in zip(passes, chosen, strict=True):
        lines = list(_pass(order, one, width, detail))
        yield from lines if detail > Detail.ONE_LINE else [_cut(lines, one, width)]


def _pass(order: WorkOrder, one: PassLine, width: int, detail: Detail) -> Iterator[str]:
    time = one.time
    head = f"{one.number:>2} {one.tool}"
    if one.amount:
        head += f" {one.amount}"
    room = width - len(time) - 1
    first, *rest = wrapped(say("sheet.pass", head=head, where=where(order, one, detail)), room, "", "   ")
    yield f"{first:<{room}} {time}"
    yield from rest


def _cut(lines: Sequence[str], one: PassLine, width: int) -> str:
    """One line of several: the words that do not fit are left out."""
    if len(lines) == 1:
        return lines[0]
    time = one.time
    room = width - len(time) - 1
    text = lines[0][:room].rstrip()
    if len(text) == room:  # no room for the dots
        text = text.rpartition(" ")[0]
    return f"{text + '…':<{room}} {time}"


def next_visit(order: WorkOrder) -> str:
    """Returns the next visit in one line: the day, its window, and what binds it; the best day too where the salon is closed on it."""
    visit = order.next_visit
    line = _next_day(order)
    return (
        line
        if visit.hold is not None or visit.day == visit.best
        else say("sheet.next-moved", line=line, best=visit.best)
    )


def _next_day(order: WorkOrder) -> str:
    visit = order.next_visit
    if visit.hold is not None:
        return visit.hold.text
    bounds = {binding.bound: binding for binding in visit.binding}
    if visit.latest is None or visit.clash:
        if "earliest" in bounds:
            region = label(order, bounds["earliest"].region)
            code = "sheet.next-ready" if visit.day == visit.earliest else "sheet.next-from"
            return say(code, best=visit.day, first=visit.earliest, region=region)
        return say("sheet.next", best=visit.day)
    binding = bounds.get("latest") or bounds.get("earliest")
    soon = visit.earliest - order.date < SOON
    from_then = soon or visit.day == visit.earliest
    code = "sheet.when-latest" if visit.day == visit.latest else "sheet.when-by" if from_then else "sheet.when"
    when = say(code, best=visit.day, first=visit.earliest, last=visit.latest)
    if binding is None:
        return say("sheet.next-window", when=when)
    return say(f"sheet.next-bound-{binding.why}", when=when, region=label(order, binding.region))


def _reason_of(order: WorkOrder, reason: str, regions: tuple[str, ...]) -> str:
    names = _named(order, regions)
    return say("sheet.reason-of", parts=names[:1].upper() + names[1:], reason=reason)


def reasons_of(order: WorkOrder, asked: str | Collection[str]) -> list[str]:
    """Returns the reasons of a line of the sheet (by its number), a region, a group, or several regions; raises ``InputError`` for
    what is none."""
    if not isinstance(asked, str):
        return _reasons_in(order, *asked) if len(asked) == 1 else _reasons_together(order, asked)
    passes = pass_lines(order)
    if asked.isdecimal() and 1 <= int(asked) <= len(passes):
        return [_reason_of(order, *of_parts) for of_parts in passes[int(asked) - 1].why.items()]
    if asked in order.labels:
        return _reasons_in(order, asked)
    groups = groups_of(order).members
    if asked not in groups:
        fix = nearest_fix(asked, [*order.labels, *groups])
        raise InputError([Problem(code="no-such-line", params={"asked": asked, "lines": len(passes)}, fix=fix)])
    return _reasons_together(order, groups[asked])


def _reasons_together(order: WorkOrder, regions: Collection[str]) -> list[str]:
    why: dict[str, list[str]] = {}
    for region in order.labels:
        for reason in _reasons_in(order, region) if region in regions else ():
            why.setdefault(reason, []).append(region)
    return [_reason_of(order, reason, tuple(regions)) for reason, regions in why.items()]


def _reasons_in(order: WorkOrder, region: str) -> list[str]:
    reasons = [reason.text for step in order.steps if step.region == region for reason in step.because]
    if aside := order.not_worked(region):
        reasons += [reason.text for reason in aside[1]]
    return list(dict.fromkeys(reasons))
