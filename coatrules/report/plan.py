"""Plans for a terminal: the visits ahead, the stages before a show, intervals side by side."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from datetime import date
from typing import TypeVar

from coatrules.catalogue.english.amounts import day_words, minutes_words, share_words, weeks_words
from coatrules.dog.safety import CAUTIONS
from coatrules.plan.results import Interval, Intervals, Plan, PlannedVisit, RegionVisit, StagedStrip
from coatrules.report.rows import joined
from coatrules.report.safe_text import plain
from coatrules.report.text import wrapped

T = TypeVar("T")
_MISSED = {
    "late": "hair is blown or longer than wanted",
    "layers": "too few layers",
    "minutes": "not enough time",
}


def text(result: Plan | StagedStrip | Intervals, width: int = 88) -> str:
    """What was planned as plain text, lines no longer than ``width`` characters (60 or more)."""
    width = max(width, 60)
    lines = [f"{result.dog_name} · {result.profile_label} · {day_words(result.date)}"]
    match result:
        case Plan():
            lines += _plan(result, width)
        case StagedStrip():
            lines += _staged(result, width)
        case Intervals():
            lines += _intervals(result, width)
    return "".join(f"{line}\n" for line in map(plain, lines))


def _plan(plan: Plan, width: int) -> Iterator[str]:
    if plan.set_on is not None:
        yield f"The coat counts as set from {day_words(plan.set_on)}."
    else:
        yield "The coat does not count as set within these visits."
    if plan.show is not None:
        yield from _section(f"On the show day, {day_words(plan.show)}", width, _show_lines(plan))
    yield ""
    yield "The visits"
    for number, visit in enumerate(plan.visits, 1):
        yield from _visit(plan, number, visit, width)
    yield from _section("The parts", width, _target_lines(plan))
    yield from _section("What becomes of it", width, _outlook_lines(plan))
    yield from _section("Dates and targets that clash", width, _conflict_lines(plan))
    yield from _section("The smallest loosening that works", width, _relaxation_lines(plan))
    yield from _section("Worth knowing", width, plan.notes)
    yield from _section("Cautions", width, map(str, CAUTIONS))


def _visit(plan: Plan, number: int, visit: PlannedVisit, width: int) -> Iterator[str]:
    minutes = f"{minutes_words(visit.minutes)} of {minutes_words(visit.available)}"
    yield f"{number:>3}  {day_words(visit.day):<{width - 5 - len(minutes)}}{minutes}"

    def in_words(region: str) -> str:
        share = visit.regions[region].share
        return f"pull {share_words(share)}" if share else "leave alone"

    by_share = sorted(_by_words(visit.regions, in_words), key=lambda pair: -visit.regions[pair[1][0]].share)
    for work, regions in by_share:
        yield from wrapped(f"{_labels(plan, regions, rest=True)}: {work}", width, "     - ")


def _show_lines(plan: Plan) -> Iterator[str]:
    shares = {name: region.show_share for name, region in plan.regions.items() if region.show_share is not None}
    for share, regions in _by_words(shares, lambda name: f"{shares[name]:.0%}"):
        yield f"{_labels(plan, regions)}: {share} of the hair as long as wanted"


def _outlook_lines(plan: Plan) -> Iterator[str]:
    last = plan.visits[-1].regions

    def in_words(name: str) -> str:
        day = plan.regions[name].set_on
        return f"{'set from ' + day_words(day) if day is not None else 'not set'}; at the last visit {_figures(last[name])}"

    for words, regions in _by_words(plan.regions, in_words):
        yield f"{_labels(plan, regions, rest=True)}: {words}"


def _figures(visit: RegionVisit) -> str:
    layers = f"{visit.layers} layer" + ("s" if visit.layers != 1 else "")
    return f"{layers} before it, cover {visit.cover:.2f} and outline {visit.outline_mm:.0f} mm after it"


def _conflict_lines(plan: Plan) -> Iterator[str]:
    conflicts = {conflict.region: conflict for conflict in plan.clashes}

    def in_words(name: str) -> str:
        conflict = conflicts[name]
        until = "" if conflict.first == conflict.last else f" to {day_words(conflict.last)}"
        return f"{day_words(conflict.first)}{until}, up to {share_words(conflict.late_share)} of the hair is blown or longer than wanted"

    for words, regions in _by_words(conflicts, in_words):
        yield f"{_labels(plan, regions)}: {words}"


def _relaxation_lines(plan: Plan) -> Iterator[str]:
    relaxations = dict(enumerate(plan.loosenings))

    def in_words(number: int) -> str:
        relaxation = relaxations[number]
        match relaxation.kind:
            case "minutes":
                return f"{day_words(relaxation.day)}: {minutes_words(relaxation.by)} more"
            case "cover":
                return f"{day_words(relaxation.day)}: a cover of {relaxation.to:.2f} after the work"
        return f"{day_words(relaxation.day)}: {share_words(relaxation.to)} taken at once"

    for words, numbers in _by_words(relaxations, in_words):
        regions = [region for number in numbers if (region := relaxations[number].region) is not None]
        yield words + (f": {_labels(plan, regions)}" if regions else "")


def _staged(strip: StagedStrip, width: int) -> Iterator[str]:
    yield f"Taken down in stages for the show on {day_words(strip.show)}."
    yield ""
    yield "The stages"
    for number, stage in enumerate(strip.stages, 1):
        minutes = minutes_words(stage.minutes)
        when = f"{day_words(stage.day)}, {weeks_words(stage.weeks_before)} before"
        yield f"{number:>3}  {when:<{width - 5 - len(minutes)}}{minutes}"
        target = " to ".join(f"{mm:g}" for mm in dict.fromkeys(stage.wanted_mm))
        yield from wrapped(
            f"{joined(stage.labels)}: {stage.length_mm:.0f} mm on the day; {target} mm is wanted", width, "     - "
        )
        if stage.first != stage.last:
            yield from wrapped(
                f"Any day from {_short(stage.first)} to {_short(stage.last)} would do.", width, "     - "
            )
    yield from _section("Worth knowing", width, strip.notes)
    yield from _section("Cautions", width, map(str, CAUTIONS))


def _intervals(intervals: Intervals, width: int) -> Iterator[str]:
    if intervals.longest is None:
        yield "None of these intervals keeps every target."
    else:
        yield f"The longest interval that keeps every target: {weeks_words(intervals.longest)}."
    yield ""
    head = ("every", "cover", "layers", "a visit", "a year", "set from")
    rows = [head, *(_interval(interval) for interval in intervals.intervals)]
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    for row in rows:
        yield ("  " + "  ".join(cell.ljust(size) for cell, size in zip(row, widths, strict=True))).rstrip()
    missed = [
        f"{weeks_words(interval.every_weeks)}: {target}: {', '.join(_MISSED[what] for what in missing)}"
        for interval in intervals.intervals
        for target, missing in interval.missed.items()
    ]
    yield from _section("Targets that are missed", width, missed)


def _interval(interval: Interval) -> tuple[str, ...]:
    return (
        weeks_words(interval.every_weeks),
        f"{interval.cover:.2f}",
        str(interval.layers),
        minutes_words(interval.minutes),
        f"{interval.hours_a_year:.0f} h",
        _short(interval.set_on) if interval.set_on is not None else "misses targets" if interval.missed else "not yet",
    )


def _short(day: date) -> str:
    return day.isoformat()


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
            yield f"{_target_label(target)}: {joined(plan.regions[region].label for region in regions)}"


def _target_label(target: str) -> str:
    return target[:1].upper() + target[1:].replace("-", " ")


def _labels(plan: Plan, regions: Sequence[str], rest: bool = False) -> str:
    """Regions by their labels; where most of a target's are there, by the target.

    What is missing of it is named; with ``rest`` it is not, as the list around this line names it anyway.
    """
    if len(regions) == len(plan.regions):
        return "All regions"
    labels = {region: plan.regions[region].label for region in regions}
    for target, members in _regions_by_target(plan).items():
        here = [region for region in members if region in labels]
        missing = [plan.regions[region].label for region in members if region not in labels]
        if len(here) > 2 * len(missing):
            left_out = f" (not {joined([_small(missing[0]), *missing[1:]])})" if missing else ""
            name = (
                f"Rest of the {_small(_target_label(target))}" if missing and rest else _target_label(target) + left_out
            )
            labels |= dict.fromkeys(here, name)
    return joined(labels.values())


def _small(label: str) -> str:
    return label[:1].lower() + label[1:]


def _section(title: str, width: int, entries: Iterable[str]) -> Iterator[str]:
    for number, entry in enumerate(entries):
        if not number:
            yield ""
            yield title
        yield from wrapped(entry, width, "  - ")
