"""What comes of a plan: when each region is set, where dates and targets conflict, and what relaxation would end the conflict."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date as Date
from itertools import accumulate

from coatrules.catalogue.message import Message, message
from coatrules.coat.measures import LAYER_MASS, mass_longer
from coatrules.coat.queue import WHOLE, Coat, mass_of
from coatrules.dog.safety import PUPPY_MINUTES, grown_on, puppy
from coatrules.order.clipped_coat import most_from
from coatrules.plan.coat_kind import NOT_YET_ROLLING, coat_kind
from coatrules.plan.inputs import (
    PlanInputs,
    grace_visits,
    next_days,
    region_classes_of,
    target_cover,
    target_longest_mm,
    wanted_by_hand,
)
from coatrules.plan.program import program, solve
from coatrules.plan.results import CoatKind, Conflict, PlannedVisit, RegionOutlook, Relaxation
from coatrules.plan.show import show_share
from coatrules.profile.compiled import CompiledProfile
from coatrules.profile.floor import DAY_MINUTES
from coatrules.profile.model import ALWAYS

THREE_ROUNDS = 3


def conflicts_of(inputs: PlanInputs, visits: Sequence[PlannedVisit], coats: Mapping[str, Coat]) -> Iterator[Conflict]:
    """Yields the regions whose coat is overgrown at a visit, or when one would come after the last, though it had time to go round."""
    end = next_days(inputs)[-1]
    for region, hair in inputs.regions.items():
        longest = target_longest_mm(inputs.target(region, end))
        at_end = mass_longer(coats[region], hair.growth, hair.pace, end, longest) / WHOLE
        shares = [*[visit.regions[region].late_share for visit in visits], at_end]
        if max(shares[1:]) * WHOLE < LAYER_MASS:  # how the dog first comes is no conflict
            continue
        days = [*[visit.day for visit in visits], Date.fromordinal(end)]
        had_time = list(zip(days, shares, strict=True))[max(1, grace_visits(inputs, region)) :]
        overgrown = [(day, share) for day, share in had_time if share * WHOLE >= LAYER_MASS]
        if overgrown:
            yield Conflict(region, overgrown[0][0], overgrown[-1][0], max(share for _, share in overgrown))


def relaxations_of(inputs: PlanInputs) -> Iterator[Relaxation]:
    """Yields what the relaxed program buys, big enough to matter at the table."""
    classes = region_classes_of(inputs)
    most_more = max(0.0, DAY_MINUTES - inputs.available)  # no longer than a dog stands on the table
    bought = program(classes, inputs.pulling, relax=True, most_more=most_more)
    relaxed = solve(bought, len(classes), len(inputs.days))
    for visit_index, day in enumerate(inputs.days):
        if relaxed.minutes_more[visit_index] >= 0.5:
            more = relaxed.minutes_more[visit_index]
            yield Relaxation("minutes", day, None, more, inputs.available + more)
        for index, region_class in enumerate(classes):
            cover_given, over_at_most = (
                relaxed.cover_given[index][visit_index],
                relaxed.over_at_most[index][visit_index],
            )
            for region in region_class.regions:
                if cover_given >= 0.005:
                    yield Relaxation(
                        "cover", day, region, cover_given, max(0.0, region_class.least_cover[visit_index] - cover_given)
                    )
                if over_at_most >= 0.005:
                    yield Relaxation("at_most", day, region, over_at_most, relaxed.pulled[index][visit_index])


def set_on(inputs: PlanInputs, region: str, visits: Sequence[PlannedVisit]) -> Date | None:
    """The visit from which a region keeps the target of each day to the end: layers, cover, and no overgrown hair; None if it does not."""
    day: Date | None = None
    for visit in reversed(visits):
        region_visit, target = visit.regions[region], inputs.target(region, visit.day.toordinal())
        overgrown = region_visit.late_share * WHOLE >= LAYER_MASS
        if overgrown or region_visit.layers < target.layers or region_visit.cover < target_cover(target):
            break
        day = visit.day
    return day


def outlook_of(
    inputs: PlanInputs, region: str, visits: Sequence[PlannedVisit], coat: Coat, show_right: float | None
) -> RegionOutlook:
    """What becomes of one region whose coat is ``coat`` after the last visit."""
    hair = inputs.regions[region]
    pulled = list(accumulate([mass_of(visit.regions[region].share) for visit in visits]))
    rounds = [bisect_left(pulled, number * WHOLE) for number in range(1, THREE_ROUNDS + 1)]
    right_share = None
    if inputs.show is not None and (show_mm := inputs.target(region, inputs.show.toordinal()).show_mm) is not None:
        right_share = show_share(coat, hair, inputs.show, show_mm)
    return RegionOutlook(
        label=inputs.compiled.regions[region].region.label,
        target=inputs.target_id(region),
        state=coat_kind(hair.coat, hair.growth, hair.pace, inputs.state.day),
        set_on=set_on(inputs, region, visits),
        renewed=tuple([visits[last].day for last in rounds if last < len(visits)]),
        show_share=right_share,
        show_right=show_right,
    )


def all_set(days: Iterable[Date | None]) -> Date | None:
    """The last of the days on which each region is set; None where one never is."""
    dates = list(days)
    return None if None in dates else max(day for day in dates if day is not None)


def notes_of(inputs: PlanInputs, states: Mapping[str, CoatKind]) -> Iterator[Message]:
    """Yields what a reader should know about how the plan was made."""
    compiled, state = inputs.compiled, inputs.state

    def where(names: Sequence[str]) -> Message:
        if len(names) == len(states):
            return message("plan.whole-coat")
        return message("plan.regions", regions=_labels(compiled, names))

    if state.born is not None and puppy(state.age_weeks, compiled.first_coat_weeks):
        grown = grown_on(Date.fromordinal(state.born), compiled.first_coat_weeks)
        yield message("plan.puppy", until=grown, minutes=PUPPY_MINUTES)
    if guessed := [name for name in inputs.regions if state.regions[name].guessed]:
        yield message("plan.arrival-not-recorded", where=where(guessed))
    for kind in NOT_YET_ROLLING:
        if names := [name for name, current in states.items() if current == kind]:
            yield message(f"plan.coat-{kind}", where=where(names))
    if unsound := [name for name in compiled.regions if state.regions[name].skin == "unsound"]:
        yield message("plan.unsound", regions=_labels(compiled, unsound))
    if growing := [name for name in inputs.let_grow if name not in inputs.regions]:
        ready = most_from(inputs.let_grow.values())
        yield message("plan.grows-out", regions=_labels(compiled, growing), day=ready)
    if beside := [name for name in state.margins if name not in unsound and wanted_by_hand(inputs.targets, name)]:
        yield message("plan.beside-unsound", regions=_labels(compiled, beside))
    if any(inputs.forbidden):
        days = tuple(day for day, no in zip(inputs.days, inputs.forbidden, strict=True) if no)
        yield message("plan.hands-off", days=days, health=tuple(state.health), count=len(state.health))
    if inputs.show is None and state.show is not None:
        yield message("plan.show-on-record", show=state.show)
    elif inputs.show is not None and state.show is not None and state.show < inputs.show:
        yield message("plan.show-before", show=state.show)
    if any(inputs.short):
        days = tuple(day for day, short in zip(inputs.days, inputs.short, strict=True) if short)
        yield message("plan.full-days", days=days)
    if changes := inputs.targets.changes((state.day, *inputs.visits)):
        yield message("plan.targets-change", days=changes)
    if any(rule.when != ALWAYS for _, rule in compiled.profile.rules.items()):
        yield message("plan.rules-of-the-day")


def _labels(compiled: CompiledProfile, names: Sequence[str]) -> tuple[str, ...]:
    return tuple(compiled.regions[name].region.label for name in names)
