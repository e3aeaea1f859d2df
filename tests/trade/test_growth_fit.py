"""The growth figures against the published rows they rest on: what the rows give, and which of them are missed."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import pytest

from tests.trade import growth_fit
from tests.trade.growth_fit import KINDS, Coat, Row, fitted, held_out, in_sample, misses, ranges, rows, score


class Carried(NamedTuple):
    """A figure that profiles carry, the range it was given, and what this fit gives."""

    value: float
    low: float
    high: float
    fits: float


# The first three are the figures agreed on for profiles; they were fitted once before, by a method that was not written down to the
# last choice. ``fits`` is what the rows give here. Where the two differ by more than rounding, the range holds both. The range of
# ``half_ripe`` is that of ``grows``, by the closed form 2 + 0.825 * grows.
CARRIED: dict[tuple[str, str], Carried] = {
    ("terrier", "rate"): Carried(4.0, 3.0, 5.4, 4.10),
    ("skirted", "rate"): Carried(4.5, 3.7, 6.2, 4.58),
    ("companion", "rate"): Carried(4.0, 3.3, 4.9, 4.59),
    ("gundog", "rate"): Carried(3.0, 2.6, 3.8, 3.46),
    ("schnauzer", "rate"): Carried(3.7, 3.2, 4.6, 4.15),
    ("terrier", "grows"): Carried(16, 13, 19, 14.65),
    ("skirted", "grows"): Carried(13, 10, 16, 12.67),
    ("companion", "grows"): Carried(18, 14, 21, 16.03),
    ("gundog", "grows"): Carried(13, 10, 16, 12.62),
    ("schnauzer", "grows"): Carried(11.5, 9, 14, 11.50),
    ("terrier", "full_mm"): Carried(64, 54, 76, 60.0),
    ("skirted", "full_mm"): Carried(58, 50, 70, 58.0),
    ("companion", "full_mm"): Carried(72, 66, 78, 73.7),
    ("gundog", "full_mm"): Carried(39, 20, 56, 43.6),
    ("schnauzer", "full_mm"): Carried(42, 38, 51, 47.8),
    ("terrier", "half_ripe"): Carried(15, 12.7, 17.7, 14.1),
    ("skirted", "half_ripe"): Carried(13, 10.2, 15.2, 12.5),
    ("companion", "half_ripe"): Carried(17, 13.5, 19.4, 15.2),
    ("gundog", "half_ripe"): Carried(13, 10.2, 15.2, 12.4),
    ("schnauzer", "half_ripe"): Carried(11.5, 9.4, 13.6, 11.5),
    ("general", "rests"): Carried(8, 6, 14, 9.32),
}

# Not reproduced within rounding: half a unit of the last digit given for the figure. This list may only shrink.
NOT_REPRODUCED = {
    ("terrier", "rate"),
    ("skirted", "rate"),
    ("companion", "rate"),
    ("gundog", "rate"),
    ("schnauzer", "rate"),
    ("terrier", "grows"),
    ("companion", "grows"),
    ("terrier", "full_mm"),
    ("companion", "full_mm"),
    ("gundog", "full_mm"),
    ("schnauzer", "full_mm"),
    ("terrier", "half_ripe"),
    ("skirted", "half_ripe"),
    ("companion", "half_ripe"),
    ("gundog", "half_ripe"),
    ("general", "rests"),
}

# Rows that the fit misses though it used them, and why. These may only shrink.
MISSED = {
    "E008": "40 to 50 mm eight weeks after a strip: more likely the short layer was left (the row's own note)",
    "E010": "back after nine to ten weeks, against E011 and E012",
    "E011": "back after eight weeks, against E015",
    "E012": "back after eight weeks, against E015",
    "E013": "a puppy's coat back after eight to nine weeks",
    "E015": "back after twelve weeks, against E011 and E012",
    "E016": "gripped four weeks after a strip: missed by a hundredth",
    "E019": "seen after three weeks: half a week later than the lag that is held",
    "E028": "dies at 45 to 55 mm, against E008 and E038",
    "E029": "102 to 127 mm, of which E030 has colour in 51 to 76",
    "E031": "76 to 102 mm, against the 40 to 70 of E001",
    "E033": "46 to 56 mm, against the 19 to 32 of E035: gundogs must give their breed's own length",
    "E035": "19 to 32 mm, against the 46 to 56 of E033",
    "E048": "whole strips every thirteen weeks, against 26 in E044 and E049",
    "E051": "whole strips every thirteen weeks, against 26 in E044 and E049",
    "E053": "whole strips every 26 to 35 weeks, against nine to thirteen in E055 and E056",
    "E055": "every ten to twelve weeks; whether the whole coat is meant is not said",
    "E059": "twice a year, against two to four times in E057 and E058",
    "E067": "dies after 17 to 26 weeks, against 13 to 17 in E068",
    "E070": "a show coat over at 18 to 19 weeks: its look more likely than its life",
}
# Missed only when they are predicted without themselves.
MISSED_HELD_OUT = {
    "E042": "every 26 weeks, dogs in general",
    "E087": "the only measured share of resting hair of a wire coat: 45 to 65 per cent",
}


@pytest.fixture(scope="module")
def fit() -> growth_fit.Fit:
    return fitted(rows())


def test_fifty_nine_rows_are_fitted() -> None:
    assert len(rows()) == 59
    assert [sum(row.kind == kind for row in rows()) for kind in (*KINDS, "general")] == [24, 9, 5, 9, 6, 6]
    assert sum(map(growth_fit.is_point, rows())) == 35


@pytest.mark.parametrize("name", CARRIED, ids=" ".join)
def test_the_rows_give_the_figures_that_profiles_carry(fit: growth_fit.Fit, name: tuple[str, str]) -> None:
    kind, figure = name
    carried = CARRIED[name]
    value = getattr(fit.coats[kind], figure)
    assert value == pytest.approx(carried.fits, rel=0.01)
    assert carried.low <= value <= carried.high
    assert 1 / 1.17 <= value / carried.value <= 1.17, "they are the same coat"


def rounded_alike(value: float, given: float) -> bool:
    """Tells whether a value rounds to a figure that was given to a half (weeks), a tenth (mm a week) or a whole (mm)."""
    step = 0.1 if given < 5 else 1.0
    return abs(value - given) <= step / 2


def test_what_is_not_reproduced_is_listed(fit: growth_fit.Fit) -> None:
    found = {
        (kind, figure)
        for (kind, figure), carried in CARRIED.items()
        if not rounded_alike(getattr(fit.coats[kind], figure), carried.value)
    }
    assert found <= NOT_REPRODUCED


def test_the_misses_only_shrink() -> None:
    factors = in_sample()
    assert set(misses(factors)) <= set(MISSED)
    reached = score(factors)
    assert reached.inside_points >= 20
    assert reached.inside >= 39
    assert reached.near_points >= 28
    assert reached.near >= 52
    assert reached.mean_factor <= 1.056


@pytest.mark.slow
def test_a_row_predicted_without_it_is_missed_little_more_often() -> None:
    factors = held_out(lambda row: row.id)
    assert set(misses(factors)) <= set(MISSED) | set(MISSED_HELD_OUT)
    reached = score(factors)
    assert reached.inside_points >= 19
    assert reached.inside >= 37
    assert reached.near >= 49
    assert reached.mean_factor <= 1.09


@pytest.mark.slow
@pytest.mark.parametrize(("group", "least"), [("publisher", 38), ("breed", 39)])
def test_a_publisher_or_a_breed_left_out_changes_little(group: str, least: int) -> None:
    factors = held_out(lambda row: str(getattr(row, group)))
    assert set(misses(factors)) <= set(MISSED) | set(MISSED_HELD_OUT)
    assert score(factors).inside >= least


@pytest.mark.slow
def test_the_ranges_hold_the_figures_that_profiles_carry() -> None:
    found = ranges(samples=80)
    outside = {
        (kind, figure)
        for (kind, figure), carried in CARRIED.items()
        if figure != "half_ripe" and not found[kind][figure].low <= carried.value <= found[kind][figure].high
    }
    # Gundogs: the rows of lengths pull at the rate from both sides. Rests: the prior has its median at 8.
    assert outside <= {("gundog", "rate"), ("general", "rests")}


def test_lag_and_rate_are_not_told_apart(fit: growth_fit.Fit) -> None:
    # A lag of one week with a slower rate and one of four with a quicker one meet as many rows, two or three aside.
    for lag in (1.0, 4.0):
        other = fitted(rows(), lag=lag)
        assert (other.coats["terrier"].rate > fit.coats["terrier"].rate) is (lag > 2)
        met = score({row: growth_fit.factor_outside(row, other) for row in rows()}).near
        assert met >= 50
        # The age at which hair is ripe stays where it is, whatever the lag.
        assert other.coats["terrier"].half_ripe == pytest.approx(fit.coats["terrier"].half_ripe, abs=0.5)


# ---- the method itself


def test_the_fit_finds_coats_that_are_known() -> None:
    true = {
        kind: Coat(2.0, rate, grows, 8.0)
        for kind, rate, grows in zip(
            (*KINDS, "general"), (4, 4.5, 4, 3.5, 3.7, 4), (16, 13, 15, 14, 12, 14), strict=True
        )
    }
    made: list[Row] = []
    for kind in KINDS:
        coat = true[kind]
        for weeks in (6, 8, 10):
            length = coat.length(weeks)
            made.append(Row("", "strip_to_length", "", kind, weeks, weeks, length, length, ""))
        made += [Row("", "final_length", "", kind, coat.full_mm, coat.full_mm, np.nan, np.nan, "")] * 3
        made += [Row("", "blown_after", "", kind, coat.all_loose, coat.all_loose, np.nan, np.nan, "")] * 3
    found = fitted(made)
    for kind in KINDS:
        assert found.coats[kind].rate == pytest.approx(true[kind].rate, rel=0.03)
        assert found.coats[kind].grows == pytest.approx(true[kind].grows, rel=0.03)
    assert found.coats["general"].rests == pytest.approx(8, rel=0.03)


@pytest.mark.parametrize("spread", [0.1, 0.35, 0.6])
def test_ages_are_those_of_single_hairs(spread: float) -> None:
    # Hairs one by one: their stops lie evenly between the first and the last.
    coat = Coat(2, 4, 16, 8, spread)
    stops = coat.lag + coat.grows * (1 - spread * (np.arange(100_000) + 0.5) / 100_000)
    assert coat.half_ripe == pytest.approx(np.median(stops), abs=0.01)
    assert coat.first_loose == pytest.approx(stops.min() + 8, abs=0.01)
    assert coat.all_loose == pytest.approx(stops.max() + 8, abs=0.01)
    # Pulled one by one as they come loose, each is at rest for 8 of its weeks.
    assert coat.resting_share == pytest.approx(8 / np.mean(stops + 8), abs=1e-4)


def test_a_row_is_met_where_the_intervals_touch() -> None:
    coat = Coat(2, 4, 16, 8)
    some = growth_fit.Fit({"terrier": coat})

    def interval(low: float, high: float) -> Row:
        return Row("", "full_strip_interval", "", "terrier", low, high, np.nan, np.nan, "")

    assert coat.half_ripe == pytest.approx(15.2)
    assert growth_fit.factor_outside(interval(13, 16), some) == 1
    assert growth_fit.factor_outside(interval(26, 30), some) == 1
    assert growth_fit.factor_outside(interval(28, 30), some) == pytest.approx(28 / 26)
    assert growth_fit.factor_outside(interval(10, 13), some) == pytest.approx(15.2 / 13)
