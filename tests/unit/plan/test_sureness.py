"""How sure a plan is, against thousands of dogs drawn with numpy and worked as the plan says, without any of its code."""

from __future__ import annotations

import re
from datetime import date, timedelta
from typing import Any, NamedTuple

import numpy as np
import pytest
from attrs import evolve

from coatrules import WorkOrder, work_order
from coatrules.plan import Plan, plan_ahead, staged_strip, sureness
from coatrules.report.box import show_words
from coatrules.report.plan import text
from tests.support.small import profile as small_profile

TODAY = date(2026, 3, 21)
LAG, GROWS, RESTS, RATE, SPREAD = 4.0, 20.0, 8.0, 2.1, 0.35
LAG_RANGE = (3.0, 5.5)
READY, COVERS, LONGEST, SHOW_MM, COVER = 6.0, 8.0, 35.0, (12.0, 30.0), 0.5
DOGS = 3000
Array = np.ndarray[Any, np.dtype[Any]]


def jackets(**target: Any) -> dict[str, Any]:
    """Two regions that differ, so that each has a pace of its own."""
    profile = small_profile(
        id="two",
        label="Two",
        regions={
            "back": {"label": "Back", "coat": "jacket", "minutes": {"pull": 50}},
            "ribs": {"label": "Ribs", "coat": "jacket", "minutes": {"pull": 40}},
        },
        layer_targets={
            "jacket": {
                "regions": ["back", "ribs"],
                "layers": 3,
                "take": {"usual": 0.2, "at_most": 0.4, "low_spot": 0.2},
                "longest_mm": [15, LONGEST],
                "show_mm": list(SHOW_MM),
            }
            | target
        },
    )
    profile["coats"]["jacket"] = {
        **{"lag_weeks": LAG, "mm_per_week": RATE, "grows_weeks": GROWS, "rests_weeks": RESTS, "spread": SPREAD},
        **{"ready_mm": READY, "cover_mm": COVERS, "layer_gap_mm": 4},
        "ranges": {"lag_weeks": list(LAG_RANGE)},
    }
    return profile


def of_visits(*pulls: tuple[int, float]) -> dict[str, Any]:
    """A dog whose whole jacket was pulled so many days ago by such shares."""
    visits = [
        {
            "visit": (TODAY - timedelta(days=days)).isoformat(),
            "work": {"back": {"pull": share}, "ribs": {"pull": share}},
        }
        for days, share in pulls
    ]
    return {
        "format": 1,
        "dog": {"id": "pip"},
        "arrival": {name: {"grown_weeks": 20} for name in ("back", "ribs")},
        "visits": visits,
    }


class Dogs(NamedTuple):
    """Drawn dogs: of each region a pace, how many times as long its hair grows, its lag."""

    paces: dict[str, Array]
    factor: Array
    lag: Array

    def age(self, region: str, days: int) -> Array:
        return self.paces[region] * days / 7

    def length(self, region: str, days: int) -> Array:
        grown: Array = np.clip(self.age(region, days) - self.lag, -1e-9, GROWS * self.factor)
        return RATE * grown

    def blown(self, region: str, days: int) -> Array:
        all_loose: Array = self.age(region, days) >= self.lag + GROWS * self.factor + RESTS
        return all_loose


def drawn() -> Dogs:
    rng = np.random.default_rng(20260321)
    k = rng.normal(1.0, 0.15, DOGS)
    share = rng.random(DOGS)
    low, high = LAG_RANGE
    lag = LAG + (share - 0.5) / 0.4 * np.where(share > 0.5, high - LAG, LAG - low)
    paces = {name: np.maximum(rng.normal(k, 0.10), 0.2) for name in ("back", "ribs")}
    return Dogs(paces, np.exp(rng.normal(0.0, 0.25, DOGS)), np.maximum(lag, 0.0))


def queue_of(pulls: list[tuple[int, float]]) -> list[list[float]]:
    """Shares with the days (ordinals) on which they were pulled, oldest first, of a coat that was pulled whole at the first."""
    queue = [[1.0, TODAY.toordinal() - pulls[0][0]]]
    for days, share in pulls[1:]:
        taken(queue, share, TODAY.toordinal() - days)
    return queue


def taken(queue: list[list[float]], share: float, day: int) -> float:
    """Pulls a share from the front; returns the day on which the youngest of it was pulled before."""
    left, youngest = share, queue[0][1]
    while left > 1e-6:
        part = min(left, queue[0][0])
        youngest = queue[0][1]
        queue[0][0] -= part
        left -= part
        if queue[0][0] < 1e-6:
            queue.pop(0)
    queue.append([share, day])
    return youngest


@pytest.mark.parametrize(
    ("pulls", "dates", "show"),
    [
        ([(55, 1.0)], (1, 14, 35), None),  # the hair hides the skin, as a plan wants of it, after 55 days
        ([(120, 1.0), (63, 0.2), (42, 0.2), (21, 0.2)], (7, 28, 70, 98), TODAY + timedelta(days=108)),
    ],
)
def test_days_are_as_sure_as_on_thousands_of_dogs(
    pulls: list[tuple[int, float]], dates: tuple[int, ...], show: date | None
) -> None:
    days = [TODAY + timedelta(days=number) for number in dates]
    plan = plan_ahead(jackets(), of_visits(*pulls), date=TODAY, dates=days, show=show, sure=True)
    dogs = drawn()
    queues = {name: queue_of(pulls) for name in ("back", "ribs")}
    doubtful = 0.0
    for visit in plan.visits:
        day = visit.day.toordinal()
        early, late = np.zeros(DOGS, bool), np.zeros(DOGS, bool)
        for name, queue in queues.items():
            oldest = int(day - queue[0][1])
            assert RATE * (oldest / 7 - LAG) < LONGEST  # on the typical dog nothing is overgrown
            late |= (dogs.length(name, oldest) > LONGEST) | dogs.blown(name, oldest)
            if share := visit.regions[name].share:
                youngest = int(day - taken(queue, share, day))
                early |= (dogs.length(name, youngest) < READY) & ~dogs.blown(name, youngest)
        assert visit.early == pytest.approx(early.mean(), abs=0.05)
        assert visit.late == pytest.approx(late.mean(), abs=0.05)
        doubtful += (visit.early or 0.0) + (visit.late or 0.0)
    assert doubtful > 0.2
    if show is None:
        assert plan.show_right is None
        return
    right = {name: right_on(dogs, name, queue, show.toordinal()) for name, queue in queues.items()}
    for name, of_region in right.items():
        assert plan.regions[name].show_right == pytest.approx(of_region.mean(), abs=0.05)
    assert plan.show_right == pytest.approx((right["back"] & right["ribs"]).mean(), abs=0.05)


def right_on(dogs: Dogs, region: str, queue: list[list[float]], day: int) -> Array:
    """On which dogs the outline (what a tenth of the standing hair reaches) is as long as wanted and little hair is loose."""
    lengths = np.array([dogs.length(region, int(day - pulled)) for _, pulled in queue])
    masses = np.array([mass for mass, _ in queue])[:, None]
    standing = np.where(lengths >= 0, masses, 0.0)
    reached = np.cumsum(standing, axis=0) >= 0.1 * standing.sum(axis=0) - 1e-9
    outline = np.take_along_axis(lengths, reached.argmax(axis=0)[None], axis=0)[0]
    stop = [(dogs.age(region, int(day - pulled)) - dogs.lag - RESTS) / (GROWS * dogs.factor) for _, pulled in queue]
    loose = sum(
        mass * np.clip((part - (1 - SPREAD)) / SPREAD, 0, 1) for (mass, _), part in zip(queue, stop, strict=True)
    )
    right: Array = (outline >= SHOW_MM[0]) & (outline <= SHOW_MM[1]) & (loose < 0.1)
    return right


@pytest.mark.parametrize(
    ("pulls", "weeks"),
    [([(90, 1.0)], 5), ([(90, 1.0), (42, 0.4), (21, 0.3)], 4), ([(70, 1.0), (28, 0.3)], 6)],
)
def test_an_order_is_as_sure_of_the_show_as_on_thousands_of_dogs(pulls: list[tuple[int, float]], weeks: int) -> None:
    """The coat as the order of today leaves it, and nothing done after."""
    history = of_visits(*pulls)
    history["dog"]["show"] = (TODAY + timedelta(weeks=weeks)).isoformat()
    order = work_order(jackets(), history, date=TODAY, minutes=180, ahead=True)
    assert order.show is not None
    dogs, right = drawn(), {}
    for name in ("back", "ribs"):
        queue = queue_of(pulls)
        if share := sum(step.share or 0.0 for step in order.steps if step.region == name and step.bout == 1):
            taken(queue, share, TODAY.toordinal())
        right[name] = right_on(dogs, name, queue, order.show.day.toordinal())
        assert order.show.right_shares[name] == pytest.approx(right[name].mean(), abs=0.05)
    assert 0.05 < order.show.right_shares["back"] < 0.95
    assert order.show.all_right is not None
    assert order.show.all_right == pytest.approx(
        np.all([right[name] for name in order.show.right], axis=0).mean(), abs=0.05
    )
    again = WorkOrder.from_dict(order.to_dict())
    assert again.show == order.show
    said = " ".join(show_words(order))
    each = np.mean([right[name].mean() for name in order.show.right])
    assert re.search(rf"on ({round(each * 10 - 0.5)}|{round(each * 10 + 0.5)}) in 10 dogs like this one", said)
    unasked = work_order(jackets(), history, date=TODAY, minutes=180).show
    assert unasked == evolve(order.show, right_shares={}, all_right=None)


def test_a_section_is_as_sure_as_on_thousands_of_dogs() -> None:
    strip = staged_strip(jackets(full_strip=True), of_visits((126, 1.0)), date=TODAY, show=TODAY + timedelta(weeks=16))
    (stage,) = strip.stages
    dogs = drawn()
    grown = (strip.show - stage.day).days
    lengths = [dogs.length(name, grown) for name in ("back", "ribs")]
    right = [((mm >= SHOW_MM[0]) & (mm <= SHOW_MM[1])).mean() for mm in lengths]
    assert stage.right == pytest.approx(np.mean(right), abs=0.05)
    ages = [dogs.age(name, (stage.day - TODAY).days + 126) for name in ("back", "ribs")]
    ripe_from = dogs.lag + GROWS * dogs.factor * (1 - SPREAD + SPREAD * 0.1)
    assert stage.early == pytest.approx(np.any([age < ripe_from for age in ages], axis=0).mean(), abs=0.05)


@pytest.mark.parametrize("arrival", [{"back": {"grown_weeks": 20}, "ribs": {"grown_weeks": 20}}, {}])
def test_what_is_out_of_reach_changes_no_share(arrival: dict[str, Any], monkeypatch: pytest.MonkeyPatch) -> None:
    """Also of hair that came with the dog: of which one length is known, and no age."""
    history = {**measured(of_visits((20, 0.3)), 34.0), "arrival": arrival}
    dates = [TODAY + timedelta(days=number) for number in (1, 30, 60)]

    def doubts() -> list[float | None]:
        plan = plan_ahead(jackets(), history, date=TODAY, dates=dates, sure=True)
        return [share for visit in plan.visits for share in (visit.early, visit.late)]

    looked_at = doubts()
    monkeypatch.setattr(sureness, "_in_reach", lambda *_: True)
    assert looked_at == pytest.approx(doubts(), abs=0.011)


def measured(history: dict[str, Any], mm: float) -> dict[str, Any]:
    seen = {name: {"longest_mm": mm} for name in ("back", "ribs")}
    return {**history, "visits": [*history["visits"], {"visit": (TODAY - timedelta(days=1)).isoformat(), "seen": seen}]}


def test_what_is_measured_makes_a_day_surer() -> None:
    history = of_visits((84, 1.0))
    show = TODAY + timedelta(weeks=6)

    def right(dog: dict[str, Any]) -> float:
        share = plan_ahead(
            jackets(), dog, date=TODAY, dates=[TODAY + timedelta(days=2)], show=show, sure=True
        ).show_right
        assert share is not None
        return share

    assert right(measured(history, 83 / 7 * RATE - LAG * RATE)) > right(history) + 0.05


def test_the_visits_that_are_in_doubt_are_named_with_the_dogs() -> None:
    dates = [TODAY + timedelta(days=number) for number in (1, 14, 35)]
    plan = plan_ahead(jackets(), of_visits((55, 1.0)), date=TODAY, dates=dates, sure=True)
    first = plan.visits[0].early
    assert first is not None
    said = " ".join(text(plan).split())
    assert (
        f"22 March 2026: on {round(first * 10)} in 10 dogs like this one some of the hair to be pulled is not ready"
        in said
    )
    again = Plan.from_dict(plan.to_dict())
    assert again.visits[0].early == pytest.approx(first, abs=1e-4)
    sure = plan_ahead(
        jackets(), of_visits((70, 1.0), (1, 0.2)), date=TODAY, dates=[TODAY + timedelta(days=7)], sure=True
    )
    assert "On at least 8 in 10 dogs like this one no day is too early or too late." in text(sure)
