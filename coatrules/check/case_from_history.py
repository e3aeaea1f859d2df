"""A dog's history and today's order as a worked case, for a mentor to cut down to what it should show."""

from __future__ import annotations

from datetime import date
from textwrap import fill
from typing import Any

import yaml
from attrs import evolve

from coatrules.catalogue.speaking import say
from coatrules.check.cases import outcome_facts
from coatrules.dog.history import History
from coatrules.formats.values import ID_PATTERN, matches
from coatrules.order.engine import order
from coatrules.profile.compiled import compile_profile
from coatrules.profile.model import Profile
from coatrules.read_only import NOTHING
from coatrules.recording.text import history_data

_WORKED_KEYS = ("outcome", "share", "method", "layers")
"""Of a region that is worked; of others only the outcome."""


def draft_case(profile: Profile, history: History, day: date, minutes: float | None = None) -> dict[str, Any]:
    """The case as plain data by the profile's schema: visits up to the day, and what comes out of them.

    Names, notes and what another program keeps are left out: a case is published with its profile, and the dog is somebody's.
    """
    past = tuple(evolve(visit, note=None, corrects=False, extras=NOTHING) for _, visit in history.until(day))
    dog = evolve(history.dog, id=_public_id(history.dog.id), name=None, note=None, profile=None, extras=NOTHING)
    nameless = evolve(history, dog=dog, visits=past)
    today = order(compile_profile(profile), nameless, day, minutes)
    regions = {}
    for region in today.labels:
        facts = outcome_facts(today, region)
        keys = _WORKED_KEYS if facts["outcome"] == "worked" else _WORKED_KEYS[:1]
        regions[region] = {key: facts[key] for key in keys if key in facts}
    expect: dict[str, Any] = {"regions": regions}
    if rules := sorted({rule for fired in today.fired.values() for rule in fired}):
        expect["rules"] = rules
    if today.refer:
        expect["refer"] = True
    expect["next_visit"] = {"best": today.next_visit.best.isoformat()}
    case: dict[str, Any] = {"because": say("case.because"), "history": history_data(nameless)}
    case["date"] = day.isoformat()
    if minutes is not None:
        case["minutes"] = minutes
    return {**case, "expect": expect}


def _public_id(dog_id: str | int) -> str:
    """The dog's id where it is a plain short name; another program's id may tell whose the dog is."""
    return dog_id if isinstance(dog_id, str) and matches(ID_PATTERN, dog_id) else "dog"


def case_text(profile: Profile, history: History, day: date, minutes: float | None = None) -> str:
    """The case as YAML, indented to stand under ``cases``."""
    name = f"{_public_id(history.dog.id)}-{day.isoformat()}"
    data = {"cases": {name: draft_case(profile, history, day, minutes)}}
    text = yaml.safe_dump(data, sort_keys=False, allow_unicode=True, default_flow_style=None, width=110)
    head = fill(say("case.head", profile=profile.id), 120, initial_indent="# ", subsequent_indent="# ")
    return f"{head}\n{text}"
