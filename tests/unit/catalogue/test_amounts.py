"""How the engine's values are said to people."""

from __future__ import annotations

from datetime import date
from textwrap import wrap

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

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
        (0.21, "about a fifth"),
        (1.0, "all"),
        (0.0, "none"),
        (0.5, "half"),
        (0.85, "about four fifths"),
        (0.012, "1%"),
    ],
)
def test_a_share_is_said_as_a_groomer_says_it(share: float, said: str) -> None:
    assert say.amount("share", share) == said


@given(st.floats(0.02, 0.99))
def test_a_share_in_words_is_never_far_off(share: float) -> None:
    fractions = {"half": 1 / 2, "third": 1 / 3, "quarter": 1 / 4, "fifth": 1 / 5, "sixth": 1 / 6, "seventh": 1 / 7}
    fractions |= {
        "eighth": 1 / 8,
        "tenth": 1 / 10,
        "twelfth": 1 / 12,
        "fifteenth": 1 / 15,
        "twentieth": 1 / 20,
        "thirtieth": 1 / 30,
    }
    counts = {"a": 1, "an": 1, "two": 2, "three": 3, "four": 4}
    words = say.amount("share", share).removeprefix("about ").split()
    if words == ["half"]:
        told = 0.5
    elif words[0].endswith("%"):
        told = float(words[0][:-1]) / 100
    else:
        told = counts[words[0]] * fractions[words[1].removesuffix("s")]
    assert abs(told - share) <= max(0.12 * share, 0.006)


@pytest.mark.parametrize(
    ("weeks", "said"), [(1.0, "1 week"), (3.0, "3 weeks"), (2.5, "2.5 weeks"), (4 / 7, "4 days"), (1 / 7, "1 day")]
)
def test_weeks(weeks: float, said: str) -> None:
    assert say.amount("weeks", weeks) == said


@pytest.mark.parametrize(("minutes", "said"), [(0.5, "½ min"), (4.5, "4½ min"), (12.0, "12 min"), (0.0, "0 min")])
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
