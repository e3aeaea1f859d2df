"""What happens if the dog comes later than on the best day: the coat grown on, and the work that is then due."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from datetime import timedelta
from math import fsum

from coatrules.dog.equivalence import once_per_class
from coatrules.dog.history import Dog, still_ahead
from coatrules.dog.region_log import tolerance_after
from coatrules.dog.safety import HEALTH
from coatrules.dog.state import DogState, RegionState
from coatrules.order.decide import decide
from coatrules.order.facts import all_facts, number
from coatrules.order.next_visit import LaterVisit, NextVisit, after_work, overgrown_shares, what_is_done
from coatrules.order.table_time import table_time
from coatrules.order.verdicts import Verdict
from coatrules.profile.compiled import CompiledProfile

WEEKS_LATE = (0, 2, 4, 8)


def later_visits(
    compiled: CompiledProfile,
    dog: Dog,
    state: DogState,
    verdicts: Mapping[str, Verdict],
    worked: Mapping[str, Verdict],
    deferred: Collection[str],
    visit: NextVisit,
    minutes: float,
) -> tuple[LaterVisit, ...]:
    """The coat on the best day and two, four and eight weeks after it, if today's work is done as ordered: ``worked`` of all
    ``verdicts``, with ``deferred`` put off."""
    after = _after(compiled, state, worked, deferred)
    hand = [name for name, region in compiled.regions.items() if region.hand is not None]
    days = [visit.best + timedelta(weeks=weeks) for weeks in WEEKS_LATE]
    shares = overgrown_shares(compiled, state, {**verdicts, **worked}, worked, days)
    found = []
    for weeks, day, overgrown in zip(WEEKS_LATE, days, shares, strict=True):
        then = after._replace(day=day.toordinal(), show=still_ahead(state.show, day))
        stage, _, available = table_time(compiled, then, minutes)
        facts, _ = all_facts(compiled, dog, then, available)
        due, _ = decide(compiled, then, facts, stage)
        coats = [facts[name] for name in hand]
        covered = [number(coat["cover"]) for coat in coats if "see_through" in coat]
        needed = sum(task.minutes for verdict in due.values() for task in verdict.tasks)
        found.append(
            LaterVisit(
                weeks=weeks,
                day=day,
                cover=min(covered, default=None),
                longest_mm=max((number(coat["longest_mm"]) for coat in coats), default=0.0),
                blown_share=fsum(number(coat["blown_share"]) for coat in coats) / len(coats) if coats else 0.0,
                minutes=round(needed * 2) / 2,
                overgrown=overgrown,
            )
        )
    return tuple(found)


def _after(
    compiled: CompiledProfile, state: DogState, worked: Mapping[str, Verdict], deferred: Collection[str]
) -> DogState:
    """The state once today's work is done. What holds for a few days only will be over."""

    def after(name: str) -> RegionState:
        own, verdict = state.regions[name], worked.get(name)
        done = {task.kind: state.day for task in verdict.tasks} if verdict is not None else {}
        return own._replace(
            coat=after_work(compiled.regions[name], state, verdict),
            last={**own.last, **done},
            seen=None,
            last_reaction="calm" if done else own.last_reaction,  # as where nothing else is recorded
            tolerance=tolerance_after(own.tolerance, "calm") if done else own.tolerance,
            put_off=(0 if done else own.put_off) + (name in deferred),
        )

    treated = {
        name: (mark, what_is_done(worked.get(name)), name in deferred) for name, mark in state.class_keys.items()
    }
    return state._replace(
        regions=once_per_class(treated, after),
        health=tuple(name for name in state.health if HEALTH[name].days is None),
        visits=state.visits + 1,
        first_visit=state.day if state.first_visit is None else state.first_visit,
        last_visit=state.day,
        spent_minutes=0.0,
    ).marked()
