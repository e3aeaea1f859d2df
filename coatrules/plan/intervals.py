"""Which interval? Several tried on one dog, side by side, each with its best plan, judged once the coat has settled."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date as Date
from datetime import timedelta
from math import ceil
from typing import Any

from coatrules.coat.measures import LAYER_MASS
from coatrules.coat.queue import WHOLE
from coatrules.coat.ripening import HORIZON_DAYS
from coatrules.dog.history import History
from coatrules.dog.loading import given_history
from coatrules.dog.regime import worked_by
from coatrules.order.arguments import checked_day
from coatrules.order.share import LEAST_SHARE
from coatrules.plan.ahead import best
from coatrules.plan.dates import row, usable_weeks
from coatrules.plan.inputs import plan_inputs
from coatrules.plan.outcome import all_set, set_on
from coatrules.plan.results import Interval, Intervals, RegionVisit
from coatrules.profile.compiled import compile_profile
from coatrules.profile.loading import load_profile
from coatrules.profile.model import LayerTarget, Profile

TWO_TO_EIGHT = (2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0)
ROUNDS = 3
"""Times round that a coat is given to settle; two are published as needed (Miniature Schnauzer rolling guide,
katewerk.com/roll.html, 2000), the third is judged."""
YEAR_WEEKS = 52.1775


def compare_intervals(
    profile: Profile | Mapping[str, Any] | str,
    history: History | Mapping[str, Any],
    *,
    date: Date,
    weeks: Iterable[float] = TWO_TO_EIGHT,
    minutes: float | None = None,
) -> Intervals:
    """Intervals of ``weeks`` side by side for one dog as of ``date``; ``minutes`` is what a visit may last.

    At another interval the usual share changes with it, so that hair still goes at the age at which it should. ``weeks`` is
    read one by one as they are tried. Needs the extra ``plan``. Raises ``InputError``.
    """
    profile = profile if isinstance(profile, Profile) else load_profile(profile)
    history = given_history(history)
    today = checked_day(date)
    worked = worked_by(profile, history, today)
    intervals = sorted(
        (_interval(profile, history, today, usable_weeks(every), minutes) for every in weeks),
        key=lambda interval: interval.every_weeks,
    )
    kept = [interval.every_weeks for interval in intervals if not interval.missed]
    return Intervals(
        dog_id=history.dog.id,
        dog_name=history.dog.called,
        profile_id=worked.id,
        profile_label=worked.label,
        date=date,
        intervals=tuple(intervals),
        longest=max(kept, default=None),
    )


def _interval(profile: Profile, history: History, date: Date, every: float, minutes: float | None) -> Interval:
    """Returns one interval, planned for as long as the slowest region takes to go round ``ROUNDS`` times."""
    compiled = compile_profile(worked_by(profile, history, date))
    days = row(compiled, history, date, every, 1, None)
    inputs = plan_inputs(profile, history, date, days, minutes)
    targets = [inputs.target(name, inputs.visits[0]) for name in inputs.regions]
    rounds = [compiled.profile.visit.every_weeks / max(target.take.usual, LEAST_SHARE) for target in targets]
    count = min(400, ceil(ROUNDS * max(rounds) / every) + 1, int(HORIZON_DAYS / 7 / every) - 1)
    inputs = plan_inputs(profile, history, date, row(compiled, history, date, every, max(count, 1), None), minutes)
    visits = best(inputs).visits
    since = visits[-1].day - timedelta(weeks=max(rounds))
    settled = [visit for visit in visits if visit.day > since]
    missed: dict[str, set[str]] = {}
    for name in inputs.regions:
        on_visits = [(inputs.target(name, visit.day.toordinal()), visit.regions[name]) for visit in settled]
        if faults := _missed(on_visits):
            missed.setdefault(inputs.target_id(name), set()).update(faults)
    if any(short for visit, short in zip(visits, inputs.short, strict=True) if visit.day > since):
        missed.setdefault("visit", set()).add("minutes")
    region_visits = [region for visit in settled for region in visit.regions.values()]
    mean = sum(visit.minutes for visit in settled) / len(settled)
    return Interval(
        every_weeks=every,
        cover=min(region.cover for region in region_visits),
        layers=min(region.layers for region in region_visits),
        minutes=mean,
        hours_a_year=mean / 60 * YEAR_WEEKS / every,
        set_on=None if missed else all_set(set_on(inputs, name, visits) for name in inputs.regions),
        comes_easily=_comes_easily(region_visits),
        missed={name: tuple(sorted(what)) for name, what in sorted(missed.items())},
    )


def _comes_easily(region_visits: Sequence[RegionVisit]) -> float | None:
    """Returns the ripe part of all that is pulled at these visits."""
    pulled = [(visit.share, visit.comes_easily) for visit in region_visits if visit.comes_easily is not None]
    return sum(share * ripe for share, ripe in pulled) / sum(share for share, _ in pulled) if pulled else None


def _missed(visits: Sequence[tuple[LayerTarget, RegionVisit]]) -> set[str]:
    """Returns what the targets of the visits ask for and do not get; their cover is never given up (``program``)."""
    missed = set()
    if any(visit.layers < target.layers for target, visit in visits):
        missed.add("layers")
    if any(visit.late_share * WHOLE >= LAYER_MASS for _, visit in visits):
        missed.add("late")
    return missed
