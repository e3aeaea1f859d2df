"""Brings a profile of format 1 to format 2 as it is loaded: how hair grows is said by other figures.

Format 1 said from which week on hair breaks through, at which length it stops and when it is blown. Format 2 says how long
it grows and how long it then rests, so that the three cannot disagree.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, NamedTuple

LEAST_REST = 1.0
"""Weeks that hair rests at least where format 1 had it blown before it was grown."""
RENAMED = {"breakthrough_weeks": "lag_weeks"}


class Carried(NamedTuple):
    """The weeks that hair rests by a format 1 coat: ``rests_weeks``, where it is blown before it has grown the least there is.

    None: of its other figures some are missing, or no numbers. early: it was blown before it had grown out.
    """

    rests_weeks: float | None
    early: bool


def rests_of(coat: Mapping[str, Any], inherited: Mapping[str, Any]) -> Carried:
    """Returns the weeks that hair of a format 1 coat rests; ``inherited``: what the coat builds on, in format 2."""
    blown, rate = coat.get("blown_weeks"), coat.get("mm_per_week", inherited.get("mm_per_week"))
    lag = coat.get("breakthrough_weeks", inherited.get("lag_weeks"))
    grows, full = inherited.get("grows_weeks"), coat.get("full_mm", inherited.get("full_mm"))
    if _number(full) and _number(rate) and rate:
        grows = full / rate
    if not (_number(blown) and _number(lag) and _number(grows)):
        return Carried(None, False)
    rests = round(blown - lag - grows, 1)
    return Carried(max(rests, LEAST_REST), rests < 0)


def upgraded(data: Mapping[str, Any], inherited: Mapping[str, Any]) -> dict[str, Any]:
    """Returns the data of a format 1 profile in format 2; ``inherited``: all that it builds on, in format 2."""
    coats, before = data.get("coats"), inherited.get("coats")
    if not isinstance(coats, Mapping):
        return {**data, "format": 2}
    known: Mapping[str, Any] = before if isinstance(before, Mapping) else {}
    return {
        **data,
        "format": 2,
        "coats": {
            name: _coat(coat, known.get(name)) if isinstance(coat, Mapping) else coat for name, coat in coats.items()
        },
    }


def _coat(coat: Mapping[str, Any], inherited: Any) -> dict[str, Any]:
    known: Mapping[str, Any] = inherited if isinstance(inherited, Mapping) else {}
    rests = rests_of(coat, known).rests_weeks
    found: dict[str, Any] = {}
    for key, value in coat.items():
        if key == "blown_weeks" and value is not None:
            if rests is not None:
                found["rests_weeks"] = rests
        elif key == "source" and isinstance(value, Mapping):
            names = {**RENAMED, "blown_weeks": "rests_weeks"}
            found[key] = {names.get(figure, figure): source for figure, source in value.items()}
        else:
            found[{**RENAMED, "blown_weeks": "rests_weeks"}.get(key, key)] = value
    return found


def one_length(patch: Mapping[str, Any]) -> Any:
    """Returns a profile's data so that a coat that says its length, or how long it grows, takes back what it inherits of the
    other: the two say the same."""
    coats = patch.get("coats")
    if not isinstance(coats, Mapping):
        return patch
    found = dict(coats)
    for name, coat in coats.items():
        if isinstance(coat, Mapping) and ("full_mm" in coat) != ("grows_weeks" in coat):
            found[name] = {**coat, "grows_weeks" if "full_mm" in coat else "full_mm": None}
    return {**patch, "coats": found}


def early_coats(data: Mapping[str, Any], inherited: Mapping[str, Any]) -> Iterator[str]:
    """Yields the coats of a format 1 profile whose hair was blown before it had grown out."""
    coats, before = data.get("coats"), inherited.get("coats")
    known: Mapping[str, Any] = before if isinstance(before, Mapping) else {}
    for name, coat in coats.items() if isinstance(coats, Mapping) else ():
        if isinstance(coat, Mapping) and rests_of(coat, known.get(name) or {}).early:
            yield name


def _number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)
