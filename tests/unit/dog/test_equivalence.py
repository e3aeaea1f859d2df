"""What is done once for all that are alike is what would be done for each, and what is alike follows from what is known."""

from __future__ import annotations

from datetime import date

from attrs import evolve
from hypothesis import given
from hypothesis import strategies as st

from coatrules import load_history, load_profile
from coatrules.dog.equivalence import once_per_class
from coatrules.dog.state import state_on
from coatrules.learning.pace import Pace
from coatrules.profile.compiled import compile_profile


@given(st.dictionaries(st.text(max_size=3), st.integers(0, 3)))
def test_each_gets_what_is_made_of_its_mark_and_each_mark_is_looked_at_once(marks: dict[str, int]) -> None:
    looked_at: list[int] = []

    def make(name: str) -> list[int]:
        looked_at.append(marks[name])
        return [marks[name]]

    found = once_per_class(marks, make)
    assert list(found) == list(marks)
    assert {name: made[0] for name, made in found.items()} == marks
    assert sorted(looked_at) == sorted(set(marks.values()))
    assert all((found[one] is found[two]) == (marks[one] == marks[two]) for one in marks for two in marks)


def test_another_pace_makes_another_mark() -> None:
    compiled = compile_profile(load_profile("griffon-bruxellois-rough"))
    state = state_on(compiled, load_history({"format": 1, "dog": {"id": "pip"}}), date(2026, 3, 21))
    slower = state._replace(pace=evolve(state.pace, mean=state.pace.mean - 0.1)).marked()
    assert isinstance(slower.pace, Pace)
    assert set(state.class_keys) == set(slower.class_keys) == set(compiled.regions)
    assert set(state.class_keys.values()).isdisjoint(slower.class_keys.values())
