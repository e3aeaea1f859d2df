"""Problems and findings for people, for programs, and for the places where code is reviewed."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Iterator, Mapping
from textwrap import fill
from typing import Any, Final

from coatrules.catalogue.speaking import say
from coatrules.check.catalogue import described
from coatrules.formats.documents import merge_patch
from coatrules.formats.profile_text import profile_text
from coatrules.order.plain_data import result_data
from coatrules.problems import Problem, path_text


def text(problems: Iterable[Problem]) -> str:
    """Returns a problem a paragraph: its place, what is wrong, its code, and how to fix it; below them the cases to be added."""
    problems = list(problems)
    return "".join([*(f"{_with_code(problem)}\n" for problem in problems), *_to_be_added(problems)])


def _to_be_added(problems: Iterable[Problem]) -> Iterator[str]:
    """Yields for each file, as YAML, what its findings are to be answered by."""
    added: dict[str, Any] = {}
    for problem in problems:
        if "add" in problem.params:
            added[problem.file] = merge_patch(added.get(problem.file, {}), problem.params["add"])
    if added:
        from coatrules.mentor.formatting import tidied  # only where a profile was asked so
    for file, data in added.items():
        head = fill(say("case.to-be-added", file=file), 120, initial_indent="# ", subsequent_indent="# ")
        cases = tidied(profile_text(data))
        yield f"\n{head}\n{cases}"


def _with_code(problem: Problem) -> str:
    """Returns a problem in words, its code behind the first line: by it the reference page is searched."""
    first, newline, rest = str(problem).partition("\n")
    return f"{first} [{problem.code}]{newline}{rest}"


def as_json(problems: Iterable[Problem]) -> str:
    """One JSON object with a list of ``findings``; lines and columns count from 1, 0 where the place is not known."""
    findings = [
        {
            "code": problem.code,
            "params": result_data(problem.params),
            "severity": problem.severity,
            "file": problem.file,
            "line": problem.line,
            "column": problem.column,
            "path": list(problem.path),
            "message": problem.message,
            "hint": problem.hint,
        }
        for problem in problems
    ]
    return json.dumps({"format": 1, "findings": findings}, indent=2, ensure_ascii=False) + "\n"


_COMMANDS = {"error": "error", "warning": "warning", "note": "notice"}


def github(problems: Iterable[Problem]) -> str:
    """Workflow commands, which a hosted check shows beside the line (GitHub Actions, "Workflow commands")."""
    return "".join(
        f"::{_COMMANDS[problem.severity]} {_properties(problem)}::{_escaped(_sentence(problem))}\n"
        for problem in problems
    )


def _properties(problem: Problem) -> str:
    properties = {"file": problem.file, "line": problem.line, "col": problem.column, "title": problem.code}
    return ",".join(
        f"{key}={_escaped(str(value)).replace(':', '%3A').replace(',', '%2C')}"
        for key, value in properties.items()
        if value
    )


def _escaped(value: str) -> str:
    return value.replace("%", "%25").replace("\r", "%0D").replace("\n", "%0A")


def _sentence(problem: Problem) -> str:
    sentence = problem.message
    if problem.path:
        sentence = say("finding.at-path", message=sentence, path=path_text(problem.path))
    return say("finding.and-fix", message=sentence, fix=problem.hint) if problem.hint else sentence


def sarif(problems: Iterable[Problem]) -> str:
    """A log in the Static Analysis Results Interchange Format (OASIS standard SARIF 2.1.0)."""
    problems = list(problems)
    codes = sorted({problem.code for problem in problems})
    rules = [{"id": code, "shortDescription": {"text": described(code)}} for code in codes]
    driver = {"name": "coatrules", "rules": rules}
    results = [_result(problem, codes.index(problem.code)) for problem in problems]
    log = {
        "$schema": "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json",
        "version": "2.1.0",
        "runs": [{"tool": {"driver": driver}, "columnKind": "unicodeCodePoints", "results": results}],
    }
    return json.dumps(log, indent=2, ensure_ascii=False) + "\n"


def _result(problem: Problem, index: int) -> dict[str, Any]:
    result: dict[str, Any] = {
        "ruleId": problem.code,
        "ruleIndex": index,
        "level": problem.severity,
        "message": {"text": _sentence(problem)},
    }
    if problem.file:
        location: dict[str, Any] = {"artifactLocation": {"uri": _uri(problem.file)}}
        if problem.line:
            location["region"] = {"startLine": problem.line, "startColumn": max(1, problem.column)}
        result["locations"] = [{"physicalLocation": location}]
    return result


def _uri(file: str) -> str:
    from pathlib import Path
    from urllib.parse import quote

    path = Path(file)
    return path.as_uri() if path.is_absolute() else quote(path.as_posix())


FORMATS: Final[Mapping[str, Callable[[Iterable[Problem]], str]]] = {
    "text": text,
    "json": as_json,
    "github": github,
    "sarif": sarif,
}
