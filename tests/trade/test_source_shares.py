"""What a profile's own numbers rest on, held not to worsen (``source_shares.csv``): ``python -m tests.trade.test_source_shares``
writes what is better or new; what is worse must be written by hand, and why it is so told beside it.

Worse once: eleven breeds, by up to eleven per cent, when figures that only repeated those of the profile that they build on, many of
them reckoned, were left out of them. What a dog is worked by is the same to the last figure; fewer of them are a breed's own.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

from coatrules import Profile
from coatrules.check.provenance import shares, sourced_numbers
from coatrules.profile.shelves import library
from tests.trade.asked import profile_of

pytestmark = pytest.mark.slow  # the whole library is loaded
TABLE = Path(__file__).with_name("source_shares.csv")
NEAR = 0.5  # per cent


@cache
def measured() -> dict[str, tuple[float, float]]:
    """By profile, and regime behind a slash, the per cent of its own numbers that are published, and that are practice or memory."""
    return {name: _percent(profile) for name, profile in _profiles()}


def _profiles() -> Iterator[tuple[str, Profile]]:
    for name in sorted(library()):
        profile = profile_of(name)
        yield name, profile
        yield from ((f"{name}/{regime}", other) for regime, other in profile.regimes.items())


def _percent(profile: Profile) -> tuple[float, float]:
    found = shares(number for number in sourced_numbers(profile) if number.own)
    weak = sum(found.get(kind, 0.0) for kind in ("memory", "practice", "none"))
    return round(100 * found.get("published", 0.0), 1), round(100 * weak, 1)


def recorded() -> dict[str, tuple[float, float]]:
    with TABLE.open(encoding="utf-8", newline="") as file:
        return {row["profile"]: (float(row["published"]), float(row["weak"])) for row in csv.DictReader(file)}


@pytest.mark.parametrize("name", sorted(library()))
def test_no_profile_rests_on_less_than_before(name: str) -> None:
    known = recorded()
    for one in (part for part in measured() if part.partition("/")[0] == name):
        published, weak = measured()[one]
        assert one in known, "a new profile: python -m tests.trade.test_source_shares"
        assert published >= known[one][0] - NEAR
        assert weak <= known[one][1] + NEAR


def test_a_regimes_own_lengths_rest_on_more_than_practice_too() -> None:
    for name, profile in _profiles():
        lengths = [number for number in sourced_numbers(profile) if number.own and number.wanted]
        if profile.breed is not None:
            assert shares(lengths).get("practice", 0.0) < 1 / 3, name
            assert "none" not in shares(lengths), name


def main() -> None:
    known = recorded() if TABLE.exists() else {}
    rows = {}
    for name, (published, weak) in measured().items():
        before = known.get(name, (0.0, 100.0))
        rows[name] = (max(published, before[0]), min(weak, before[1]))
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(("profile", "published", "weak"))
    writer.writerows((name, *figures) for name, figures in rows.items())
    TABLE.write_text(text.getvalue(), encoding="utf-8")


if __name__ == "__main__":
    main()
