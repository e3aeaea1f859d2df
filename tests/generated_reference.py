"""Writes the reference of the interface and the page of codes: ``python -m tests.generated_reference``.

From docstrings and from the catalogue. The reference stands in ``examples/README.md`` under the guide, which is written by
hand; the codes in ``examples/codes.md``. A test holds both fresh.
"""

from __future__ import annotations

import ast
import inspect
import re
from collections.abc import Iterator, Mapping
from functools import cache
from importlib import import_module
from textwrap import dedent
from typing import Any

import coatrules
from coatrules.catalogue.english import AREAS
from coatrules.catalogue.template import Plural
from tests.support.paths import ROOT

GUIDE = ROOT / "examples" / "README.md"
CODES = ROOT / "examples" / "codes.md"
MARK = "<!-- From here on written by `python -m tests.generated_reference`; do not edit. -->\n"
ALIASES = """`AnyHistory` is a `History`, or a mapping of plain data.
`AnyProfile` is a `Profile`, a mapping of plain data, a file, or an id.
A `Shelf` is a folder, a mapping from id to plain data, or a function from id to plain data or None. `Date` is `datetime.date`.
`Audience` is `"table"` or `"owner"`; `Form` is `"svg"` or `"png"`."""
TITLES: Mapping[str, str] = {
    "problems": "What is wrong with an input",
    "files": "What is wrong with a file",
    "profiles": "What is wrong with a profile",
    "records": "What is wrong with records, sheets and books",
    "findings": "What a check of a profile finds",
    "orders": "Reasons and findings of an order",
    "plans": "What a plan says",
    "cautions": "Cautions and referrals",
    "complaints": "What is wrong with a command line",
}
"""The areas of the catalogue that values of the interface speak by; the rest is of the command line, pages and pictures."""


def reference() -> str:
    """Every public name with what it is, its members and their types, as Markdown."""
    functions = [name for name in coatrules.__all__ if inspect.isfunction(getattr(coatrules, name))]
    values = [name for name in coatrules.__all__ if name not in (*functions, "Engine")]
    parts = [
        f"\n## Reference\n\n{ALIASES}\n",
        *_class("Engine"),
        *(line for name in functions for line in _function(name, getattr(coatrules, name), "###")),
        "### Values\n\nFrozen; equal where they say the same; made with keyword arguments.\n",
        *(line for name in values for line in _class(name)),
    ]
    return "\n".join(parts)


def _class(name: str) -> Iterator[str]:
    thing = getattr(coatrules, name)
    definition = _definition(thing)
    level = "###" if name == "Engine" else "####"
    yield f"{level} {name}\n\n{_prose(ast.get_docstring(definition))}\n"
    fields = [
        (ast.unparse(line.target), ast.unparse(line.annotation))
        for line in definition.body
        if isinstance(line, ast.AnnAssign)
    ]
    shown = [f"- `{field}: {_plain(kind)}`" for field, kind in fields if not field.startswith("_")]
    for line in _members(thing):
        if not line.name.startswith("_"):
            if any(getattr(mark, "id", "") in ("property", "cached_property") for mark in line.decorator_list):
                kind = _plain(ast.unparse(line.returns)) if line.returns else ""
                shown.append(f"- `{line.name}: {kind}`: {_prose(ast.get_docstring(line))}")
            elif name != "Engine":
                shown.append(f"- `{_signature(line)}`: {_prose(ast.get_docstring(line))}")
    if shown:
        yield "\n".join(shown) + "\n"
    if name == "Engine":
        for line in _members(thing):
            if not line.name.startswith("_"):
                yield f"#### Engine.{line.name}\n\n```python\n{_signature(line)}\n```\n\n{_prose(ast.get_docstring(line))}\n"


def _members(thing: Any) -> Iterator[ast.FunctionDef]:
    """The functions of a class and of those that it is made of."""
    for part in inspect.getmro(thing):
        if part.__module__.startswith("coatrules."):
            yield from (line for line in _definition(part).body if isinstance(line, ast.FunctionDef))


def _function(name: str, thing: Any, level: str) -> Iterator[str]:
    definition = ast.parse(dedent(inspect.getsource(thing))).body[0]
    assert isinstance(definition, ast.FunctionDef)
    yield f"{level} {name}\n\n```python\n{_signature(definition)}\n```\n\n{_prose(inspect.getdoc(thing))}\n"


@cache
def _definition(thing: Any) -> ast.ClassDef:
    """The class as written, whatever attrs has made of it since."""
    [definition] = ast.parse(dedent(inspect.getsource(thing))).body
    assert isinstance(definition, ast.ClassDef)
    return definition


def _signature(function: ast.FunctionDef) -> str:
    """A function as it is called, without ``self``."""
    arguments = ast.unparse(function.args)
    arguments = re.sub(r"^(self|cls)(, |$)", "", arguments)
    returns = f" -> {ast.unparse(function.returns)}" if function.returns is not None else ""
    return _plain(f"{function.name}({arguments}){returns}")


def _plain(annotation: str) -> str:
    """An annotation without the marks by which documents are checked."""
    before = ""
    while before != annotation:
        before = annotation
        annotation = re.sub(
            r"Annotated\[((?:[^\[\],]|\[[^\[\]]*\])+)(?:, (?:[^\[\]]|\[[^\[\]]*\])*?)?\]", r"\1", annotation
        )
    return re.sub(r"'(Visit|History|Profile|Salon)'", r"\1", annotation)


def _prose(text: str | None) -> str:
    return (text or "").replace("``", "`")


def codes() -> str:
    """The codes of everything that values of the interface say, with their parameters and the English."""
    parts = [
        "# Codes\n\nWritten by `python -m tests.generated_reference`; do not edit.\n\nPrograms go by the code and its parameters; the words"
        " are for people and may change. `CODE.fix` is how to fix what `CODE` says. A sentence with two forms takes the first where the"
        " parameter before the colon is 1.\n"
    ]
    for area, title in TITLES.items():
        sentences = import_module(f"coatrules.catalogue.english.{area}").SENTENCES
        if sentences:
            rows = [_row(code, sentence) for code, sentence in sentences.items()]
            parts.append(f"## {title}\n\n| code | parameters | English |\n| --- | --- | --- |\n{''.join(rows)}")
    return "\n".join(parts)


def _row(code: str, sentence: str | Plural) -> str:
    texts = [sentence] if isinstance(sentence, str) else [sentence.one, sentence.other]
    names = [name for text in texts for name in re.findall(r"(?<!\{)\{(\w+)(?::\w+)?\}", text)]
    if isinstance(sentence, Plural):
        names.append(sentence.by)
    text = texts[0] if isinstance(sentence, str) else f"{sentence.by}: {' / '.join(texts)}"
    shown = text.replace("|", "\\|").replace("\n", " ")
    return f"| `{code}` | {', '.join(f'`{name}`' for name in dict.fromkeys(names))} | {shown} |\n"


def guide() -> str:
    """The guide as written by hand, with the reference of today under it."""
    return GUIDE.read_text(encoding="utf-8").split(MARK)[0] + MARK + reference()


assert set(TITLES) <= set(AREAS)

if __name__ == "__main__":
    GUIDE.write_text(guide(), encoding="utf-8")
    CODES.write_text(codes(), encoding="utf-8")
