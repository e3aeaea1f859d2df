"""The way back from a show day: how much of a rolled coat is right then, and when each section is stripped for it.

Weeks come from growth and lengths alone: hair stripped today is ``mm_per_week * (pace * weeks - lag_weeks)`` long on
the day, so a wanted length is a number of weeks before it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date as Date
from datetime import timedelta
from functools import partial
from typing import Any, NamedTuple

from coatrules.catalogue.message import Message, message
from coatrules.coat.growth import days_to_age, ripening_days
from coatrules.coat.measures import days_until_longer, hair_lengths, mass_longer
from coatrules.coat.queue import WHOLE, Coat, fresh
from coatrules.dog.history import History
from coatrules.dog.loading import given_history
from coatrules.dog.regime import worked_by
from coatrules.dog.safety import HEALTH, STOP_RESTS_DAYS, in_force
from coatrules.dog.state import DogState, state_on
from coatrules.dog.strippable import strippable_from
from coatrules.order.arguments import checked_day
from coatrules.order.salon import Salon, given_salon
from coatrules.order.share import SOFT_CLIPS
from coatrules.plan.dates import closed_days, last_before, no_puppy
from coatrules.plan.queue_bounds import Hair, QueueBound
from coatrules.plan.results import Stage, StagedStrip
from coatrules.plan.sureness import Pull, doubts_of, right_on_show
from coatrules.problems import InputError, Problem
from coatrules.profile.compiled import CompiledProfile, compile_profile
from coatrules.profile.floor import DAY_MINUTES
from coatrules.profile.loading import load_profile
from coatrules.profile.model import Profile

_TINY = 1e-9
BARE = message("plan.bare")
"""Source: Miniature Schnauzer stripping guide, katewerk.com/trim.html (2000)."""
UNDERCOAT = message("plan.undercoat")
"""Source: pet-trade page on the Miniature Schnauzer: four weeks after the last section the undercoat comes off."""


def staged_strip(
    profile: Profile | Mapping[str, Any] | str,
    history: History | Mapping[str, Any],
    *,
    date: Date,
    show: Date,
    salon: Salon | Mapping[str, Any] | None = None,
) -> StagedStrip:
    """When each section is taken down so that its hair has the profile's ``show_mm`` on the ``show`` day, as of ``date``.

    A section is the regions of one layer target that holds on the show day. Raises ``InputError`` where the show is past, too near
    for a section, or where the profile says no ``show_mm``; it names the first day a show could be. With a ``salon`` (its closed days
    and the dog's own weekday) each is on the open day that suits best of those that do.
    """
    profile = profile if isinstance(profile, Profile) else load_profile(profile)
    history = given_history(history)
    profile = worked_by(profile, history, checked_day(show))
    compiled = compile_profile(profile)
    state = state_on(compiled, history, checked_day(date))
    if show <= date:
        raise InputError([Problem(code="show-today", params={"show": show, "today": date})])
    if lasting := tuple(name for name in state.health if HEALTH[name].days is None):
        raise InputError([history.origin.problem_at((), "plan-health", {"health": lasting, "count": len(lasting)})])
    problems: list[Problem] = []
    parts: list[tuple[Section, Window]] = []
    no_puppy(compiled, history, (date,))
    soonest = _hands_off_until(history, state)
    for section in _sections(compiled, history, state, show):
        window = section.window(state.day, show.toordinal(), max(soonest, _rested(state, section)))
        if soft := [name for name in section.regions if state.regions[name].clips >= SOFT_CLIPS]:
            problems.append(_soft_problem(compiled, section, show, soft))
        elif window.first > window.last:
            problems.append(_too_near_problem(section, show, window.first - window.last))
        else:
            parts += _parts(compiled, state, section, show, soonest)
    if problems:
        raise InputError(problems)
    on_record = None if state.show == show else state.show
    parts = [(section, _clear_of(window, show, on_record)) for section, window in parts]
    days = _Days(history.dog.id, None if salon is None else given_salon(salon))
    stages = list(_stages(compiled, state, _placed(compiled, state, parts, days), show))
    return StagedStrip(
        dog_id=history.dog.id,
        dog_name=history.dog.called,
        profile_id=profile.id,
        profile_label=profile.label,
        date=date,
        show=show,
        stages=tuple(sorted(stages, key=lambda stage: stage.day)),
        notes=(
            *(BARE, UNDERCOAT, *([LONG] if _overlong(stages) else [])),
            *_bare_before(on_record, stages),
            *closed_days(days.salon, dict.fromkeys(stage.day for stage in stages)),
        ),
    )


def _clear_of(window: Window, show: Date, on_record: Date | None) -> Window:
    """The days of which work does not show at the show, and after one on record that comes sooner, at which what was taken down is bare;
    before that where it must be. The same where none is left."""
    last = min(window.last, last_before(show).toordinal())
    first = window.first
    if on_record is not None and on_record < show and first <= on_record.toordinal():
        if on_record.toordinal() < last:
            first = on_record.toordinal() + 1
        else:
            last = min(last, last_before(on_record).toordinal())
    return Window(first, min(max(window.best, first), last), last) if first <= last else window


def _bare_before(show: Date | None, stages: Iterable[Stage]) -> Iterator[Message]:
    """Yields what is taken down before another show that comes sooner."""
    if show is not None and (labels := [label for stage in stages if stage.day <= show for label in stage.labels]):
        yield message("plan.staged-before", show=show, regions=tuple(labels))


def _overlong(stages: Iterable[Stage]) -> bool:
    """Whether any day holds more than a dog may stand on the table: one region alone, or no other day would do."""
    spent: dict[Date, float] = {}
    for stage in stages:
        spent[stage.day] = spent.get(stage.day, 0.0) + stage.minutes
    return max(spent.values(), default=0.0) > DAY_MINUTES


def _rested(state: DogState, section: Section) -> int:
    """The first day on which every place of a section that the dog refused may be tried again."""
    stops = [state.regions[name].stop_day for name in section.regions]
    return max((day + STOP_RESTS_DAYS for day in stops if day is not None), default=state.day)


def _hands_off_until(history: History, state: DogState) -> int:
    """The first day on which what forbids hand work for a few days is over: today where nothing does."""
    wait = max((HEALTH[name].days or 0 for name in state.health), default=0)
    days = range(state.day, state.day + wait)
    visits = [visit for _, visit in history.until(Date.fromordinal(state.day))]
    return next((day for day in days if not in_force(visits, Date.fromordinal(day))), state.day + wait)


LONG = message("plan.long-stage", hours=DAY_MINUTES / 60)
"""Common practice, no source."""


class Window(NamedTuple):
    """Days (ordinals) between which a section may be taken down, and the best of them."""

    first: int
    best: int
    last: int


class Section(NamedTuple):
    """Regions taken down together. show_mm: shortest and longest hair in mm on the show day."""

    name: str
    show_mm: tuple[float, float]
    regions: Mapping[str, Hair]

    def window(self, today: int, show: int, hands_on: int) -> Window:
        """When it may be taken down: not before ``hands_on``, all hair ready, and the new as long as wanted on the ``show`` day."""
        grown = [_days_to_grow(hair, self.show_mm) for hair in self.regions.values()]
        soonest = max(
            hands_on, *(strippable_from(hair.coat, hair.growth, hair.pace, today) for hair in self.regions.values())
        )
        first = max(soonest, show - min(most for _, _, most in grown))
        last = show - max(least for least, _, _ in grown)
        best = show - round(sum(middle for _, middle, _ in grown) / len(grown))
        return Window(first, min(max(best, first), last), last)


def _days_to_grow(hair: Hair, show_mm: tuple[float, float]) -> tuple[int, float, int]:
    """Days from the strip: the fewest that give the wanted length, those that give its middle, and the most.

    The most are those on which none of it is loose yet, where it can be as long as wanted by then.
    """
    growth, pace = hair.growth, hair.pace
    shortest, longest = show_mm[0], min(show_mm[1], growth.full_mm)
    least = days_to_age(growth.age_at(shortest) - _TINY, pace)
    middle = growth.age_at((shortest + longest) / 2) * 7 / pace
    most = ripening_days(growth, pace).loosens
    if longest < growth.full_mm:
        most = min(most, int(growth.age_at(longest) * 7 / pace + _TINY))
    return least, middle, max(least, most)


def _sections(compiled: CompiledProfile, history: History, state: DogState, show: Date) -> Iterator[Section]:
    """The regions of each target for which the same lengths are wanted together, or one by one where they grow too differently for one day.

    Raises ``InputError`` for each region whose hair, on this dog, stops before it is as long as wanted.
    """
    pullable = [
        name
        for name, region in compiled.regions.items()
        if region.hand is not None and state.regions[name].skin != "unsound" and name not in state.margins
    ]
    sections: dict[tuple[str, tuple[float, float]], dict[str, Hair]] = {}
    wanted = _show_lengths(compiled, history, pullable)
    if problems := [
        _too_short_problem(name, shortest, show)
        for name, (shortest, _) in wanted.items()
        if state.regions[name].growth.full_mm < shortest
    ]:
        raise InputError(problems)
    for name, show_mm in wanted.items():
        target_id = compiled.regions[name].target_id
        hair = Hair(state.regions[name].coat, state.regions[name].growth, state.pace.of(name), ())
        sections.setdefault((target_id or name, show_mm), {})[name] = hair
    for (target_id, show_mm), regions in sections.items():
        grown = [_days_to_grow(hair, show_mm) for hair in regions.values()]
        if max(least for least, _, _ in grown) <= min(most for _, _, most in grown):
            yield Section(target_id, show_mm, regions)
        else:
            yield from (Section(name, show_mm, {name: hair}) for name, hair in regions.items())


def _show_lengths(
    compiled: CompiledProfile, history: History, regions: Iterable[str]
) -> dict[str, tuple[float, float]]:
    """Returns the lengths (shortest and longest, mm) wanted on a show day, by region; raises ``InputError`` where there are none."""
    lengths = {}
    for name in regions:
        target = compiled.regions[name].target
        if target is not None and target.show_mm is not None:
            shortest, longest = target.show_mm
            lengths[name] = (shortest, longest)
    if not lengths:
        targets = tuple(
            dict.fromkeys(region.target_id for region in compiled.regions.values() if region.hand is not None)
        )
        most = max(targets, key=[region.target_id for region in compiled.regions.values()].count)
        params = {"profile": compiled.profile.id, "target": most, "targets": targets}
        raise InputError([history.origin.problem_at(("dog",), "plan-show", params)])
    return lengths


def _minutes(compiled: CompiledProfile, state: DogState, region: str) -> float:
    """Minutes to pull a whole region, at the speed of these hands."""
    return compiled.regions[region].region.minutes.get("pull", 0.0) / state.speed.of(region)


def _parts(
    compiled: CompiledProfile, state: DogState, section: Section, show: Date, soonest: int
) -> Iterator[tuple[Section, Window]]:
    """A section in parts none of which takes longer than a dog may stand on the table, in the order of the walk."""
    parts: list[dict[str, Hair]] = [{}]
    spent = 0.0
    for name, hair in section.regions.items():
        minutes = _minutes(compiled, state, name)
        if parts[-1] and spent + minutes > DAY_MINUTES:
            parts.append({})
            spent = 0.0
        parts[-1][name] = hair
        spent += minutes
    for regions in parts:
        part = section._replace(regions=regions)
        yield part, part.window(state.day, show.toordinal(), max(soonest, _rested(state, part)))


class _Days(NamedTuple):
    """For which dog days are chosen, and by which salon."""

    dog: str | int
    salon: Salon | None

    def rank(self, best: int, day: int) -> tuple[object, ...]:
        """Returns how well a day (ordinal) suits where another is the best, the most suitable least."""
        if self.salon is None:
            return abs(day - best), day
        return self.salon.suits(self.dog, Date.fromordinal(best), Date.fromordinal(day))


def _placed(
    compiled: CompiledProfile, state: DogState, parts: Sequence[tuple[Section, Window]], days_of: _Days
) -> Iterator[tuple[Section, Window, int]]:
    """Yields each part with its day: the nearest to its best, of those on which it is as long as wanted, that has the time for it; of
    a salon's days the most suitable."""
    spent: dict[int, float] = {}
    for section, window in sorted(parts, key=lambda part: (part[1].best, part[1].last)):
        minutes = _section_minutes(compiled, state, section)
        days = sorted(range(window.first, window.last + 1), key=partial(days_of.rank, window.best))
        day = next((day for day in days if spent.get(day, 0.0) + minutes <= DAY_MINUTES), next(iter(days), window.best))
        spent[day] = spent.get(day, 0.0) + minutes
        yield section, window, day


def _stages(
    compiled: CompiledProfile, state: DogState, placed: Iterable[tuple[Section, Window, int]], show: Date
) -> Iterator[Stage]:
    placed, last = tuple(placed), show.toordinal()
    coats = {name: Coat((fresh(WHOLE, day),)) for section, _, day in placed for name in section.regions}
    right = right_on_show(compiled, state, coats, show)
    for section, window, day in placed:
        pulls = {name: [Pull(hair.coat, WHOLE)] for name, hair in section.regions.items()}
        lengths = [hair.growth.length(hair.pace * (last - day) / 7) for hair in section.regions.values()]
        yield Stage(
            section=section.name,
            labels=tuple(compiled.regions[name].region.label for name in section.regions),
            day=Date.fromordinal(day),
            first=Date.fromordinal(window.first),
            last=Date.fromordinal(window.last),
            weeks_before=(last - day) / 7,
            minutes=_section_minutes(compiled, state, section),
            wanted_mm=section.show_mm,
            length_mm=sum(lengths) / len(lengths),
            early=doubts_of((compiled,), state, (day,), pulls)[0].early,
            right=right.mean_of(section.regions),
        )


def _section_minutes(compiled: CompiledProfile, state: DogState, section: Section) -> float:
    return sum(_minutes(compiled, state, name) for name in section.regions)


def _soft_problem(compiled: CompiledProfile, section: Section, show: Date, soft: Sequence[str]) -> Problem:
    labels = tuple(compiled.regions[name].region.label for name in soft)
    return Problem(code="show-soft", params={"show": show, "section": section.name, "regions": labels})


def _too_near_problem(section: Section, show: Date, days: int) -> Problem:
    params = {"show": show, "section": section.name, "length_mm": section.show_mm[0]}
    return Problem(code="show-too-near", params={**params, "first": show + timedelta(days=days)})


def _too_short_problem(region: str, length_mm: float, show: Date, fix: Message | None = None) -> Problem:
    params = {"region": region, "length_mm": length_mm, "show": show}
    return Problem(code="show-too-soon", params=params, fix=fix or message("fix.show-lengths"))


# --- a rolled coat on a show day ---


def check_show_lengths(compiled: CompiledProfile, history: History, regions: Mapping[str, Hair], show: Date) -> None:
    """Raises ``InputError`` where no length is wanted on a show day, or no hair can have it by then."""
    problems = []
    for name, (shortest, _) in _show_lengths(compiled, history, regions).items():
        hair, day = regions[name], show.toordinal()
        if max(hair_lengths(hair.coat, hair.growth, hair.pace, day)) < shortest - _TINY:
            days = days_until_longer(hair.coat, hair.growth, hair.pace, day, shortest - 2 * _TINY)
            fix = None if days is None else message("fix.show-from", first=show + timedelta(days=days))
            problems.append(_too_short_problem(name, shortest, show, fix))
    if problems:
        raise InputError(problems)


def show_bounds(hair: Hair, show: Date, show_mm: Sequence[float]) -> tuple[QueueBound, QueueBound]:
    """Returns the end of the hair that is blown or too long on the show day, and of the hair that is long enough."""
    day = show.toordinal()
    return hair.overgrown((day,), show_mm[1])[0], hair.as_long(day, show_mm[0])


def show_share(coat: Coat, hair: Hair, show: Date, show_mm: Sequence[float]) -> float:
    """The share of ``coat`` that is as long as wanted on the show day and not blown."""
    day = show.toordinal()
    too_long = mass_longer(coat, hair.growth, hair.pace, day, show_mm[1]) / WHOLE
    return max(0.0, Hair(coat, hair.growth, hair.pace, ()).as_long(day, show_mm[0]).share - too_long)
