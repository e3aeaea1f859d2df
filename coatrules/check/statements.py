"""What breed standards, clubs and pages say of a breed: the rows of ``profiles/evidence/statements.csv`` that a profile answers to."""

from __future__ import annotations

import csv
from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import cache
from typing import Any, Final, Literal, NamedTuple, TypeAlias

from coatrules.disk import read
from coatrules.formats.resources import folder
from coatrules.profile.loading import load_profile
from coatrules.profile.model import Breed, Profile
from coatrules.reading import MAX_BYTES

AskedAs: TypeAlias = Literal["length", "relation", "pulled", "cut", "untouched", "rhythm", "puppy", "none"]
"""How a row can be asked of a profile; ``profiles/evidence/README.md`` says when the profile holds."""

POINTS: Final = "points-of-the-dog"
"""The profile by whose regions and groups the rows name places."""
ABOUT: Final = 0.1
"""One rounded figure is met by a tenth either way."""


class Statement(NamedTuple):
    """A statement on one breed. ``points``, ``than``: points of the dog. ``low``, ``high``: mm or weeks, as it is asked.
    ``tasks``: what is done, or not done. ``says``: its words; ``title``, ``publisher``, ``year``, ``page``: where they are."""

    id: str
    regime: str
    asked_as: AskedAs
    points: tuple[str, ...]
    than: tuple[str, ...]
    relation: str
    ratio: float | None
    low: float
    high: float
    about: bool
    tasks: tuple[str, ...]
    weeks_of: str
    title: str
    publisher: str
    year: str
    page: str
    says: str

    @property
    def limits(self) -> tuple[float, float]:
        """The least and the greatest figure that meet it."""
        slack = ABOUT if self.about else 0.0
        return self.low * (1 - slack), self.high * (1 + slack)


class _Named(NamedTuple):
    """A breed of the table. ``varieties``: words of which one is in the name of the variety; none where the rows are of all."""

    fci: int | None
    vbo: str | None
    varieties: tuple[str, ...]

    def is_of(self, breed: Breed) -> bool:
        same = (self.vbo is not None and breed.vbo == self.vbo) or (self.fci is not None and breed.fci == self.fci)
        if not same or not self.varieties or breed.variety is None:
            return same
        return any(word in breed.variety.casefold() for word in self.varieties)


def statements_on(profile: Profile) -> Iterator[Statement]:
    """Yields the rows that a profile is held to: of its breed, by number, and of its way of keeping. Rows that only permit, and those
    that give way to another source, bind nobody."""
    if profile.breed is None:
        return
    groups = _groups(profile)
    for name, breed in _breeds().items():
        for row in csv.DictReader(_by_breed().get(name, ())) if breed.is_of(profile.breed) else ():
            binds = row["asked_as"] != "none" and row["force"] != "may" and not row["yields_to"]
            if binds and _is_of_keeping(row["regime"], profile):
                yield _statement(row, groups)


def _is_of_keeping(regime: str, profile: Profile) -> bool:
    """Whether a profile is of the way of keeping that a row speaks of. One without regimes is of a companion; one that sets
    companions apart is of show dogs."""
    if not regime or regime == profile.regime:
        return True
    if profile.regime is not None or regime in profile.regimes:
        return False
    return regime == ("show" if "pet" in profile.regimes else "pet")


@cache
def _breeds() -> Mapping[str, _Named]:
    return {
        row["breed"]: _Named(int(row["fci"]) if row["fci"] else None, row["vbo"] or None, _list(row["variety"]))
        for row in csv.DictReader(_lines("breeds"))
    }


@cache
def _by_breed() -> Mapping[str, Sequence[str]]:
    """The lines of the table by breed, its heading before each: most are not asked about, so none is taken apart."""
    heading, *lines = _lines("statements")
    found: dict[str, list[str]] = {}
    for line in lines:
        found.setdefault(line.split(",", 2)[1], [heading]).append(line)
    return found


def _lines(table: str) -> list[str]:
    return read(folder("profiles") / "evidence" / f"{table}.csv", MAX_BYTES).decode().splitlines()


def _groups(profile: Profile) -> Mapping[str, Iterable[str]]:
    """The groups of the points of the dog, as they stand in the profile that nearly all build on."""
    for _, document in profile.origin.parts:
        if document.data.get("id") == POINTS and isinstance(groups := document.data.get("groups"), Mapping):
            return groups
    return load_profile(POINTS).groups


def _statement(row: Mapping[str, str], groups: Mapping[str, Iterable[str]]) -> Statement:
    unit = "mm" if row["asked_as"] == "length" else "weeks"
    asked_as: Any = row["asked_as"]
    return Statement(
        id=row["id"].lower(),
        regime=row["regime"],
        asked_as=asked_as,
        points=tuple(_points(_list(row["region"]), groups)),
        than=tuple(_points(_list(row["than"]), groups)),
        relation=row["relation"],
        ratio=_number(row["ratio"]),
        low=_number(row[f"low_{unit}"]) or 0.0,
        high=_number(row[f"high_{unit}"]) or 0.0,
        about=row["about"] == "yes",
        tasks=_list(row["task"]),
        weeks_of=row["weeks_of"],
        title=row["title"],
        publisher=row["publisher"],
        year=row["year"],
        page=row["page"],
        says=row["text"],
    )


def _points(names: Iterable[str], groups: Mapping[str, Iterable[str]]) -> Iterator[str]:
    for name in names:
        yield from _points(groups[name], groups) if name in groups else (name,)


def _list(cell: str) -> tuple[str, ...]:
    return tuple(cell.split("+")) if cell else ()


def _number(cell: str) -> float | None:
    return float(cell) if cell else None
