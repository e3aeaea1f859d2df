"""Plain data of a profile as YAML that a mentor would write: a day stands without quotes."""

from __future__ import annotations

from contextlib import suppress
from typing import Any

import yaml

from coatrules.formats.values import MAPPINGS, iso_date


def profile_text(data: Any) -> str:
    """Returns plain data as YAML, in the order given."""
    return yaml.safe_dump(_with_days(data), sort_keys=False, allow_unicode=True, default_flow_style=None, width=110)


def _with_days(data: Any) -> Any:
    """The data with its days as such: they are read as text again."""
    if isinstance(data, MAPPINGS):
        return {key: _with_days(value) for key, value in data.items()}
    if isinstance(data, list | tuple):
        return [_with_days(value) for value in data]
    if isinstance(data, str):
        with suppress(ValueError):
            return iso_date(data)
    return data
