"""Attacks on a reader of files that somebody else wrote, and how each is met. Run as ``python -m tests.support.hostile``: each attack
in a process of its own that may use two seconds of processor time; prints its outcome, seconds and megabytes as JSON."""

from __future__ import annotations

import json
import os
import resource
import sys
import tempfile
from collections.abc import Callable, Iterator
from datetime import date, timedelta
from pathlib import Path
from typing import Any

from coatrules.dog.loading import load_history
from coatrules.formats.resources import folder
from coatrules.order.engine import order, work_order
from coatrules.problems import InputError
from coatrules.profile.compiled import compile_profile
from coatrules.profile.loading import load_profile
from coatrules.reading import read_json, read_yaml
from tests.support.book import PROFILE

SECONDS = 2
DAY = date(2026, 3, 21)
FULL = 990_000  # bytes: as much as is read at all

YAML: dict[str, str | bytes] = {
    "alias bomb": "a: &a [x]\n" + "".join(f"b{n}: &b{n} [*{'a' if n == 0 else f'b{n - 1}'}, *a]\n" for n in range(60)),
    "alias of itself": "a: &a [*a]\n",
    "many anchors": "".join(f"- &a{n} x\n" for n in range(75_000)),
    "merge key": "a: {x: 1}\nb:\n  <<: {y: 2}\n",
    "tag of an object": "a: !!python/object/apply:os.system ['true']\n",
    "tag directives": "%TAG ! x\n" * 50_000,
    "document of directives": ("%YAML 1.2\n---\na\n...\n" * 45_000)[:FULL],
    "many documents": "---\n" * 225_000,
    "deep flow lists": "[" * 250_000,
    "deep flow mappings": "{a: " * 225_000,
    "deep block lists": "- " * 250_000,
    "deep block mappings": "".join(" " * n + "a:\n" for n in range(2700)),
    "many keys": "".join(f"k{n}: 1\n" for n in range(95_000)),
    "many of the same key": "k: 1\n" * 175_000,
    "many entries": "- \n" * 325_000,
    "a long word": "a: " + "x" * FULL,
    "a long key": "x" * FULL + ": a",
    "a long block text": "a: |\n" + " x\n" * 325_000,
    "a long folded text": "a: >\n" + " x\n" * 325_000,
    "escapes without end": 'a: "' + "\\x41" * 247_500 + '"',
    "a text without end": 'a: "' + "x" * FULL,
    "complex keys": "? " * 475_000,
    "a long number": "a: " + "1" * FULL,
    "many long numbers": "a: [" + "123456789012345678901, " * 42_500 + "]",
    "a number out of bounds": "a: 1e999",
    "a hexadecimal number": "a: 0x" + "f" * 750_000,
    "not a number": "a: .nan",
    "only comments": "#\n" * 475_000 + "a: [",
    "spaces": " " * FULL + "[",
    "colons": ":" * FULL,
    "question marks": "?\n" * 475_000,
    "bidirectional text": "a: \u202ex",
    "control characters": "a: \x00" * 150_000,
    "combining characters": "a: " + "a\u0301\u0327" * 195_000,
    "half characters": "a: \ud800".encode("utf-8", "surrogatepass"),
    "UTF-16": "a: b".encode("utf-16"),
    "not UTF-8": b"a: \xff\xfe",
    "too large": b"a" * 30_000_000,
}  # fmt: skip

JSON: dict[str, str] = {
    "deep lists": "[" * 975_000,
    "deep objects": '{"a":' * 195_000,
    "many lists": "[" + "[]," * 325_000 + "[]]",
    "many numbers": "[" + "1," * 475_000 + "1]",
    "a long number": "1" * FULL,
    "a long float": "0." + "1" * FULL,
    "an exponent": "1e" + "9" * 750_000,
    "many of the same key": "{" + '"a":1,' * 140_000 + '"a":1}',
    "escaped half characters": '["' + "\\ud800" * 150_000 + '"]',
    "escaped controls": '["' + "\\u0000" * 150_000 + '"]',
    "a text without end": '"' + "x" * FULL,
    "backslashes": '"' + "\\" * FULL,
    "not a number": "[NaN]",
    "spaces": " " * FULL + "x",
}


def _visits(count: int, visit: dict[str, Any], every: int = 1) -> dict[str, Any]:
    first = DAY - timedelta(days=count * every)
    visits = [{"visit": (first + timedelta(days=n * every)).isoformat(), **visit} for n in range(count)]
    return {"format": 1, "dog": {"id": "x"}, "visits": visits}


HISTORIES: dict[str, Callable[[], Any]] = {
    "visits without end": lambda: _visits(60_000, {"work": {"body": {"pull": 0.01}}}),
    "as many visits as there may be": lambda: _visits(1000, {"work": {"body": {"pull": 0.01}}}, every=2),
    "a life of lengths": lambda: _visits(
        250, {"seen": {"body": {"longest_mm": 12}}, "work": {"body": {"pull": 0.1}}}, every=9
    ),
    "visits out of order": lambda: {"format": 1, "dog": {"id": "x"}, "visits": [{"visit": "2026-03-01"}] * 150_000},
    "names without end": lambda: _visits(1, {"work": {f"a{n}": {"card": True} for n in range(150_000)}}),
    "put off without end": lambda: _visits(1, {"put_off": ["back"] * 300_000}),
    "unknown names put off": lambda: _visits(1, {"put_off": [f"bac{n}" for n in range(300_000)]}),
    "faults without end": lambda: _visits(1, {"seen": {f"a{n}": {"longest": "x"} for n in range(100_000)}}),
    "wrong visits": lambda: {"format": 1, "dog": {"id": "x"}, "visits": [[]] * 400_000},
    "keys without end": lambda: {"format": 1, "dog": {"id": "x"} | {f"key{n}": n for n in range(250_000)}},
    "a long id": lambda: {"format": 1, "dog": {"id": "a" * 60_000 + "!"}},
    "an id with a line break": lambda: {"format": 1, "dog": {"id": "pip\n"}},
    "a day that is none": lambda: {"format": 1, "dog": {"id": "x", "born": "2024-02-30"}},
    "digits of another script": lambda: {"format": 1, "dog": {"id": "x", "born": "２０２４-01-01"}},
}


def _profile(**parts: Any) -> dict[str, Any]:
    return {**PROFILE, **parts}


def _rule(condition: Any) -> dict[str, Any]:
    return _profile(rules={"a": {"if": condition, "then": {"priority": 1}, "because": "So."}})


def _nested(depth: int) -> Any:
    condition: Any = {"cover": 1}
    for _ in range(depth):
        condition = {"not": condition}
    return condition


def _diamonds(count: int) -> dict[str, Any]:
    groups = {"a0": ["back"], "b0": ["ribs"]}
    for n in range(1, count):
        groups[f"a{n}"] = groups[f"b{n}"] = [f"a{n - 1}", f"b{n - 1}"]
    return _profile(groups=PROFILE["groups"] | groups)


PROFILES: dict[str, Callable[[], Any]] = {
    "groups that double": lambda: _diamonds(40),
    "groups in a ring": lambda: _profile(groups={"a": ["b"], "b": ["a"], **PROFILE["groups"]}),
    "groups in a long chain": lambda: _profile(
        groups=PROFILE["groups"] | {"a0": ["back"]} | {f"a{n}": [f"a{n - 1}"] for n in range(1, 60_000)}
    ),
    "groups that all hold all": lambda: _profile(
        groups=PROFILE["groups"] | {f"a{n}": ["all", *(f"a{m}" for m in range(n))] for n in range(900)}
    ),
    "regions without end": lambda: _profile(
        regions=PROFILE["regions"]
        | {f"r{n}": {"label": "R", "coat": "jacket", "anatomy": "none"} for n in range(60_000)}
    ),
    "as many regions as there may be": lambda: _profile(
        regions=PROFILE["regions"]
        | {f"r{n}": {"label": "R", "coat": "jacket", "anatomy": "none", "minutes": {"pull": 1}} for n in range(190)},
        groups=PROFILE["groups"] | {"wide": [f"r{n}" for n in range(190)]},
        layer_targets={**PROFILE["layer_targets"], "w": {**PROFILE["layer_targets"]["rolling"], "regions": ["wide"]}},
        sensitive_zones={
            f"z{n}": {"regions": [f"r{n}"], "level": "high", "bout_minutes": 1, "rest_minutes": 9} for n in range(60)
        },
    ),
    "rules without end": lambda: _profile(
        rules={f"r{n}": {"if": {"cover": n}, "then": {"priority": 1}, "because": "So."} for n in range(40_000)}
    ),
    "a condition that is too deep": lambda: _rule(_nested(55)),
    "a condition without end": lambda: _rule({"anyOf": [{"cover": {"minimum": n}} for n in range(100_000)]}),
    "a list without end": lambda: _rule({"cover": {"enum": list(range(400_000))}}),
    "a fact without end": lambda: _rule({"x" * 60_000: 1}),
    "sources without end": lambda: _profile(sources={f"s{n}": {"title": "x"} for n in range(100_000)}),
    "methods in a ring": lambda: _profile(methods={"a": {"label": "a", "does": "pull", "then": "a"}}),
    "methods without end": lambda: _profile(
        methods={f"m{n}": {"label": "a", "does": "pull", "if": {"cover": n}} for n in range(50_000)}
    ),
    "a name no profile has": lambda: _profile(extends="../../../etc/passwd"),
    "a name that is a path": lambda: _profile(extends="/etc/passwd"),
    "a name that is an address": lambda: _profile(extends="https://example.org/profile.yaml"),
    "a reference of JSON Schema": lambda: _rule({"$ref": "file:///etc/passwd"}),
    "cases without end": lambda: _profile(
        cases={f"c{n}": {"history": {}, "date": "2026-01-01", "expect": {}} for n in range(50_000)}
    ),
}


def attacks() -> Iterator[tuple[str, Callable[[], object]]]:
    """Every attack with a name of its own; each raises ``InputError`` or is harmless and gives a value."""
    for name, text in YAML.items():
        yield f"yaml: {name}", lambda text=text: read_yaml(text)  # type: ignore[misc]  # mypy cannot see its type
    for name, text in JSON.items():
        yield f"json: {name}", lambda text=text: read_json(text)  # type: ignore[misc]  # mypy cannot see its type
    small = compile_profile(load_profile(PROFILE))
    large = compile_profile(load_profile("griffon-bruxellois-rough"))
    for name, make in HISTORIES.items():
        for compiled in (small, large):
            title = f"history by {compiled.profile.id}: {name}"
            yield title, lambda make=make, compiled=compiled: order(compiled, load_history(make()), DAY)  # type: ignore[misc]  # mypy cannot see its type
    visits = _visits(2, {"work": {"body": {"pull": 0.2}}}, every=30)
    for name, make in PROFILES.items():
        yield f"profile: {name}", lambda make=make: work_order(make(), visits, date=DAY)  # type: ignore[misc]  # mypy cannot see its type
    yield "file: devices", lambda: load_profile(Path("/dev/zero"))
    yield "folder: a link out of it", _linked
    yield "folder: a chain without end", _chained


def _linked() -> object:
    with tempfile.TemporaryDirectory() as directory, tempfile.TemporaryDirectory() as outside:
        secret = Path(outside, "secret.yaml")
        secret.write_text((folder("profiles") / "points-of-the-dog.yaml").read_text(encoding="utf-8"), encoding="utf-8")
        Path(directory, "linked.yaml").symlink_to(secret)
        return load_profile("linked", shelves=[directory])


def _chained() -> object:
    with tempfile.TemporaryDirectory() as directory:
        for n in range(2000):
            Path(directory, f"p{n}.yaml").write_text(f"format: 1\nid: p{n}\nextends: p{n + 1}\n", encoding="utf-8")
        return load_profile("p0", shelves=[directory])


def met(attack: Callable[[], object]) -> dict[str, Any]:
    """How an attack ends: ``refused``, ``harmless``, an error's name or a signal; seconds and megabytes it took."""
    reading, writing = os.pipe()
    child = os.fork()
    if child == 0:
        resource.setrlimit(resource.RLIMIT_CPU, (SECONDS, SECONDS + 1))
        Path("/proc/self/clear_refs").write_text("5", encoding="ascii")  # the peak counts from here
        before = _memory("VmRSS")
        try:
            attack()
            outcome = "harmless"
        except InputError as error:
            shown = str(error)
            outcome = "refused" if error.problems and len(shown) < 1_000_000 else "refused at length"
        except BaseException as error:
            outcome = f"{type(error).__name__}: {error}"[:200]
        outcome = f"{_memory('VmHWM') - before} {outcome}"
        os.write(writing, outcome.encode("utf-8", "backslashreplace"))
        os._exit(0)
    os.close(writing)
    with os.fdopen(reading, "rb") as pipe:
        outcome = pipe.read().decode()
    _, status, used = os.wait4(child, 0)
    megabytes, _, ending = outcome.partition(" ")
    return {
        "outcome": ending or f"killed by signal {os.WTERMSIG(status)}",
        "seconds": round(used.ru_utime + used.ru_stime, 2),
        "megabytes": int(megabytes or 0),
    }


def _memory(key: str) -> int:
    """Megabytes of this process, as Linux counts them."""
    status = Path("/proc/self/status").read_text(encoding="ascii")
    return next(int(line.split()[1]) for line in status.splitlines() if line.startswith(key)) // 1024


if __name__ == "__main__":
    for name, attack in attacks():
        if len(sys.argv) < 2 or sys.argv[1] in name:
            print(json.dumps({"attack": name, **met(attack)}), flush=True)
