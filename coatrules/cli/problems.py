"""Problems as JSON, for programs that asked for it."""

from __future__ import annotations

import json
from collections.abc import Iterable

from coatrules.problems import InputError, Problem


def problems_json(problems: Iterable[Problem]) -> str:
    """Returns one JSON object with the list of ``problems``."""
    return json.dumps(InputError(problems).to_dict(), indent=2, ensure_ascii=False) + "\n"
