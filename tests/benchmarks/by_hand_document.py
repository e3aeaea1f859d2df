"""What ``order_by_hand`` found, as the document that coatrules writes: the floor of JSON in and JSON out."""

from __future__ import annotations

from datetime import date
from typing import Any

from coatrules.catalogue.speaking import say
from coatrules.dog.safety import CAUTIONS
from tests.benchmarks.by_hand import REGIONS, Reason

_SENTENCES = {
    "coat.usual": "An ordinary visit takes {share} here.",
    "coat.overgrown": "{share} of the hair is blown or longer than wanted.",
    "coat.cap": "No more than {share} may go at one visit.",
    "coat.cover": "More than {share} would let the skin show.",
    "coat.low-spot": "The cover is short here; a little ({share}) still goes, so that no bare patch comes a cycle later.",
    "coat.not-ready": "Only {share} is long enough to pull.",
    "coat.too-little": "What is due ({share}) is not worth the dog's time.",
    "coat.nothing-ready": "No hair here is long enough to pull yet.",
    "coat.carded-first": "The undercoat comes out before the coat is pulled.",
}
_NOT_ITS_OWN = frozenset(
    ("visits", "minutes", "health", "sex", "neutered", "age_weeks", "weeks_since_visit", "region", "groups", "coat")
)


def document(found: dict[str, Any], sha256: str) -> dict[str, Any]:
    """The work order as plain data."""
    today, dog, latest = found["day"], found["dog"], found["latest"]
    windows = {bound: (min(soon + 1, day), max(late, day)) for bound, _, _, day, soon, late in found["binding"]}
    first = windows.get("earliest", (found["earliest"], found["earliest"]))
    last = windows.get("latest")
    planned = today + 21
    clash = latest is not None and found["earliest"] > latest
    pick = min if clash else max
    best = pick(planned, found["earliest"])
    around = [pick(planned, day) for day in first]
    if last is not None and not clash:
        best = min(best, latest)
        around = [min(day, end) for day, end in zip(around, last, strict=True)]
    return {
        "format": 1,
        "dog": {"id": dog["id"], "name": dog.get("name") or dog["id"]},
        "profile": {"id": "twenty", "label": "Twenty regions", "sha256": sha256},
        "date": _day(today),
        "pace": {"mean": 1.0, "sd": 0.15, "from": 0, "learned_from": []},
        "speed": {"mean": 1.0, "sd": 0.3, "from": 0, "regions": {}},
        "rolling": {"possible": "unknown", "most_layers": None, "evidence": [], "ended_by": []},
        "minutes": {"available": 600.0, "planned": sum(step["minutes"] for step in found["steps"])},
        "steps": [_step(number, step) for number, step in enumerate(found["steps"], 1)],
        "left_alone": {region: [*map(_reason, because)] for region, because in found["left_alone"].items()},
        "deferred": {},
        "not_to_be_touched": {},
        "refer": [],
        "next_visit": {
            "earliest": _day(found["earliest"]),
            "best": _day(best),
            "latest": _day(latest) if latest is not None else None,
            "clash": clash,
            "window": {
                "earliest": [*map(_day, first)],
                "best": [*map(_day, around)],
                "latest": [*map(_day, last)] if last is not None else None,
            },
            "because": [
                {"bound": bound, "region": region, "why": why, "day": _day(day), "window": [*map(_day, windows[bound])]}
                for bound, region, why, day, _, _ in found["binding"]
            ],
            "late": [],
        },
        "regions": {region: _region(region, found) for region in REGIONS},
        "findings": [],
        "cautions": list(CAUTIONS),
    }


def _step(number: int, step: dict[str, Any]) -> dict[str, Any]:
    method = step.get("method")
    return {
        "step": number,
        "region": step["region"],
        "task": step["task"],
        "share": _rounded(step["share"]),
        "leave_mm": None,
        "method": method,
        "how": "fine knife" if method == "knife" else method or "",
        "minutes": step["minutes"],
        "priority": step["priority"],
        "priority_parts": step["priority_parts"],
        "bout": [1, 1],
        "because": [*map(_reason, step["because"])],
        "cautions": [],
    }


def _region(region: str, found: dict[str, Any]) -> dict[str, Any]:
    layer = found["next_layers"][region]
    facts = {name: _rounded(value) for name, value in found["facts"][region].items() if name not in _NOT_ITS_OWN}
    return {
        "label": region,
        "facts": facts,
        "rules": found["fired"][region],
        "hair": [[round(share, 4), on.isoformat()] for share, on in found["hair"][region]],
        "guessed_share": round(found["guessed"][region] / 1_000_000, 4),
        "next_layer": layer and {"day": _day(layer[0]), "window": [_day(layer[1]), _day(layer[2])]},
    }


def _reason(reason: Reason) -> dict[str, Any]:
    rule, facts, said = reason
    return {"rule": rule, "text": said or _sentence(rule, facts), "facts": {n: _rounded(v) for n, v in facts.items()}}


def _sentence(rule: str, facts: dict[str, Any]) -> str:
    if rule == "coat.undercoat":
        undercoat = facts["undercoat"]
        return f"The undercoat is {'fully' if undercoat >= 1 else say.amount('share', undercoat)} back."
    sentence = _SENTENCES[rule].format(share=say.amount("share", facts["share"])) if facts else _SENTENCES[rule]
    return sentence[:1].upper() + sentence[1:]


def _rounded(value: Any) -> Any:
    return round(value, 4) if type(value) is float else list(value) if type(value) is tuple else value


def _day(ordinal: int) -> str:
    return date.fromordinal(ordinal).isoformat()
