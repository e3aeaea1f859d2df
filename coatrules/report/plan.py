"""Plans for a terminal: the visits ahead, the stages before a show, intervals side by side."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from datetime import date
from typing import TypeVar

from coatrules.dog.safety import CAUTIONS
from coatrules.order.words import day_words, minutes_words, share_words, weeks_words
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


def text(found: Plan | StagedStrip | Intervals, width: int = 88) -> str:
    """What was planned as plain text, lines no longer than ``width`` characters (60 or more)."""
    width = max(width, 60)
    lines = [f"{found.dog_name} · {found.profile_label} · {day_words(found.date)}"]
    match found:
        case Plan():
            lines += _plan(found, width)
        case StagedStrip():
            lines += _staged(found, width)
        case Intervals():
            lines += _intervals(found, width)
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
    yield from _section("The parts", width, _part_lines(plan))
    yield from _section("What becomes of it", width, _outlook_lines(plan))
    yield from _section("Dates and targets that clash", width, _clash_lines(plan))
    yield from _section("The smallest loosening that works", width, _loosening_lines(plan))
    yield from _section("Worth knowing", width, plan.notes)
    yield from _section("Cautions", width, CAUTIONS)


def _visit(plan: Plan, number: int, visit: PlannedVisit, width: int) -> Iterator[str]:
    minutes = f"{minutes_words(visit.minutes)} of {minutes_words(visit.available)}"
    yield f"{number:>3}  {day_words(visit.day):<{width - 5 - len(minutes)}}{minutes}"

    def pulled(region: str) -> str:
        share = visit.regions[region].share
        return f"pull {share_words(share)}" if share else "leave alone"

    by_share = sorted(_together(visit.regions, pulled), key=lambda pair: -visit.regions[pair[1][0]].share)
    for said, regions in by_share:
        yield from wrapped(f"{_labels(plan, regions, rest=True)}: {said}", width, "     - ")


def _show_lines(plan: Plan) -> Iterator[str]:
    shown = {name: region.show_share for name, region in plan.regions.items() if region.show_share is not None}
    for share, regions in _together(shown, lambda name: f"{shown[name]:.0%}"):
        yield f"{_labels(plan, regions)}: {share} of the hair as long as wanted"


def _outlook_lines(plan: Plan) -> Iterator[str]:
    last = plan.visits[-1].regions

    def outlook(name: str) -> str:
        day = plan.regions[name].set_on
        return (
            f"{'set from ' + day_words(day) if day is not None else 'not set'}; at the last visit {_stands(last[name])}"
        )

    for said, regions in _together(plan.regions, outlook):
        yield f"{_labels(plan, regions, rest=True)}: {said}"


def _stands(visit: RegionVisit) -> str:
    layers = f"{visit.layers} layer" + ("s" if visit.layers != 1 else "")
    return f"{layers} before it, cover {visit.cover:.2f} and outline {visit.outline_mm:.0f} mm after it"


def _clash_lines(plan: Plan) -> Iterator[str]:
    clashes = {clash.region: clash for clash in plan.clashes}

    def late(name: str) -> str:
        clash = clashes[name]
        until = "" if clash.first == clash.last else f" to {day_words(clash.last)}"
        return f"{day_words(clash.first)}{until}, up to {share_words(clash.late_share)} of the hair is blown or longer than wanted"

    for said, regions in _together(clashes, late):
        yield f"{_labels(plan, regions)}: {said}"


def _loosening_lines(plan: Plan) -> Iterator[str]:
    loosened = dict(enumerate(plan.loosenings))

    def bought(number: int) -> str:
        loose = loosened[number]
        match loose.kind:
            case "minutes":
                return f"{day_words(loose.day)}: {minutes_words(loose.by)} more"
            case "cover":
                return f"{day_words(loose.day)}: a cover of {loose.to:.2f} after the work"
        return f"{day_words(loose.day)}: {share_words(loose.to)} taken at once"

    for said, numbers in _together(loosened, bought):
        regions = [region for number in numbers if (region := loosened[number].region) is not None]
        yield said + (f": {_labels(plan, regions)}" if regions else "")


def _staged(strip: StagedStrip, width: int) -> Iterator[str]:
    yield f"Taken down in stages for the show on {day_words(strip.show)}."
    yield ""
    yield "The stages"
    for number, stage in enumerate(strip.stages, 1):
        minutes = minutes_words(stage.minutes)
        when = f"{day_words(stage.day)}, {weeks_words(stage.weeks_before)} before"
        yield f"{number:>3}  {when:<{width - 5 - len(minutes)}}{minutes}"
        wanted = " to ".join(f"{mm:g}" for mm in dict.fromkeys(stage.wanted_mm))
        yield from wrapped(
            f"{joined(stage.labels)}: {stage.length_mm:.0f} mm on the day; {wanted} mm is wanted", width, "     - "
        )
        if stage.first != stage.last:
            yield from wrapped(
                f"Any day from {_short(stage.first)} to {_short(stage.last)} would do.", width, "     - "
            )
    yield from _section("Worth knowing", width, strip.notes)
    yield from _section("Cautions", width, CAUTIONS)


def _intervals(compared: Intervals, width: int) -> Iterator[str]:
    if compared.longest is None:
        yield "None of these intervals keeps every target."
    else:
        yield f"The longest interval that keeps every target: {weeks_words(compared.longest)}."
    yield ""
    head = ("every", "cover", "layers", "a visit", "a year", "set from")
    rows = [head, *(_interval(tried) for tried in compared.intervals)]
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    for row in rows:
        yield ("  " + "  ".join(cell.ljust(size) for cell, size in zip(row, widths, strict=True))).rstrip()
    missed = [
        f"{weeks_words(tried.every_weeks)}: {target}: {', '.join(_MISSED[what] for what in missing)}"
        for tried in compared.intervals
        for target, missing in tried.missed.items()
    ]
    yield from _section("Targets that are missed", width, missed)


def _interval(tried: Interval) -> tuple[str, ...]:
    return (
        weeks_words(tried.every_weeks),
        f"{tried.cover:.2f}",
        str(tried.layers),
        minutes_words(tried.minutes),
        f"{tried.hours_a_year:.0f} h",
        _short(tried.set_on) if tried.set_on is not None else "misses targets" if tried.missed else "not yet",
    )


def _short(day: date) -> str:
    return day.isoformat()


def _together(keys: Iterable[T], said: Callable[[T], str]) -> list[tuple[str, list[T]]]:
    """Keys of which the same is said, in the order in which each is first said."""
    found: dict[str, list[T]] = {}
    for key in keys:
        found.setdefault(said(key), []).append(key)
    return list(found.items())


def _parts(plan: Plan) -> dict[str, list[str]]:
    """The layer targets that hold for more than one region, with their regions."""
    found: dict[str, list[str]] = {}
    for region, outlook in plan.regions.items():
        found.setdefault(outlook.target, []).append(region)
    return {target: regions for target, regions in found.items() if len(regions) > 1}


def _part_lines(plan: Plan) -> Iterator[str]:
    """What each part that is called by its target's id is made of."""
    for target, regions in _parts(plan).items():
        if len(regions) < len(plan.regions):
            yield f"{_part(target)}: {joined(plan.regions[region].label for region in regions)}"


def _part(target: str) -> str:
    return target[:1].upper() + target[1:].replace("-", " ")


def _labels(plan: Plan, regions: Sequence[str], rest: bool = False) -> str:
    """Regions by their labels; where most of a target's are there, by the target.

    What is missing of it is named; with ``rest`` it is not, as the list around this line names it anyway.
    """
    if len(regions) == len(plan.regions):
        return "All regions"
    called = {region: plan.regions[region].label for region in regions}
    for target, members in _parts(plan).items():
        here = [region for region in members if region in called]
        missing = [plan.regions[region].label for region in members if region not in called]
        if len(here) > 2 * len(missing):
            left_out = f" (not {joined([_small(missing[0]), *missing[1:]])})" if missing else ""
            name = f"Rest of the {_small(_part(target))}" if missing and rest else _part(target) + left_out
            called |= dict.fromkeys(here, name)
    return joined(called.values())


def _small(label: str) -> str:
    return label[:1].lower() + label[1:]


def _section(title: str, width: int, entries: Iterable[str]) -> Iterator[str]:
    for number, entry in enumerate(entries):
        if not number:
            yield ""
            yield title
        yield from wrapped(entry, width, "  - ")
