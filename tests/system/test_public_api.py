"""What others may write against is as it was: every public name, its parameters, attributes and words, against a list.

``python -m tests.system.test_public_api`` writes the list anew and says what has changed.
"""

from __future__ import annotations

import ast
import inspect
import pickle
import re
import subprocess
import sys
from collections.abc import Iterator, Sequence
from textwrap import dedent
from typing import Any, Literal, get_args, get_origin

import attrs
import pytest

import coatrules
from tests.support.paths import GOLDEN, ROOT

LISTED = GOLDEN / "public-api.txt"


def listing(*public: Any) -> list[str]:
    """A line for everything that another program can lean on: what takes a line away or changes it may break one, a new
    line does not. Public values lead to others (``WorkOrder.pace`` to ``Pace``), of which it lists what can be read.
    """
    lines: set[str] = set()
    waiting = [(thing.__name__, thing) for thing in public]
    for name, thing in waiting:  # which grows
        told = list(_told(name, thing, made=thing in public))
        lines.update(told)
        known = vars(sys.modules[thing.__module__])
        for word in sorted(set(re.findall(r"\b\w+\b(?!\()", " ".join(told)))):
            # What is imported for types alone is not in its module.
            found = (word, known.get(word, getattr(coatrules, word) if word in coatrules.__all__ else None))
            if _log(found[1]) and found not in waiting:
                waiting.append(found)
    return sorted(lines)


def _log(thing: Any) -> bool:
    """Lists of words, and our own values but for ``Origin``, by which our messages find their place."""
    ours = inspect.isclass(thing) and thing.__module__.startswith("coatrules.") and _fields(thing) is not None
    return get_origin(thing) is Literal or (ours and thing.__name__ != "Origin")


def _fields(thing: Any) -> Sequence[str] | None:
    """The fields of a value of ours; None for anything else."""
    return [own.name for own in attrs.fields(thing)] if attrs.has(thing) else getattr(thing, "_fields", None)


def _told(name: str, thing: Any, *, made: bool) -> Iterator[str]:
    if get_origin(thing) is Literal:
        yield from (f"{name} may be {word!r}" for word in get_args(thing))
        return
    if inspect.isfunction(thing):
        yield from _called(name, thing)
        return
    yield f"{name} is a {_base(thing)}"
    if (fields := _fields(thing)) is not None:
        # As written, whatever the annotations have been made into since.
        [definition] = ast.parse(dedent(inspect.getsource(thing))).body
        assert isinstance(definition, ast.ClassDef)
        lines = [line for line in definition.body if isinstance(line, ast.AnnAssign)]
        written = {ast.unparse(line.target): ast.unparse(line.annotation) for line in lines}
        yield from (f"{name}.{field}: {written[field]}" for field in fields if not field.startswith("_"))
    else:
        yield from _called(name, thing)
    for key, member in vars(thing).items():
        if (getter := _getter(member)) is not None and not key.startswith("_"):
            yield f"{name}.{key}: {_shown(inspect.signature(getter).return_annotation)}"
        elif made and inspect.isroutine(member) and not key.startswith("_"):
            yield from _called(f"{name}.{key}", getattr(thing, key))


def _getter(member: Any) -> Any:
    """The function behind a property; None for anything else."""
    return member.fget if isinstance(member, property) else getattr(member, "func", None)


def _base(thing: Any) -> str:
    if thing.__base__ is tuple:
        return "named tuple"
    return "class" if thing.__base__ is object else thing.__base__.__name__


def _shown(annotation: Any) -> str:
    """As written, whether Python has read it already or not."""
    if isinstance(annotation, str):
        return annotation
    return re.sub(r"\b(coatrules|collections|datetime|typing)\.(\w+\.){0,2}", "", inspect.formatannotation(annotation))


def _called(name: str, thing: Any) -> Iterator[str]:
    signature = inspect.signature(thing)
    parameters = [parameter for parameter in signature.parameters.values() if parameter.name != "self"]
    for place, parameter in enumerate(parameters, 1):
        where = "by name" if parameter.kind is parameter.KEYWORD_ONLY else f"at {place}, {parameter.kind.description}"
        default = "needed" if parameter.default is parameter.empty else f"else {parameter.default!r}"
        yield f"{name}({parameter.name}): {_shown(parameter.annotation)}; {where}; {default}"
    yield f"{name}() gives {_shown(signature.return_annotation)}"


def public() -> list[Any]:
    return [getattr(coatrules, name) for name in coatrules.__all__]


def change(before: list[str], now: list[str]) -> str:
    """What has changed, in words; empty if nothing has."""
    gone = [f"  - {line}" for line in before if line not in now]
    new = [f"  + {line}" for line in now if line not in before]
    said = ["Gone or changed, which may break what others wrote:", *gone] if gone else []
    return "\n".join([*said, *(["New:", *new] if new else [])])


def test_the_public_interface_is_as_listed() -> None:
    changed = change(LISTED.read_text(encoding="utf-8").splitlines(), listing(*public()))
    assert not changed, f"{changed}\nIf it is meant, renew the list: python -m tests.system.test_public_api"


def test_all_that_the_engine_leads_to_is_public() -> None:
    lines = listing(coatrules.Engine, coatrules.InputError)
    values = {
        line.split(" is a ")[0] for line in lines if re.fullmatch(r"\w+ is a (class|named tuple|ValueError)", line)
    }
    assert values <= set(coatrules.__all__)
    assert len(values) > 60


def test_all_that_is_public_says_what_it_is() -> None:
    """Not in the words that a library makes up for it; methods and properties too."""
    silent = [
        f"{thing.__name__}.{key}"
        for thing in public()
        if inspect.isclass(thing)
        for key, member in vars(thing).items()
        if not key.startswith("_") and (inspect.isroutine(member) or isinstance(member, property))
        if not inspect.getdoc(member if isinstance(member, property) else getattr(thing, key))
    ]
    for thing in public():
        if inspect.isclass(thing):
            [definition] = ast.parse(dedent(inspect.getsource(thing))).body
            assert isinstance(definition, ast.ClassDef)
            silent += [] if ast.get_docstring(definition) else [thing.__name__]
    assert silent == []


def test_every_public_name_is_there_and_explained() -> None:
    assert coatrules.__all__ == sorted(coatrules.__all__)
    assert all(inspect.getdoc(thing) for thing in public())
    misspelt = "work_orderz"
    with pytest.raises(AttributeError, match="no attribute 'work_orderz'"):
        getattr(coatrules, misspelt)


def python(code: str) -> str:
    return subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout


def test_only_what_is_asked_for_is_loaded() -> None:
    loaded = "sorted(name for name in sys.modules if name.startswith('coatrules.'))"
    code = f"import sys, coatrules; print(*{loaded}); coatrules.Problem; print(*{loaded})"
    first, then = (set(line.split()) for line in python(code).splitlines())
    assert first == {"coatrules.order", "coatrules.order.display"}
    assert {name.split(".")[1] for name in then - first} == {"catalogue", "problems", "read_only"}
    code = "import sys; from coatrules import *; print('coatrules.order.engine' in sys.modules, work_orders.__module__)"
    assert python(code).split() == ["True", "coatrules.book.fleet"]


def test_an_order_loads_no_library_that_it_does_not_use() -> None:
    """What writes documents out was loaded with every order, for what `--seen` asks of a visit."""
    code = """
import sys
from coatrules.cli import main
assert main(["order", "examples/salon/pip.yaml", "--date", "2026-03-21", *sys.argv[1:]]) == 0
print(*{"cattrs", "jsonschema", "babel", "numpy", "rich", "jinja2", "matplotlib"} & sys.modules.keys())
"""
    for more in ([], ["--seen", "back: holds"]):
        command = [sys.executable, "-c", code, *more]
        shown = subprocess.run(command, capture_output=True, text=True, check=True, cwd=ROOT).stdout
        assert shown.splitlines()[-1] == ""


def test_names_not_asked_for_yet_are_listed_too() -> None:
    code = "import coatrules; print(sorted({*coatrules.__all__} - {*dir(coatrules)}))"
    assert python(code).strip() == "[]"


@pytest.mark.parametrize("name", coatrules.__all__)
def test_every_public_name_is_the_one_its_module_has(name: str) -> None:
    found = getattr(coatrules, name)
    assert found is getattr(sys.modules[found.__module__], name)
    assert pickle.loads(pickle.dumps(found)) is found


# -- the list itself notices --------------------------------------------------------------------------------------------

Word = Literal["short", "long"]


def coat(name: str, *, length: Word = "short") -> int:
    return len(name + length)


def more(name: str, *, length: Word = "short", layers: int = 1) -> int:
    return len(name + length) + layers


def renamed(title: str, *, length: Word = "short") -> int:
    return len(title + length)


def retyped(name: str, *, length: str = "short") -> int:
    return len(name + length)


def other_default(name: str, *, length: Word = "long") -> int:
    return len(name + length)


def other_order(length: Word, name: str) -> int:
    return len(name + length)


def other_answer(name: str, *, length: Word = "short") -> float:
    return len(name + length) / 2


@pytest.mark.parametrize("now", [renamed, retyped, other_default, other_order, other_answer])
def test_a_changed_function_is_noticed(now: Any) -> None:
    now.__name__ = "coat"
    assert "Gone or changed" in change(listing(coat), listing(now))


def test_a_further_parameter_is_no_break() -> None:
    more.__name__ = "coat"
    assert change(listing(coat), listing(more)) == "New:\n  + coat(layers): int; by name; else 1"


def test_words_and_attributes_are_listed() -> None:
    assert "Word may be 'long'" in listing(coat)
    lines = listing(coatrules.WorkOrder)
    assert {"Step.minutes: float", "Why may be 'blown'", "WorkOrder is a class"} <= set(lines)
    assert "Pace is a class" in lines
    assert "InputError is a ValueError" in listing(coatrules.InputError)


if __name__ == "__main__":
    before = LISTED.read_text(encoding="utf-8").splitlines() if LISTED.exists() else []
    print(change(before, listing(*public())) or "Nothing has changed.")
    LISTED.write_text("\n".join(listing(*public())) + "\n", encoding="utf-8")
