"""A breed kept in two ways is one file: each way is a regime, and the id of each stays."""

from __future__ import annotations

from datetime import date

import pytest

from coatrules import load_history, load_profile, work_order
from coatrules.formats.resources import folder

REGIMES = {
    "cairn-terrier-show": ("cairn-terrier", "show"),
    "lakeland-terrier-staged": ("lakeland-terrier", "staged"),
    "miniature-schnauzer-pet": ("miniature-schnauzer", "pet"),
    "wire-fox-terrier-pet": ("wire-fox-terrier", "pet"),
    "wire-fox-terrier-show": ("wire-fox-terrier", "show"),
    "wirehaired-pointing-griffon-show": ("wirehaired-pointing-griffon", "show"),
}


@pytest.mark.parametrize("name", REGIMES)
def test_a_breed_kept_in_two_ways_is_one_file(name: str) -> None:
    breed, regime = REGIMES[name]
    lines = (folder("profiles") / f"{name}.yaml").read_text(encoding="utf-8").splitlines()
    said = [line for line in lines if not line.startswith("#")]
    assert said == ["format: 2", f"id: {name}", f"extends: {breed}", f"regime: {regime}"]


@pytest.mark.parametrize("name", REGIMES)
def test_a_dog_kept_in_a_regime_is_worked_as_by_the_profile_of_its_own(name: str) -> None:
    breed, regime = REGIMES[name]
    visits = [{"visit": f"2026-0{month}-05", "work": {"jacket": {"card": True, "pull": 0.2}}} for month in (1, 2)]

    def order(**dog: str) -> dict[str, object]:
        history = load_history({"format": 1, "dog": {"id": "pip", **dog}, "visits": visits})
        profile = load_profile(dog["profile"])
        return work_order(profile, history, date=date(2026, 3, 21)).to_dict() | {"profile": None}

    assert order(profile=name) == order(profile=breed, regime=regime)
