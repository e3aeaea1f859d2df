"""The formats take what they took before, and give what they gave: the schemas against a copy of what they last were.

``python -m tests.system.test_formats_kept`` makes the copy anew and says what has changed. A format that has to break gets a new
number in its ``$id``, and a migration.
"""

from __future__ import annotations

import copy
import json
from collections.abc import Callable, Iterator
from math import inf
from typing import Any

import pytest
from jsonschema import Draft202012Validator
from referencing import Registry

from coatrules.formats.resources import folder, schema, whole_schema
from tests.generated_formats import OUTPUTS
from tests.support.paths import GOLDEN
from tests.unit.formats.test_schemas import KEYWORDS

KEPT = GOLDEN / "formats.json"
WRITTEN = OUTPUTS
"""What the library itself writes: others read it by what it promises. All else is read, and must go on being taken."""
ABOUT = {"$schema", "title", "description", "default", "examples"}
ELSEWHERE = {"if", "then", "else", "patternProperties"}
"""Which of its two shapes a profile has, of which the whole one is judged; and what other programs keep, which takes anything."""
LEAST, MOST = ("minLength", "minItems", "minProperties"), ("maxLength", "maxItems", "maxProperties")
JUDGED = {
    *("$ref", "$defs", "type", "enum", "const", "format", "pattern", *LEAST, *MOST),
    *("minimum", "maximum", "exclusiveMinimum", "exclusiveMaximum"),
    *("properties", "required", "additionalProperties", "propertyNames", "items", "allOf", "anyOf", "not"),
}

Schema = dict[str, Any]


def shape(node: Any, *, names: bool = False) -> Any:
    """A schema without what only tells about it. ``names``: the keys are names and not keywords."""
    if isinstance(node, list):
        return [shape(inner) for inner in node]
    if not isinstance(node, dict):
        return node
    return {
        key: shape(inner, names=not names and key in ("properties", "$defs", "patternProperties"))
        for key, inner in node.items()
        if names or not (key in ABOUT or key.startswith("x-"))
    }


def types(node: Schema) -> set[str]:
    said = node.get("type", ["null", "boolean", "string", "number", "array", "object"])
    found = {said} if isinstance(said, str) else set(said)
    return found | {"integer"} if "number" in found else found


def lowest(node: Schema) -> tuple[float, bool]:
    """The number that all must be at least, and whether it is itself too low."""
    return max((node.get("minimum", -inf), False), (node.get("exclusiveMinimum", -inf), True))


def highest(node: Schema) -> tuple[float, bool]:
    """The number that all may be at most, turned round, and whether it is itself too high."""
    return max((-node.get("maximum", inf), False), (-node.get("exclusiveMaximum", inf), True))


class Narrowing:
    """Where a schema refuses what another one takes. It may be too careful, and name a place that refuses nothing new."""

    def __init__(self, before: Schema, now: Schema, *, more_keys: bool = False, turned: bool = False) -> None:
        """``more_keys``: that ``now`` has never heard of a key is no matter, as to one who reads only what he knows. ``turned``: it is
        asked within what is excluded, where before and now change places."""
        self.before, self.now, self.more_keys = before, now, more_keys
        self.turned = turned
        self.met: set[tuple[str, str, bool]] = set()

    def found(self) -> list[str]:
        return list(self.refused(self.before, self.now, ""))

    def refused(self, before: Schema | bool, now: Schema | bool, path: str) -> Iterator[str]:
        """What ``now`` refuses of what ``before`` takes."""
        if not isinstance(now, dict) or not now:
            return  # it takes anything
        before = before if isinstance(before, dict) else {}
        if "$ref" in before or "$ref" in now:
            if (str(before), str(now), self.turned) in self.met:
                return  # told already, or a schema within itself
            self.met.add((str(before), str(now), self.turned))
        before, now = whole(before, self.before), whole(now, self.now)
        if "const" in before or "enum" in before:
            values = [before["const"]] if "const" in before else before["enum"]
            judge = Draft202012Validator({"$defs": self.now.get("$defs", {}), **now}, registry=Registry())
            yield from (f"{path}: the word {value!r}" for value in values if not judge.is_valid(value))
            return
        yield from _values(before, now, path)
        yield from self._keys(before, now, path)
        for key, where in (("items", f"{path}[]"), ("propertyNames", f"{path}: names of keys")):
            if key in now:
                yield from self.refused(before.get(key, {}), now[key], where)
        yield from self._combined(before, now, path)

    def within(self, *, turned: bool = False) -> Narrowing:
        """The same question of a part, which leads back to what is being asked already, but tells nothing of it."""
        before, now = (self.now, self.before) if turned else (self.before, self.now)
        inner = Narrowing(before, now, turned=self.turned != turned)
        inner.met = set(self.met)
        return inner

    def _keys(self, before: Schema, now: Schema, path: str) -> Iterator[str]:
        for key in sorted(set(now.get("required", ())) - set(before.get("required", ()))):
            yield f"{path}: that '{key}' is missing"
        known = {"*"} | before.get("properties", {}).keys() | now.get("properties", {}).keys()
        for key in sorted(known):  # "*" stands for all others
            was = before.get("properties", {}).get(key, before.get("additionalProperties", {}))
            is_ = now.get("properties", {}).get(key, now.get("additionalProperties", {}))
            if is_ is not False and was is not False:
                yield from self.refused(was, is_, f"{path}.{key}")
            elif was is not False and not self.more_keys:
                yield f"{path}.{key}: the key"

    def _combined(self, before: Schema, now: Schema, path: str) -> Iterator[str]:
        parts = dict(enumerate(before.get("allOf", ())))
        for index, part in enumerate(now.get("allOf", ())):
            yield from self.refused(parts.get(index, {}), part, path)
        if "anyOf" in now:
            for way in before.get("anyOf", [{}]):
                if all(any(self.within().refused(way, other, "")) for other in now["anyOf"]):
                    yield f"{path}: one of the ways to write it"
        if "not" in now:  # turned round: what is excluded now must have been excluded before
            excluded = before.get("not", {"enum": []})
            if any(self.within(turned=True).refused(now["not"], excluded, "")):
                yield f"{path}: what is excluded now"


def whole(node: Schema, root: Schema) -> Schema:
    while "$ref" in node:
        beside = {key: inner for key, inner in node.items() if key not in ("$ref", "$defs")}
        node = (root if node["$ref"] == "#" else root["$defs"][node["$ref"].removeprefix("#/$defs/")]) | beside
    return node


def _values(before: Schema, now: Schema, path: str) -> Iterator[str]:
    yield from (f"{path}: a value of the type {kind}" for kind in sorted(types(before) - types(now)))
    yield from (f"{path}: other words than {now[key]}" for key in ("const", "enum") if key in now)
    yield from (
        f"{path}: another {key} than {now[key]}"
        for key in ("pattern", "format")
        if key in now and before.get(key) != now[key]
    )
    if lowest(before) < lowest(now):
        yield f"{path}: numbers below {lowest(now)[0]}"
    if highest(before) < highest(now):
        yield f"{path}: numbers above {-highest(now)[0]}"
    yield from (f"{path}: {key} {now[key]}" for key in LEAST if before.get(key, 0) < now.get(key, 0))
    yield from (f"{path}: {key} {now[key]}" for key in MOST if before.get(key, inf) > now.get(key, inf))


# -- our formats -------------------------------------------------------------------------------------------------------


def formats() -> dict[str, Schema]:
    """The shapes of all schemas there are, by name."""
    files = sorted(folder("schemas").glob("*.schema.json"))
    return {
        name: {"$id": schema(name)["$id"]} | shape(whole_schema(name))
        for name in (file.name.removesuffix(".schema.json") for file in files)
    }


def breaks(before: dict[str, Schema], now: dict[str, Schema]) -> list[str]:
    """What others wrote and would now be refused, or what they read and would not know."""
    found = [f"the format '{name}' is gone" for name in before.keys() - now.keys()]
    for name in before.keys() & now.keys():
        if before[name]["$id"] != now[name]["$id"]:
            continue  # a new format, and not the old one changed
        found += [
            f"{name} now refuses{where}" for where in Narrowing(before[name], now[name]).found() if name not in WRITTEN
        ]
        if name in WRITTEN:
            news = Narrowing(now[name], before[name], more_keys=True).found()
            found += [f"{name} may now give{where}" for where in news]
    facts, still = (one.get("facts", {}).get("properties", {}).keys() for one in (before, now))
    # To the schema any other name is a comparison, to a profile that asks for it nothing is.
    return sorted(found + [f"the fact '{name}' is gone from facts" for name in facts - still])


def test_no_format_breaks() -> None:
    found = breaks(json.loads(KEPT.read_text(encoding="utf-8")), formats())
    mend = "Give the format a new number and a migration; if nobody can have used this yet: python -m tests.system.test_formats_kept"
    assert not found, "\n".join([*found, mend])


def test_the_copy_is_fresh() -> None:
    kept = json.loads(KEPT.read_text(encoding="utf-8"))
    now = formats()
    other = [name for name in now if kept.get(name) != now[name]]
    assert not other, f"changed: {other}; what came new must not break later: python -m tests.system.test_formats_kept"


# -- that breaks are found, and nothing else ---------------------------------------------------------------------------

Change = Callable[[dict[str, Schema]], Any]
TIGHTER: dict[str, tuple[str, Change]] = {
    "a key more is asked for": ("history", lambda f: f["history"]["properties"]["dog"]["required"].append("born")),
    "a key is gone": ("history", lambda f: f["history"]["properties"]["dog"]["properties"].pop("neutered")),
    "a word is gone": ("facts", lambda f: f["facts"]["properties"]["skin"]["enum"].pop()),
    "a fact is gone": ("facts", lambda f: f["facts"]["properties"].pop("layers")),
    "a limit is lower": ("facts", lambda f: f["facts"]["properties"]["layers"].update(maximum=3)),
    "a limit is new": ("profile", lambda f: f["profile"]["properties"]["label"].update(maxLength=10)),
    "zero itself is refused": ("facts", lambda f: f["facts"]["properties"]["cover"].update(exclusiveMinimum=0)),
    "only whole numbers": ("facts", lambda f: f["facts"]["properties"]["cover"].update(type="integer")),
    "another pattern": ("profile", lambda f: f["profile"]["properties"]["id"].update(pattern="^[a-z]+$")),
    "more is excluded": ("history", lambda f: _not(f).pop()),
    "a word less behind a reference": (
        "profile",
        lambda f: f["profile"]["$defs"]["test_groups"]["anyOf"][-1]["properties"].pop("contains"),
    ),
    "one may be missing now": ("work-order", lambda f: f["work-order"]["required"].pop()),
    "another type is written": ("work-order", lambda f: f["work-order"]["properties"]["date"].update(type="number")),
    "a format is gone": ("plan", lambda f: f.pop("plan")),
}
WIDER: dict[str, Change] = {
    "nothing": lambda f: None,
    "a key more": lambda f: f["history"]["properties"]["dog"]["properties"].update(weight={"type": "number"}),
    "a key less is asked for": lambda f: f["history"]["required"].pop(),
    "a word more": lambda f: f["facts"]["properties"]["skin"]["enum"].append("plenty"),
    "a limit is higher": lambda f: f["facts"]["properties"]["layers"].update(maximum=500),
    "a limit is gone": lambda f: f["facts"]["properties"]["layers"].pop("maximum"),
    "less is excluded": lambda f: _not(f).append("clipped_mm"),
    "any number": lambda f: f["facts"]["properties"]["layers"].update(type="number"),
    "a key more is written": lambda f: f["work-order"]["properties"].update(weather={"type": "string"}),
    "a key more is always written": lambda f: f["work-order"]["required"].append("weather"),
    "a new format": lambda f: f["history"].update({"$id": "history-2", "required": ["weather"]}),
    "a format more": lambda f: f.update(book={"$id": "book-1", "type": "object"}),
}


def _not(found: dict[str, Schema]) -> list[str]:
    names: list[str] = found["history"]["properties"]["arrival"]["additionalProperties"]["not"]["required"]
    return names


@pytest.mark.parametrize("what", TIGHTER)
def test_a_break_is_found(what: str) -> None:
    name, change = TIGHTER[what]
    now = copy.deepcopy(formats())
    change(now)
    found = breaks(formats(), now)
    assert found
    assert all(name in line for line in found)


@pytest.mark.parametrize("what", WIDER)
def test_what_takes_more_is_no_break(what: str) -> None:
    now = copy.deepcopy(formats())
    WIDER[what](now)
    assert breaks(formats(), now) == []


def test_every_keyword_is_judged() -> None:
    assert JUDGED | ABOUT | ELSEWHERE | {"$id"} == KEYWORDS


LEAVES = [None, True, 0, 1, 2, 2.5, 3, "", "a", "ab", "abab"]
LISTS = [[], *([one] for one in LEAVES), *([one, "a"] for one in LEAVES), [1, 2, 3]]
OBJECTS: list[Any] = [
    {},
    *({key: one} for key in ("a", "b", "ab") for one in LEAVES),
    *({"a": 1, "b": o} for o in LEAVES),
]
VALUES = [*LEAVES, *LISTS, *OBJECTS, *([one] for one in LISTS + OBJECTS), *({"a": one} for one in LISTS + OBJECTS)]

BOUNDS = ("minimum", "maximum", "exclusiveMinimum", "exclusiveMaximum", *LEAST, *MOST)
SMALL: list[Schema] = [
    {},
    *({key: number} for key in BOUNDS for number in (1, 2)),
    *({"type": kind} for kind in ("string", "number", "integer", "object", ["string", "number"], ["array", "null"])),
    *({"enum": words} for words in ([1], [1, 2], ["a", None, True])),
    *({"pattern": pattern} for pattern in ("a", "^a$")),
    *({"required": names} for names in (["a"], ["a", "b"])),
    {"properties": {"a": {}}, "additionalProperties": False},
    {"properties": {"a": {}, "b": {"type": "number"}}, "additionalProperties": False},
    {"properties": {"a": {}}, "additionalProperties": {"type": "number"}},
    {"type": "string", "minLength": 1},
]
AROUND: dict[str, Callable[[Schema], Schema]] = {
    "nothing": lambda inner: inner,
    "a key": lambda inner: {"properties": {"a": inner}},
    "other keys": lambda inner: {"properties": {"b": {}}, "additionalProperties": inner},
    "names of keys": lambda inner: {"propertyNames": inner},
    "a list": lambda inner: {"items": inner},
    "all of these": lambda inner: {"allOf": [inner]},
    "one of these": lambda inner: {"anyOf": [{"type": "string"}, inner]},
    "none of these": lambda inner: {"not": inner},
    "a reference": lambda inner: {"$ref": "#/$defs/other", "$defs": {"other": inner}},
}


@pytest.mark.parametrize("around", AROUND)
def test_where_nothing_is_found_nothing_is_refused(around: str) -> None:
    """Against the jsonschema package, for all pairs of small schemas: what the one takes, so does the other."""
    made = [AROUND[around](one) for one in SMALL]
    taken = [{n for n, value in enumerate(VALUES) if Draft202012Validator(one).is_valid(value)} for one in made]
    kept = 0
    for was, before in zip(taken, made, strict=True):
        for still, now in zip(taken, made, strict=True):
            if not Narrowing(before, now).found():
                kept += 1
                assert [VALUES[n] for n in sorted(was - still)] == [], (before, now)
    assert kept > 2 * len(made)


if __name__ == "__main__":
    kept = json.loads(KEPT.read_text(encoding="utf-8")) if KEPT.exists() else {}
    print("\n".join(breaks(kept, formats())) or "Nothing breaks.")
    KEPT.write_text(json.dumps(formats(), indent=1, sort_keys=True) + "\n", encoding="utf-8")
