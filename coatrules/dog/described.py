"""What is known of a dog itself on a day, whatever its coat: facts by name, as ``schemas/facts.schema.json`` defines them."""

from __future__ import annotations

from datetime import date
from typing import Final

from coatrules.dog.history import Dog

OF_THE_DOG: Final = ("sex", "size", "coat_type", "colour")
"""What a history says of a dog and what is a fact as it is written."""
_SEASONS: Final = ("winter", "spring", "summer", "autumn")


def described(dog: Dog, day: int) -> dict[str, object]:
    """Returns the facts of a dog itself on a day (an ordinal); what nobody knows is absent."""
    month = date.fromordinal(day).month
    facts: dict[str, object] = {"month": month, "time_of_year": _time_of_year(month, dog.hemisphere)}
    facts |= {name: value for name in OF_THE_DOG if (value := getattr(dog, name)) is not None}
    if dog.born is not None and dog.born.toordinal() <= day:
        facts["age_weeks"] = (day - dog.born.toordinal()) / 7
    if dog.neutered is not None:
        facts["neutered"] = dog.neutered if isinstance(dog.neutered, bool) else dog.neutered.toordinal() <= day
    return facts


def _time_of_year(month: int, hemisphere: str) -> str:
    """The meteorological season, of three whole months. Source: Met Office, "When does spring start?" (from memory)."""
    return _SEASONS[(month // 3 + (2 if hemisphere == "southern" else 0)) % 4]
