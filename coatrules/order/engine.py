"""From a dog's history to today's work order: the stages, one call each."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from datetime import date as Date
from datetime import timedelta
from typing import Any, NamedTuple

from attrs import evolve, frozen

from coatrules.catalogue.message import Message, message
from coatrules.coat.queue import WHOLE
from coatrules.dog.equivalence import once_per_class
from coatrules.dog.history import History
from coatrules.dog.loading import given_history
from coatrules.dog.regime import worked_by
from coatrules.dog.safety import (
    BREAK_EVERY_MINUTES,
    CAUTIONS,
    HALVED_MINUTES,
    HEALTH,
    PUPPY_WEEKS,
)
from coatrules.dog.state import DogState, replay_visits, state_on
from coatrules.dog.whole_strip import goes_on_after
from coatrules.order.arguments import checked_day, checked_minutes
from coatrules.order.coming_back import coming_back, held_back
from coatrules.order.decide import decide
from coatrules.order.delay import later_visits
from coatrules.order.facts import Differs, RegionFacts, all_facts
from coatrules.order.history_findings import history_findings
from coatrules.order.last_work import after_last_work, from_tomorrow, last_day_of_work
from coatrules.order.next_visit import NextVisit, next_layers
from coatrules.order.show_ahead import before_show, clear_of_show, show_ahead
from coatrules.order.steps import steps
from coatrules.order.table_time import TableTime, table_time
from coatrules.order.today import Today, todays_work
from coatrules.order.verdicts import Verdict, all_forbidden
from coatrules.order.work_order import WorkOrder, minutes_data, next_visit_data, profile_data
from coatrules.order.worked_today import without_done
from coatrules.problems import Problem
from coatrules.profile.compiled import CompiledProfile, compile_profile
from coatrules.profile.floor import DAY_MINUTES
from coatrules.profile.loading import load_profile
from coatrules.profile.model import Profile
from coatrules.read_only import ReadOnly


def work_order(
    profile: Profile | Mapping[str, Any] | str,
    history: History | Mapping[str, Any],
    *,
    date: Date,
    minutes: float | None = None,
    ahead: bool = False,
) -> WorkOrder:
    """Today's work order for one dog.

    ``profile`` and ``history`` are loaded ones or plain data; a profile may also be the id of a packaged one. ``date`` is
    the day of the work, ``minutes`` the time there is (the profile's usual visit where nothing is said). ``ahead``:
    also look at what a later visit would find (``NextVisit.late``), which takes as long again as all the rest, and for a show ahead
    at 200 dogs like this one (``ShowAhead.right_shares``). Raises ``InputError`` with every problem found.
    """
    profile = profile if isinstance(profile, Profile) else load_profile(profile)
    history = given_history(history)
    return order(compile_profile(worked_by(profile, history, checked_day(date))), history, date, minutes, ahead=ahead)


def order(
    compiled: CompiledProfile,
    history: History,
    date: Date,
    minutes: float | None = None,
    *,
    ahead: bool = False,
    in_turn: bool = True,
) -> WorkOrder:
    """The same on a compiled profile."""
    state = state_on(compiled, history, checked_day(date))
    return order_by(compiled, history, state, minutes, ahead=ahead, in_turn=in_turn)


def order_by(
    compiled: CompiledProfile,
    history: History,
    state: DogState,
    minutes: float | None = None,
    *,
    ahead: bool = False,
    in_turn: bool = True,
) -> WorkOrder:
    """The pipeline itself, from the state of the dog on the day. If not ``in_turn``, each task is one step, and the steps stand in no
    order and without rests: all else is the same, at half the cost."""
    decided = _decided(compiled, history, state, minutes, in_turn=in_turn)
    visit = _visit_after(compiled, history, state, decided)
    if ahead:
        today = decided.today
        late = later_visits(
            compiled, history.dog, state, decided.verdicts, today.worked, today.deferred, visit, decided.asked
        )
        visit = evolve(visit, late=late)
    return _work_order(compiled, history, state, decided, visit, ahead=ahead)


def summary(compiled: CompiledProfile, history: History, date: Date, minutes: float | None = None) -> dict[str, Any]:
    """Returns what ``to_dict`` of the order gives of whose it is, the day, the minutes and the next visit, at half its cost: the work is
    not put in order and nothing is put into words. Raises ``InputError`` as ``order`` does."""
    from coatrules.order.plain_data import result_data

    state = state_on(compiled, history, checked_day(date))
    decided = _decided(compiled, history, state, minutes, in_turn=False)
    profile = compiled.profile
    return {
        "format": 1,
        "dog": {"id": history.dog.id, "name": history.dog.called},
        "profile": profile_data(
            profile.id, profile.label, profile.regime, compiled.edition, profile.outline, profile.strip_whole
        ),
        "date": result_data(date),
        "minutes": minutes_data(decided.time.available, decided.today.minutes),
        "next_visit": result_data(next_visit_data(_visit_after(compiled, history, state, decided))),
    }


@frozen(kw_only=True)
class InBrief:
    """What a day's order comes to: the minutes planned and how many regions are put off. hold: what must happen before the dog
    comes again. strip_whole: it goes on with a whole strip."""

    dog_id: str | int
    dog_name: str
    profile_id: str
    labels: Mapping[str, str]
    minutes_planned: float
    put_off: int
    refer: tuple[Message, ...]
    hold: Message | None
    strip_whole: bool = False

    @classmethod
    def of(cls, order: WorkOrder) -> InBrief:
        """Returns what an order comes to."""
        return cls(
            dog_id=order.dog_id,
            dog_name=order.dog_name,
            profile_id=order.profile_id,
            labels=order.labels,
            minutes_planned=order.minutes_planned,
            put_off=len(order.deferred),
            refer=order.refer,
            hold=order.next_visit.hold,
            strip_whole=order.strip_whole,
        )


def in_brief(compiled: CompiledProfile, history: History, state: DogState, minutes: float | None = None) -> InBrief:
    """The same of the order that ``order_by`` would give, without putting the work in order."""
    decided = _decided(compiled, history, state, minutes, in_turn=False)
    return InBrief(
        dog_id=history.dog.id,
        dog_name=history.dog.called,
        profile_id=compiled.profile.id,
        labels=_labels(compiled),
        minutes_planned=decided.today.minutes,
        put_off=len(decided.today.deferred),
        refer=decided.refer,
        hold=held_back(state, decided.verdicts),
        strip_whole=compiled.profile.strip_whole,
    )


def _labels(compiled: CompiledProfile) -> dict[str, str]:
    return {name: region.region.label for name, region in compiled.regions.items()}


class _Decided(NamedTuple):
    """All that is decided for a day; the order says it step by step, and why."""

    asked: float
    time: TableTime
    facts: Mapping[str, RegionFacts]
    differing: list[Differs]
    verdicts: Mapping[str, Verdict]
    refer: tuple[Message, ...]
    today: Today


def _decided(
    compiled: CompiledProfile, history: History, state: DogState, minutes: float | None, *, in_turn: bool = True
) -> _Decided:
    asked = checked_minutes(compiled, minutes)
    time = table_time(compiled, state, asked)
    stage, available = time.stage, time.available
    facts, differing = all_facts(compiled, history.dog, state, available)
    verdicts, refer = decide(compiled, state, facts, stage)
    verdicts = before_show(state, without_done(state, verdicts))
    today = todays_work(compiled, state, verdicts, stage, available, in_turn=in_turn)
    refer = list(dict.fromkeys([*refer, *(message for v in verdicts.values() for message in v.refer)]))
    return _Decided(asked, time, facts, differing, verdicts, tuple(refer), today)


def _visit_after(compiled: CompiledProfile, history: History, state: DogState, decided: _Decided) -> NextVisit:
    """When the dog comes back, the day's work being done: by what it is then worked by, where a whole strip ends with it."""
    today, time, date = decided.today, decided.time, Date.fromordinal(state.day)
    if not today.worked:
        # It comes when the last work says, which what is on record since moves no more.
        replayed = replay_visits(compiled, history, date)
        last = last_day_of_work(visit for _, visit in replayed.visits)
        if last is not None and last < date:
            visit = after_last_work(compiled, history, replayed, last)
            return clear_of_show(from_tomorrow(visit, date, held_back(state, decided.verdicts)), state)
    of_strip, rolled = compiled.profile.strip_whole, compiled.profile.rolled
    if rolled is not None:
        pulled = {name: verdict.pulled / WHOLE for name, verdict in today.worked.items() if verdict.pulled}
        if not goes_on_after(compiled, history, date, pulled, today.deferred):
            compiled = compile_profile(rolled)
            state = state._replace(region_classes=compiled.region_classes).marked()
    left = sum(put_off.minutes for put_off in today.deferred.values())
    too_long = left if time.available + state.spent_minutes >= DAY_MINUTES else 0.0
    return coming_back(compiled, state, decided.verdicts, today.worked, time.stage, too_long, of_strip=of_strip)


def _work_order(
    compiled: CompiledProfile, history: History, state: DogState, decided: _Decided, visit: NextVisit, *, ahead: bool
) -> WorkOrder:
    verdicts, today, facts = decided.verdicts, decided.today, decided.facts
    return WorkOrder(
        dog_id=history.dog.id,
        dog_name=history.dog.called,
        profile_id=compiled.profile.id,
        profile_label=compiled.profile.label,
        profile_regime=compiled.profile.regime,
        profile_edition=compiled.edition,
        outline=compiled.profile.outline,
        date=Date.fromordinal(state.day),
        pace=state.pace,
        speed=state.speed,
        rolling=state.rolling,
        endings=state.endings,
        minutes_available=decided.time.available,
        minutes_planned=today.minutes,
        steps=tuple(steps(state, today)),
        left_alone={n: v.because for n, v in verdicts.items() if v.outcome == "leave"},
        deferred=today.deferred,
        not_to_be_touched={n: v.because for n, v in verdicts.items() if v.outcome == "forbid"},
        refer=decided.refer,
        first=tuple(_first(compiled, state, decided)),
        next_visit=visit,
        show=show_ahead(compiled, state, today.worked, sure=ahead),
        strip_whole=compiled.profile.strip_whole,
        next_layers=next_layers(compiled, state),
        labels=_labels(compiled),
        all_facts={name: ReadOnly(known) for name, known in facts.items()},
        fired={name: verdict.fired for name, verdict in verdicts.items()},
        hair=once_per_class(state.class_keys, lambda name: state.regions[name].coat.hair()),
        ripe=once_per_class(state.class_keys, lambda name: state.regions[name].ripe(state.pace.of(name), state.day)),
        loose=once_per_class(state.class_keys, lambda name: state.regions[name].loose(state.pace.of(name), state.day)),
        guessed={name: own.guessed / WHOLE for name, own in state.regions.items()},
        findings=tuple(_findings(compiled, history, state, verdicts, decided.differing)),
        cautions=tuple(dict.fromkeys([*_elsewhere(verdicts, today.worked), *CAUTIONS])),
    )


def _first(
    compiled: CompiledProfile,
    state: DogState,
    decided: _Decided,
) -> Iterator[Message]:
    """What is decided before the work begins: what the visit is for, what is refused and until when, how long it may last.
    Who must see the dog before stands in ``refer``."""
    if any(HEALTH[name].days is None for name in state.health):
        yield message("first.health")
    stage, most, available = decided.time
    if stage != "grown":
        if available and stage == "practice" and state.visits and state.born is not None:
            weeks = compiled.first_coat_weeks or PUPPY_WEEKS
            out = Date.fromordinal(state.born) + timedelta(weeks=weeks)
            yield message("first.practice-again", minutes=available, until=out)
        elif available:
            yield message(f"first.{stage}", minutes=available)
        yield message("first.hygiene")
    rests: dict[object, list[str]] = {}
    for name, verdict in decided.verdicts.items():
        for reason in verdict.because:
            if reason.rule == "floor.stop":
                rests.setdefault(reason.facts["until"], []).append(compiled.regions[name].region.label)
    for until, labels in rests.items():
        yield message("first.stop", regions=tuple(labels), until=until)
    beside = [
        compiled.regions[name].region.label
        for name in state.margins
        if compiled.regions[name].target is not None and decided.verdicts[name].outcome != "forbid"
    ]
    if beside and not all_forbidden(decided.verdicts):
        yield message("first.beside-unsound", regions=tuple(beside))
    if state.spent_minutes and decided.asked > available:
        yield message("table-spent", spent=state.spent_minutes, most=most)
    elif decided.asked > DAY_MINUTES and decided.today.deferred:  # else all fits
        yield message("table-cap", asked=decided.asked, most=DAY_MINUTES)
    minutes = decided.today.minutes
    if state.spent_minutes and 0 < minutes > BREAK_EVERY_MINUTES - state.spent_minutes:
        yield message("first.break-now")
    if minutes > BREAK_EVERY_MINUTES:
        yield message("first.break-half" if minutes <= HALVED_MINUTES else "first.break")


def _elsewhere(verdicts: Mapping[str, Verdict], worked: Collection[str]) -> Iterator[Message]:
    """Cautions of regions that are not worked, which no step can carry."""
    for name, verdict in verdicts.items():
        if name not in worked:
            yield from verdict.cautions


def _findings(
    compiled: CompiledProfile,
    history: History,
    state: DogState,
    verdicts: Mapping[str, Verdict],
    differing: list[Differs],
) -> Iterator[Problem]:
    label = {name: region.region.label for name, region in compiled.regions.items()}
    guessed = [name for name, own in state.regions.items() if own.guessed and compiled.regions[name].target is not None]
    if guessed:
        hand = sum(region.target is not None for region in compiled.regions.values())
        few = len(guessed) <= 6
        where = tuple(label[name] for name in guessed) if few else (message("some-parts", some=len(guessed), of=hand),)
        yield history.origin.problem_at((), "arrival-not-recorded", {"regions": where}, severity="note")
    yield from history_findings(compiled, history, state)
    for region, fact, computed, saw in differing:
        params = {
            "region": label[region],
            "fact": message(f"fact.{fact}"),
            "seen": round(saw, 1) if isinstance(saw, float) else saw,
            "computed": round(computed, 1) if isinstance(computed, float) else computed,
        }
        yield history.origin.problem_at((), "seen-differs", params, severity="note")
    for name, verdict in verdicts.items():
        for conflict in verdict.conflicts:
            at = {"region": label[name], **conflict.facts}
            yield compiled.profile.origin.problem_at((), "floor-above-cap", at, severity="warning")
