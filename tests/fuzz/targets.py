"""What is fuzzed: each target takes any bytes, and only the errors it lets pass may come of them."""

from __future__ import annotations

import copy
import json
import os
from collections.abc import Callable, Iterator
from datetime import date
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from coatrules.catalogue import typed_amounts as amounts
from coatrules.conditions.compiling import compile_all
from coatrules.conditions.condition import Condition, ConditionError, in_words
from coatrules.dog.frames import frames
from coatrules.dog.loading import history_of, load_history, read_history
from coatrules.formats.documents import NOWHERE, without_file
from coatrules.formats.validation import structured
from coatrules.order.engine import order, work_order
from coatrules.problems import InputError
from coatrules.profile.compiled import compile_profile
from coatrules.profile.loading import load_profile
from coatrules.reading import read_json, read_yaml
from coatrules.recording import typed
from coatrules.recording.append import append_visit
from coatrules.recording.importing import import_rows
from coatrules.recording.lines import seen_of_part
from coatrules.recording.sheets import SheetMapping
from coatrules.recording.text import history_text
from coatrules.report.markdown import markdown
from coatrules.report.text import text
from tests.support.book import HISTORY, JSON_HISTORY, PROFILE
from tests.support.every_key import HISTORY as EVERY_HISTORY_KEY
from tests.support.every_key import PROFILE as EVERY_PROFILE_KEY

DAY = date(2026, 3, 21)
VALUES: tuple[Any, ...] = (
    None, True, False, 0, 1, -1, 3.0, 0.5, 1e-300, 1e308, -1e308, 2**53, 2**53 + 1, 10**17, 0.1 + 0.2, -0.0,
    "", " ", "a", "back", "body", "toes", "small", "2026-02-30", "0000-01-01", "9999-12-31", "0001-01-01", "2026-03-21",
    "\u0301", "\u202e", "e\u0301", "x" * 3000, "VBO:0200642", "const", "anyOf", "{0}", "%s", "__class__", "{share.real}",
    [], {}, [[]], [None], {"": None}, ["back"], {"body": {}}, {"minimum": 1, "maximum": 0}, {"not": {}}, {"anyOf": []},
    {"contains": {"not": {"const": 1}}}, {"const": [1, [True]]}, {"cover": {"minimum": 0.5}}, {"longest_mm": {}},
    {"pull": 1e-6}, {"pull": 1}, {"grown_weeks": 0, "longest_mm": 0}, {"refer": "x", "whole_dog": True},
)  # fmt: skip
"""What a damaged document gets in place of what was there."""


class Choices:
    """Choices made by bytes; 0 when they are used up."""

    def __init__(self, data: bytes) -> None:
        self._rest = iter(data)

    def below(self, count: int) -> int:
        """A number from 0 to ``count`` - 1."""
        number = next(self._rest, 0)
        if count > 256:
            number = number * 256 + next(self._rest, 0)
        return number % count if count else 0

    @property
    def more(self) -> bool:
        """Whether there are more; uses one up."""
        return next(self._rest, 0) % 2 != 0


def damaged(document: Any, choices: Choices) -> Any:
    """The document with some of its values changed, taken away, moved or doubled."""
    document = copy.deepcopy(document)
    for _ in range(8):
        places = [(holder, key) for holder in _holders(document) for key in _keys(holder)]
        if not places:
            break
        holder, key = places[choices.below(len(places))]
        match choices.below(10):
            case 0:
                del holder[key]
            case 1:
                other, its = places[choices.below(len(places))]
                holder[key] = copy.deepcopy(other[its])
            case 2 if isinstance(holder, dict):
                name = VALUES[choices.below(len(VALUES))]
                holder[name if isinstance(name, str) else str(key) + "-"] = holder.pop(key)
            case 3 | 4 | 5 | 6 | 7 if isinstance(holder[key], float | int) and not isinstance(holder[key], bool):
                holder[key] *= (1 + choices.below(40)) / 16
            case 3 | 4 | 5 | 6:
                pass
            case _:
                holder[key] = copy.deepcopy(VALUES[choices.below(len(VALUES))])
        if not choices.more:
            break
    return document


def _holders(value: Any) -> Iterator[Any]:
    if isinstance(value, dict | list):
        yield value
        for part in value.values() if isinstance(value, dict) else value:
            yield from _holders(part)


def _keys(holder: Any) -> list[Any]:
    return list(holder) if isinstance(holder, dict) else list(range(len(holder)))


# -- the targets -------------------------------------------------------------------------------------------------------


def reading(data: bytes) -> None:
    """Bytes as YAML and as JSON: read, or refused with places. What JSON reads, YAML that is strict about it reads alike."""
    for read in (read_yaml, read_json):
        try:
            read(data)
        except InputError as error:
            _placed(error)


def _sound(error: InputError) -> None:
    assert error.problems
    str(error.problems[-1]).encode()  # in words, which costs more than to find it: of many, one has to do


def _placed(error: InputError) -> None:
    _sound(error)
    for problem in error.problems:
        assert problem.line >= 1, problem
        assert problem.column >= 1, problem


def conditions(data: bytes) -> None:
    """Bytes as a condition, as written or as a damaged one: checked, asked, put in words, compiled, all to one answer."""
    seed = {
        "cover": {"minimum": 0.5, "exclusiveMaximum": 1},
        "anyOf": [{"layers": {"enum": [1, 2.0, "x"]}}, {"not": {"groups": {"contains": {"const": "legs"}}}}],
        "allOf": [{"skin": "sound"}, {"neutered": True}],
    }
    try:
        raw = json.loads(data)
    except (ValueError, RecursionError):
        raw = damaged(seed, Choices(data))
    facts = {"cover": 0.7, "layers": 2, "groups": ("legs", "body"), "skin": "sound", "neutered": True}
    try:
        condition = Condition.parse(raw)
    except ConditionError as error:
        str(error).encode("utf-8", "surrogatepass")
        return
    holds = condition.holds(facts)
    assert compile_all([condition])(facts) == ([0] if holds else [])
    assert bool(list(condition.misses(facts))) != holds
    for want in raw.values() if isinstance(raw, dict) else ():
        try:
            in_words(want)
        except ConditionError:
            continue


SMALL = compile_profile(load_profile(PROFILE))
VISITS: dict[str, Any] = {
    "format": 1,
    "dog": {"id": "pip", "profile": "small", "born": "2023-01-01", "show": "2026-05-01"},
    "arrival": {"body": {"grown_weeks": 20}, "toes": {"longest_mm": 40, "clipped_mm": 3, "clipped_weeks": 2}},
    "visits": [
        {
            "visit": "2026-01-10",
            "work": {"all": {"pull": 0.3, "minutes": 40}, "vent": {"clip": 3}},
            "health": ["nursing"],
        },
        {
            "visit": "2026-02-10",
            "work": {"body": {"pull": 0.2, "pick": "even", "card": True}},
            "reactions": {"toes": "stop"},
        },
        {
            "visit": "2026-03-21",
            "seen": {"back": {"longest_mm": 9, "layers": 3, "see_through": True}},
            "put_off": ["toes"],
        },
    ],
}


def history(data: bytes) -> None:
    """Bytes as a history, as written or as a damaged one: worked, or refused."""
    try:
        told = history_of((read_json(data),))
    except InputError:
        said = damaged(EVERY_HISTORY_KEY if data[:1] < b"\x40" else VISITS, Choices(data[1:]))
        try:
            told = load_history(said)
        except InputError as error:
            _sound(error)
            return
    try:
        answer = order(SMALL, told, DAY, ahead=True)
    except InputError as error:
        _sound(error)
        return
    json.dumps(answer.to_dict(), allow_nan=False).encode()
    text(answer).encode()
    markdown(answer).encode()


def profile(data: bytes) -> None:
    """A damaged profile, and a sound history worked by it."""
    said = damaged(PROFILE if data[:1] < b"\xa0" else EVERY_PROFILE_KEY, Choices(data[1:]))
    try:
        answer = work_order(said, VISITS, date=DAY)
    except InputError as error:
        _sound(error)
        return
    json.dumps(answer.to_dict(), allow_nan=False).encode()
    text(answer).encode()


@cache
def _folder() -> TemporaryDirectory[str]:
    """Where the dog's file is: in memory where there is such a place."""
    return TemporaryDirectory(dir="/dev/shm" if os.path.isdir("/dev/shm") else None, prefix="coatrules-fuzz-")


def record(data: bytes) -> None:
    """A damaged visit into a damaged file: written so that all before it stands as it stood, or refused and nothing changed."""
    choices = Choices(data)
    dog = Path(_folder().name, "pip.json" if choices.below(4) == 0 else "pip.yaml")
    before = bytearray((JSON_HISTORY if dog.suffix == ".json" else HISTORY).encode())
    for _ in range(choices.below(3)):
        at, length = choices.below(len(before) + 1), choices.below(8)
        before[at : at + length] = bytes(choices.below(256) for _ in range(choices.below(8)))
    if choices.below(4) == 0:
        before = bytearray(before.replace(b"\n", b"\r\n"))
    dog.write_bytes(before)
    visit = damaged(VISITS["visits"][choices.below(3)] | {"visit": "2026-04-01", "note": "So: it # went"}, choices)
    try:
        written = append_visit(dog, without_file(visit), compiled=SMALL, again=choices.more, anyway=choices.more)
    except InputError as error:
        _sound(error)
        assert dog.read_bytes() == before, "a refused visit changed the file"
        return
    after = dog.read_bytes()
    old = read_history(bytes(before), dog)
    new = read_history(after, dog)
    assert new == written
    if dog.suffix == ".yaml":
        assert after.startswith(before)
        assert [frame.state for frame in frames(after)][-1] == "whole"
        if before.endswith(b"\n"):
            assert new.visits[:-1] == old.visits
        cut = len(before) + choices.below(len(after) - len(before))
        try:
            left = read_history(after[:cut], dog)
        except InputError:
            return
        assert left.visits == new.visits or len(left.visits) < len(new.visits), "half a visit reads as a whole one"
    else:
        assert new.visits[:-1] == old.visits


MAPPINGS = tuple(
    structured({"format": 1, **mapping}, SheetMapping, "import", NOWHERE)
    for mapping in (
        {"columns": {"date": "D", "dog": "P"}, "always": {"part": "back", "task": "pull"}, "ignore": []},
        {
            "columns": {"date": "D", "dog": "P", "part": "T", "task": "W", "share": "S", "minutes": "M", "note": "N"},
            "dates": "DD.MM.YY",
            "decimal": ",",
            "share_as": "percent",
            "values": {"part": {"rücken": "back"}, "task": {"zupfen": "pull"}, "share": {"halb": 0.5}},
        },
        {
            "columns": {"date": "D", "dog": "P", "profile": "R", "part": "T", "reaction": "A", "arrival_mm": "L"},
            "always": {"task": "clip"},
            "encoding": "utf-16",
        },
    )
)


def sheet(data: bytes) -> None:
    """Bytes as the rows of a sheet: histories that read back, and each row read or said to be wrong."""
    mapping = MAPPINGS[data[0] % 3 if data else 0]
    names = "D;P;T;W;S;M;N" if mapping.dates == "DD.MM.YY" else "D,P,R,T,A,L" if mapping.columns.profile else "D,P"
    rows = names.encode(mapping.encoding) + "\n".encode(mapping.encoding)[-2:].lstrip(b"\0") + data[1:]
    try:
        found = import_rows(rows, "sheet.csv", mapping, lambda _: SMALL)
    except InputError as error:
        _sound(error)
        return
    assert found.rows == found.read + len(found.problems)
    for problem in found.problems[-1:]:
        str(problem).encode()
    for plain in found.histories.values():
        assert history_of(read_yaml(history_text(plain))) == load_history(plain)


def words(data: bytes) -> None:
    """Bytes as what is typed at the table: understood, or refused with what would be."""
    said = data.decode("utf-8", "surrogateescape")
    for understand in (typed.work, seen_of_part, typed.minutes, amounts.share, amounts.length, typed.show_lengths):
        try:
            understand(said)
        except typed.NotUnderstood as error:
            str(error).encode("utf-8", "backslashreplace")


TARGETS: dict[str, Callable[[bytes], None]] = {
    "reading": reading,
    "conditions": conditions,
    "history": history,
    "profile": profile,
    "record": record,
    "sheet": sheet,
    "words": words,
}
