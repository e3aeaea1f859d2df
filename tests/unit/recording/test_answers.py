"""A line of the dialog as groomers type it. Words and ways of naming parts: common practice, no source."""

from __future__ import annotations

from typing import Any

import pytest

from coatrules.catalogue.typed_amounts import duration
from coatrules.problems import InputError
from coatrules.profile.compiled import compile_profile
from coatrules.profile.loading import load_profile
from coatrules.recording.answered import Answered
from coatrules.recording.answers import apply, react_typed, see_typed, take_line, take_minutes
from coatrules.recording.lines import items
from coatrules.recording.parts import part_named
from coatrules.recording.typed import NotUnderstood

COMPILED = compile_profile(load_profile("norwich-terrier"))


def taken(line: str) -> tuple[dict[str, Any], list[str]]:
    """What a line makes of an empty visit, and what is told of it."""
    visit: dict[str, Any] = {}
    told = []
    for item in items(line, COMPILED):
        try:
            told += [how.text for how in apply(visit, item, COMPILED)]
        except (NotUnderstood, InputError) as error:
            told.append(str(error))
    return visit, told


def pulled(share: float, *parts: str) -> dict[str, Any]:
    return {"work": {part: {"pull": share} for part in parts}}


LEGS_BUT_HOCKS = {"legs": {"pull": 0.166667}, "hocks": {"pull": 0}}


@pytest.mark.parametrize(
    ("line", "visit"),
    [
        ("cheek 1/8", pulled(0.125, "cheeks")),
        ("both cheeks: an eighth", pulled(0.125, "cheeks")),
        ("the cheeks 1/8", pulled(0.125, "cheeks")),
        ("fore legs 1/5; Back Legs 1/4", {"work": {"forelegs": {"pull": 0.2}, "hindlegs": {"pull": 0.25}}}),
        ("sides of the neck 1/6", pulled(0.166667, "neck-sides")),
        ("underside of the tail 1/6", pulled(0.166667, "tail-under")),
        ("whole jacket 1/6", pulled(0.166667, "jacket")),
        ("back and ribs 1/6", pulled(0.166667, "back", "ribs")),
        ("back, ribs, loin 1/6", pulled(0.166667, "back", "ribs", "loin")),
        ("hocks and rear pasterns & back 1/6", pulled(0.166667, "hocks", "back")),
        ("back 1/6 and ribs 1/8", {"work": {"back": {"pull": 0.166667}, "ribs": {"pull": 0.125}}}),
        ("back 1/6. Ribs 1/8.", {"work": {"back": {"pull": 0.166667}, "ribs": {"pull": 0.125}}}),
        ("back only a fifth", pulled(0.2, "back")),
        ("back 1 in 6", pulled(0.166667, "back")),
        ("back 20 per cent", pulled(0.2, "back")),
        ("back nothing", pulled(0, "back")),
        ("no toes", {"put_off": ["toes"]}),
        ("nothing on toes, pads; 1 h 20", {"put_off": ["toes", "pads"], "minutes": 80}),
        ("toes skipped", {"put_off": ["toes"]}),
        ("beard said stop!", {"reactions": {"beard": "stop"}}),
        ("ears restless", {"reactions": {"ear-leathers": "unsettled"}}),
        ("jacket came easily", {"seen": {"jacket": {"comes": "easily"}}}),
        ("back not carded", {"work": {"back": {"card": False}}}),
        ("pads clipped to 1 mm", {"work": {"pads": {"clip": 1}}}),
        ("took 80 min altogether", {"minutes": 80}),
        ("note tail, underside, was wet", {"note": "tail, underside, was wet"}),
        # Other words for parts, and for one word in them.
        ("front feet 1/5", pulled(0.2, "forefeet")),
        ("back paws stop", {"reactions": {"hindfeet": "stop"}}),
        ("bum clipped 3 mm", {"work": {"round-the-anus": {"clip": 3}}}),
        # What was done before the part; small words; more of the same part.
        ("a fifth of the back", pulled(0.2, "back")),
        ("pulled a fifth of the back", pulled(0.2, "back")),
        ("raked jacket", {"work": {"jacket": {"card": True}}}),
        ("stop at the feet", {"reactions": {"feet": "stop"}}),
        ("bald patch on the back", {"seen": {"back": {"see_through": True}}}),
        ("loin is sore", {"seen": {"loin": {"skin": "unsound"}}}),
        ("back came out easily", {"seen": {"back": {"comes": "easily"}}}),
        ("back carded, pulled a fifth", {"work": {"back": {"card": True, "pull": 0.2}}}),
        ("back and ribs, carded", {"work": {"back": {"card": True}, "ribs": {"card": True}}}),
        ("back 1/5, stop", pulled(0.2, "back") | {"reactions": {"back": "stop"}}),
        ("back 1/5, stop; loin 1/5", pulled(0.2, "back", "loin") | {"reactions": {"back": "stop"}}),
        # Shares and times in words.
        ("back one in six", pulled(0.166667, "back")),
        ("back roughly twenty percent", pulled(0.2, "back")),
        ("half an hour", {"minutes": 30}),
        ("back 1/5 and an hour and a half", pulled(0.2, "back") | {"minutes": 90}),
        ("jacket took 40 min", {"work": {"jacket": {"minutes": 40}}}),
        # Exceptions.
        ("legs 1/6 except hocks", {"work": LEGS_BUT_HOCKS, "put_off": ["hocks"]}),
    ],
)
def test_it_is_understood_as_it_is_typed(line: str, visit: dict[str, Any]) -> None:
    assert taken(line) == (visit, [])


@pytest.mark.parametrize(
    ("line", "message"),
    [
        ("back 1/5, loin calm, back 1/8", "back: '1/5' and '1/8' exclude each other"),
        ("back 1/5; back left", "back: '1/5' and 'left' exclude each other"),
        ("no back, back 1/5", "back: 'left' and '1/5' exclude each other"),
        ("back holds; the back comes easily", "back: 'holds' and 'comes easily' exclude each other"),
        ("back calm; back stop", "back: 'calm' and 'stop' exclude each other"),
        ("80 min, back 1/5, 90 min", "one visit cannot take 80 min and 90 min"),
    ],
)
def test_two_answers_to_one_question_are_refused(line: str, message: str) -> None:
    """The last word won, and the first was lost without a word."""
    with pytest.raises(InputError, match=message):
        take_line({}, line, COMPILED)


@pytest.mark.parametrize("line", ["jacket 1/8, back 1/5, loin left", "loin left; back 1/5; jacket 1/8"])
def test_a_smaller_part_is_an_exception_wherever_it_stands(line: str) -> None:
    visit: dict[str, Any] = {}
    take_line(visit, line, COMPILED)
    whole, back, loin = ({"pull": share} for share in (0.125, 0.2, 0))
    assert visit["put_off"] == ["loin"]
    assert {**whole, **visit["work"]["loin"]} == loin
    assert visit["work"]["jacket"] == whole
    assert visit["work"]["back"] == back


@pytest.mark.parametrize(
    "line",
    [
        "all but the tail",
        "no tail; otherwise as planned",
        "everything except tail",
        "as planned, no tail",
        "All done apart from the tail.",
    ],
)
def test_all_that_was_planned_but_for_one_part(line: str) -> None:
    visit: dict[str, Any] = {"work": {"back": {"pull": 0.2}, "tail-top": {"pull": 0.1}}}
    take_line(visit, line, COMPILED)
    assert visit == {"work": {"back": {"pull": 0.2}}, "put_off": ["tail"]}
    with pytest.raises(InputError, match="no work is planned here"):
        take_line({}, line, COMPILED)


def test_nothing_of_what_was_planned() -> None:
    visit: dict[str, Any] = {"work": {"back": {"pull": 0.2}, "tail-top": {"pull": 0.1}}}
    take_line(visit, "nothing done", COMPILED)
    assert visit == {"put_off": ["back", "tail-top"]}


def test_two_answers_to_one_question_are_not_taken_for_more_of_the_same() -> None:
    visit, told = taken("back 1/5, 1/4")
    assert visit == pulled(0.2, "back")
    assert "cannot understand '1/4'" in told[0]


def test_left_cheeks_were_left_and_the_left_cheek_is_one_of_two() -> None:
    assert taken("left cheeks") == (
        {"put_off": ["cheeks"]},
        ["'left cheeks' means that nothing was done there: cheeks."],
    )
    assert taken("left cheek stop") == (
        {"reactions": {"cheeks": "stop"}, "note": "left cheek stop"},
        ["'left cheek': both sides are recorded as one; the note keeps the side."],
    )
    assert taken("cheeks left") == ({"put_off": ["cheeks"]}, [])


def test_a_shortened_name_is_told_at_once_and_refused_where_it_may_be_several() -> None:
    assert taken("shou 1/8") == (pulled(0.125, "shoulders"), ["'shou' is taken for 'shoulders'."])
    visit, told = taken("fore 1/8, back 1/6")
    assert visit == pulled(0.166667, "back")
    assert told == [
        "error: 'fore' may be several parts\n    Fix: Use forechest, forearms, forelegs or forefeet.",
    ]


def test_a_bare_number_is_the_minutes_and_says_so() -> None:
    assert taken("back 1/6, 80") == ({**pulled(0.166667, "back"), "minutes": 80}, ["80 min for the whole visit."])
    assert taken("2")[0] == {}, "rather a slip"


@pytest.mark.parametrize(
    ("line", "told"),
    [
        ("sholders 1/8", "Fix: Use 'shoulders'."),
        ("back, 80 min", "cannot understand 'back'"),
        ("back a bit", "cannot understand 'back a bit'"),
        ("back legs a bit", "cannot understand 'back legs a bit'"),
        ("pads clipped", "'clipped' has no length"),
        ("ba 1/8", "cannot understand 'ba 1/8'"),
        ("back 7 1/8", "cannot understand 'back 7 1/8'"),
        ("nails done", "anything else is a note"),
        ("whole back", "cannot understand 'whole back'"),
        ("left ear only", "cannot understand 'left ear only'"),
    ],
)
def test_what_is_not_understood_is_told_and_changes_nothing(line: str, told: str) -> None:
    visit, messages = taken(line)
    assert {key for key in visit if key != "minutes"} == set()
    assert any(told in message for message in messages)


def test_of_a_larger_part_what_is_only_ever_cut_is_not_pulled() -> None:
    visit: dict[str, Any] = {"work": {"ears-outside": {"pull": 0.2}, "ears-inside": {"clip": 3}}}
    take_line(visit, "ears 1/8", COMPILED)
    assert visit["work"] == {"ears-outside": {"pull": 0.125}, "ears-inside": {"clip": 3}}


RUN_TOGETHER = {"work": {"back": {"pull": 0.2}}, "seen": {"loin": {"skin": "unsound"}}, "put_off": ["toes"]}


@pytest.mark.parametrize(
    ("line", "visit"),
    [
        ("back 1/5 loin sore toes left", RUN_TOGETHER),
        ("back: 1/5 loin: sore toes: left", RUN_TOGETHER),
        ("back=1/5 loin=sore toes=left", RUN_TOGETHER),
        ("back:1/5 loin:sore no toes", RUN_TOGETHER),
        ("no toes back 1/5 loin sore", RUN_TOGETHER),
        ("back, ribs 1/5 loin calm", pulled(0.2, "back", "ribs") | {"reactions": {"loin": "calm"}}),
        ("pads clip:1 back 20 %, 80 min", {"work": {"pads": {"clip": 1}, "back": {"pull": 0.2}}, "minutes": 80}),
        ("back legs 1/5 hind toes stop", {"work": {"hindlegs": {"pull": 0.2}}, "reactions": {"hind-toes": "stop"}}),
        ("back 1/5 took 1:20", {"work": {"back": {"pull": 0.2, "minutes": 80}}}),
        ("back raked to 1:20", {}),
        ("took 1 h. 20 min. back 1/5", pulled(0.2, "back") | {"minutes": 80}),
        ("1 hour, 20 minutes, back 1/5", pulled(0.2, "back") | {"minutes": 80}),
    ],
)
def test_commas_and_colons_that_are_missing(line: str, visit: dict[str, Any]) -> None:
    """Refused, though it can be read in one way only."""
    found, told = taken(line)
    assert found == visit
    assert bool(told) == (not visit)


@pytest.mark.parametrize(
    "line",
    [
        "back 1/5 left forelegs 1/4",  # the back left, or the left foreleg
        "back 1/5 fore 1/8",  # several parts
        "back 1/5 shou 1/8",  # shortened
        "back 1/5 loin",
        "pads clip:1 back 20 % 80 min",  # the back took so long, or the visit
        "back 1/5 sore loin",
        "back, 1/5 loin a bit",
    ],
)
def test_what_can_be_read_in_two_ways_is_not_guessed(line: str) -> None:
    visit, told = taken(line)
    assert visit == {}
    assert told


@pytest.mark.parametrize(
    "text",
    [
        "throat: holds; loin, croup: sore, 15 mm",
        "throat holds, loin, croup sore, 15 mm",
        "throat: holds loin: sore 15 mm croup: sore 1.5 cm",
        "throat=holds; loin and croup sore 15 mm",
        "throat is holding; loin and croup: sore, the longest hair 15 mm long",
        "throat:comes=holds; loin:skin=unsound, longest_mm=15; croup: sore, 15 mm",
    ],
)
def test_what_was_seen_is_understood_as_in_a_line(text: str) -> None:
    visit: dict[str, Any] = {}
    see_typed(visit, text, COMPILED)
    sore = {"skin": "unsound", "longest_mm": 15}
    assert visit == {"seen": {"throat": {"comes": "holds"}, "loin": sore, "croup": sore}}


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("back: hard", "'hard' is unknown; use sore, sound"),
        ("back: 1/5", "'1/5' is unknown; use sore, sound"),
        ("back: ", "names no part"),
        ("sore", "names no part"),
        ("", "names no part"),
        ("80 min", "names no part"),
        ("bakc: sore", "Use 'back'"),
        ("back: colour=red", "use one of these keys: longest_mm"),
        ("back: holds, comes easily", "back: 'holds' and 'comes easily' exclude each other"),
    ],
)
def test_what_was_not_seen_is_refused(text: str, message: str) -> None:
    with pytest.raises(InputError, match=message):
        see_typed({}, text, COMPILED)


@pytest.mark.parametrize("text", ["hind legs=stop", "hind legs: stop", "hind legs stop", "stop at the hind legs"])
def test_how_the_dog_bore_a_part_of_several_words(text: str) -> None:
    visit: dict[str, Any] = {}
    react_typed(visit, text, COMPILED, Answered())
    assert visit == {"reactions": {"hindlegs": "stop"}}


@pytest.mark.parametrize("text", ["back=12", "back: 12", "back 12 min", "the back: 12"])
def test_the_minutes_of_a_part(text: str) -> None:
    visit: dict[str, Any] = {}
    take_minutes(visit, text, COMPILED, Answered())
    assert visit == {"work": {"back": {"minutes": 12}}}


@pytest.mark.parametrize("text", ["back=0", "back=", "back", "bakc=12"])
def test_minutes_of_nothing_are_refused(text: str) -> None:
    with pytest.raises(InputError, match=r"says no minutes|'bakc'"):
        take_minutes({}, text, COMPILED, Answered())


def test_every_part_goes_by_its_id_alone() -> None:
    for name in COMPILED.names:
        assert part_named(COMPILED, name) == name
        assert part_named(COMPILED, name.replace("-", " ")) in (name, *COMPILED.regions)


@pytest.mark.parametrize(
    ("text", "minutes"),
    [
        *(("80", 80), ("80 min", 80), ("1 h 20", 80), ("1h20", 80), ("1:20", 80), ("1½ hours", 90), ("an hour", 60)),
        *(
            ("half an hour", 30),
            ("an hour and a half", 90),
            ("1 1/2 h", 90),
            ("two hours", 120),
            ("twenty-five minutes", 25),
        ),
        *(("three quarters of an hour", 45), ("a quarter of an hour", 15), ("an hour and twenty minutes", 80)),
        *(
            ("1h20m", 80),
            ("1 h 20 m", 80),
            ("1h20'", 80),
            ("1 h. 20 min.", 80),
            ("1 hour, 20 minutes", 80),
            ("80 min.", 80),
        ),
        *(("about 80 min", 80), ("one hour twenty", 80), ("1h20m30s", None), ("80 m", None), ("20'", None)),
        *(("hour", None), ("2 h 75", None), ("a couple of hours", None)),
        *(("½ h", 30), ("1.5 hours", 90), ("1,25 h", 75), ("1:75", None), ("soon", None), ("h", None), ("", None)),
    ],
)
def test_a_time_as_people_write_it(text: str, minutes: float | None) -> None:
    assert duration(text) == minutes
