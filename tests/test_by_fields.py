"""Values that compare and show themselves by fields, against the ways that attrs itself writes for the same class."""

from __future__ import annotations

import pickle
from typing import Any

from attrs import evolve, field, frozen
from hypothesis import given
from hypothesis import strategies as st

from coatrules import Reason
from coatrules.by_fields import ByFields


def _ours() -> Any:
    @frozen(eq=False, repr=False)
    class Hair(ByFields):
        share: object
        day: object = 0
        note: object = field(default="", eq=False, repr=False)

    return Hair


def _attrs_own() -> Any:
    @frozen
    class Hair:
        share: object
        day: object = 0
        note: object = field(default="", eq=False, repr=False)

    return Hair


OURS, ATTRS_OWN = _ours(), _attrs_own()
values = st.one_of(st.integers(0, 2), st.floats(0, 2), st.booleans(), st.sampled_from(["", "a"]), st.just(()))
hairs = st.tuples(values, values, values)


@given(hairs, hairs)
def test_values_are_equal_as_attrs_has_it(one: tuple[Any, ...], other: tuple[Any, ...]) -> None:
    equal = ATTRS_OWN(*one) == ATTRS_OWN(*other)
    assert (OURS(*one) == OURS(*other)) is equal
    assert (OURS(*one) != OURS(*other)) is not equal
    assert not equal or hash(OURS(*one)) == hash(OURS(*other))
    assert len({OURS(*one), OURS(*other)}) == len({ATTRS_OWN(*one), ATTRS_OWN(*other)})


@given(hairs)
def test_values_show_themselves_as_attrs_has_it(hair: tuple[Any, ...]) -> None:
    assert repr(OURS(*hair)) == repr(ATTRS_OWN(*hair))


@given(hairs)
def test_what_is_of_another_class_is_never_equal(hair: tuple[Any, ...]) -> None:
    assert OURS(*hair) != ATTRS_OWN(*hair)
    assert OURS(*hair) != hair


def test_values_outlive_a_change_and_a_journey() -> None:
    reason = Reason("coat.usual", {"share": 0.2})
    assert pickle.loads(pickle.dumps(reason)) == reason
    assert evolve(reason, said="Said.") != reason
    assert repr(reason) == "Reason(rule='coat.usual', facts={'share': 0.2}, said='')"
