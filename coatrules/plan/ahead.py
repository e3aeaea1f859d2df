"""Plan the visits ahead: how much to pull where on which day, what it takes, and what stands on the dog then."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date as Date
from typing import Any, NamedTuple

from attrs import evolve

from coatrules.coat.measures import Standing, Surface, cover_limit, mass_longer, standing, surface
from coatrules.coat.queue import WHOLE, Coat, longest_pulled, mass_of
from coatrules.coat.ripening import comes_easily
from coatrules.dog.history import History
from coatrules.dog.loading import given_history
from coatrules.dog.regime import worked_by
from coatrules.dog.safety import STOP_SHARE
from coatrules.order.arguments import checked_day
from coatrules.order.blending import BlendedCoat, held_back, held_together
from coatrules.order.pulled_lately import pulled_lately
from coatrules.order.salon import Salon, given_salon
from coatrules.order.share import LEAST_SHARE, asks_nearly_all, of_growing_hair
from coatrules.plan.dates import checked_days, closed_days, row
from coatrules.plan.inputs import (
    PlanInputs,
    may_strip,
    plan_inputs,
    region_classes_of,
    target_cover,
    target_longest_mm,
)
from coatrules.plan.outcome import all_set, conflicts_of, notes_of, outlook_of, relaxations_of
from coatrules.plan.program import Choice, RegionClass, program, solve
from coatrules.plan.results import Plan, PlannedVisit, RegionVisit
from coatrules.plan.sureness import Pull, doubts_of, right_on_show
from coatrules.profile.compiled import compile_profile
from coatrules.profile.loading import load_profile
from coatrules.profile.model import Profile

TRIES = 6
"""So often a plan is made anew around what an order would not grant; what is left of that is carried out with less."""


def plan_ahead(
    profile: Profile | Mapping[str, Any] | str,
    history: History | Mapping[str, Any],
    *,
    date: Date,
    dates: Iterable[Date] | None = None,
    every_weeks: float | None = None,
    visits: int | None = None,
    minutes: float | None = None,
    show: Date | None = None,
    sure: bool = False,
    salon: Salon | Mapping[str, Any] | None = None,
) -> Plan:
    """The visits ahead for one dog, as of ``date``: on given ``dates``, or an even row of them.

    ``every_weeks`` is the row's interval (the profile's where nothing is said), ``visits`` its number (half a year's
    where nothing is said, or up to the ``show``). With a ``salon`` (its closed days and the dog's own weekday) its days are open
    ones. ``minutes`` is what a visit lasts. With ``show`` the hair is brought into the profile's ``show_mm`` on that day as far
    as it can be; without, nothing is planned for the days in which work shows at a show on record. ``sure``: also say on how many
    dogs like this one the days and the show come out right, which takes as long again, or ten times as long where all regions
    differ. Needs the extra ``plan``. Raises ``InputError``.
    """
    profile = profile if isinstance(profile, Profile) else load_profile(profile)
    history = given_history(history)
    compiled = compile_profile(worked_by(profile, history, checked_day(date)))
    for day in (date,) if show is None else (date, show):
        checked_day(day)
    open_days = None if salon is None else given_salon(salon)
    on_record = history.show_after(date)
    days = (
        row(compiled, history, date, every_weeks, visits, show, open_days, on_record)
        if dates is None
        else checked_days(dates, history, date, show, on_record)
    )
    inputs = plan_inputs(profile, history, date, days, minutes, show)
    planned, coats, pulls = best(inputs)
    conflicts = tuple(conflicts_of(inputs, planned, coats))
    by_day = inputs.targets.compiled
    right = right_on_show(by_day[show.toordinal()], inputs.state, coats, show) if sure and show is not None else None
    if sure:
        doubts = doubts_of([by_day[day] for day in inputs.visits], inputs.state, inputs.visits, pulls)
        planned = tuple([evolve(visit, **doubt._asdict()) for visit, doubt in zip(planned, doubts, strict=True)])
    regions = {
        region: outlook_of(inputs, region, planned, coats[region], right and right.share_of([region]))
        for region in inputs.regions
    }
    return Plan(
        dog_id=history.dog.id,
        dog_name=history.dog.called,
        profile_id=compiled.profile.id,
        profile_label=compiled.profile.label,
        date=date,
        visits=planned,
        regions=regions,
        set_on=all_set(outlook.set_on for outlook in regions.values()),
        clashes=conflicts,
        loosenings=tuple(relaxations_of(inputs)) if conflicts else (),
        notes=(
            *notes_of(inputs, {region: outlook.state for region, outlook in regions.items()}),
            *closed_days(open_days, days),
        ),
        show=show,
        show_right=right and right.share_of(regions),
    )


ROUNDING = 10
"""By so much (parts per million) what a coat bears may differ from the program's share by rounding alone."""


class CarriedOut(NamedTuple):
    """A plan worked on the coats themselves. coats: of each region after the last visit. pulls: of each, visit by visit."""

    visits: tuple[PlannedVisit, ...]
    coats: dict[str, Coat]
    pulls: dict[str, list[Pull]]


def best(inputs: PlanInputs) -> CarriedOut:
    """Returns the cheapest plan, carried out.

    How ripe hair is when its turn comes, and whether a place that the dog refused has been tried again, hangs on what is pulled
    before, and not linearly: where an order would grant less, that visit asks for less, and all is planned anew.
    """
    granted: dict[tuple[str, ...], dict[int, float]] = {}
    for _ in range(TRIES):
        classes = region_classes_of(inputs, granted)
        choice = solve(program(classes, inputs.pulling), len(classes), len(inputs.days))
        worked = _worked(inputs, classes, choice)
        less = {
            region_class.regions: {n: visit.granted for n, visit in enumerate(visits) if visit.granted is not None}
            for region_class, (visits, _) in zip(classes, worked, strict=True)
        }
        if not any(less.values()):
            break
        granted = {regions: {**granted.get(regions, {}), **visits} for regions, visits in less.items()}
    return _put_together(inputs, classes, worked)


def carry_out(inputs: PlanInputs, classes: Sequence[RegionClass], choice: Choice) -> CarriedOut:
    """Returns the chosen shares worked on the coats themselves, never more than each coat allows."""
    return _put_together(inputs, classes, _worked(inputs, classes, choice))


def _worked(inputs: PlanInputs, classes: Sequence[RegionClass], choice: Choice) -> list[_Worked]:
    works = [_RegionWork(inputs, region_class.regions[0]) for region_class in classes]
    at = {name: number for number, region_class in enumerate(classes) for name in region_class.regions}
    held = held_together(inputs.compiled.profile)
    for visit_index, day in enumerate(inputs.visits):
        asks = [work.ask(day, shares[visit_index]) for work, shares in zip(works, choice.pulled, strict=True)]
        coats = {name: works[number].blended_coat(day) for name, number in at.items()} if held else {}
        granted = held_back({name: asks[number].grants for name, number in at.items()}, held, coats.get)
        for work, ask in zip(works, asks, strict=True):
            work.pull(day, ask, granted[work.region])
    return [(work.visits, work.coat) for work in works]


def _put_together(inputs: PlanInputs, classes: Sequence[RegionClass], worked: Sequence[_Worked]) -> CarriedOut:
    region_visits: dict[str, list[RegionVisit]] = {}
    coats: dict[str, Coat] = {}
    pulls: dict[str, list[Pull]] = {}
    for region_class, (worked_visits, coat) in zip(classes, worked, strict=True):
        pulled = [Pull(visit.coat, visit.mass) for visit in worked_visits]
        for region in region_class.regions:
            whole_minutes = inputs.pull_minutes(region)
            region_visits[region] = [
                RegionVisit(
                    share=visit.mass / WHOLE,
                    minutes=whole_minutes * visit.mass / WHOLE,
                    layers=visit.before.layers,
                    longest_mm=visit.before.longest_mm,
                    late_share=visit.overgrown / WHOLE,
                    cover=visit.after.cover,
                    outline_mm=visit.after.outline_mm,
                    comes_easily=visit.comes_easily,
                )
                for visit in worked_visits
            ]
            coats[region], pulls[region] = coat, pulled
    planned = []
    for visit_index, (day, calendar_minutes) in enumerate(zip(inputs.days, inputs.calendar_minutes, strict=True)):
        regions = {region: region_visits[region][visit_index] for region in inputs.regions}
        minutes = calendar_minutes + sum(visit.minutes for visit in regions.values())
        planned.append(PlannedVisit(day, minutes, calendar_minutes, inputs.available, regions))
    return CarriedOut(tuple(planned), coats, pulls)


class _WorkedVisit(NamedTuple):
    """One region at one visit: its coat before the work, the mass pulled with the ripe part of it and the overgrown mass, what was
    read off before and after the work, and the share that an order would grant where more was asked for."""

    coat: Coat
    mass: int
    comes_easily: float | None
    overgrown: int
    before: Standing
    after: Surface
    granted: float | None


_Worked = tuple[list[_WorkedVisit], Coat]
"""One region's visits, and its coat at the end."""


class _Ask(NamedTuple):
    """What a plan asks of a region at a visit and what an order would grant (masses), with what stands before the work."""

    asked: int
    grants: int
    overgrown: int
    before: Standing


class _RegionWork:
    """One region's visits, one after the other."""

    def __init__(self, inputs: PlanInputs, region: str) -> None:
        self.inputs, self.region = inputs, region
        hair = inputs.regions[region]
        self.growth, self.pace, self.coat = hair.growth, hair.pace, hair.coat
        self.tried = inputs.state.regions[region].last_reaction != "stop"
        self.visits: list[_WorkedVisit] = []

    def ask(self, day: int, share: float) -> _Ask:
        """Returns what is asked of the coat on a day, never more than it allows, and what an order would grant of that."""
        coat, growth, pace, target = self.coat, self.growth, self.pace, self.inputs.target(self.region, day)
        longest, least_cover, low_spot = target_longest_mm(target), target_cover(target), mass_of(target.take.low_spot)
        before = standing(coat, growth, pace, day)
        overgrown = 0
        if before.blown_share or before.longest_mm > longest:
            overgrown = mass_longer(coat, growth, pace, day, longest)
        asked = grants = min(round(share * WHOLE), round(before.ready_share * WHOLE))
        if before.cover < least_cover:
            grants = min(grants, low_spot)
        if not self.tried:
            grants = min(grants, mass_of(STOP_SHARE))
        most = mass_of(target.take.at_most)
        lately = pulled_lately(self.inputs.compiled, self.inputs.state, target, coat, day)
        if lately.mass:
            grants = min(grants, max(most - lately.mass, 0))
            if least_cover and not target.full_strip:
                bears = cover_limit(coat, growth, pace, lately.judged, least_cover)
                grants = min(grants, max(bears, low_spot - lately.mass))
        # The order of that day asks for the usual share and for what is too long, whatever the plan wants of it.
        wants = max(grants + lately.mass, min(max(mass_of(target.take.usual), overgrown + lately.mass), most))
        ripe = before.ripe_share + lately.mass / WHOLE
        if asks_nearly_all(target, wants) and not may_strip(self.inputs, self.region, coat, ripe):
            bears = max(cover_limit(coat, growth, pace, day, least_cover), low_spot) if least_cover else WHOLE
            if asks_nearly_all(target, min(wants, bears)):
                grants = min(grants, max(of_growing_hair(target, wants) - lately.mass, 0))
        return _Ask(asked, grants, overgrown, before)

    def blended_coat(self, day: int) -> BlendedCoat | None:
        """Returns the coat as it runs into those beside it; None where it goes its own way."""
        if self.inputs.target(self.region, day).full_strip or not self.tried:
            return None
        return BlendedCoat(self.coat, self.growth, self.pace, day)

    def pull(self, day: int, ask: _Ask, grants: int) -> None:
        """Works the region."""
        growth, pace, least_cover = self.growth, self.pace, target_cover(self.inputs.target(self.region, day))
        mass = _worth_it(grants)
        pulled_coat = longest_pulled(self.coat, growth, pace, day, mass)
        after = surface(pulled_coat, growth, pace, day)
        if (
            after.cover < least_cover <= ask.before.cover
        ):  # by rounding, or a target is new: what the coat bears decides
            bears = cover_limit(self.coat, growth, pace, day, least_cover)
            grants, mass = (bears if grants - bears > ROUNDING else grants), _worth_it(bears)
            pulled_coat = longest_pulled(self.coat, growth, pace, day, mass)
            after = surface(pulled_coat, growth, pace, day)
        easily = comes_easily(self.coat.cohorts, growth, pace, day, mass) if mass else None
        less = None if grants == ask.asked else grants / WHOLE
        self.visits.append(_WorkedVisit(self.coat, mass, easily, ask.overgrown, ask.before, after, less))
        self.coat, self.tried = pulled_coat, self.tried or mass > 0


def _worth_it(mass: int) -> int:
    """What is too little for the dog's time is not pulled."""
    return 0 if mass < LEAST_SHARE * WHOLE else mass
