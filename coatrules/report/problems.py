"""Problems as plain data, for programs that asked for JSON."""

from __future__ import annotations

import json
from collections.abc import Iterable
from typing import Any

from coatrules.order.plain_data import result_data
from coatrules.problems import Problem


def problem_data(problem: Problem) -> dict[str, Any]:
    """Returns one problem as plain data; ``line`` and ``column`` count from 1, 0 where the place is not known."""
    return {
        "code": problem.code,
        "params": result_data(problem.params),
        "severity": problem.severity,
        "message": problem.message,
        "hint": problem.hint,
        "file": problem.file,
        "line": problem.line,
        "column": problem.column,
        "path": list(problem.path),
    }


def problems_json(problems: Iterable[Problem]) -> str:
    """Returns one JSON object with the list of ``problems``."""
    return json.dumps({"problems": list(map(problem_data, problems))}, indent=2, ensure_ascii=False) + "\n"
