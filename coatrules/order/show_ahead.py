"""The show day ahead: what must not be done shortly before it, and how the coat will be on it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date as Date
from datetime import timedelta
from math import inf
from typing import Literal, NamedTuple

from attrs import evolve, field, frozen

from coatrules.coat.growth import Growth
from coatrules.coat.measures import mass_longer, surface
from coatrules.coat.queue import WHOLE, Coat
from coatrules.dog.equivalence import once_per_class
from coatrules.dog.region_log import BY_HAND
from coatrules.dog.state import DogState
from coatrules.order.drawn_dogs import drawn_hair
from coatrules.order.next_visit import NextVisit, after_work, what_is_done
from coatrules.order.reasons import Reason
from coatrules.order.verdicts import Verdict
from coatrules.profile.compiled import CompiledProfile, CompiledRegion
from coatrules.profile.model import LayerTarget
from coatrules.read_only import NOTHING, read_only

WORK_SHOWS_DAYS = 4
"""Trimming is done four to five days before a show, or it shows (an English Cocker Spaniel club's guide: ``cocker-guide`` in the
profiles; carried over to every coat)."""
BLOWN = 0.1
"""From such a share of dead and loose hair on a coat is not right for the ring (common practice, no source)."""

Fault = Literal["short", "bare", "long", "blown"]
"""Why a part is not right on the day: its outline shorter or longer than wanted, too thin, or dead and loose. Another visit mends
the last two."""


@frozen(kw_only=True)
class ShowAhead:
    """How the coat will be on the show day if today's work is done and no more: the regions worked by hand that will be right, and
    what is wrong with the others, on the typical dog.

    right_shares: of 200 dogs like this one the share (0 to 1) on which each of these regions will be right; all_right: on which all
    that are right on the typical dog are. Empty and None where nobody worked it out.
    """

    day: Date
    right: tuple[str, ...]
    faults: Mapping[str, Fault] = field(converter=read_only)
    right_shares: Mapping[str, float] = field(default=NOTHING, converter=read_only)
    all_right: float | None = None


class RightOnShow(NamedTuple):
    """Of regions on which of 200 dogs like this one each is right on the show day."""

    dogs: Mapping[str, Sequence[bool]]

    def share_of(self, regions: Iterable[str]) -> float | None:
        """Returns the share of dogs (0 to 1) on which all of these regions are right; None where none of them is judged."""
        of_regions = [self.dogs[region] for region in regions if region in self.dogs]
        if not of_regions:
            return None
        right = [all(of_dog) for of_dog in zip(*of_regions, strict=True)]
        return sum(right) / len(right)

    def mean_of(self, regions: Iterable[str]) -> float:
        """Returns the share of dogs (0 to 1) on which one of these regions is right, the mean over those that are judged."""
        right = [one for region in regions for one in self.dogs.get(region, ())]
        return sum(right) / len(right) if right else 0.0


def show_data(show: ShowAhead) -> dict[str, object]:
    """Returns the show ahead as an order's data have it."""
    return {
        "day": show.day,
        "right": list(show.right),
        "faults": dict(show.faults),
        "right_shares": dict(show.right_shares),
        "all_right": show.all_right,
    }


def before_show(state: DogState, verdicts: Mapping[str, Verdict]) -> dict[str, Verdict]:
    """Returns the verdicts without hand work in the days in which it shows, and without any work on the day itself."""
    if state.show is None or (days := state.show.toordinal() - state.day) > WORK_SHOWS_DAYS:
        return dict(verdicts)
    reason = Reason(rule="floor.show-day") if days == 0 else Reason(rule="floor.show-near", facts={"day": state.show})

    def without(verdict: Verdict) -> Verdict:
        left = tuple([task for task in verdict.tasks if days and task.kind not in BY_HAND])
        if verdict.outcome != "work" or len(left) == len(verdict.tasks):
            return verdict
        if left:
            return verdict._replace(tasks=left)
        return verdict._replace(outcome="leave", tasks=(), because=(reason, *verdict.because))

    return {name: without(verdict) for name, verdict in verdicts.items()}


def clear_of_show(visit: NextVisit, state: DogState) -> NextVisit:
    """Returns the next visit moved out of the days in which work shows, before them where the window allows, else after the show; the
    window with it, to that side of them."""
    if state.show is None or visit.hold is not None:
        return visit
    first, after = state.show - timedelta(days=WORK_SHOWS_DAYS), state.show + timedelta(days=1)
    before, best = first - timedelta(days=1), visit.best
    if first <= best < after:
        best = before if before >= visit.earliest and before.toordinal() > state.day else after
    latest = visit.latest
    if best >= after:
        latest = latest and max(latest, best)
        return evolve(visit, best=best, earliest=max(visit.earliest, after), latest=latest)
    return evolve(visit, best=best, latest=latest and min(latest, before))


def show_ahead(
    compiled: CompiledProfile, state: DogState, worked: Mapping[str, Verdict], *, sure: bool = False
) -> ShowAhead | None:
    """Returns how the coat will be on the show day, worked as ordered today; None where no show is ahead. ``sure``: and on how many
    dogs like this one."""
    if state.show is None:
        return None
    show = state.show
    treated = {name: (mark, what_is_done(worked.get(name))) for name, mark in state.class_keys.items()}
    by_hand = {name: treated[name] for name, own in state.regions.items() if _judged(compiled.regions[name], own.skin)}
    coats = once_per_class(by_hand, lambda name: after_work(compiled.regions[name], state, worked.get(name)))
    faults = once_per_class(by_hand, lambda name: _fault(compiled.regions[name], state, coats[name], show))
    right = tuple([name for name, fault in faults.items() if fault is None])
    dogs = dogs_right_on(compiled, state, coats, show) if sure else RightOnShow(NOTHING)
    return ShowAhead(
        day=show,
        right=right,
        faults={name: fault for name, fault in faults.items() if fault is not None},
        right_shares={name: share for name in dogs.dogs if (share := dogs.share_of([name])) is not None},
        all_right=dogs.share_of(right),
    )


def dogs_right_on(compiled: CompiledProfile, state: DogState, coats: Mapping[str, Coat], show: Date) -> RightOnShow:
    """Returns on which of 200 dogs like this one each region whose coat is given is right on the show day, if no more is done."""
    marks = {name: (state.class_keys[name], compiled.region_classes[name], coat) for name, coat in coats.items()}
    judged = once_per_class(marks, str)
    right: dict[str, list[bool]] = {name: [] for name in judged.values()}
    for hairs in drawn_hair(compiled, state, {name: coats[name] for name in right}):
        for name, (growth, pace, coat) in hairs.items():
            target = compiled.regions[name].target
            right[name].append(target is not None and fault_on(target, coat, growth, pace, show.toordinal()) is None)
    return RightOnShow({name: right[one] for name, one in judged.items()})


def _judged(region: CompiledRegion, skin: str | None) -> bool:
    return region.hand is not None and skin != "unsound"


def _fault(region: CompiledRegion, state: DogState, coat: Coat, show: Date) -> Fault | None:
    target, own, pace = region.hand, state.regions[region.id], state.pace.of(region.id)
    assert target is not None
    return fault_on(target, coat, own.growth, pace, show.toordinal())


def fault_on(target: LayerTarget, coat: Coat, growth: Growth, pace: float, day: int) -> Fault | None:
    """Returns what is wrong for the ring with a coat as it is on ``day``; None where it is right."""
    seen = surface(coat, growth, pace, day)
    if target.show_mm is not None and seen.outline_mm < target.show_mm[0]:
        return "short"
    if target.cover is not None and seen.cover < target.cover.at_least:
        return "bare"
    longest = target.show_mm or target.longest_mm
    if longest is not None and seen.outline_mm > longest[1]:
        return "long"
    return "blown" if mass_longer(coat, growth, pace, day, inf) >= BLOWN * WHOLE else None
