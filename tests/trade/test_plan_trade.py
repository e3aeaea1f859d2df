"""Plans against what the trade has published: weeks before a show, and from one visit to the next. Each row has its source."""

from __future__ import annotations

from datetime import date, timedelta
from itertools import pairwise
from typing import Any

import pytest

from coatrules.plan import StagedStrip, compare_intervals, staged_strip

TODAY = date(2026, 1, 5)
SHOW = date(2026, 6, 6)

# Growth: 12.5 mm in 30 days, the upper of the popular figures (several popular pages, weak); new hair stands at the skin
# eight days after the pull (mouse vibrissae, British Journal of Dermatology 99:365-370, 1978; no figure for dogs found).
FAST = {
    "breakthrough_weeks": 8 / 7,
    "mm_per_week": 12.5 / 30 * 7,
    "full_mm": 102,  # Wire Fox Terrier, left alone 4 to 5 inches: breeder guide, dogs.net.au/yiriwyre
    "blown_weeks": 40,
    "ready_mm": 6,
    "cover_mm": 6,
    "layer_gap_mm": 2,
}


def staged(sections: dict[str, tuple[float, float]], show: date = SHOW, **arrival: Any) -> StagedStrip:
    """The stages for sections with these lengths wanted on the show day, on a coat that is grown out."""
    profile = {
        "format": 1,
        "id": "staged",
        "label": "Staged",
        "visit": {"every_weeks": 2, "minutes": 180, "pace_spread": 0.15},
        "coats": {"coat": FAST},
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


# Source of the weeks: United States Lakeland Terrier Club, Staging methods of stripping.
# Source of the lengths: Airedale body 25.4 mm and shoulder 6.4 to 12.7 mm (airedalebreeders.com quoting The New Airedale
# Terrier), as no Lakeland lengths are published; the rest common practice, no source: shorter from the back to the head.
LAKELAND = {
    # section: lengths in mm, weeks before the show from and to
    "jacket": ((25.4, 25.4), (8, 10)),
    "neck": ((18, 22), (6, 8.5)),
    "rear-and-tail": ((12.5, 15.5), (6, 6)),
    "throat-and-front": ((6.4, 12.7), (4, 5)),
    "head": ((6.4, 9), (4, 4)),
}


def test_a_lakeland_is_taken_down_in_the_weeks_its_club_publishes() -> None:
    found = weeks_before(staged({name: wanted for name, (wanted, _) in LAKELAND.items()}))
    assert list(found) == list(LAKELAND)  # the jacket first, the head last
    for name, (_, (least, most)) in LAKELAND.items():
        # The club says whole and half weeks: a single figure is meant to half a week.
        slack = 0.5 if least == most else 0.0
        assert least - slack <= found[name] <= most + slack, name
    assert 1.5 <= found["jacket"] - found["neck"] <= 2  # "one and a half to two weeks after the jacket"


def test_a_schnauzer_jacket_comes_down_in_sections_seven_days_apart() -> None:
    """Sections at seven-day intervals, done in about four weeks: Miniature Schnauzer stripping guide, katewerk.com/trim.html
    (2000). First section about twelve weeks before the show: a pet-trade page; not showable for 10 to 11 weeks:
    schnauzerweb.com. Lengths: common practice, no source; 3 mm from section to section, so that none shows an edge."""
    found = staged({"croup": (28, 28), "back": (25, 25), "neck": (22, 22), "head": (19, 19)})
    days = [stage.day for stage in found.stages]
    assert [stage.section for stage in found.stages] == ["croup", "back", "neck", "head"]
    assert all(6 <= (later - earlier).days <= 8 for earlier, later in pairwise(days))
    assert (days[-1] - days[0]).days <= 28
    assert 10 <= found.stages[0].weeks_before <= 12


def test_a_dandie_is_worked_in_its_published_weeks() -> None:
    """Body 8 weeks before, neck and shoulders 2 to 3, ears 2: doggroomingtutorial.com. Lengths: common practice, no source."""
    found = weeks_before(staged({"body": (19, 21), "neck-and-shoulders": (3, 5.5), "ears": (2, 3)}))
    assert found["body"] == pytest.approx(8, abs=0.5)
    assert 2 <= found["neck-and-shoulders"] <= 3
    assert found["ears"] == pytest.approx(2, abs=0.5)


def test_a_dandie_at_its_best_length_was_not_stripped_bare_eight_weeks_before() -> None:
    """At its best at 40 to 50 mm, "most old top coat" out 8 weeks before (doggroomingtutorial.com): no growth published for
    dogs brings 40 mm in 8 weeks, so the hair that is left makes up the length. Taken down bare it needs far longer."""
    assert weeks_before(staged({"body": (40, 50)}))["body"] > 14


def test_what_is_wanted_is_what_stands_on_the_day() -> None:
    for name, wanted in {"level": (20, 30), "exact": (25.4, 25.4)}.items():
        stage = staged({name: wanted}).stages[0]
        assert wanted[0] - 0.5 <= stage.length_mm <= wanted[1] + 0.5
        assert stage.first <= stage.day <= stage.last
        # Every day of the window would do, the days on either side of it would not; by the growth of DEVELOPERS.md.
        for day, right in ((stage.first, True), (stage.last, True), (stage.last + timedelta(days=1), False)):
            length = FAST["mm_per_week"] * ((SHOW - day).days / 7 - FAST["breakthrough_weeks"])
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
def test_the_longest_interval_that_keeps_the_coat_is_the_trades_own(profile: str, weeks: int) -> None:
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
