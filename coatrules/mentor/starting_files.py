"""Commented files to start from: a dog's history, and a profile."""

from __future__ import annotations

import json
from contextlib import suppress
from datetime import date
from typing import Final

from coatrules.catalogue.speaking import say
from coatrules.dog.loading import given_history
from coatrules.formats.resources import folder
from coatrules.formats.values import ID_PATTERN, matches
from coatrules.problems import InputError, Problem
from coatrules.profile.model import Profile
from coatrules.profile.shelves import label_from_id
from coatrules.reading import read_yaml

USUAL_PROFILE: Final = "griffon-bruxellois-rough"
"""The profile of a new dog where none is named."""
UNNAMED: Final = "my-dog"
"""The id of a new dog where none is given."""
FIRST_BASE: Final = "points-of-the-dog"
"""What a new profile builds on where none is named."""


def profile_to_start_from(base: Profile, name: str, schema: str = "") -> str:
    """Returns a profile to start from: whole on a base that asks for no coat, else of what it may change.

    ``schema``: where an editor finds the schema, if not where it is installed. Raises ``InputError`` for a name that is no id.
    """
    if not matches(ID_PATTERN, name):
        raise InputError([Problem(code="schema-id", params={"value": name})])
    own = {
        "schema": schema or (folder("schemas") / "profile.schema.json").as_uri(),
        "id_key": f"id: {name}".ljust(37),
    }
    if not base.layer_targets:
        return say("new.profile", **own, extends_key=f"extends: {base.id}".ljust(37))
    target_id, target = next(iter(base.layer_targets.items()))
    figures = {"every_weeks": base.visit.every_weeks, "minutes": base.visit.minutes, "usual": target.take.usual}
    label = json.dumps(label_from_id(name), ensure_ascii=False)
    return say("new.profile-on", **own, base=base.id, label=label, target=target_id, **figures)


def history_to_start_from(profile: Profile, dog: str | int, name: str, day: date) -> str:
    """Returns a history without a visit, whose examples name parts that its profile has and are of this day; raises ``InputError`` for
    what is no dog's id or name. Without a name the dog is called by its id."""
    if not name:
        name = say("new.dog-name") if dog == UNNAMED else " ".join(word.capitalize() for word in str(dog).split("-"))
    given_history({"format": 1, "dog": {"id": dog, "name": name}})
    known = {*profile.groups, *profile.regions}
    parts = [part for part in ("body", "legs", "head", *profile.groups, *profile.regions) if part in known]
    first, second, third = [*dict.fromkeys(parts), *parts[:1] * 2][:3]
    return say(
        "new.dog",
        id_key=f"id: {_in_yaml(dog)}".ljust(35),
        name=_in_yaml(name),
        profile_key=f"profile: {profile.id}".ljust(35),
        first=first,
        second=second,
        third=third,
        day=day.isoformat(),
    )


def _in_yaml(name: str | int) -> str:
    """A word as it is written, in quotes where it would be read as another."""
    with suppress(InputError):
        (document,) = read_yaml(f"id: {name}")
        if document.data == {"id": name}:
            return str(name)
    return json.dumps(name, ensure_ascii=False)
