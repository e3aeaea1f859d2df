"""How the engine's values are said to people."""

from __future__ import annotations

from datetime import date
from textwrap import wrap

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from coatrules.catalogue.amounts import GREATEST_ERROR
from coatrules.catalogue.speaking import say
from coatrules.order.reasons import Reason
from coatrules.report.markdown import escaped
from coatrules.report.rows import joined
from coatrules.report.text import wrapped


@pytest.mark.parametrize(
    ("share", "said"),
    [
        (0.2, "a fifth"),
        (0.125, "an eighth"),
        (0.205, "a fifth"),
        (0.215, "a good fifth"),
        (0.29, "just under a third"),
        (0.0625, "a sixteenth"),
        (1.0, "all"),
        (0.97, "nearly all"),
        (0.0, "none"),
        (0.5, "half"),
        (0.85, "a good four fifths"),
        (0.012, "next to nothing"),
    ],
)
def test_a_share_is_said_as_a_groomer_says_it(share: float, said: str) -> None:
    """'pull 29%' and '6%' stood on the sheet and in plans where no plain fraction was near."""
    assert say.amount("share", share) == said


NUMBERS = {"third": 3, "quarter": 4, "fifth": 5, "sixth": 6, "seventh": 7, "eighth": 8, "tenth": 10}
NUMBERS |= {"twelfth": 12, "fifteenth": 15, "sixteenth": 16, "twentieth": 20, "twenty-fifth": 25, "thirtieth": 30}
NUMBERS |= {"fortieth": 40}
COUNTS = {"a": 1, "an": 1, "two": 2, "three": 3, "four": 4, "nine": 9}


def meant(words: str) -> float:
    """What a groomer takes it for: a good fifth is some 8 in a hundred more than a fifth, just under one as much less."""
    further = 1.08 if words.startswith("a good ") else 0.92 if words.startswith("just under ") else 1.0
    *count, name = words.removeprefix("a good ").removeprefix("just under ").split()
    if name in ("half", "all"):
        return {"half": 0.5, "all": 0.96 if count else 1.0}[name] * further
    return (COUNTS[count[0]] if count else 1) / NUMBERS[name.removesuffix("s")] * further


@given(st.floats(1 / 40, 1))
def test_a_share_in_words_is_never_far_off(share: float) -> None:
    relative, absolute = GREATEST_ERROR
    assert abs(meant(say.amount("share", share)) - share) <= max(relative * share, absolute)


@pytest.mark.parametrize(
    ("share", "said"), [(0.2, "1/5"), (0.29, "under 1/3"), (0.215, "good 1/5"), (1.0, "all"), (0.96, "nearly all")]
)
def test_a_share_is_said_in_figures_where_there_is_little_room(share: float, said: str) -> None:
    assert say.amount("fraction", share) == said


@pytest.mark.parametrize(
    ("weeks", "said"),
    [(1.0, "1 week"), (3.0, "3 weeks"), (2.5, "2½ weeks"), (50 / 7, "7 weeks"), (10 / 7, "10 days"), (1 / 7, "1 day")],
)
def test_weeks(weeks: float, said: str) -> None:
    """'7.1 weeks' was said of seven weeks and a day."""
    assert say.amount("weeks", weeks) == said


@pytest.mark.parametrize(
    ("minutes", "said"), [(0.5, "½ min"), (4.5, "4½ min"), (12.5, "13 min"), (119.5, "120 min"), (0.0, "0 min")]
)
def test_minutes(minutes: float, said: str) -> None:
    assert say.amount("minutes", minutes) == said


def test_days_are_said_in_english_whatever_the_locale() -> None:
    assert say.amount("day", date(2026, 3, 21)) == "Saturday 21 March 2026"


def test_names_in_a_row() -> None:
    assert joined(["Back", "Loin", "Back"]) == "Back, loin"
    assert joined(["Back", "Tail, underside"]) == "Back; tail, underside"
    assert joined([]) == ""


def test_an_engine_sentence_starts_with_a_capital_and_an_authors_is_left_as_it_is() -> None:
    assert (
        Reason(rule="coat.overgrown", facts={"share": 0.2}).text
        == "A fifth of the hair is blown or longer than wanted."
    )
    assert Reason(rule="my-rule", facts={}, own="because I say so").text == "because I say so"


@given(st.text(max_size=60))
def test_an_authors_text_cannot_become_markup(said: str) -> None:
    shown = escaped(said)
    assert "\n" not in shown
    for mark in "`*_[]<>|#":
        assert shown.replace("\\\\", "").count(mark) == shown.replace("\\\\", "").count("\\" + mark)


@given(st.text(st.sampled_from("ab- \n\t\xa0½"), max_size=24), st.sampled_from(["", "  - "]))
@example("a\n\xa0\t\t  a", "")  # a blank that the library drops where it may not break words
def test_the_short_way_sets_a_text_as_the_standard_library_does(said: str, indent: str) -> None:
    further = " " * len(indent)
    set_out = wrap(
        said, 16, initial_indent=indent, subsequent_indent=further, break_long_words=False, break_on_hyphens=False
    )
    assert list(wrapped(said, 16, indent)) == set_out
