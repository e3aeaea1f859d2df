"""What there is to plan: the days, the regions with their coats, the minutes, and the classes of regions in the program."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator, Mapping, Sequence
from datetime import date as Date
from itertools import accumulate
from math import inf

from attrs import field, frozen

from coatrules.coat.growth import days_to_age
from coatrules.coat.measures import LAYER_MASS, mass_longer
from coatrules.coat.queue import WHOLE, Coat
from coatrules.coat.ripening import ripe_masses
from coatrules.dog.history import History
from coatrules.dog.regime import worked_by
from coatrules.dog.safety import (
    STOP_RESTS_DAYS,
    STOP_SHARE,
    in_force,
    strictest,
)
from coatrules.dog.state import DogState, state_on
from coatrules.dog.strippable import NEARLY_ALL, RIPE_FROM
from coatrules.order.arguments import checked_minutes
from coatrules.order.blending import held_together
from coatrules.order.clipped_coat import let_grow, most_from
from coatrules.order.next_visit import leading_regions
from coatrules.order.pulled_lately import Pulled, counted, pulls_of
from coatrules.order.share import LEAST_SHARE, SOFT_CLIPS, of_growing_hair
from coatrules.plan.calendar_minutes import calendar_work
from coatrules.plan.dates import gaps, no_puppy
from coatrules.plan.program import SAFETY, RegionClass
from coatrules.plan.queue_bounds import Hair, QueueBound
from coatrules.plan.show import check_show_lengths, show_bounds
from coatrules.plan.targets_by_day import TargetsByDay, targets_by_day
from coatrules.problems import InputError
from coatrules.profile.compiled import CompiledProfile, CompiledRegion, compile_profile
from coatrules.profile.floor import DAY_MINUTES
from coatrules.profile.model import ALWAYS, LayerTarget, Profile
from coatrules.read_only import NOTHING


@frozen(eq=False)
class PlanInputs:
    """What is to be planned, worked out from the state: the days, the regions, the minutes for pulling. ``compiled``: the profile
    with the targets of the day on which the plan is made."""

    compiled: CompiledProfile
    targets: TargetsByDay
    state: DogState
    days: tuple[Date, ...]
    gaps: tuple[float, ...]
    calendar_minutes: tuple[float, ...]
    usual_pulling: tuple[float, ...]
    """Minutes in which all usual shares are pulled, by the targets of each visit."""
    short: tuple[bool, ...]
    """At which visits some of the calendar's work gives way."""
    available: float
    forbidden: tuple[bool, ...]
    show: Date | None
    regions: Mapping[str, Hair]
    let_grow: Mapping[str, int]
    """Clipped regions, with the first day (an ordinal) on which they can be stripped out whole: before it nothing is pulled there, and
    where the profile rolls them nothing is planned."""
    visits: tuple[int, ...] = field(init=False)
    """The days as ordinals."""
    wanted: Mapping[str, tuple[LayerTarget, ...]] = field(init=False)
    """Of each region what is wanted at each visit."""
    fits: tuple[float, ...] = field(init=False)
    """Which part of the usual pulling (0 to 1) each visit has the time for."""

    @visits.default
    def _ordinals(self) -> tuple[int, ...]:
        return tuple(day.toordinal() for day in self.days)

    @wanted.default
    def _wanted(self) -> Mapping[str, tuple[LayerTarget, ...]]:
        return {name: tuple([self.targets.of(name, day) for day in self.visits]) for name in self.regions}

    @fits.default
    def _fits(self) -> tuple[float, ...]:
        there = zip(self.pulling, self.usual_pulling, strict=True)
        return tuple([min(1.0, there_is / max(wanted, there_is, SAFETY)) for there_is, wanted in there])

    @property
    def pulling(self) -> tuple[float, ...]:
        """Minutes there are for pulling at each visit."""
        return tuple(max(0.0, self.available - minutes) for minutes in self.calendar_minutes)

    def pull_minutes(self, region: str) -> float:
        """Minutes to pull a whole region, at the speed of these hands."""
        return self.compiled.regions[region].region.minutes.get("pull", 0.0) / self.state.speed.of(region)

    def target(self, region: str, day: int) -> LayerTarget:
        """What is wanted of a planned region on a day (ordinal)."""
        return self.targets.of(region, day)

    def target_id(self, region: str) -> str:
        """The id of the layer target of a planned region: of the first that holds."""
        return next(target_id for target_id in self.targets.ids(region) if target_id is not None)


def plan_inputs(
    profile: Profile,
    history: History,
    date: Date,
    days: tuple[Date, ...],
    minutes: float | None,
    show: Date | None = None,
) -> PlanInputs:
    """What there is to plan on checked ``days``, from the state on ``date``; ``profile`` with all of its targets."""
    compiled = compile_profile(worked_by(profile, history, date))
    state = state_on(compiled, history, date)
    available = min(checked_minutes(compiled, minutes), DAY_MINUTES)
    no_puppy(compiled, history, days)
    visits = tuple(day.toordinal() for day in days)
    visit_gaps = tuple(gaps(visits, compiled.profile.visit.every_weeks))
    targets = targets_by_day(
        profile, history, [state.day, *visits, after_last(visits, visit_gaps), *([show.toordinal()] if show else [])]
    )
    past = [visit for _, visit in history.until(Date.fromordinal(state.day))]
    forbidden = tuple(strictest(in_force(past, day)) is not None for day in days)
    if all(forbidden):
        params = {"health": tuple(state.health), "count": len(state.health)}
        raise InputError([history.origin.problem_at((), "plan-health", params)])
    growing = let_grow(compiled, state)
    kept_out = {name for name in growing if not any(targets.of(name, day).full_strip for day in visits)}
    regions = {
        name: Hair(state.regions[name].coat, state.regions[name].growth, state.pace.of(name), visits)
        for name in compiled.regions
        if name not in kept_out
        and wanted_by_hand(targets, name)
        and state.regions[name].skin != "unsound"
        and name not in state.margins
    }
    if not regions and kept_out:
        params = {"day": most_from(growing.values())}
        raise InputError([history.origin.problem_at((), "plan-grows-out", params)])
    if not regions and any(own.skin == "unsound" for own in state.regions.values()):
        raise InputError([history.origin.problem_at((), "plan-unsound")])
    if not regions:
        params = {"profile": compiled.profile.id}
        raise InputError([compiled.profile.origin.problem_at((), "plan-nothing", params)])
    if show is not None:
        check_show_lengths(targets.compiled[show.toordinal()], history, regions, show)
    covered_from = {
        name: next(
            (n for n, covered in enumerate(hair.covered(_least_covers(targets, name, visits))) if covered), len(visits)
        )
        for name, hair in regions.items()
    }
    usual_pulling = tuple([_usual_pulling(targets.compiled[day], state) for day in visits])
    work = calendar_work(compiled, state, visits, available, usual_pulling, covered_from)
    return PlanInputs(
        compiled=compiled,
        targets=targets,
        state=state,
        days=days,
        gaps=visit_gaps,
        calendar_minutes=tuple([one.minutes for one in work]),
        usual_pulling=usual_pulling,
        short=tuple([one.short for one in work]),
        available=available,
        forbidden=forbidden,
        show=show,
        regions=regions,
        let_grow=growing,
    )


def _usual_pulling(compiled: CompiledProfile, state: DogState) -> float:
    """The minutes in which all usual shares are pulled."""
    return sum(
        region.hand.take.usual * region.region.minutes.get("pull", 0.0) / state.speed.of(name)
        for name, region in compiled.regions.items()
        if region.hand is not None
    )


def _least_covers(targets: TargetsByDay, region: str, visits: Sequence[int]) -> list[float]:
    """The least cover of a region straight after each visit."""
    return [target_cover(targets.of(region, day)) for day in visits]


def plannable(region: CompiledRegion) -> bool:
    """Whether hand work is wanted in a region by the targets of a day, whatever the coat is like."""
    never = any(rule.when == ALWAYS and "pull" in rule.then.leave for _, rule in region.rules)
    return region.hand is not None and not never


def wanted_by_hand(targets: TargetsByDay, region: str) -> bool:
    """Whether hand work is wanted in a region on any of the days, whatever the coat is like."""
    return any(plannable(of_day.regions[region]) for of_day in targets.distinct)


Granted = Mapping[tuple[str, ...], Mapping[int, float]]
"""By the regions of a class and the visit (from 0), the most that an order would grant where a plan carried out asked for more."""


def region_classes_of(inputs: PlanInputs, granted: Granted = NOTHING) -> list[RegionClass]:
    """Returns the classes of regions in the linear program: those with the same coat, targets and blends together."""
    classes: dict[tuple[object, ...], list[str]] = {}
    held = held_together(inputs.compiled.profile)
    for name, hair in inputs.regions.items():
        compiled = inputs.compiled.regions[name]
        last = inputs.state.regions[name].last.get("pull")
        class_key = (
            *(inputs.targets.ids(name), compiled.region.coat, hair.coat, hair.pace, last, rules_most(inputs, name)),
            *(tuple(_stop_caps(inputs, name)), soft_until(inputs, name)),
            tuple(name in blend.regions for blend in held),
            inputs.let_grow.get(name),
        )
        classes.setdefault(class_key, []).append(name)
    return [_region_class(inputs, tuple(regions), granted) for regions in classes.values()]


def target_cover(target: LayerTarget) -> float:
    """Returns the least cover of a target straight after the work (0 to 1); 0 where it is not kept."""
    return 0.0 if target.cover is None or target.full_strip else target.cover.at_least


def target_longest_mm(target: LayerTarget) -> float:
    """Returns the longest silhouette of a target, in mm; infinite where it has none."""
    return inf if target.longest_mm is None else target.longest_mm[1]


def rules_most(inputs: PlanInputs, region: str) -> float:
    """The most that rules without condition let be pulled of a region at one visit."""
    rules = [rule.then.take.at_most for _, rule in inputs.compiled.regions[region].rules if rule.when == ALWAYS]
    return min((at_most for at_most in rules if at_most is not None), default=1.0)


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


def soft_until(inputs: PlanInputs, region: str) -> int | None:
    """The day (ordinal) of the cut by which a coat is soft: as long as hair stands that is older, nothing like all of it is
    asked for. None where it is not soft."""
    own = inputs.state.regions[region]
    return own.last.get("clip") if own.clips >= SOFT_CLIPS else None


def may_strip(inputs: PlanInputs, region: str, coat: Coat, ripe_share: float) -> bool:
    """Whether nearly everything may be asked of a coat, as an order would that day."""
    soft = soft_until(inputs, region)
    return ripe_share >= RIPE_FROM and (soft is None or coat.cohorts[0].day > soft)


def _ripe_caps(inputs: PlanInputs, region: str) -> Iterator[float]:
    """The most that an order could ask for at each visit, whatever the target's limit, as far as the hair is ripe: until new hair
    is, that hangs on what stands today alone, and what the plan pulls before a visit makes it less. What is rolled is never
    nearly all taken."""
    hair, most = inputs.regions[region], rules_most(inputs, region)
    renewed = inputs.visits[0] + days_to_age(hair.growth.age_when_ripe(RIPE_FROM), hair.pace)
    for day, target in zip(inputs.visits, inputs.wanted[region], strict=True):
        less = of_growing_hair(target, WHOLE) / WHOLE
        rolled = not target.full_strip and min(target.take.at_most, most) < NEARLY_ALL
        if not target.full_strip and (less or rolled):
            less = NEARLY_ALL - 1 / WHOLE
        ripe = 1.0
        if day < renewed and not rolled:
            ripe = sum(ripe_masses(hair.coat.cohorts, hair.growth, hair.pace, day)) / WHOLE
        yield 1.0 if not rolled and may_strip(inputs, region, hair.coat, ripe) else less


def _region_class(inputs: PlanInputs, regions: tuple[str, ...], granted: Granted) -> RegionClass:
    """Returns the class of regions that are alike, as the linear program takes it."""
    region = regions[0]
    hair, most = inputs.regions[region], rules_most(inputs, region)
    least_covers = _borne_covers(inputs, region)
    covered = hair.covered([least_cover + 2 * SAFETY for least_cover in least_covers])
    grants = granted.get(regions, {})
    ripe_caps = tuple([min(cap, grants.get(n, 1.0)) for n, cap in enumerate(_ripe_caps(inputs, region))])
    caps = zip(
        _forbidden(inputs, region), _stop_caps(inputs, region), ripe_caps, inputs.wanted[region], covered, strict=True
    )
    return RegionClass(
        regions=regions,
        minutes=sum(inputs.pull_minutes(name) for name in regions),
        weight=_weight(inputs, regions),
        usual=tuple(_usual(inputs, region)),
        at_most=tuple(
            0.0 if no else min(stop, ripe, most, target.take.at_most, 1.0 if covers else target.take.low_spot)
            for no, stop, ripe, target, covers in caps
        ),
        ripe=ripe_caps,
        ready=tuple(hair.ready()),
        overgrown=tuple(_overgrown(inputs, region)),
        cover=hair.cover_left(covered.index(True)) if any(least_covers) and any(covered) else None,
        least_cover=tuple([least if covers else 0.0 for least, covers in zip(least_covers, covered, strict=True)]),
        show=_show_bounds(inputs, region),
        grace_visits=grace_visits(inputs, region),
    )


def _forbidden(inputs: PlanInputs, region: str) -> Iterator[bool]:
    """Yields for each visit whether no hair is pulled: for the health, or as a clipped coat is let grow."""
    ready = inputs.let_grow.get(region)
    for day, no, target in zip(inputs.visits, inputs.forbidden, inputs.wanted[region], strict=True):
        yield no or (ready is not None and (day < ready or not target.full_strip))


def _overgrown(inputs: PlanInputs, region: str) -> Iterator[QueueBound]:
    """Yields for each visit the end of the hair that is overgrown when the dog comes again, by the target of that day."""
    days = next_days(inputs)
    longest = [target_longest_mm(inputs.target(region, day)) for day in days]
    bounds = {mm: inputs.regions[region].overgrown(days, mm) for mm in set(longest)}
    return (bounds[mm][n] for n, mm in enumerate(longest))


def _show_bounds(inputs: PlanInputs, region: str) -> tuple[QueueBound, QueueBound] | None:
    show_mm = None if inputs.show is None else inputs.target(region, inputs.show.toordinal()).show_mm
    return show_bounds(inputs.regions[region], inputs.show, show_mm) if inputs.show and show_mm else None


def _borne_covers(inputs: PlanInputs, region: str) -> list[float]:
    """The cover that the program keeps straight after each visit: the least that is wanted there, or was at a visit since which hair
    has not grown back. Of what a stricter target asks meanwhile the coat gives what it bears, as on the day itself."""
    wanted = [target_cover(target) for target in inputs.wanted[region]]
    if len(set(wanted)) == 1:
        return wanted
    grown_by = [bisect_right(inputs.visits, day - inputs.regions[region].hides_after) for day in inputs.visits]
    return [min(wanted[first : n + 1], default=wanted[n]) for n, first in enumerate(grown_by)]


LEADING, UNSEEN = 3.0, 0.5
"""A minute on the coat that leads is worth so many on other places, and one where nobody looks so much of one (common practice, no
source)."""


def _weight(inputs: PlanInputs, regions: Sequence[str]) -> float:
    """What the shares of regions cost against those of others: the minutes that they take, so that what is quickly done is not done
    first for that alone."""
    leads = any(leading_regions(of_day).issuperset(regions) for of_day in inputs.targets.distinct)
    worth = LEADING if leads else 1.0
    if not any(inputs.compiled.regions[name].region.visible for name in regions):
        worth = UNSEEN
    return worth * sum(max(1.0, inputs.pull_minutes(name)) for name in regions)


def next_days(inputs: PlanInputs) -> list[int]:
    """For each visit the day of the next one; after the last, a day as far on as the one before it."""
    return [*inputs.visits[1:], after_last(inputs.visits, inputs.gaps)]


def after_last(visits: Sequence[int], visit_gaps: Sequence[float]) -> int:
    """The day of the visit after the last, as far on as the one before it."""
    return visits[-1] + round(visit_gaps[-1] * 7)


def grace_visits(inputs: PlanInputs, region: str) -> int:
    """Visits that a coat needs to go round once where it is overgrown already when the dog comes; else 0."""
    hair, first = inputs.regions[region], inputs.visits[0]
    longest = target_longest_mm(inputs.target(region, first))
    overgrown = mass_longer(hair.coat, hair.growth, hair.pace, first, longest)
    if overgrown < LAYER_MASS:
        return 0
    rounds = accumulate(_usual(inputs, region))
    return next((number for number, pulled in enumerate(rounds, 1) if pulled > 1 - SAFETY), len(inputs.days) + 1)


def _usual(inputs: PlanInputs, region: str) -> list[float]:
    """The usual share at each visit: at another interval it changes in step, so that hair still goes at its age. Less where what was
    pulled lately counts towards it, as the order of that day asks. What a visit has no time for is due at the next."""
    every, pulls = inputs.compiled.profile.visit.every_weeks, pulls_of(inputs.state, inputs.regions[region].coat)
    shares: list[float] = []
    due_share = 0.0
    visits = zip(inputs.visits, inputs.wanted[region], _weeks_waited(inputs, region), inputs.fits, strict=True)
    for day, target, weeks, fits in visits:
        usual = target.take.usual
        due_share = min(1.0, min(due_share, usual) + usual * weeks / every)
        lately = counted(inputs.compiled, target, pulls, day) / WHOLE
        here = min(due_share, max(usual - lately, 0.0)) if lately else due_share
        worth_it = here >= LEAST_SHARE - SAFETY  # what is not waits for the next visit
        shares.append(here if worth_it else 0.0)
        due_share -= shares[-1] * fits
        if worth_it:
            pulls.append(Pulled(day, round(here * fits * WHOLE)))
    return shares


def _weeks_waited(inputs: PlanInputs, region: str) -> list[float]:
    """Returns for each visit the weeks since the one before it: so much of the usual round is due."""
    last = inputs.state.regions[region].last.get("pull")
    first = inputs.compiled.profile.visit.every_weeks if last is None else (inputs.visits[0] - last) / 7
    return [first, *inputs.gaps[:-1]]
