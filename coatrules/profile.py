"""A breed-and-coat profile: what a mentor writes, as frozen values.

Every class mirrors one object of ``schemas/profile.schema.json``; what a key means, its unit and its range are said there.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Annotated, ClassVar, Literal

from attrs import field, frozen

from coatrules.coat import Growth
from coatrules.conditions import Condition
from coatrules.documents import Edition, Origin
from coatrules.values import (
    FactName,
    Id,
    Ids,
    Length,
    Level,
    Matches,
    Millimetres,
    Minutes,
    Points,
    Range,
    Share,
    TaskKind,
    Words,
)

SourceOf = Id | Ids | Annotated[Mapping[FactName, Id], Length(1)]
"""Where an object's numbers come from: one source's id, several, or one for each key."""

AddedKind = Literal["card", "clip", "scissor", "comb"]

ALWAYS = Condition.parse({})


@frozen(eq=False, repr=False)
class Breed:
    fci: Annotated[int, Range(1, 999)] | None = None
    vbo: Annotated[str, Matches("^VBO:[0-9]{7}$")] | None = None
    variety: Words | None = None
    source: SourceOf | None = None


@frozen(eq=False, repr=False)
class VisitPlan:
    every_weeks: Annotated[float, Range(0, 52, above=True)]
    minutes: Minutes
    pace_spread: Annotated[float, Range(0, 0.5, above=True)]
    region_spread: Annotated[float, Range(0, 0.5, above=True)] = 0.10
    measure_mm: Annotated[float, Range(0, 20, above=True)] = 2.0
    source: SourceOf | None = None


@frozen(eq=False, repr=False)
class Source:
    title: Words | None = None
    publisher: Words | None = None
    year: Annotated[int, Range(1800, 2100)] | None = None
    common_practice: bool = False
    from_memory: bool = False
    derived: bool = False
    note: Words | None = None


@frozen(eq=False, repr=False)
class CoatKind(Growth):
    """How one kind of hair grows, with the source of its numbers."""

    source: SourceOf | None = field(default=None, eq=False)


@frozen(eq=False, repr=False)
class Region:
    label: Words
    coat: Id
    minutes: Mapping[TaskKind, Minutes] = field(factory=dict)
    paired: bool = False
    uberon: Annotated[str, Matches("^UBERON:[0-9]{7}$")] | None = None
    source: SourceOf | None = None


@frozen(eq=False, repr=False)
class Take:
    usual: Share
    at_most: Share = 1.0
    low_spot: Share = 0.0


@frozen(eq=False, repr=False)
class Cover:
    at_least: Share


@frozen(eq=False, repr=False)
class LayerTarget:
    regions: Ids
    layers: Annotated[int, Range(1, 20)]
    take: Take
    cover: Cover | None = None
    longest_mm: Annotated[tuple[Millimetres, ...], Length(2, 2)] | None = None
    show_mm: Annotated[tuple[Millimetres, ...], Length(2, 2)] | None = None
    full_strip: bool = False
    because: Words | None = None
    source: SourceOf | None = None


@frozen(eq=False, repr=False)
class SensitiveZone:
    regions: Ids
    level: Level
    bout_minutes: Annotated[float, Range(0, 60, above=True)]
    rest_minutes: Annotated[float, Range(0, 60)]
    because: Words | None = None
    source: SourceOf | None = None


@frozen(eq=False, repr=False)
class ClipperOnlyZone:
    regions: Ids
    leave_mm: Millimetres
    every_weeks: Annotated[float, Range(0, 104, above=True)]
    because: Words | None = None
    source: SourceOf | None = None


@frozen(eq=False, repr=False)
class Routine:
    regions: Ids
    task: Literal["scissor", "comb", "clip"]
    every_weeks: Annotated[float, Range(0, 104, above=True)]
    minutes: Minutes
    because: Words | None = None
    source: SourceOf | None = None


@frozen(eq=False, repr=False)
class Method:
    label: Words
    does: TaskKind
    regions: Ids | None = None
    when: Condition = field(default=ALWAYS, metadata={"key": "if"})
    rank: Points = 0.0
    how: Words | None = None
    then: Id | None = None
    until: Words | None = None
    source: SourceOf | None = None


@frozen(eq=False, repr=False)
class Comparison:
    fact: FactName
    of: Id
    to: Id


@frozen(eq=False, repr=False)
class TakeLimits:
    LEAST_KEYS: ClassVar[int] = 1
    at_least: Share | None = None
    at_most: Share | None = None


NO_LIMITS = TakeLimits()


@frozen(eq=False, repr=False)
class Effect:
    LEAST_KEYS: ClassVar[int] = 1
    take: TakeLimits = NO_LIMITS
    leave: Annotated[tuple[TaskKind, ...], Length(1)] = ()
    add: Annotated[Mapping[AddedKind, Minutes], Length(1)] = field(factory=dict)
    use: Id | None = None
    priority: Points = 0.0
    caution: Words | None = None
    refer: Words | None = None
    whole_dog: bool = False
    acts: bool = field(init=False)
    """Whether it does more than move the priority."""

    @acts.default
    def _acts(self) -> bool:
        return any((self.take is not NO_LIMITS, self.leave, self.add, self.use, self.caution, self.refer))


@frozen(eq=False, repr=False)
class Rule:
    then: Effect
    because: Words
    regions: Ids | None = None
    when: Condition = field(default=ALWAYS, metadata={"key": "if"})
    source: SourceOf | None = None


@frozen(eq=False, repr=False)
class ExpectedVisit:
    earliest: date | None = None
    best: date | None = None
    latest: date | None = None


@frozen(eq=False, repr=False)
class Expectation:
    regions: Mapping[Id, Condition] = field(factory=dict)
    rules: tuple[Id, ...] = ()
    not_rules: tuple[Id, ...] = ()
    steps: tuple[Id, ...] = ()
    refer: bool | None = None
    next_visit: ExpectedVisit = ExpectedVisit()


@frozen(eq=False, repr=False)
class Case:
    history: Mapping[str, object]
    date: date
    expect: Expectation
    minutes: Minutes | None = None
    because: Words | None = None


@frozen(eq=False, repr=False)
class Profile:
    """A whole profile, its ``extends`` already merged in. Made by ``load_profile``; hashable by identity."""

    format: Annotated[int, Range(1, 1)]
    id: Id
    label: Words
    visit: VisitPlan
    coats: Mapping[Id, CoatKind]
    regions: Mapping[Id, Region]
    about: Words | None = None
    extends: Id | None = None
    breed: Breed | None = None
    sources: Mapping[Id, Source] = field(factory=dict)
    groups: Mapping[Id, Ids] = field(factory=dict)
    layer_targets: Mapping[Id, LayerTarget] = field(factory=dict)
    sensitive_zones: Mapping[Id, SensitiveZone] = field(factory=dict)
    clipper_only_zones: Mapping[Id, ClipperOnlyZone] = field(factory=dict)
    routines: Mapping[Id, Routine] = field(factory=dict)
    methods: Mapping[Id, Method] = field(factory=dict)
    comparisons: Mapping[FactName, Comparison] = field(factory=dict)
    rules: Mapping[Id, Rule] = field(factory=dict)
    cases: Mapping[Id, Case] = field(factory=dict)
    edition: Edition = field(default=Edition(None), metadata={"hidden": True})
    origin: Origin = field(default=Origin(), metadata={"hidden": True})

    @property
    def sha256(self) -> str:
        """Which edition of the profile this is, all that it builds on merged in."""
        return self.edition.sha256
