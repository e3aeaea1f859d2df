"""What is typed is understood in the language in which it is shown; what is written into files is the same in every language."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest

from coatrules import Engine, InputError
from coatrules.catalogue.languages import catalogue
from coatrules.catalogue.speaking import say, speaking
from coatrules.catalogue.spellings import spellings
from coatrules.profile.compiled import compile_profile
from coatrules.profile.loading import load_profile
from coatrules.recording import typed
from coatrules.recording.answers import apply, see_typed
from coatrules.recording.lines import items
from coatrules.recording.parts import parts_shown

COMPILED = compile_profile(load_profile("griffon-bruxellois-rough"))


@pytest.fixture(autouse=True)
def in_german() -> Iterator[None]:
    with speaking(catalogue("de")):
        yield


def said(line: str) -> dict[str, Any]:
    visit: dict[str, Any] = {}
    for item in items(line, COMPILED):
        apply(visit, item, COMPILED)
    return visit


@pytest.mark.parametrize(
    ("line", "visit"),
    [
        ("Rücken 1/5", {"work": {"back": {"pull": 0.2}}}),
        ("Rücken ein Fünftel", {"work": {"back": {"pull": 0.2}}}),
        ("Läufe etwa zwei Drittel", {"work": {"legs": {"pull": 0.666667}}}),
        ("rücken 0,25", {"work": {"back": {"pull": 0.25}}}),
        ("Kopf die Hälfte, Rücken nichts", {"work": {"head": {"pull": 0.5}, "back": {"pull": 0}}}),
        ("Nacken Unterwolle auskämmen", {"work": {"neck-top": {"card": True}}}),
        ("Zehen der Vorderpfoten verschoben", {"put_off": ["front-toes"]}),
        ("Achselhöhlen geschoren 6,5 mm", {"work": {"armpits": {"clip": 6.5}}}),
        (
            "Bart unruhig; Kehle sitzt fest",
            {"reactions": {"beard": "unsettled"}, "seen": {"throat": {"comes": "holds"}}},
        ),
        ("80 Min.; Notiz: war müde", {"minutes": 80, "note": "war müde"}),
        ("linke Wange 1/8", {"work": {"cheeks": {"pull": 0.125}}, "note": "linke Wange 1/8"}),
        ("beide Wangen und Rücken 1/8", {"work": {"cheeks": {"pull": 0.125}, "back": {"pull": 0.125}}}),
        ("ohne Zehen, Bart; 1 Std 10", {"put_off": ["toes", "beard"], "minutes": 70}),
        ("anderthalb Stunden, Rücken eins von sechs", {"minutes": 90, "work": {"back": {"pull": 0.166667}}}),
        ("Kopf 1/5 außer Bart", {"work": {"head": {"pull": 0.2}, "beard": {"pull": 0}}, "put_off": ["beard"]}),
        ("back card; beard stop", {"work": {"back": {"card": True}}, "reactions": {"beard": "stop"}}),
    ],
)
def test_a_line_of_the_dialog(line: str, visit: dict[str, Any]) -> None:
    assert said(line) == visit


@pytest.mark.parametrize(
    ("tag", "line", "visit"),
    [
        ("de", "Rücken 1/5, 1 Std. 20 Min. Zehen verschoben", {"put_off": ["toes"]}),
        ("de", "dauerte 1 Std. 20, Rücken ein Fünftel", {}),
        ("fr", "dos 1/5, durée 1 h 20", {}),
        ("fr", "dos un cinquième, 1h20", {}),
    ],
)
def test_hours_and_minutes_as_each_language_writes_them(tag: str, line: str, visit: dict[str, Any]) -> None:
    with speaking(catalogue(tag)):
        assert said(line) == visit | {"work": {"back": {"pull": 0.2}}, "minutes": 80}


def test_every_part_and_word_that_is_shown_is_understood() -> None:
    for name, shown in parts_shown(COMPILED).items():
        assert said(f"{shown} verschoben, 80 Min.") == {"put_off": [name], "minutes": 80}
    for word in typed.SEEN_WORDS:
        assert typed.seen_word(spellings(word.code)[0]) == (word.key, word.value)
    for task in typed.TASKS:
        assert typed.key_typed(say(f"task.{task}"), "typed.task", typed.TASKS) == task


def test_what_is_seen_as_an_option() -> None:
    visit: dict[str, Any] = {}
    see_typed(visit, "Kehle sitzt fest; Lende, Kruppe: wund 1,5 cm", COMPILED)
    loin = {"skin": "unsound", "longest_mm": 15}
    assert visit == {"seen": {"throat": {"comes": "holds"}, "loin": loin, "croup": loin}}


def test_a_comma_within_a_name_parts_nothing() -> None:
    assert said("Rute, Unterseite 1/5, Oberschenkel, außen sitzt fest") == {
        "work": {"tail-under": {"pull": 0.2}},
        "seen": {"thighs": {"comes": "holds"}},
    }
    visit: dict[str, Any] = {}
    see_typed(visit, "Rute, Unterseite, Rücken: sitzt fest; Lende: wund", COMPILED)
    assert visit == {
        "seen": {"tail-under": {"comes": "holds"}, "back": {"comes": "holds"}, "loin": {"skin": "unsound"}}
    }


def test_what_must_be_minded_is_typed_in_german_too() -> None:
    assert [typed.health_typed(text) for text in ("trächtig", "in-whelp", "vor kurzem operiert")] == [
        *("in-whelp", "in-whelp", "recent-surgery")
    ]


def test_a_part_to_explain_is_named_in_german_too() -> None:
    engine, dog = Engine(locale="de"), {"format": 1, "dog": {"id": "pip", "profile": "griffon-bruxellois-rough"}}
    assert engine.regions(dog, "Widerrist") == engine.regions(dog, "withers") == ("withers",)
    with pytest.raises(InputError, match="Widerist"):
        engine.regions(dog, "Widerist")


@pytest.mark.parametrize(
    "line", ["RÜCKEN EIN FÜNFTEL", "Ruecken ein Fuenftel", "rucken ein funftel", "Ru\u0308cken 20 %"]
)
def test_umlauts_may_be_written_out_or_left_out(line: str) -> None:
    """On a keyboard without them 'Ruecken' was refused."""
    assert said(line) == {"work": {"back": {"pull": 0.2}}}


def test_further_words_for_what_was_not_done_or_refused() -> None:
    assert said("Zehen nicht; Bart hat geschnappt; Achselhoehlen weggelassen") == {
        "put_off": ["toes", "armpits"],
        "reactions": {"beard": "stop"},
    }
