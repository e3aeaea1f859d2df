"""What there is to plan: the days, the regions with their coats, the minutes, and the classes of regions in the program."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date as Date
from itertools import accumulate
from math import inf

from attrs import field, frozen

from coatrules.coat.measures import LAYER_MASS, mass_longer
from coatrules.dog.history import History
from coatrules.dog.safety import (
    STOP_RESTS_DAYS,
    STOP_SHARE,
    in_force,
    strictest,
)
from coatrules.dog.state import DogState, state_on
from coatrules.order.arguments import checked_minutes
from coatrules.order.decide import LEAST_SHARE
from coatrules.plan.calendar_minutes import calendar_minutes
from coatrules.plan.dates import gaps, no_puppy
from coatrules.plan.program import SAFETY, RegionClass
from coatrules.plan.queue_bounds import Hair
from coatrules.plan.show import check_show_lengths, show_bounds
from coatrules.problems import InputError
from coatrules.profile.compiled import CompiledProfile, CompiledRegion
from coatrules.profile.floor import DAY_MINUTES
from coatrules.profile.model import ALWAYS, LayerTarget


@frozen(eq=False)
class PlanInputs:
    """What is to be planned, worked out from the state: the days, the regions, the minutes for pulling."""

    compiled: CompiledProfile
    state: DogState
    days: tuple[Date, ...]
    gaps: tuple[float, ...]
    calendar_minutes: tuple[float, ...]
    available: float
    forbidden: tuple[bool, ...]
    show: Date | None
    regions: Mapping[str, Hair]
    visits: tuple[int, ...] = field(init=False)
    """The days as ordinals."""

    @visits.default
    def _ordinals(self) -> tuple[int, ...]:
        return tuple(day.toordinal() for day in self.days)

    @property
    def pulling(self) -> tuple[float, ...]:
        """Minutes there are for pulling at each visit."""
        return tuple(max(0.0, self.available - minutes) for minutes in self.calendar_minutes)

    def pull_minutes(self, region: str) -> float:
        """Minutes to pull a whole region, at the speed of these hands."""
        return self.compiled.regions[region].region.minutes.get("pull", 0.0) / self.state.speed.of(region)

    def target(self, region: str) -> LayerTarget:
        """What is wanted of a planned region."""
        return self.compiled.profile.layer_targets[self.target_id(region)]

    def target_id(self, region: str) -> str:
        """The id of the layer target of a planned region."""
        target_id = self.compiled.regions[region].target_id
        assert target_id is not None  # ``plannable``
        return target_id


def plan_inputs(
    compiled: CompiledProfile,
    history: History,
    date: Date,
    days: tuple[Date, ...],
    minutes: float | None,
    show: Date | None = None,
) -> PlanInputs:
    """What there is to plan on checked ``days``, from the state on ``date``."""
    state = state_on(compiled, history, date)
    available = min(checked_minutes(compiled, minutes), DAY_MINUTES)
    no_puppy(compiled, history, days)
    visits = tuple(day.toordinal() for day in days)
    past = [visit for _, visit in history.until(Date.fromordinal(state.day))]
    forbidden = tuple(strictest(in_force(past, day)) is not None for day in days)
    if all(forbidden):
        params = {"health": tuple(state.health), "count": len(state.health)}
        raise InputError([history.origin.problem_at((), "plan-health", params)])
    regions = {
        name: Hair(state.regions[name].coat, state.regions[name].growth, state.pace.of(name), visits)
        for name, region in compiled.regions.items()
        if plannable(region) and state.regions[name].skin != "unsound" and name not in state.margins
    }
    if not regions and any(own.skin == "unsound" for own in state.regions.values()):
        raise InputError([history.origin.problem_at((), "plan-unsound")])
    if not regions:
        params = {"profile": compiled.profile.id}
        raise InputError([compiled.profile.origin.problem_at((), "plan-nothing", params)])
    if show is not None:
        check_show_lengths(compiled, regions, show)
    return PlanInputs(
        compiled=compiled,
        state=state,
        days=days,
        gaps=tuple(gaps(visits, compiled.profile.visit.every_weeks)),
        calendar_minutes=tuple(min(DAY_MINUTES, spent) for spent in calendar_minutes(compiled, state, visits)),
        available=available,
        forbidden=forbidden,
        show=show,
        regions=regions,
    )


def plannable(region: CompiledRegion) -> bool:
    """Whether hand work is wanted in a region whatever the day."""
    never = any(rule.when == ALWAYS and "pull" in rule.then.leave for _, rule in region.rules)
    return region.hand is not None and not never


def region_classes_of(inputs: PlanInputs) -> list[RegionClass]:
    """Returns the classes of regions in the linear program: those with the same coat and target together."""
    classes: dict[tuple[object, ...], list[str]] = {}
    for name, hair in inputs.regions.items():
        compiled = inputs.compiled.regions[name]
        last = inputs.state.regions[name].last.get("pull")
        class_key = (
            *(inputs.target_id(name), compiled.region.coat, hair.coat, hair.pace, last, _most(inputs, name)),
            tuple(_stop_caps(inputs, name)),
        )
        classes.setdefault(class_key, []).append(name)
    return [_region_class(inputs, tuple(regions)) for regions in classes.values()]


def target_cover(target: LayerTarget) -> float:
    """Returns the least cover of a target straight after the work (0 to 1); 0 where it is not kept."""
    return 0.0 if target.cover is None or target.full_strip else target.cover.at_least


def target_longest_mm(target: LayerTarget) -> float:
    """Returns the longest silhouette of a target, in mm; infinite where it has none."""
    return inf if target.longest_mm is None else target.longest_mm[1]


def _most(inputs: PlanInputs, region: str) -> float:
    """The most that may be pulled at one visit whatever the day: the target's limit and those of rules without condition."""
    rules = [rule.then.take.at_most for _, rule in inputs.compiled.regions[region].rules if rule.when == ALWAYS]
    return min(inputs.target(region).take.at_most, *(at_most for at_most in rules if at_most is not None), 1.0)


def _stop_caps(inputs: PlanInputs, region: str) -> Iterator[float]:
    """The most that a stop leaves of each visit: nothing while the place rests, then a tenth until it was borne once."""
    own = inputs.state.regions[region]
    tried = own.last_reaction != "stop"
    for day in inputs.visits:
        if own.stop_day is not None and day < own.stop_day + STOP_RESTS_DAYS:
            yield 0.0
        else:
            yield 1.0 if tried else STOP_SHARE
            tried = True


def _region_class(inputs: PlanInputs, regions: tuple[str, ...]) -> RegionClass:
    """Returns the class of regions that are alike, as the linear program takes it."""
    region = regions[0]
    hair, target, most = inputs.regions[region], inputs.target(region), _most(inputs, region)
    longest, least_cover = target_longest_mm(target), target_cover(target)
    covers = hair.covers(least_cover + 2 * SAFETY)
    low = min(most, target.take.low_spot)
    return RegionClass(
        regions=regions,
        minutes=sum(inputs.pull_minutes(name) for name in regions),
        usual=tuple(_usual(inputs, region)),
        at_most=tuple(
            0.0 if no else min(cap, most if n >= covers else low)
            for n, (no, cap) in enumerate(zip(inputs.forbidden, _stop_caps(inputs, region), strict=True))
        ),
        ready=tuple(hair.ready()),
        overgrown=tuple(hair.overgrown(next_days(inputs), longest)),
        cover=hair.cover_left(covers) if least_cover else None,
        least_cover=least_cover,
        show=None if inputs.show is None or not target.show_mm else show_bounds(hair, inputs.show, target.show_mm),
        grace_visits=grace_visits(inputs, region),
    )


def next_days(inputs: PlanInputs) -> list[int]:
    """For each visit the day of the next one; after the last, a day as far on as the one before it."""
    return [*inputs.visits[1:], inputs.visits[-1] + round(inputs.gaps[-1] * 7)]


def grace_visits(inputs: PlanInputs, region: str) -> int:
    """Visits that a coat needs to go round once where it is overgrown already when the dog comes; else 0."""
    hair, target = inputs.regions[region], inputs.target(region)
    overgrown = mass_longer(hair.coat, hair.growth, hair.pace, hair.visits[0], target_longest_mm(target))
    if overgrown < LAYER_MASS:
        return 0
    rounds = accumulate(_usual(inputs, region))
    return next((number for number, pulled in enumerate(rounds, 1) if pulled > 1 - SAFETY), len(inputs.days) + 1)


def _usual(inputs: PlanInputs, region: str) -> list[float]:
    """The usual share at each visit: at another interval it changes in step, so that hair still goes at its age."""
    take, every = inputs.target(region).take, inputs.compiled.profile.visit.every_weeks
    shares, due_share = [], 0.0
    for weeks in _weeks_waited(inputs, region):
        due_share = min(1.0, due_share + take.usual * weeks / every)
        worth_it = due_share >= LEAST_SHARE - SAFETY  # what is not waits for the next visit
        shares.append(due_share if worth_it else 0.0)
        due_share = 0.0 if worth_it else due_share
    return shares


def _weeks_waited(inputs: PlanInputs, region: str) -> list[float]:
    """Returns for each visit the weeks since the one before it: so much of the usual round is due."""
    last = inputs.state.regions[region].last.get("pull")
    first = inputs.compiled.profile.visit.every_weeks if last is None else (inputs.visits[0] - last) / 7
    return [first, *inputs.gaps[:-1]]
