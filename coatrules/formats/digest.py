"""The content of a frozen value as one number, the same in every process."""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import date
from typing import Any

from attrs import fields

from coatrules.conditions.condition import Condition
from coatrules.formats.structure import written


class Edition:
    """Which edition of a value this is: equal to another where the values say the same. Worked out when first asked for."""

    __slots__ = ("_digest", "_value")

    def __init__(self, *value: object) -> None:
        self._value: object = value
        self._digest = ""

    @property
    def sha256(self) -> str:
        """The SHA-256 of all that counts where two are compared, as JSON with sorted keys and no spaces, in hexadecimal digits."""
        if not self._digest:
            from hashlib import sha256  # long to import, and few ask

            canonical = json.dumps(_plain(self._value), sort_keys=True, separators=(",", ":"), ensure_ascii=False)
            self._digest = sha256(canonical.encode()).hexdigest()
        return self._digest

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Edition) and self.sha256 == other.sha256

    def __hash__(self) -> int:
        return hash(self.sha256)

    def __repr__(self) -> str:
        return f"Edition({self.sha256[:12]})"

    def __getstate__(self) -> str:
        return self.sha256  # an order goes to another process without the whole profile

    def __setstate__(self, digest: str) -> None:
        self._value, self._digest = None, digest


def _plain(value: Any) -> Any:
    if isinstance(value, Mapping):
        return {key: _plain(inner) for key, inner in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(inner) for inner in value]
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, Condition):
        return value.text
    if isinstance(value, float) and value.is_integer():
        return int(value)
    if value is None or isinstance(value, str | int | float):
        return value
    counted = {field.name for field in fields(type(value)) if field.eq}
    return {key: _plain(getattr(value, name)) for key, (name, _) in written(type(value)).items() if name in counted}
