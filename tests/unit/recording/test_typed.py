"""What people type: shares, work, and what was seen and felt; and nothing else is taken for one of them."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coatrules.catalogue.amounts import GREATEST_ERROR
from coatrules.catalogue.english import ENGLISH
from coatrules.catalogue.speaking import say, speaking
from coatrules.catalogue.spellings import spellings
from coatrules.catalogue.translated import Translated
from coatrules.catalogue.typed_amounts import length, share
from coatrules.dog.history import Seen
from coatrules.formats.structure import structure
from coatrules.recording.lines import seen_of_part
from coatrules.recording.typed import SEEN_WORDS, NotUnderstood, minutes, seen_word, seen_words, work


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("0.2", 0.2),
        ("0,2", 0.2),
        ("1/5", 0.2),
        ("1 / 5", 0.2),
        ("20%", 0.2),
        ("20 %", 0.2),
        ("12,5%", 0.125),
        ("a fifth", 0.2),
        ("fifth", 0.2),
        ("one fifth", 0.2),
        ("about a fifth", 0.2),
        ("Two Thirds", 0.666667),
        ("three quarters", 0.75),
        ("half", 0.5),
        ("a half", 0.5),
        ("½", 0.5),
        ("1/3", 0.333333),
        ("all", 1),
        ("none", 0),
        ("100%", 1),
        ("1", 1),
    ],
)
def test_a_share_as_people_write_it(text: str, expected: float) -> None:
    assert share(text) == expected


@pytest.mark.parametrize(
    "text", ["", "lots", "20", "1.5", "6/5", "1/0", "150%", "-1/5", "1/5/2", "5 fifths", "%", "0.2.1", "٢"]
)
def test_what_is_no_share(text: str) -> None:
    assert share(text) is None


@given(st.just(0.0) | st.floats(0.01, 1))
@pytest.mark.parametrize("tag", ["en", "de", "fr"])
def test_every_share_an_order_says_is_understood_as_said(tag: str, value: float) -> None:
    with speaking(ENGLISH if tag == "en" else Translated(tag)):
        understood, in_figures = share(say.amount("share", value)), share(say.amount("fraction", value))
    assert understood is not None
    relative, absolute = GREATEST_ERROR
    assert abs(understood - value) <= (max(relative * value, absolute) if value >= 1 / 40 else 1 / 40)
    assert in_figures == understood


@given(st.integers(1, 300), st.integers(1, 300))
def test_fractions_are_exact_to_the_millionth(above: int, below: int) -> None:
    expected = Fraction(above, below)
    found = share(f"{above}/{below}")
    assert (found is None) == (expected > 1)
    if found is not None:
        assert abs(Fraction(found) - expected) <= Fraction(1, 1_900_000)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("1/5+card", {"pull": 0.2, "card": True}),
        ("pull:1/5", {"pull": 0.2}),
        ("pull 1/5", {"pull": 0.2}),
        ("clip:3", {"clip": 3}),
        ("clip 3 mm", {"clip": 3}),
        ("scissor:12,5", {"scissor": 12.5}),
        ("scissor", {"scissor": True}),
        ("clip 0.3 cm", {"clip": 3}),
        ("scissored to half an inch", {"scissor": 12.7}),
        ("pull=1/5", {"pull": 0.2}),
        ("comb + card", {"comb": True, "card": True}),
    ],
)
def test_what_was_done(text: str, expected: dict[str, Any]) -> None:
    assert work(text) == expected


@pytest.mark.parametrize("text", ["clip", "clip:x", "card:3", "pull:", "", "1/5+", "brush", "20"])
def test_what_is_no_work(text: str) -> None:
    with pytest.raises(NotUnderstood):
        work(text)


SEEN = [
    ("comes easily", "comes", "easily"),
    ("easily", "comes", "easily"),
    ("mixed", "comes", "mixed"),
    ("holds", "comes", "holds"),
    ("soft", "texture", "soft"),
    ("woolly", "texture", "woolly"),
    ("sore", "skin", "unsound"),
    ("sound", "skin", "sound"),
    ("See-through", "see_through", True),
    ("bald patch", "see_through", True),
    ("undercoat none", "undercoat", "none"),
    ("some undercoat", "undercoat", "some"),
    ("undercoat full", "undercoat", "full"),
    ("14 mm", "longest_mm", 14),
    ("14,5mm", "longest_mm", 14.5),
    ("3 layers", "layers", 3),
    ("1 layer", "layers", 1),
    ("two layers", "layers", 2),
    ("1.5 cm", "longest_mm", 15),
    ("longest_mm=14", "longest_mm", 14),
    ("skin=unsound", "skin", "unsound"),
    ("see_through=yes", "see_through", True),
]


@pytest.mark.parametrize(("text", "key", "value"), SEEN)
def test_a_word_of_the_hand_or_the_eye(text: str, key: str, value: Any) -> None:
    assert seen_word(text) == (key, value)
    structure({key: value}, Seen)  # or it raises


@pytest.mark.parametrize(
    "text", ["60 mm or more", "60 mm +", "60mm+", "60+ mm", "at least 6 cm", "over 60 mm", "6 cm or more"]
)
def test_hair_at_least_so_long(text: str) -> None:
    assert seen_word(text) == ("longest_mm", {"minimum": 60})


def test_every_word_means_what_a_history_may_hold() -> None:
    assert {word.key for word in SEEN_WORDS} >= {"skin", "see_through", "undercoat"}
    for word in SEEN_WORDS:
        structure({word.key: word.value}, Seen)
        assert spellings(word.code)[0] in seen_words()
        for spelling in spellings(word.code):
            assert seen_word(spelling.upper()) == (word.key, word.value)


def test_several_words_of_one_part() -> None:
    for text in ("sound, 14,5 mm", "sound 14,5 mm", "14,5mm sound", "skin=sound, longest_mm=14,5"):
        assert seen_of_part(text) == {"skin": "sound", "longest_mm": 14.5}


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("hard", "'hard' is unknown; use sore, sound, comes easily, .*see-through, undercoat none"),
        ("1/5", "'1/5' is unknown; use "),
        ("colour=red", "use one of these keys: longest_mm"),
        ("longest_mm=long", "'long' is not a number"),
    ],
)
def test_what_is_not_understood_is_told_with_what_would_be(text: str, message: str) -> None:
    with pytest.raises(NotUnderstood, match=message):
        seen_of_part(text)


@pytest.mark.parametrize(
    ("text", "millimetres"),
    [
        *(("14 mm", 14), ("14mm", 14), ("14 millimetres", 14), ("1.5 cm", 15), ("1,5cm", 15), ("two centimetres", 20)),
        *(("half an inch", 12.7), ("1½ cm", 15), ("an inch", 25.4), ("about 14 mm", 14), ("1 1/2 inches", 38.1)),
        *(("14", None), ("cm", None), ("14-16 mm", None), ("14 m", None), ("long", None)),
    ],
)
def test_a_length_as_people_write_it(text: str, millimetres: float | None) -> None:
    assert length(text) == millimetres


@pytest.mark.parametrize("text", ["0", "soon", ""])
def test_work_in_no_time_is_not_understood(text: str) -> None:
    """'--took 0' was recorded: a visit of no minutes."""
    with pytest.raises(NotUnderstood, match="says no minutes"):
        minutes(text)


@pytest.mark.parametrize("text", ["2", "1.20", "1,5"])
def test_hours_without_their_unit_are_no_minutes(text: str) -> None:
    """'1.20' was recorded as 1 min 12 s."""
    with pytest.raises(NotUnderstood, match=f"write '{text} h' or '{text} min'"):
        minutes(text)
