"""No nested value of what is loaded or answered can be changed, and what says the same is equal wherever it came from."""

from __future__ import annotations

import copy
import pickle
from collections.abc import Iterator, Mapping
from datetime import date
from typing import Any

import attrs
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coatrules import History, Profile, WorkOrder, load_history, load_profile, work_order
from coatrules.profile.compiled import MOST_READY, compile_profile
from coatrules.read_only import NOTHING, ReadOnly
from tests.support.paths import EXAMPLES

DOG = EXAMPLES / "salon" / "pip.yaml"
PROFILE = load_profile("griffon-bruxellois-rough")
HISTORY = load_history(DOG)
ORDER = work_order(PROFILE, HISTORY, date=date(2026, 3, 21), ahead=True)


def inside(value: Any, path: str = "") -> Iterator[tuple[str, Any]]:
    """Every value in a value, itself first, with the way to it."""
    yield path, value
    if attrs.has(type(value)):
        for one in attrs.fields(type(value)):
            yield from inside(getattr(value, one.name), f"{path}.{one.name}")
    elif isinstance(value, Mapping):
        for key, inner in value.items():
            yield from inside(inner, f"{path}[{key!r}]")
    elif isinstance(value, tuple | list):
        for index, inner in enumerate(value):
            yield from inside(inner, f"{path}[{index}]")


ALL = {name: list(inside(value)) for name, value in {"profile": PROFILE, "history": HISTORY, "order": ORDER}.items()}


def attempts(value: Any) -> Iterator[Any]:
    """Ways to change a value in place; each must raise."""
    if attrs.has(type(value)):
        for one in attrs.fields(type(value)):
            yield lambda name=one.name: setattr(value, name, None)
            yield lambda name=one.name: delattr(value, name)
    elif isinstance(value, Mapping):
        key = next(iter(value), "new")
        changing: Any = value
        yield lambda: changing.__setitem__(key, None)
        yield lambda: changing.__delitem__(key)
        yield lambda: changing.__ior__({key: None})
        yield from (
            lambda way=way, given=given: getattr(changing, way)(*given)
            for way, given in {
                "pop": (key,),
                "popitem": (),
                "clear": (),
                "update": ({key: None},),
                "setdefault": ("new", 1),
            }.items()
        )
    elif isinstance(value, tuple):
        changing = value
        yield lambda: changing.__setitem__(0, None)


@pytest.mark.parametrize("name", ALL)
def test_there_are_no_lists_sets_or_plain_dicts_inside(name: str) -> None:
    loose = [path for path, value in ALL[name] if isinstance(value, list | set | bytearray) or type(value) is dict]
    assert not loose


@settings(max_examples=300)
@given(st.data(), st.sampled_from(sorted(ALL)))
def test_no_attempt_to_change_anything_succeeds(data: st.DataObject, name: str) -> None:
    path, value = data.draw(st.sampled_from(ALL[name]), label=name)
    before = repr(value)
    for attempt in attempts(value):
        with pytest.raises((TypeError, AttributeError)):
            attempt()
    assert repr(value) == before, path


def test_an_empty_field_of_one_dog_is_not_anothers() -> None:
    """One shared, changeable empty mapping let one dog's reaction break the orders of all others in the process."""
    history = load_history({"format": 1, "dog": {"id": "pip"}, "visits": [{"visit": "2026-01-05"}]})
    with pytest.raises(TypeError, match="read-only"):
        history.visits[0].reactions["legs"] = "stop"  # type: ignore[index]  # that is the attempt
    assert NOTHING == {}


def test_rules_cannot_be_cleared_behind_a_compiled_profile() -> None:
    with pytest.raises(TypeError, match="read-only"):
        PROFILE.rules.clear()  # type: ignore[attr-defined]  # that is the attempt
    fewer = attrs.evolve(PROFILE, rules=NOTHING)
    assert compile_profile(fewer) is not compile_profile(PROFILE)
    assert compile_profile(fewer).regions["back"].rules == ()


@pytest.mark.parametrize(
    ("value", "again"),
    [
        (PROFILE, lambda: load_profile("griffon-bruxellois-rough")),
        (HISTORY, lambda: load_history(DOG)),
        (ORDER, lambda: work_order(PROFILE, HISTORY, date=date(2026, 3, 21), ahead=True)),
    ],
    ids=["profile", "history", "order"],
)
def test_two_loads_a_pickle_and_a_copy_are_equal(value: Any, again: Any) -> None:
    others = [again(), pickle.loads(pickle.dumps(value)), copy.deepcopy(value), copy.copy(value)]
    for other in others:
        assert other == value
        assert hash(other) == hash(value)
    assert repr(others[1]) == repr(value)


def test_what_differs_is_unequal_and_has_another_digest() -> None:
    other = attrs.evolve(PROFILE, label="Another")
    assert other != PROFILE
    assert other.sha256 != PROFILE.sha256
    assert attrs.evolve(other, label=PROFILE.label) == PROFILE
    assert attrs.evolve(other, label=PROFILE.label).sha256 == PROFILE.sha256


def test_the_walk_over_the_dog_is_part_of_a_profile() -> None:
    """Mappings are equal in any order, but the order of the regions is the order of the work."""
    turned = attrs.evolve(PROFILE, regions=ReadOnly(reversed(list(PROFILE.regions.items()))))
    assert turned != PROFILE
    assert turned.sha256 != PROFILE.sha256
    assert next(iter(compile_profile(turned).regions)) == list(PROFILE.regions)[-1]


def test_a_copy_from_another_process_is_compiled_once() -> None:
    """A worker that was sent a profile with every group of dogs kept one compiled copy for each."""
    before = compile_profile(PROFILE)
    for _ in range(3):
        assert compile_profile(pickle.loads(pickle.dumps(PROFILE))) is before
    assert compile_profile.cache_info().maxsize == MOST_READY


@pytest.mark.parametrize("kind", [Profile, History, WorkOrder], ids=lambda kind: kind.__name__)
def test_values_are_no_tuples(kind: Any) -> None:
    assert not issubclass(kind, tuple)
    with pytest.raises(TypeError):
        len(ORDER)  # type: ignore[arg-type]  # that is the attempt
    with pytest.raises(TypeError):
        kind(1)
