"""Which facts can occur together in a region, and whether conditions can hold on them.

A profile names finitely many numbers, so a fact has finitely many *cells* within which every condition answers alike: each
number named, and the gaps between two neighbours. A set of cells is a bit mask; a condition is a union of *boxes*, each a
mask for some facts. So "can these hold together?" has an exact answer on the facts one by one. What is known of facts
together (hair that is ready is through, ...) only ever makes fewer combinations possible; what is not known makes none
impossible: a condition said never to hold never does.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping
from itertools import combinations, pairwise
from math import ceil, floor, inf
from typing import Any, Final, NamedTuple, TypeAlias

from attrs import field, frozen

from coatrules.conditions.condition import Condition
from coatrules.formats.resources import schema
from coatrules.learning.layer_counts import LEAST, shows_weeks
from coatrules.profile.compiled import CompiledProfile, CompiledRegion
from coatrules.profile.model import Profile
from coatrules.profile.references import OUTCOMES

Box: TypeAlias = dict[str, int]
Requirement: TypeAlias = tuple[Condition, bool]
"""A condition, and whether it is to hold or not to hold."""

ABSENT: Final = object()
MOST_BOXES: Final = 400  # beyond it a question is left open: everything counts as possible
_COMBINE: Final = ("anyOf", "allOf", "not")
_HAIR: Final = (
    "cover",
    "through_share",
    "ready_share",
    "blown_share",
    "longest_mm",
    "oldest_weeks",
    "outline_mm",
    "layers",
)
_PLACE: Final = ("region", "groups", "coat", "sensitivity")
NEVER_ABSENT: Final = frozenset({*_HAIR, *_PLACE, "visits", "minutes", "health", "outcome"})
_AT_MOST: Final = (
    ("blown_share", "ready_share"),
    ("blown_share", "through_share"),
    ("ready_share", "through_share"),
    ("cover", "through_share"),
)
"""Pairs of which the first is never the greater (DEVELOPERS.md: blown hair is ready, ready hair is through, as is what covers)."""


class Cell(NamedTuple):
    """Values that no condition tells apart: one of them, and for numbers the bounds of all."""

    value: object
    low: float = -inf
    high: float = inf


@frozen
class Domain:
    """The cells of one fact in one region; the last is the fact's being absent, where that can be."""

    cells: tuple[Cell, ...]
    masks: dict[str, int] = field(factory=dict, eq=False, repr=False)

    @property
    def whole(self) -> int:
        """The mask of all cells."""
        return (1 << len(self.cells)) - 1

    def of(self, mask: int) -> Iterator[Cell]:
        """The cells of a mask."""
        return (cell for index, cell in enumerate(self.cells) if mask >> index & 1)

    def mask(self, test: Any) -> int:
        """The cells that a test of the fact (in its normal form) accepts."""
        text = json.dumps(test, sort_keys=True)
        if text not in self.masks:
            holds = Condition.parse({"fact": test}).holds
            accepted = (cell.value is not ABSENT and holds({"fact": cell.value}) for cell in self.cells)
            self.masks[text] = sum(1 << index for index, accepts in enumerate(accepted) if accepts)
        return self.masks[text]


class TooMany(Exception):
    """A question with more boxes than are worth looking at."""


@frozen(eq=False)
class Space:
    """The facts of one region, with all the values that can occur there."""

    domains: Mapping[str, Domain]

    def possible(self, *requirements: Requirement) -> bool:
        """Whether facts can occur on which each condition is as wanted; true where that is not certain."""
        try:
            boxes: list[Box] = [{}]
            for condition, holds in requirements:
                boxes = self._both(boxes, self.boxes(json.loads(condition.text), holds))
        except TooMany:
            return True
        return any(map(self._occurs, boxes))

    def boxes(self, tree: Mapping[str, Any], holds: bool) -> list[Box]:
        """The boxes on which a condition, in its normal form, holds (or does not)."""
        parts = [self._pair(name, test, holds) for name, test in tree.items() if name not in _COMBINE]
        if "anyOf" in tree:
            parts.append(self._joined([self.boxes(part, holds) for part in tree["anyOf"]], any_of=holds))
        parts += [self.boxes(part, holds) for part in tree.get("allOf", ())]
        if "not" in tree:
            parts.append(self.boxes(tree["not"], not holds))
        return self._joined(parts, any_of=not holds)

    def _pair(self, name: str, test: Any, holds: bool) -> list[Box]:
        domain = self.domains[name]
        mask = domain.mask(test)
        mask = mask if holds else domain.whole & ~mask
        return [{name: mask}] if mask else []

    def _joined(self, parts: list[list[Box]], *, any_of: bool) -> list[Box]:
        if any_of:
            return [box for part in parts for box in part]
        boxes: list[Box] = [{}]
        for part in parts:
            boxes = self._both(boxes, part)
        return boxes

    def _both(self, first: list[Box], second: list[Box]) -> list[Box]:
        if len(first) * len(second) > MOST_BOXES:
            raise TooMany
        boxes = []
        for left in first:
            for right in second:
                box = left | {name: left.get(name, mask) & mask for name, mask in right.items()}
                if all(box.values()):
                    boxes.append(box)
        return boxes

    def _occurs(self, box: Box) -> bool:
        """Whether what is known of facts together leaves anything of a box."""
        for less, more in _AT_MOST:
            if less in box or more in box:
                least = min(cell.low for cell in self._cells(box, less))
                most = max(cell.high for cell in self._cells(box, more))
                if least > most:
                    return False
        if "visits" in box or "weeks_since_visit" in box:  # there was a last visit just where there was any
            none = any(cell.low <= 0 for cell in self._cells(box, "visits"))
            some = any(cell.high > 0 for cell in self._cells(box, "visits"))
            since = [cell.value is ABSENT for cell in self._cells(box, "weeks_since_visit")]
            return (none and any(since)) or (some and not all(since))
        return True

    def _cells(self, box: Box, name: str) -> Iterator[Cell]:
        domain = self.domains[name]
        return domain.of(box.get(name, domain.whole))


class Spaces:
    """The spaces of all regions of a profile."""

    def __init__(self, compiled: CompiledProfile) -> None:
        self.compiled = compiled
        self._catalogue: Mapping[str, Any] = schema("facts")["properties"]
        self._numbers = _numbers(compiled.profile)
        self._domains: dict[tuple[Cell, ...], Domain] = {}
        self._spaces: dict[str, Space] = {}
        self._answers: dict[tuple[object, ...], bool] = {}
        self._common = {name: self._domain(name) for name in (*self._catalogue, *compiled.profile.comparisons)}

    def of(self, region: CompiledRegion) -> Space:
        """The space of one region."""
        if region.id not in self._spaces:
            self._spaces[region.id] = Space(self._common | dict(self._region_domains(region)))
        return self._spaces[region.id]

    def anywhere(self, region: CompiledRegion) -> Space:
        """What could come out in a region, were the profile another: all that the catalogue allows."""
        return Space(dict(self._outcome(region)) | self._common)

    def possible(self, region: CompiledRegion, *requirements: Requirement) -> bool:
        """As ``Space.possible``; regions whose facts are alike are asked once."""
        space = self.of(region)
        names = sorted(set().union(*(condition.facts() for condition, _ in requirements)))
        key = (requirements, *(id(space.domains[name]) for name in names))
        if key not in self._answers:
            self._answers[key] = space.possible(*requirements)
        return self._answers[key]

    def _region_domains(self, region: CompiledRegion) -> Iterator[tuple[str, Domain]]:
        growth = region.growth
        yield "region", self._of_values([region.id])
        yield "groups", self._of_values([region.groups])
        yield "coat", self._of_values([region.region.coat])
        levels = [region.zone.level] if region.zone is not None else ["none", "medium"]
        yield "sensitivity", self._of_values(levels)
        yield "longest_mm", self._number("longest_mm", 0, growth.full_mm)
        yield "outline_mm", self._number("outline_mm", 0, growth.full_mm)
        yield "next_layer_weeks", self._number("next_layer_weeks", 0, shows_weeks(growth) / LEAST)
        if growth.undercoat_weeks is None:
            yield "weeks_since_card", self._interned((Cell(ABSENT),))

    def _outcome(self, region: CompiledRegion) -> Iterator[tuple[str, Domain]]:
        yield "outcome", self._of_values(OUTCOMES)
        methods = [name for ranking in region.methods.values() for name, _ in ranking]
        yield "method", self._of_values([*methods, ABSENT])
        yield "share", self._number("share", 0, 1)
        yield "minutes_planned", self._number("minutes_planned", 0, 600)

    def _domain(self, name: str) -> Domain:
        about = self._catalogue.get(name)
        if about is None:
            return self._number(name, 0, inf)
        match about["type"]:
            case "number" | "integer":
                return self._number(name, about["minimum"], about["maximum"], whole=about["type"] == "integer")
            case "boolean":
                values: list[object] = [True, False]
            case "array" if "enum" in about["items"]:
                kinds = about["items"]["enum"] if name in self._numbers else []
                values = [some for size in range(len(kinds) + 1) for some in combinations(kinds, size)]
            case _:
                values = list(about.get("enum", ()))
        return self._of_values(values if name in NEVER_ABSENT else [*values, ABSENT])

    def _of_values(self, values: Iterable[object]) -> Domain:
        return self._interned(tuple(map(Cell, values)))

    def _number(self, name: str, low: float, high: float, *, whole: bool = False) -> Domain:
        named = self._numbers.get(name, set())
        if whole:
            named = {float(round_to(n)) for n in named for round_to in (floor, ceil)}
        inside = (n for n in named if low <= n <= high)
        points = sorted({float(low), *inside, *([float(high)] if high < inf else [])})
        cells = [Cell(float(low), low, low)]
        for lower, upper in pairwise(points):
            if not whole:
                cells.append(Cell((lower + upper) / 2, lower, upper))
            elif floor(lower) + 1 < upper:
                cells.append(Cell(float(floor(lower) + 1), floor(lower) + 1, ceil(upper) - 1))
            cells.append(Cell(upper, upper, upper))
        if high == inf:
            cells.append(Cell(points[-1] + 1, points[-1], inf))
        if name not in NEVER_ABSENT:
            cells.append(Cell(ABSENT))
        return self._interned(tuple(cells))

    def _interned(self, cells: tuple[Cell, ...]) -> Domain:
        return self._domains.setdefault(cells, Domain(cells))


def _numbers(profile: Profile) -> dict[str, set[float]]:
    """The numbers that the profile's conditions compare each fact with; a fact that is only named has none."""
    numbers: dict[str, set[float]] = {}
    conditions = [part.when for section in (profile.rules, profile.methods) for part in section.values()]
    conditions += [expected for case in profile.cases.values() for expected in case.expect.regions.values()]
    for condition in set(conditions):
        _gather(json.loads(condition.text), numbers)
    return numbers


def _gather(tree: Mapping[str, Any], numbers: dict[str, set[float]]) -> None:
    for name, test in tree.items():
        if name in ("anyOf", "allOf"):
            for part in test:
                _gather(part, numbers)
        elif name == "not":
            _gather(test, numbers)
        else:
            numbers.setdefault(name, set()).update(_leaves(test))


def _leaves(value: Any) -> Iterator[float]:
    if isinstance(value, Mapping):
        value = list(value.values())
    if isinstance(value, list):
        for item in value:
            yield from _leaves(item)
    elif isinstance(value, int | float) and not isinstance(value, bool):
        yield float(value)
