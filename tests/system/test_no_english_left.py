"""In German and French nothing that people read is left in English: every help, the mistakes of a command line, all that is wrong
with the files of ``tests/bad``, and what the commands show of a salon's day."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import date
from functools import cache

import pytest

from coatrules import load_history, load_profile, work_order
from coatrules.book.due import due
from coatrules.catalogue.english import ENGLISH
from coatrules.catalogue.languages import catalogue
from coatrules.catalogue.speaking import say, speaking
from coatrules.check import examine
from coatrules.check.catalogue import ERRORS, FINDINGS, explained
from coatrules.cli import COMMANDS, main
from coatrules.mentor.rehearsal import actors, rehearsal, rehearse
from coatrules.order.explanation import explain
from coatrules.plan.ahead import plan_ahead
from coatrules.problems import InputError, Problem
from coatrules.profile.compiled import compile_profile
from coatrules.report.calendar import calendar, due_event
from coatrules.report.due import reasons, table
from coatrules.report.explanation import text as explanation_text
from coatrules.report.owner import owner_page, owner_text
from coatrules.report.page import page
from coatrules.report.plan import text as plan_text
from coatrules.report.rehearsal import text as rehearsal_text
from coatrules.report.sheet import sheet
from coatrules.report.text import text as steps
from tests.support.paths import BAD, EXAMPLES

SPOKEN = ("de", "fr")
DAY = date(2026, 3, 21)
# Function words of English, and a few that every sentence of this trade has; none is a word of German or French. From memory.
ENGLISH_WORDS = frozenset(
    [
        "the",
        "and",
        "of",
        "is",
        "are",
        "were",
        "with",
        "from",
        "this",
        "that",
        "these",
        "those",
        "which",
        "it",
        "its",
        "has",
        "have",
        "had",
        "been",
        "be",
        "by",
        "they",
        "there",
        "their",
        "you",
        "your",
        "should",
        "must",
        "cannot",
        "where",
        "when",
        "than",
        "only",
        "every",
        "both",
        "how",
        "more",
        "less",
        "before",
        "after",
        "until",
        "least",
        "because",
        "without",
        "within",
        "under",
        "over",
        "again",
        "may",
        "than",
        "here",
        "what",
        "why",
        "who",
        "whose",
        "does",
        "did",
        "done",
        "if",
        "or",
        "not",
        "on",
        "for",
        "week",
        "weeks",
        "days",
        "day",
        "today",
        "hair",
        "coat",
        "ready",
        "nothing",
        "never",
        "unknown",
        "expected",
        "wanted",
        "stopped",
        "write",
        "use",
        "add",
        "remove",
    ]
)
ALSO_OF = {"de": frozenset(("under", "after")), "fr": frozenset(("on", "or", "use"))}
# What files and command lines hold stays as it is: what is quoted, options, paths, ids with dashes, keys with underscores, codes.
KEPT = re.compile(
    "|".join(
        (
            r"'[^'\n]*'|„[^“]*“|«[^»]*»|\"[^\"\n]*\"",
            r"\{[^{}]*\}|\[[^\]\n]*\]|<[^>]+>|--[\w-]+",
            r"[\w-]*[_:=/\\.][\w:=/\\.-]+|[\w.]+ … [\w.]+",
            r"\b[a-z]+(?:-[a-z]+)+\b",
        )
    )
)
NAMES = re.compile(r"[Rr]olling [Cc]oat|JSON Lines|[Ss]pot-on")
"""Loan words, and what a format is called."""


def english_in(tag: str, shown: str) -> set[str]:
    """The words of English in what is shown, but for what stays as it is in every language."""
    kept = {text for text in (say("explain.source", source=""),) if text}
    lines = [line for line in shown.splitlines() if not any(start.strip() in line for start in kept)]
    found = re.findall(r"[^\W\d_]+", NAMES.sub(" ", KEPT.sub(" ", " ".join(lines))))
    return {word.lower() for word in found} & (ENGLISH_WORDS - ALSO_OF[tag])


@pytest.fixture(params=SPOKEN)
def tag(request: pytest.FixtureRequest) -> Iterator[str]:
    spoken: str = request.param
    with speaking(catalogue(spoken)):
        yield spoken


def test_the_words_are_found_in_english() -> None:
    with speaking(ENGLISH):
        assert {"the", "for", "day"} <= english_in("de", say("help.record.--date") + say("help.fleet.--minutes"))
    assert english_in("fr", "emploi : coatrules [-h] --what body 'use the coat'") == set()


@pytest.mark.parametrize("command", COMMANDS)
def test_help(tag: str, command: str, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit):
        main([command, "--help", "--lang", tag])
    shown = re.sub(r"^.*?\n\n", "", capsys.readouterr().out, flags=re.DOTALL)
    assert english_in(tag, shown) == set()


@pytest.mark.parametrize(
    "line",
    [
        [],
        ["ordre"],
        ["order"],
        ["order", "x.yaml", "--dat"],
        ["order", "x.yaml", "--date"],
        ["order", "x.yaml", "--date", "soon"],
        ["order", "x.yaml", "--format", "pdf"],
        ["order", "x.yaml", "--hurry"],
        ["order", "x.yaml", "--steps=yes"],
        ["order", "x.yaml", "--profile", "a", "--pro", "b"],
        ["plan", "x.yaml", "--every", "3", "--dates", "2027-01-01"],
        ["plan", "x.yaml", "--dates"],
        ["plan", "x.yaml", "--visits", "many"],
        ["fleet", "x.jsonl"],
        ["record", "x.yaml", "--health", "grumpy"],
        ["record", "x.yaml", "--minutes", "soon"],
        ["new", "cat"],
    ],
)
def test_mistakes_of_a_command_line(tag: str, line: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit, match="2"):
        raise SystemExit(main(["--lang", tag, *line]))
    said = capsys.readouterr().err
    assert english_in(tag, said.splitlines()[-1] if line else said.partition("\n\n")[2]) == set()


@cache
def problems() -> tuple[Problem, ...]:
    """What is wrong with the broken files."""
    found: list[Problem] = []
    for file in sorted(BAD.glob("[ph]-*.*")):
        if file.suffix == ".txt":
            continue
        try:
            found += examine(file, (BAD / "known",)) if file.name.startswith("p-") else ()
            if file.name.startswith("h-"):
                load_history(file)
        except InputError as error:
            found += error.problems
    return tuple(found)


def without_names(problem: Problem) -> str:
    """A problem as it is shown, without the keys that it offers."""
    said = str(problem)
    for name in problem.fix.params.get("names", ()) if problem.fix is not None else ():
        said = re.sub(rf"\b{re.escape(str(name))}\b", "", said)
    return said


def test_what_is_wrong_with_a_file(tag: str) -> None:
    assert len(problems()) > 150
    left = {f"{one.code}: {one}": english_in(tag, without_names(one)) for one in problems()}
    assert {said: words for said, words in left.items() if words} == {}


def test_what_every_code_of_a_check_means(tag: str) -> None:
    left = {code: english_in(tag, "\n".join(explained(code) or ())) for code in (*ERRORS, *FINDINGS)}
    assert {code: words for code, words in left.items() if words} == {}


@cache
def shown_in(tag: str) -> dict[str, str]:
    """What the commands show of two dogs."""
    profile = load_profile("griffon-bruxellois-rough")
    moss, pip = (load_history(EXAMPLES / "salon" / f"{dog}.yaml") for dog in ("moss", "pip"))
    order, clipped = work_order(profile, pip, date=DAY, ahead=True), work_order(profile, moss, date=DAY)
    dues = [due(compile_profile(profile), history, DAY) for history in (moss, pip)]
    with speaking(catalogue(tag)):
        return {
            "sheets": sheet(order) + sheet(clipped),
            "steps": steps(order) + steps(clipped),
            "owner": owner_text(order) + visible(owner_page(clipped)),
            "page": visible(page(order, steps=True)),
            "due": table(dues) + reasons(dues),
            "calendar": calendar(map(due_event, dues), DAY).partition("BEGIN:VEVENT")[2],
            "explanation": explanation_text(explain(profile, moss, "back", date=DAY), 500),
            "plan": plan_text(plan_ahead(profile, pip, date=DAY, visits=2)),
            "rehearsal": rehearsal_text(rehearsal(profile, [rehearse(profile, actors(profile)[0])])),
        }


def visible(html: str) -> str:
    return re.sub(r"<[^>]+>", " ", re.sub(r"<(style|script).*?</\1>", " ", html, flags=re.DOTALL))


@pytest.mark.slow
def test_what_is_shown_of_a_day(tag: str) -> None:
    left = {name: english_in(tag, shown) for name, shown in shown_in(tag).items()}
    assert {name: words for name, words in left.items() if words} == {}
