"""A dog's history and today's order as a worked case, for a mentor to cut down to what it should show."""

from __future__ import annotations

from datetime import date
from textwrap import fill
from typing import Any, Final

from attrs import evolve

from coatrules.catalogue.speaking import say
from coatrules.check.cases import outcome_facts
from coatrules.dog.history import History
from coatrules.formats.profile_text import profile_text
from coatrules.order.engine import order
from coatrules.profile.case_history import in_series
from coatrules.profile.compiled import compile_profile
from coatrules.profile.model import Profile
from coatrules.read_only import NOTHING

_WORKED_KEYS = ("outcome", "share", "method", "layers")
"""Of a region that is worked; of others only the outcome."""


def draft_case(profile: Profile, history: History, day: date, minutes: float | None = None) -> dict[str, Any]:
    """The case as plain data by the profile's schema: visits up to the day, and what comes out of them.

    Names, ids, notes and what another program keeps are left out, and the day of birth is moved within its month: a case is
    published with its profile, and the dog is somebody's.
    """
    past = tuple(evolve(visit, note=None, corrects=False, extras=NOTHING) for _, visit in history.until(day))
    dog = evolve(
        history.dog, id=NAMELESS, name=None, born=_about(history.dog.born), note=None, profile=None, extras=NOTHING
    )
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
    case: dict[str, Any] = {"because": say("case.because"), "history": in_series(nameless.to_dict())}
    case["date"] = day.isoformat()
    if minutes is not None:
        case["minutes"] = minutes
    return {**case, "expect": expect}


NAMELESS: Final = "dog"
"""The id of the dog of a case: its own may be its call name."""


def _about(born: date | None) -> date | None:
    """A day of birth that is not the dog's own: the first of its month."""
    return None if born is None else born.replace(day=1)


def case_text(profile: Profile, history: History, day: date, minutes: float | None = None) -> str:
    """The case as YAML, indented to stand under ``cases``."""
    name = f"{NAMELESS}-{day.isoformat()}"
    data = {"cases": {name: draft_case(profile, history, day, minutes)}}
    head = fill(say("case.head", profile=profile.id), 120, initial_indent="# ", subsequent_indent="# ")
    return f"{head}\n{profile_text(data)}"
