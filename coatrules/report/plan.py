"""Plans for a terminal: the visits ahead, the stages before a show, intervals side by side."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from itertools import groupby
from math import inf
from typing import TypeVar

from coatrules.catalogue.message import Message, message
from coatrules.catalogue.speaking import say
from coatrules.dog.safety import CAUTIONS
from coatrules.plan.results import Interval, Intervals, Plan, PlannedVisit, RegionVisit, Relaxation, StagedStrip
from coatrules.report.rows import in_ten
from coatrules.report.safe_text import plain
from coatrules.report.text import wrapped

T = TypeVar("T")

NAMED = 3
"""So many parts, where there are no more, are named: 'all regions' of a dog of which only the ears are pulled would be the jacket, too."""
DOUBTFUL = 2
"""A day is sure where it suits eight dogs in ten."""


def text(result: Plan | StagedStrip | Intervals, width: int = 88) -> str:
    """What was planned as plain text, lines no longer than ``width`` characters (60 or more)."""
    width = max(width, 60)
    lines = [say("plan.head", dog=result.dog_name, profile=say.own(result.profile_label), day=result.date)]
    match result:
        case Plan():
            lines += _plan(result, width)
        case StagedStrip():
            lines += _staged(result, width)
        case Intervals():
            lines += _intervals(result, width)
    return "".join(f"{line}\n" for line in map(plain, lines))


VET_FIRST = frozenset(("plan.unsound", "plan.hands-off"))
"""Notes that stand above the days."""


def _plan(plan: Plan, width: int) -> Iterator[str]:
    for note in plan.notes:
        if note.code in VET_FIRST:
            yield from wrapped(str(note), width, "")
    strips = any(note.code == "plan.strips" for note in plan.notes)  # no rolled coat, which alone can be set
    if not strips:
        in_order = say("plan.set-on", day=plan.set_on) if plan.set_on is not None else say("plan.not-set")
        yield from wrapped(in_order, width, "")
    if plan.show is not None:
        yield from _section(say("plan.on-the-show-day", show=plan.show), width, _show_lines(plan))
    yield ""
    yield say("plan.visits")
    for number, visit in enumerate(plan.visits, 1):
        yield from _visit(plan, number, visit, width, strips=strips)
    yield from _section(say("plan.sureness"), width, _sureness_lines(plan.visits))
    yield from _section(say("plan.parts"), width, _target_lines(plan))
    yield from _section(say("plan.outlook"), width, () if strips else _outlook_lines(plan))
    yield from _section(say("plan.conflicts"), width, _conflict_lines(plan))
    yield from _section(say("plan.relaxations"), width, _relaxation_lines(plan))
    yield from _notes([note for note in plan.notes if note.code not in VET_FIRST], width)


def _notes(notes: Iterable[Message], width: int) -> Iterator[str]:
    yield from _section(say("plan.notes"), width, map(str, notes))
    yield from _section(say("plan.cautions"), width, map(str, CAUTIONS))


def _visit(plan: Plan, number: int, visit: PlannedVisit, width: int, *, strips: bool) -> Iterator[str]:
    """Yields a visit. ``strips``: the coat comes out section by section, and of the others nothing need be said."""
    minutes = say("plan.minutes-of", minutes=visit.minutes, available=visit.available)
    yield f"{number:>3}  {say.amount('day', visit.day):<{width - 5 - len(minutes)}}{minutes}"

    def in_words(region: str) -> str:
        share = visit.regions[region].share
        return say("plan.pull", share=share) if share else say("plan.leave-alone")

    pulled = [name for name, region in visit.regions.items() if region.share]
    shown = pulled if strips and pulled else visit.regions
    by_share = sorted(_by_words(shown, in_words), key=lambda pair: -visit.regions[pair[1][0]].share)
    for work, regions in by_share:
        yield from wrapped(_of_regions(_labels(plan, regions, rest=True), work), width, "     - ")


def _of_regions(regions: str, what: str) -> str:
    return say("plan.of-regions", regions=regions, what=what)


def _show_lines(plan: Plan) -> Iterator[str]:
    regions = {name: region for name, region in plan.regions.items() if region.show_share is not None}
    right: dict[str, list[float]] = {}
    for region in regions.values():
        right.setdefault(region.target, []).append(region.show_right or 0.0)

    def in_words(name: str) -> str:
        of_target = right[regions[name].target]
        dogs = in_ten(sum(of_target) / len(of_target))
        return say("plan.right-length", share=regions[name].show_share, dogs=dogs)

    for words, names in _by_words(regions, in_words):
        yield _of_regions(_labels(plan, names), words)
    if plan.show_right is not None:
        yield say("plan.right-together", dogs=in_ten(plan.show_right))


def _sureness_lines(visits: Sequence[PlannedVisit]) -> Iterator[str]:
    """Yields the visits, each row of them together, that come too early or too late on more dogs in ten than ``DOUBTFUL``."""
    doubts = {"plan.early": [visit.early for visit in visits], "plan.late": [visit.late for visit in visits]}
    sure = True
    for code, shares in doubts.items():
        known = [(share, visit.day) for share, visit in zip(shares, visits, strict=True) if share is not None]
        for unsure, row in groupby(known, key=lambda pair: in_ten(pair[0]) > DOUBTFUL):
            if unsure:
                sure, of_row = False, list(row)
                days = {"first": of_row[0][1], "last": of_row[-1][1]}
                yield say(code if len(of_row) == 1 else f"{code}-days", dogs=in_ten(max(of_row)[0]), **days)
    if sure and None not in doubts["plan.early"]:
        yield say("plan.sure")


def _outlook_lines(plan: Plan) -> Iterator[str]:
    last = plan.visits[-1].regions

    def in_words(name: str) -> str:
        day = plan.regions[name].set_on
        return say(
            "plan.region-set" if day is not None else "plan.region-not-set", day=day, figures=_figures(last[name])
        )

    for words, regions in _by_words(plan.regions, in_words):
        yield _of_regions(_labels(plan, regions, rest=True), words)


def _figures(visit: RegionVisit) -> Message:
    figures = message("plan.figures", layers=visit.layers, cover=visit.cover, outline_mm=visit.outline_mm)
    if visit.comes_easily is None:
        return figures
    return message("plan.figures-easily", figures=figures, share=visit.comes_easily)


def _conflict_lines(plan: Plan) -> Iterator[str]:
    conflicts = {conflict.region: conflict for conflict in plan.clashes}

    def in_words(name: str) -> str:
        conflict = conflicts[name]
        code = "plan.conflict-day" if conflict.first == conflict.last else "plan.conflict-days"
        return say(code, first=conflict.first, last=conflict.last, share=conflict.late_share)

    for words, regions in _by_words(conflicts, in_words):
        yield _of_regions(_labels(plan, regions), words)


def _relaxation_lines(plan: Plan) -> Iterator[str]:
    """All of the smallest change in a handful of lines, what buys most first: of each kind the days, the furthest that it goes, and
    where."""
    kinds: dict[str, list[Relaxation]] = {}
    for relaxation in plan.loosenings:
        kinds.setdefault(relaxation.kind, []).append(relaxation)
    lines: list[tuple[float, str]] = []
    for kind, together in kinds.items():
        furthest = {one.region: _figure(one) for one in sorted(together, key=lambda one: one.by)}
        for words, regions in _by_words(furthest, furthest.__getitem__):
            those = [one for one in together if one.region in regions]
            days = sorted({one.day for one in those})
            what = say(f"plan.relax-{kind}", figure=words, visits=len(days), first=days[0], last=days[-1])
            named = [region for region in regions if region is not None]
            line = say("plan.relax-regions", what=what, regions=_labels(plan, named)) if named else what
            lines.append((sum(one.by for one in those) if named else inf, line[:1].upper() + line[1:]))
    yield from (line for _, line in sorted(lines, key=lambda pair: -pair[0]))


def _figure(relaxation: Relaxation) -> str:
    """How far one goes: minutes more, the cover left, or the share that is pulled, in tenths, so that like parts are told together."""
    if relaxation.kind == "minutes":
        return say.amount("minutes", relaxation.by)
    figure = round(relaxation.to, 1)
    return say.amount("share", figure) if relaxation.kind == "at_most" else say.amount("fixed", figure)


def _staged(strip: StagedStrip, width: int) -> Iterator[str]:
    yield say("plan.for-the-show", show=strip.show)
    yield ""
    yield say("plan.stages")
    for number, stage in enumerate(strip.stages, 1):
        minutes = say.amount("minutes", stage.minutes)
        when = say("plan.stage-day", day=stage.day, weeks=stage.weeks_before)
        yield f"{number:>3}  {when:<{width - 5 - len(minutes)}}{minutes}"
        shortest, longest = stage.wanted_mm
        lengths = {"length_mm": stage.length_mm, "shortest_mm": shortest, "wanted_mm": longest}
        code = "plan.stage" if shortest == longest else "plan.stage-between"
        yield from wrapped(say(code, lengths, regions=tuple(map(say.own, stage.labels))), width, "     - ")
        if stage.right is not None:
            yield from wrapped(
                say("plan.stage-right", dogs=in_ten(stage.right), parts=len(stage.labels)), width, "     - "
            )
        if stage.early is not None and in_ten(stage.early) > DOUBTFUL:
            yield from wrapped(say("plan.stage-early", dogs=in_ten(stage.early)), width, "     - ")
        if stage.first != stage.last:
            yield from wrapped(say("plan.stage-days", first=stage.first, last=stage.last), width, "     - ")
    yield from _notes(strip.notes, width)


def _intervals(intervals: Intervals, width: int) -> Iterator[str]:
    if intervals.longest is None:
        yield say("plan.no-interval")
    else:
        yield say("plan.longest-interval", every_weeks=intervals.longest)
    yield ""
    head = tuple(
        say(f"plan.column-{column}") for column in ("every", "cover", "layers", "easily", "visit", "year", "set")
    )
    rows = [head, *(_interval(interval) for interval in intervals.intervals)]
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    for row in rows:
        yield ("  " + "  ".join(cell.ljust(size) for cell, size in zip(row, widths, strict=True))).rstrip()
    missed = (
        say(
            "plan.missed",
            every_weeks=interval.every_weeks,
            target=_missing_it(target),
            faults=tuple(map(_missed, missing)),
        )
        for interval in intervals.intervals
        for target, missing in interval.missed.items()
    )
    yield from _section(say("plan.missed-targets"), width, missed)


def _missing_it(target: str) -> str:
    """What is missed: a target, or the time of a visit."""
    return say("plan.the-visit") if target == "visit" else say.own(target.replace("-", " "))


def _missed(what: str) -> Message:
    return message(f"plan.missed-{what}")


def _interval(interval: Interval) -> tuple[str, ...]:
    if interval.set_on is not None:
        settled = interval.set_on.isoformat()
    else:
        settled = say("plan.misses-targets" if interval.missed else "plan.not-yet")
    return (
        say.amount("weeks", interval.every_weeks),
        say.amount("fixed", interval.cover),
        str(interval.layers),
        "" if interval.comes_easily is None else say.amount("percent", interval.comes_easily),
        say.amount("minutes", interval.minutes),
        say("plan.hours", hours=round(interval.hours_a_year)),
        settled,
    )


def _by_words(keys: Iterable[T], in_words: Callable[[T], str]) -> list[tuple[str, list[T]]]:
    """Groups keys that read the same in words, in the order in which each wording first comes up."""
    by_words: dict[str, list[T]] = {}
    for key in keys:
        by_words.setdefault(in_words(key), []).append(key)
    return list(by_words.items())


def _regions_by_target(plan: Plan) -> dict[str, list[str]]:
    """Returns the layer targets that hold for more than one region, with their regions."""
    by_target: dict[str, list[str]] = {}
    for region, outlook in plan.regions.items():
        by_target.setdefault(outlook.target, []).append(region)
    return {target: regions for target, regions in by_target.items() if len(regions) > 1}


def _target_lines(plan: Plan) -> Iterator[str]:
    """Yields the regions of each target that is called by its id."""
    for target, regions in _regions_by_target(plan).items():
        if len(regions) < len(plan.regions):
            yield _of_regions(_target_label(target), _row(plan.regions[region].label for region in regions))


def _target_label(target: str) -> str:
    words = say.own(target.replace("-", " "))
    return words[:1].upper() + words[1:]


def _labels(plan: Plan, regions: Sequence[str], rest: bool = False) -> str:
    """Regions by their labels; where most of a target's are there, by the target.

    What is missing of it is named; with ``rest`` it is not, as the list around this line names it anyway.
    """
    if len(regions) == len(plan.regions) > NAMED:
        return say("plan.all-regions")
    labels = {region: plan.regions[region].label for region in regions}
    for target, members in _regions_by_target(plan).items():
        here = [region for region in members if region in labels]
        missing = [plan.regions[region].label for region in members if region not in labels]
        if len(here) > 2 * len(missing):
            name = _target_label(target)
            if missing and rest:
                name = say("plan.rest-of-target", target=name)
            elif missing:
                name = say("plan.target-but", target=name, regions=_row(missing))
            labels |= dict.fromkeys(here, name)
    return _row(labels.values())


def _row(labels: Iterable[str]) -> str:
    return say.amount("names", tuple(map(say.own, labels)))


def _section(title: str, width: int, entries: Iterable[str]) -> Iterator[str]:
    for number, entry in enumerate(entries):
        if not number:
            yield ""
            yield title
        yield from wrapped(entry, width, "  - ")
