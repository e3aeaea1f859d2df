"""Plans against what the trade has published: weeks before a show, and from one visit to the next. Each row has its source."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest

from coatrules.plan import StagedStrip, compare_intervals, staged_strip

TODAY = date(2026, 1, 5)
SHOW = date(2026, 6, 6)

# A hard terrier's jacket by the fit to published weeks and lengths (profiles/evidence/growth.csv, tests/trade/growth_fit.py).
TERRIER = {
    "lag_weeks": 2,
    "mm_per_week": 4.1,
    "grows_weeks": 14.65,
    "rests_weeks": 9,
    "ready_mm": 6,
    "cover_mm": 6,
    "layer_gap_mm": 2,
}


def staged(sections: dict[str, tuple[float, float]], show: date = SHOW, **arrival: Any) -> StagedStrip:
    """The stages for sections with these lengths wanted on the show day, on a coat that is grown out."""
    profile = {
        "format": 2,
        "id": "staged",
        "label": "Staged",
        "visit": {"every_weeks": 2, "minutes": 180, "pace_spread": 0.15},
        "coats": {"coat": TERRIER},
        "regions": {
            name: {"label": name, "coat": "coat", "minutes": {"pull": 60}, "anatomy": "none"} for name in sections
        },
        "layer_targets": {
            name: {"regions": [name], "layers": 1, "take": {"usual": 1}, "full_strip": True, "show_mm": list(wanted)}
            for name, wanted in sections.items()
        },
    }
    history: dict[str, Any] = {"format": 1, "dog": {"id": "pip"}, "arrival": arrival}
    return staged_strip(profile, history, date=TODAY, show=show)


def weeks_before(found: StagedStrip) -> dict[str, float]:
    return {stage.section: stage.weeks_before for stage in found.stages}


@pytest.mark.parametrize(
    ("wanted", "least", "most", "source"),
    [
        # Lengths and weeks are from different sources, and growth from a fit to all: none is made to fit another here.
        (
            (25.4, 25.4),
            8,
            10,
            "The New Airedale Terrier: body an inch; United States Lakeland Terrier Club: eight to ten",
        ),
        ((6.4, 12.7), 4, 5, "the same book: shoulder 1/4 to 1/2 inch; the same club: throat and front four to five"),
        ((20, 40), 8, 10, "FCI 169: 2 to 4 cm; a breed magazine of 1923: a show coat in eight to ten weeks"),
        ((25.4, 50.8), 12, 12, "a Norwich breeder: one to two inches; Showsight: twelve weeks"),
    ],
)
def test_a_part_is_taken_down_in_the_weeks_that_are_published(
    wanted: tuple[float, float], least: float, most: float, source: str
) -> None:
    # The published weeks lie within those that leave the wanted length, or the planned day within the published weeks.
    (stage,) = staged({"part": wanted}).stages
    first, last = ((SHOW - day).days / 7 for day in (stage.first, stage.last))
    assert last <= most + 0.5, source
    assert first >= least - 0.5, source


def test_the_shortest_part_is_taken_down_last() -> None:
    # The book's two lengths: the shoulder after the body, as the club has the front after the jacket.
    found = weeks_before(staged({"body": (25.4, 25.4), "shoulder": (6.4, 12.7)}))
    assert list(found) == ["body", "shoulder"]
    assert found["body"] - found["shoulder"] >= 3  # eight to ten weeks against four to five


def test_a_dandie_at_its_best_length_was_not_stripped_bare_eight_weeks_before() -> None:
    """At its best at 40 to 50 mm, "most old top coat" out 8 weeks before (doggroomingtutorial.com): no growth published for
    dogs brings 40 mm in 8 weeks, so the hair that is left makes up the length. Taken down bare it needs longer."""
    assert weeks_before(staged({"body": (40, 50)}))["body"] > 11


def test_what_is_wanted_is_what_stands_on_the_day() -> None:
    for name, wanted in {"level": (20, 30), "exact": (25.4, 25.4)}.items():
        stage = staged({name: wanted}).stages[0]
        assert wanted[0] - 0.5 <= stage.length_mm <= wanted[1] + 0.5
        assert stage.first <= stage.day <= stage.last
        # Every day of the window would do, the days on either side of it would not; by the growth of DEVELOPERS.md.
        for day, right in ((stage.first, True), (stage.last, True), (stage.last + timedelta(days=1), False)):
            length = TERRIER["mm_per_week"] * ((SHOW - day).days / 7 - TERRIER["lag_weeks"])
            assert (wanted[0] - 1e-6 <= length) == right


@pytest.mark.parametrize(
    ("profile", "weeks"),
    [
        # One eighth every seven days: Miniature Schnauzer rolling guide, katewerk.com/roll.html (2000).
        ("miniature-schnauzer", 1),
        # Rolled every two weeks: page quoting the Border Terrier Club of America.
        ("border-terrier", 2),
        # One to two hours every three to four weeks, pet standard: Fox Terrier Club of Maryland.
        ("wire-fox-terrier-pet", 3),
        # Every four weeks: West Highland White Terrier magazine; three coat lengths: care article, pets4homes.co.uk.
        ("west-highland-white-terrier", 4),
        # About three weeks for the rough companion coat: common practice, no source.
        ("griffon-bruxellois-rough", 3),
    ],
)
def test_the_trades_own_interval_keeps_the_coat_and_a_longer_one_does_not(profile: str, weeks: int) -> None:
    # The profile's targets were set for this interval: what this shows is that they hold at it, and that they need it.
    history: dict[str, Any] = {"format": 1, "dog": {"id": "pip"}}
    found = compare_intervals(profile, history, date=TODAY, weeks=(weeks, weeks + 1))
    assert found.longest == weeks
    assert found.intervals[0].missed == {}
    assert found.intervals[0].set_on is not None
    assert found.intervals[1].missed
    assert found.intervals[1].set_on is None


def test_a_pet_fox_terrier_takes_one_to_two_hours() -> None:
    """Source: Fox Terrier Club of Maryland, How to groom a Wire Fox Terrier: 60 to 120 minutes every three to four weeks."""
    found = compare_intervals("wire-fox-terrier-pet", {"format": 1, "dog": {"id": "pip"}}, date=TODAY, weeks=[3])
    assert 60 <= found.intervals[0].minutes <= 120
