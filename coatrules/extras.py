"""Libraries that only some commands need: asked for when they are needed, missed in plain words."""

from __future__ import annotations

from importlib.util import find_spec

from coatrules.problems import InputError, Problem


def require_extra(extra: str, *modules: str) -> None:
    """Passes where all ``modules`` can be imported; else raises ``InputError`` that says which extra brings them."""
    missing = tuple(name for name in modules if find_spec(name) is None)
    if missing:
        raise InputError(
            [Problem(code="extra-missing", params={"extra": extra, "modules": missing, "count": len(missing)})]
        )
