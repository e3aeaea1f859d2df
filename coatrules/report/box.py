"""The box atop the short sheet: what must be decided or known before the work begins."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from datetime import timedelta
from typing import get_args

from coatrules.catalogue.speaking import say
from coatrules.dog.since_clip import LET_GROW
from coatrules.dog.strippable import NEARLY_ALL
from coatrules.order.coming_back import REST_OF_IT_DAYS, REST_OF_IT_MINUTES
from coatrules.order.show_ahead import WORK_SHOWS_DAYS, Fault, ShowAhead
from coatrules.order.work_order import WorkOrder
from coatrules.problems import Problem
from coatrules.profile.floor import DAY_MINUTES
from coatrules.report.answering import felt_today, pulled_before, worked_today
from coatrules.report.owner import PRACTICE, parts_words, recorded, strips_whole
from coatrules.report.passes import planned_regions, told_as_one
from coatrules.report.rows import in_ten

COUNTED_IN_DAYS = 14
"""Fewer days than these, if not just a week, are days to people (common practice, no source)."""
FULL_DAY_MINUTES = 170.0
"""From so much work on a dog may as well come on two days (common practice, no source)."""
MOST_NAMES = 6
"""So many parts the way of work names: the lines of work name them all (common practice, no source)."""
BREAKS = ("first.break-now", "first.break", "first.break-half")
"""Codes of what an order says of a pause."""


def decided(order: WorkOrder) -> list[str]:
    """Returns what must be decided or known before the work begins, the most pressing first."""
    pause = [message.text for message in order.first if message.code in BREAKS]
    sentences = [message.text for message in (*order.refer, *order.first) if message.text not in pause]
    if order.refer:
        sentences[0] = say("sheet.vet-part" if order.steps else "sheet.vet-first", why=sentences[0])
    sentences += [*worked_today(order), *pulled_before(order)]
    if not order.steps and not order.refer and not _show_today(order) and not recorded(order):
        sentences.append(say("report.no-work"))
    elif order.steps and not _practised(order):
        sentences += [*_way_of_work(order), *felt_today(order)]
        sentences += _second_day(order)
    sentences += [_ended(finding, order) for finding in _told_endings(order)]
    return [*sentences, *show_words(order), *pause]


NOT_ROLLED = ("rolling-ended-clip", "one-coat-at-a-time")
"""Codes of findings after which a coat is not rolled."""
STRIP_OFFERED = (*NOT_ROLLED, "clip-stripped", "clip-thinned")
"""Codes of findings of which the box says that the coat may be stripped out whole."""
CLIPPED = ("rolling-ended-clip", "clip-stripped")
"""Codes of findings of a clipped coat that is to be stripped out whole from a day on."""
ANSWERED_BY_STRIP = ("one-coat-at-a-time", "rolling-ended-gap", "rolling-ended-season", "rolling-ended-whelped")
"""Codes of findings of which nothing need be said where the coat is stripped out whole: that is what is done about them."""


def tells_of_coat(order: WorkOrder) -> bool:
    """Whether the box says how the coat goes on: not of a dog that nobody works on by hand for now."""
    return order.next_visit.hold is None and not _practised(order) and not _near_show(order)


def _practised(order: WorkOrder) -> bool:
    """Whether the dog only gets used to the table."""
    return any(message.code in PRACTICE for message in order.first)


def is_a_strip(order: WorkOrder) -> bool:
    """Whether the day is one of a whole strip: most of what is pulled comes out whole, all of the coat or a section of it."""
    usual = _usual(order)
    return usual is not None and usual >= NEARLY_ALL


def _told_endings(order: WorkOrder) -> list[Problem]:
    """What the box says of the end of a rolled coat: where it is not rolled now, nothing of how it would be layered again."""
    if not tells_of_coat(order):
        return []
    found = [finding for finding in order.findings if say.knows(_sentence_of(finding, order))]
    found = [finding for finding in found if finding.code in NOT_ROLLED] or found
    # Where hair is pulled a clip is told with the way of work. A whole strip answers all but what comes after it.
    if planned_regions(order) and not _let_grow(order):
        found = [finding for finding in found if finding.code != "rolling-ended-clip"]
    if is_a_strip(order):
        found = [finding for finding in found if finding.code not in ANSWERED_BY_STRIP]
    return list({finding.code: finding for finding in reversed(found)}.values())[::-1]  # of several alike the first


def _ended(finding: Problem, order: WorkOrder) -> str:
    """What ended a rolled coat, or will, and what is done then, in short; of a clipped one that can be stripped today, that it can."""
    return say(_sentence_of(finding, order), finding.params)


def _sentence_of(finding: Problem, order: WorkOrder) -> str:
    ready = finding.params.get("ready")
    if finding.code not in CLIPPED or ready is None:  # an order of an earlier version has no such day
        return f"box.{finding.code}"
    once = "-once" if finding.params.get("strips", LET_GROW) < LET_GROW else ""
    return f"box.{finding.code}{once}-{'now' if ready <= order.date else 'from'}"


def offers_strip(finding: Problem, order: WorkOrder) -> bool:
    """Whether a coat may be stripped out whole today for what a finding tells."""
    return finding.code in STRIP_OFFERED and finding.params.get("ready", order.date) <= order.date


def _clips(order: WorkOrder) -> list[Problem]:
    return [finding for finding in order.findings if finding.code == "rolling-ended-clip"]


def _let_grow(order: WorkOrder) -> bool:
    """Whether a clipped coat is let grow, whatever is pulled of other parts."""
    reasons = (*order.left_alone.values(), *(step.because for step in order.steps))
    return any(reason.rule == "coat.grows-out" for because in reasons for reason in because)


def _thinned(order: WorkOrder) -> float | None:
    """The share on which most of the time for pulling goes where clipped hair is pulled a share at a time; None where it is not, or only
    of a few parts beside others."""
    clipped = {text for finding in _clips(order) for text in finding.params["regions"]}
    pulled = planned_regions(order)
    thinned = [region for region in pulled if order.labels[region] in clipped]
    if 2 * _minutes_pulled(order, thinned) <= _minutes_pulled(order, pulled):
        return None
    return _longest_pulled(order, thinned)


def _way_of_work(order: WorkOrder) -> list[str]:
    """What is done with the coat today, and of a clipped one the way back."""
    usual = _usual(order)
    if usual is None:
        return [] if recorded(order) else [say("sheet.no-pulling")]
    planned, calm = planned_regions(order), _calm(order)
    # A section is told in full; of a rolled coat the calm parts, the jacket among them.
    of_these = planned if is_a_strip(order) else calm or planned
    most = [region for region in of_these if told_as_one(planned[region], usual)]
    parts = parts_words(order, most, planned, most=MOST_NAMES)
    if is_a_strip(order):
        return [say("sheet.strip", share=usual, parts=parts)]
    if any(reason.rule == "coat.soft" for step in order.steps for reason in step.because):
        return [say("sheet.soft", share=usual)]
    if (thinned := _thinned(order)) is not None:
        first = _clips(order)[0]  # of several days the first tells it
        now = first.params.get("ready", order.date) <= order.date
        way = say("box.clip-thin-now", first.params) if now else _ended(first, order)
        return [way, say("sheet.thin-now" if now else "sheet.thin", share=thinned)]
    if any(finding.code == "one-coat-at-a-time" for finding in order.findings):
        return [say("sheet.pull", share=usual)]
    if not calm or _let_grow(order):
        return [say("sheet.little-pulling", share=usual, parts=parts)]
    others = [region for region in calm if region not in most]
    further = _longest_pulled(order, others)
    of_further = [region for region in others if further and told_as_one(planned[region], further)]
    # Of a few parts it is said as an exception.
    if 2 * len(of_further) >= len(most) and 2 * _minutes_pulled(order, of_further) >= _minutes_pulled(order, most):
        return [say("sheet.roll-two", share=usual, parts=parts, other=further)]
    return [say("sheet.roll", share=usual, parts=parts)]


def _calm(order: WorkOrder) -> list[str]:
    """The parts of which hair is pulled and that are not tender."""
    return [region for region in planned_regions(order) if order.all_facts[region]["sensitivity"] == "none"]


def _usual(order: WorkOrder) -> float | None:
    """The share on which most of the time for pulling goes in the jacket, which is what is raked, too: small parts have shares of their
    own. None where nothing is pulled."""
    calm = _calm(order)
    jacket = [region for region in calm if "undercoat" in order.all_facts[region]]
    return _longest_pulled(order, jacket or calm or planned_regions(order))


def _longest_pulled(order: WorkOrder, regions: Collection[str]) -> float | None:
    """The share, as it is told, on which most of the time goes in these regions; None where nothing is pulled."""
    planned = planned_regions(order)
    by_words: dict[str, list[str]] = {}
    for region in regions:
        by_words.setdefault(say.amount("share", planned[region]), []).append(region)
    most = max(by_words.values(), key=lambda of_share: _minutes_pulled(order, of_share), default=[])
    return max((planned[region] for region in most), default=None)


def _minutes_pulled(order: WorkOrder, regions: Collection[str]) -> float:
    return sum(step.minutes for step in order.steps if step.share and step.region in regions)


def _second_day(order: WorkOrder) -> Iterator[str]:
    """Work for two days: what is put off where the dog comes again for it at once; how to part a day that is as long as one may be."""
    if _rest_follows(order):
        by = order.date + timedelta(days=REST_OF_IT_DAYS)
        yield say("sheet.second-day", minutes=minutes_put_off(order), by=by)
    elif fills_a_day(order):
        yield say("sheet.full-day", most=DAY_MINUTES)


def _rest_follows(order: WorkOrder) -> bool:
    """Whether the dog comes again at once for what is put off."""
    minutes = minutes_put_off(order)
    enough = minutes >= REST_OF_IT_MINUTES or (minutes > 0 and strips_whole(order))
    return enough and order.next_visit.best <= order.date + timedelta(days=REST_OF_IT_DAYS)


def fills_a_day(order: WorkOrder) -> bool:
    return order.minutes_planned >= FULL_DAY_MINUTES and not _rest_follows(order) and not _practised(order)


def minutes_put_off(order: WorkOrder) -> float:
    return sum(put_off.minutes for put_off in order.deferred.values())


SURE_DOGS = 8
"""In ten: what is right on fewer dogs like this one is named."""
MENDED: Collection[Fault] = ("long", "blown")
"""Faults that another visit before the show mends."""
TOLD_FROM_VISITS = 2
"""While so many visits come before the show nothing is said of each such fault."""


def show_words(order: WorkOrder) -> list[str]:
    """Returns how far off the show is, and what will be right on the day and what not; nothing where no show is ahead."""
    show = order.show
    if show is None:
        return []
    days = (show.day - order.date).days
    if days == 0:
        return [say("show.today")]
    found = [say(f"show.{_how_far(days)}", days=days, weeks=round(days / 7), day=show.day)]
    later = visits_decide(order)
    if later and {*show.faults.values()} <= {*MENDED}:
        return [*found, say("show.later")]
    if show.right:
        found.append(say("show.right" if show.faults else "show.all-right", parts=parts_words(order, show.right)))
        found += _sureness(order, show)
    no_day_left = days <= WORK_SHOWS_DAYS + 1
    for fault in get_args(Fault):
        if regions := [name for name, of_region in show.faults.items() if of_region == fault]:
            if later and fault in MENDED:
                continue
            code = f"show.{fault}-now" if no_day_left and fault in MENDED else f"show.{fault}"
            found.append(say(code, parts=parts_words(order, regions)))
    return [*found, say("show.later-rest")] if later else found


def visits_decide(order: WorkOrder) -> bool:
    """Whether so many visits come before a show, the dog coming back as soon each time as after this one, that nothing need be said of
    what they may mend."""
    show = order.show
    if show is None or not {*MENDED} & {*show.faults.values()}:
        return False
    usual = max((order.next_visit.best - order.date).days, 1)
    return (show.day - order.date).days - WORK_SHOWS_DAYS > TOLD_FROM_VISITS * usual


def _sureness(order: WorkOrder, show: ShowAhead) -> Iterator[str]:
    """Yields on how many dogs like this one a part that is right on the typical dog is so, and what is least so."""
    if not show.right_shares or not show.right:
        return
    dogs = {name: in_ten(show.right_shares[name]) for name in show.right}
    least = min(dogs.values())
    least_sure = [name for name, count in dogs.items() if count == least]
    each = in_ten(sum(show.right_shares[name] for name in show.right) / len(show.right))
    if least >= SURE_DOGS or len(least_sure) == len(dogs):
        yield say("show.sure", dogs=each)
    else:
        yield say("show.least-sure", dogs=each, parts=parts_words(order, least_sure), least=least)


def _show_today(order: WorkOrder) -> bool:
    return order.show is not None and order.show.day == order.date


def _near_show(order: WorkOrder) -> bool:
    """Whether work by hand would show, so that nothing is said of how the coat is worked."""
    return order.show is not None and (order.show.day - order.date).days <= WORK_SHOWS_DAYS


def _how_far(days: int) -> str:
    if days <= WORK_SHOWS_DAYS:
        return "days"
    return "soon" if days < COUNTED_IN_DAYS and days % 7 else "weeks"
