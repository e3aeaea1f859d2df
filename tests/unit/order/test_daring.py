"""No order is ever daring, by any profile, whatever is taken out of it or laid over it, for any dog (``tests/support/daring``)."""

from __future__ import annotations

import copy
from collections.abc import Iterator, Mapping
from datetime import date, timedelta
from functools import cache
from typing import Any

import pytest
from attrs import evolve
from hypothesis import given, settings
from hypothesis import strategies as st

from coatrules import InputError, load_history, load_profile
from coatrules.dog.against_floor import against_floor
from coatrules.formats.resources import folder
from coatrules.order.engine import order
from coatrules.profile.compiled import compile_profile
from coatrules.profile.loading import chain_of, checked_profile, merged_chain
from coatrules.profile.model import Profile
from coatrules.profile.shelves import library
from coatrules.profile.whole_strip import whole_strip
from coatrules.reading import read_yaml
from coatrules.recording.entry import as_planned
from tests.support.daring import ONLY_CUT, TENDER, Told, breaches

DAY = date(2026, 3, 21)
BASE = "points-of-the-dog"
POINTS = tuple(load_profile(BASE).regions)
PARTS = (*POINTS, "body", "legs", "head", "toes", "face", "jacket")
SILENT = {"cases", "sources", "about", "label", "breed", "accept", "over", "format", "id", "extends", "outline"}
"""Sections of a profile that no order reads, and the keys that say which profile it is."""


@cache
def data_of(name: str) -> Any:
    """The profile's own lines as plain data."""
    return read_yaml((folder("profiles") / f"{name}.yaml").read_bytes(), name)[0].data


@cache
def leaves() -> tuple[tuple[str, tuple[str, ...]], ...]:
    """Every shipped profile with those that it is made of, itself first."""
    found = []
    for name in sorted(library()):
        chain = [name]
        while (above := data_of(chain[-1]).get("extends")) is not None:
            chain.append(above)
        found.append((name, tuple(chain)))
    return tuple(found)


def paths(data: Any, above: tuple[str | int, ...] = ()) -> Iterator[tuple[str | int, ...]]:
    """Every line that can be taken out: a key with all under it, or an item of a list."""
    items = data.items() if isinstance(data, Mapping) else enumerate(data) if isinstance(data, list) else ()
    for key, value in items:
        if above or key not in SILENT:
            yield (*above, key)
            yield from paths(value, (*above, key))


@cache
def lines(name: str) -> Mapping[str, list[tuple[str | int, ...]]]:
    """All of a file's lines by their section."""
    found: dict[str, list[tuple[str | int, ...]]] = {}
    for path in paths(data_of(name)):
        if path[-1] not in ("because", "source", "label"):
            found.setdefault(str(path[0]), []).append(path)
    return found


def without(data: Any, path: tuple[str | int, ...]) -> Any:
    """A copy of the data without one of its lines."""
    left = copy.deepcopy(data)
    inner = left
    for step in path[:-1]:
        inner = inner[step]
    del inner[path[-1]]
    return left


shares = st.sampled_from([0.05, 0.1, 0.2, 0.5, 0.9, 1.0])
works = (
    st.fixed_dictionaries({"pull": shares}, optional={"minutes": st.sampled_from([3, 20, 60])})
    | st.just({"card": True})
    | st.just({"comb": True})
    | st.just({"clip": 6})
)
looks = st.sampled_from(
    [{"skin": "unsound"}, {"skin": "sound"}, {"comes": "easily"}, {"comes": "holds"}, {"layers": 2}]
)
points = st.sampled_from(POINTS)
visits: st.SearchStrategy[dict[str, Any]] = st.fixed_dictionaries(
    {"ago": st.sampled_from([0, 1, 9, 20, 21, 22, 30, 45, 70, 120])},
    optional={
        "work": st.dictionaries(st.sampled_from(PARTS), works, min_size=1, max_size=3),
        "seen": st.dictionaries(points, looks, min_size=1, max_size=3),
        "reactions": st.dictionaries(points, st.sampled_from(["calm", "unsettled", "stop"]), min_size=1, max_size=4),
        "health": st.lists(st.sampled_from(["nursing", "unwell", "bruises-easily"]), max_size=1),
        "put_off": st.lists(points, max_size=2, unique=True),
        "minutes": st.sampled_from([5, 9, 90, 170]),
    },
)
tales = st.lists(visits, max_size=4, unique_by=lambda visit: visit["ago"]).map(
    lambda told: sorted(told, key=lambda visit: -visit["ago"])
)
ages = st.none() | st.sampled_from([0, 5, 8, 12, 14, 18, 25, 26, 30, 60, 200])
times = st.none() | st.sampled_from([5, 10, 15, 60, 120, 180, 600])
dogs = st.tuples(tales, ages, times)
Dog = tuple[Told, float | None, float | None]


def daring(profile: Profile, told: Told, weeks: float | None, minutes: float | None) -> list[str]:
    """In which ways the order for a dog is daring; what is ordered may also be recorded."""
    compiled = compile_profile(profile)
    born = {} if weeks is None else {"born": (DAY - timedelta(weeks=weeks)).isoformat()}
    spoken = [
        {"visit": (DAY - timedelta(days=visit["ago"])).isoformat(), **{k: v for k, v in visit.items() if k != "ago"}}
        for visit in told
    ]
    history = {"format": 1, "dog": {"id": "tip", **born}, "visits": spoken}
    made = order(compiled, load_history(history), DAY, minutes)
    found = list(breaches(made, told, compiled.names, weeks, minutes))
    done = load_history({**history, "visits": [*spoken, {"visit": DAY.isoformat(), **as_planned(made)}]})
    found += [str(problem) for problem in against_floor(compiled, done, DAY, len(spoken))]
    return found


def told_in(profile: Profile, dog: Dog) -> Dog:
    """A dog as it is told in the names that a profile has, of visits after its birth."""
    names = compile_profile(profile).names
    told, weeks, minutes = dog

    def known(entries: Any) -> Any:
        kept = [name for name in entries if name in names]
        return {name: entries[name] for name in kept} if isinstance(entries, Mapping) else kept

    parts = ("work", "seen", "reactions", "put_off")
    spoken = [{key: known(value) if key in parts else value for key, value in visit.items()} for visit in told]
    return [visit for visit in spoken if weeks is None or visit["ago"] <= 7 * weeks], weeks, minutes


def loaded(source: str | dict[str, Any], shelf: Mapping[str, Any]) -> Profile | None:
    """A profile, some of what it is made of as given by id; None where it is refused."""
    try:
        return checked_profile(*merged_chain(chain_of(source, shelves=[shelf])))  # not examined: that takes long
    except InputError:
        return None


# --- by every profile ---


def no_order_is_daring(name: str, dog: Dog, whole: bool) -> None:
    profile = load_profile(name)
    asked = whole_strip(profile) if whole else profile
    assert not daring(asked, *told_in(asked, dog)), name


names = st.sampled_from(sorted(library()))


@settings(max_examples=12, deadline=None)
@given(names, dogs, st.booleans())
def test_no_order_by_a_shipped_profile_is_daring(name: str, dog: Dog, whole: bool) -> None:
    no_order_is_daring(name, dog, whole)


@pytest.mark.slow
@settings(max_examples=60, deadline=None)
@given(names, dogs, st.booleans())
def test_no_order_by_any_shipped_profile_is_daring(name: str, dog: Dog, whole: bool) -> None:
    no_order_is_daring(name, dog, whole)


# --- by a profile that lost a line ---


@st.composite
def lost(draw: st.DrawFn) -> tuple[str, str, tuple[str | int, ...]]:
    """A shipped profile, a file that it is made of, and a line of that file: of any section alike, as most lines are of regions."""
    name, chain = draw(st.sampled_from(leaves()))
    file = draw(st.sampled_from([file for file in chain if lines(file)]))
    section = draw(st.sampled_from(sorted(lines(file))))
    return name, file, draw(st.sampled_from(lines(file)[section]))


def no_line_holds_it_back(line: tuple[str, str, tuple[str | int, ...]], dog: Dog) -> None:
    name, file, path = line
    profile = loaded(name, {file: without(data_of(file), path)})
    if profile is not None:
        assert not daring(profile, *told_in(profile, dog)), line


@settings(max_examples=12, deadline=None)
@given(lost(), dogs)
def test_a_profile_that_lost_a_line_is_no_more_daring(line: tuple[str, str, tuple[str | int, ...]], dog: Dog) -> None:
    no_line_holds_it_back(line, dog)


@pytest.mark.slow
@settings(max_examples=90, deadline=None)
@given(lost(), dogs)
def test_a_profile_that_lost_any_line_is_no_more_daring(line: tuple[str, str, tuple[str | int, ...]], dog: Dog) -> None:
    no_line_holds_it_back(line, dog)


# --- by a profile that somebody wrote to hurt ---

zones = st.fixed_dictionaries(
    {"level": st.sampled_from(["low", "medium", "high"]), "bout_minutes": st.sampled_from([0.5, 2, 3, 30])},
    optional={"rest_minutes": st.sampled_from([0, 3, 5])},
)
rules = st.fixed_dictionaries(
    {
        "because": st.just("Because."),
        "then": st.sampled_from(
            [
                {"take": {"at_least": 1}},
                {"add": {"card": 9}},
                {"add": {"clip": 2}},
                {"use": "coarse-knife"},
                {"use": "small-clipper"},
                {"priority": 50},
            ]
        ),
    },
    optional={"regions": st.lists(points, min_size=1, max_size=4, unique=True)},
)
regions = st.fixed_dictionaries(
    {"coat": st.just("jacket"), "minutes": st.fixed_dictionaries({"card": st.just(3), "pull": st.just(4)})}
)
overlays = st.fixed_dictionaries(
    {},
    optional={
        "sensitive_zones": st.dictionaries(
            st.sampled_from(["toes", "face", "belly-and-flanks"]), st.none() | zones, max_size=2
        )
        | st.lists(points, min_size=1, max_size=3, unique=True).map(
            lambda cut: {
                f"own-{n}": {"level": "high", "bout_minutes": 2, "rest_minutes": 5, "regions": [n]} for n in cut
            }
        ),
        "clipper_only_zones": st.dictionaries(
            st.sampled_from(["round-the-anus", "skin-creases"]), st.none(), max_size=1
        ),
        "rules": st.dictionaries(st.sampled_from(["mine", "dog-said-stop", "puppy-a-little"]), rules, max_size=2),
        "regions": st.dictionaries(points, regions, max_size=2),
        "layer_targets": st.lists(points, min_size=1, max_size=4, unique=True).map(
            lambda names: {"all": {"regions": names, "layers": 1, "take": {"usual": 1}, "full_strip": True}}
        ),
        "methods": st.sampled_from([{"coarse-knife": {"regions": None}}, {"blunt-tips": None}, {"stone": None}]),
        "visit": st.sampled_from([{"minutes": 180}, {"first_coat_weeks": 13}, {"tender_in_a_row": 20}]),
    },
)


@settings(max_examples=12, deadline=None)
@given(names, overlays, dogs)
def test_no_overlay_makes_an_order_daring(name: str, overlay: dict[str, Any], dog: Dog) -> None:
    profile = loaded({"format": 2, "id": "own", "label": "Own", "extends": name, **overlay}, {})
    if profile is not None:
        assert not daring(profile, *told_in(profile, dog)), name


# --- what is daring ---


def test_what_is_daring_is_told() -> None:
    """An order that breaks every bound at once, so that each of them is known to be looked at."""
    profile = load_profile("griffon-bruxellois-rough")
    compiled = compile_profile(profile)
    made = order(compiled, load_history({"format": 1, "dog": {"id": "tip"}}), DAY, 180)
    pull = next(step for step in made.steps if step.task == "pull")
    everywhere = tuple(
        evolve(pull, region=name, share=1.0, minutes=9, tools="coarse knife") for name in (*POINTS, *POINTS)
    )
    rims = evolve(pull, region="eyelid-rims", task="clip", share=None, tools="small clipper")
    hurt = evolve(made, steps=(*everywhere, rims), ripe=dict.fromkeys(POINTS, (0.0,)))
    told: Told = [
        {"ago": 9, "seen": {"loin": {"skin": "unsound"}}, "reactions": {"belly": "stop"}, "health": ["nursing"]},
        {"ago": 0, "minutes": 5},
    ]
    names_ = {name: (name,) for name in POINTS}
    found = list(breaches(hurt, told, names_, 12, 60))
    told_of = "\n".join(found)
    for words in (
        "perineum: worked by hand where hair is only cut",
        "loin: worked on unsound skin",
        "croup: worked by hand beside loin",
        "belly: worked before its rest was over",
        "worked in spite of ['nursing']",
        "minutes on the table, 5 before them",
        "minutes where there are 60",
        "brows: pulled with coarse knife",
        "eyelid-rims: cut with small clipper",
        "minutes in a row",
        "back: hair older than the dog",
        "skull: touched on a puppy",
        "a puppy's coat is pulled before any comes out",
    ):
        assert words in told_of
    later = list(breaches(hurt, [{"ago": 30, "reactions": {"belly": "stop"}}], names_, None, 600))
    assert "belly: 1.0 of it pulled after a stop" in later
    assert any("of a coat that grows" in one for one in later)
    assert "pulled at a short first visit" in list(breaches(hurt, [], names_, None, 15))
    assert not list(breaches(made, [], names_, None, 180))


def test_the_bounds_name_points_of_the_dog_and_miss_none_that_the_base_holds() -> None:
    base = compile_profile(load_profile(BASE)).regions
    assert {name for name, region in base.items() if region.clipper_only is not None} == ONLY_CUT
    assert {name for name, region in base.items() if region.zone is not None} == set(" ".join(TENDER).split())
