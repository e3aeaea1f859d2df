"""A breed-and-coat profile: what a mentor writes, as frozen values.

Every class mirrors one object of ``schemas/profile.schema.json``; what a key means, its unit and its range are said there.
"""

from collections.abc import Mapping
from datetime import date
from typing import Annotated, Any, Literal

from attrs import field, frozen

from coatrules.coat.growth import Growth
from coatrules.conditions.condition import Condition
from coatrules.formats.digest import Edition
from coatrules.formats.documents import NOWHERE, Origin, without_file
from coatrules.formats.values import (
    EXTRAS,
    NAMES,
    UNWRITTEN,
    FactName,
    Id,
    IdPattern,
    Key,
    Length,
    Level,
    Matches,
    Millimetres,
    Minutes,
    Names,
    Outline,
    Place,
    Points,
    Range,
    Share,
    SourceOf,
    TaskKind,
    Words,
)
from coatrules.profile.case_history import written_out
from coatrules.read_only import NOTHING

AddedKind = Literal["card", "clip", "scissor", "comb"]

ALWAYS = Condition.parse({})


@frozen(kw_only=True)
class Breed:
    """The breed, by its number with the kennel federation (``fci``) and in the vertebrate breed ontology (``vbo``)."""

    fci: Annotated[int, Range(1, 999)] | None = None
    vbo: Annotated[str, Matches("^VBO:[0-9]{7}$")] | None = None
    variety: Words | None = None
    source: SourceOf | None = None


@frozen(kw_only=True)
class UsualVisit:
    """A profile's usual visit: weeks between visits, minutes of one, and how uncertain the pace of a dog is (standard deviations)."""

    every_weeks: Annotated[float, Range(0, 52, above=True)]
    minutes: Minutes
    pace_spread: Annotated[float, Range(0, 0.5, above=True)]
    region_spread: Annotated[float, Range(0, 0.5, above=True)] = 0.10
    measure_mm: Annotated[float, Range(0, 20, above=True)] = 2.0
    first_coat_weeks: Annotated[float, Range(8, 104)] | None = None
    tender_in_a_row: Annotated[int, Range(1, 20)] = 3
    source: SourceOf | None = None


@frozen(kw_only=True)
class Source:
    """Where a figure or a rule comes from: something published, or common practice. ``year``: when it was published."""

    title: Words | None = None
    publisher: Words | None = None
    year: Annotated[int, Range(1800, 2100)] | None = None
    common_practice: bool = False
    from_memory: bool = False
    derived: bool = False
    note: Words | None = None


@frozen(kw_only=True)
class Region:
    """A region of the dog. ``coat``: id of the coat that grows there. ``minutes``: of each task on the whole of it."""

    label: Words
    coat: Id
    minutes: Mapping[TaskKind, Minutes] = NOTHING
    paired: bool = False
    visible: bool = True
    uberon: Annotated[str, Matches("^UBERON:[0-9]{7}$")] | None = None
    anatomy: Annotated[str, Matches("^(UBERON:[0-9]{7}|none)$")] | None = None
    source: SourceOf | None = None


@frozen(kw_only=True)
class Take:
    """How much is pulled at a visit, as shares of a region's whole coat: usually, at most, and where the cover is low."""

    usual: Share
    at_most: Share = 1.0
    low_spot: Share = 0.0


@frozen(kw_only=True)
class Cover:
    """The cover a region must keep straight after the work, 0 (bare) to 1."""

    at_least: Share


@frozen(kw_only=True)
class LayerTarget:
    """What a profile wants of the coat of some regions: layers, cover, lengths in mm (from, to), and how much is pulled at a visit.
    ``when``: for which dogs, and at which time of the year, it holds."""

    regions: Names
    layers: Annotated[int, Range(1, 20)]
    take: Take
    cover: Cover | None = None
    longest_mm: Annotated[tuple[Millimetres, ...], Length(2, 2)] | None = None
    show_mm: Annotated[tuple[Millimetres, ...], Length(2, 2)] | None = None
    full_strip: bool = False
    leads: bool = False
    when: Annotated[Condition, Key("if")] = ALWAYS
    because: Words | None = None
    source: SourceOf | None = None


@frozen(kw_only=True)
class Blend:
    """Neighbouring parts that run into each other: of two of them the shares pulled on one day differ by ``within`` at most, and the
    outlines left by ``within_mm``."""

    regions: Names
    within: Share = 1.0
    within_mm: Millimetres | None = None
    because: Words | None = None
    source: SourceOf | None = None


@frozen(kw_only=True)
class SensitiveZone:
    """A tender part of the dog: bouts no longer, and rests no shorter, than so many minutes."""

    regions: Names
    level: Level
    bout_minutes: Annotated[float, Range(0, 60, above=True)]
    rest_minutes: Annotated[float, Range(0, 60)]
    because: Words | None = None
    source: SourceOf | None = None


@frozen(kw_only=True)
class ClipperOnlyZone:
    """A part that is never pulled: clipped to ``leave_mm`` every so many weeks."""

    regions: Names
    leave_mm: Millimetres
    every_weeks: Annotated[float, Range(0, 104, above=True)]
    soiled: Annotated[int, Range(0, 2)] | None = None
    because: Words | None = None
    source: SourceOf | None = None


@frozen(kw_only=True)
class Routine:
    """Work that comes round every so many weeks and takes so many minutes, whatever the coat."""

    regions: Names
    task: Literal["scissor", "comb", "clip"]
    every_weeks: Annotated[float, Range(0, 104, above=True)]
    minutes: Minutes
    finish: bool | None = None
    because: Words | None = None
    source: SourceOf | None = None


@frozen(kw_only=True)
class Station:
    """Regions that are worked from one place at the table; ``next_door``: the stations one step away."""

    regions: Names
    next_door: Annotated[tuple[Id, ...], NAMES] = ()
    source: SourceOf | None = None


@frozen(kw_only=True)
class Method:
    """A hand or a tool with how it is used. ``does``: its task; ``when``: where it suits; ``rank``: the higher
    goes first; ``then``: what follows it."""

    label: Words
    does: TaskKind
    regions: Names | None = None
    when: Annotated[Condition, Key("if")] = ALWAYS
    rank: Points = 0.0
    turn: Annotated[Annotated[float, Range(0, 100)] | None, Key("pass")] = None
    tool: Id | None = None
    how: Words | None = None
    then: Id | None = None
    until: Words | None = None
    source: SourceOf | None = None


@frozen(kw_only=True)
class Comparison:
    """A fact of a profile's own: the quotient of a fact of one part and of another."""

    fact: FactName
    of: Id
    to: Id


@frozen(kw_only=True)
class TakeLimits:
    """Limits that a rule sets to what is pulled, as shares of a region's whole coat."""

    at_least: Share | None = None
    at_most: Share | None = None


NO_LIMITS = TakeLimits()


@frozen(kw_only=True)
class Effect:
    """What a rule does where it fires: limits, tasks left out or added (minutes), points of priority, cautions, referral."""

    take: Annotated[TakeLimits, Length(1)] = NO_LIMITS
    leave: Annotated[tuple[TaskKind, ...], Length(1), NAMES] = ()
    add: Annotated[Mapping[AddedKind, Minutes], Length(1)] = NOTHING
    use: Id | None = None
    priority: Points = 0.0
    caution: Words | None = None
    refer: Words | None = None
    whole_dog: bool = False

    @property
    def acts(self) -> bool:
        """Whether it does more than move the priority."""
        return any((self.take is not NO_LIMITS, self.leave, self.add, self.use, self.caution, self.refer))


@frozen(kw_only=True)
class Rule:
    """Where ``when`` holds of a region, ``then`` is done, because of ``because``."""

    then: Annotated[Effect, Length(1)]
    because: Words
    regions: Names | None = None
    when: Annotated[Condition, Key("if")] = ALWAYS
    source: SourceOf | None = None


@frozen(kw_only=True)
class ExpectedVisit:
    """What a worked case expects of the next visit."""

    earliest: date | None = None
    best: date | None = None
    latest: date | None = None


@frozen(kw_only=True)
class Expectation:
    """What a worked case expects: facts of regions, rules that fire or do not, the order of steps, a referral, the next visit."""

    regions: Mapping[Id, Condition] = NOTHING
    rules: tuple[Id, ...] = ()
    not_rules: tuple[Id, ...] = ()
    steps: tuple[Id, ...] = ()
    refer: bool | None = None
    next_visit: ExpectedVisit = ExpectedVisit()


@frozen(kw_only=True)
class Case:
    """A worked case: a history, each visit of its series by itself, and a day with what must come out. ``minutes``: the time of the
    visit, None for the usual."""

    history: Mapping[str, object] = field(converter=written_out)
    date: date
    expect: Expectation
    minutes: Minutes | None = None
    because: Words | None = None


@frozen(kw_only=True, cache_hash=True)
class Profile:
    """A whole profile, its ``extends`` already merged in. Made by ``load_profile``.

    ``regime``: the one that it is in; ``regimes``: the same profile in each of those that it can be in. ``accept``: findings that
    its author accepts, by code, with why, everywhere or by place. ``over``: patterns of the ids of the profiles over which it is
    laid too. ``extras``: keys ``x-...`` of the profile itself, none of what it extends. ``whole``: the edition of the profile of
    which this has those targets alone that hold for one dog. ``strip_whole``: the coat is stripped out whole instead of rolled;
    ``rolled``: the profile by which it is worked once that is done, None where it is stripped again and again. ``show_mm``: lengths
    that one dog is to have on a show day in regions whose target says others, or none.
    """

    format: Annotated[int, Range(2, 2)]
    id: Id
    label: Words
    visit: UsualVisit
    coats: Mapping[Id, Growth]
    regions: Mapping[Id, Region] = field(
        eq=lambda regions: tuple(regions.items())
    )  # their order is the walk over the dog
    about: Words | None = None
    extends: Id | None = field(default=None, eq=False)  # merged in: it says where from, not what
    regime: Id | None = None
    outline: Outline = "terrier"
    breed: Breed | None = None
    sources: Mapping[Id, Source] = NOTHING
    groups: Mapping[Id, Names] = NOTHING
    layer_targets: Mapping[Id, LayerTarget] = NOTHING
    blends: Mapping[Id, Blend] = NOTHING
    sensitive_zones: Mapping[Id, SensitiveZone] = NOTHING
    clipper_only_zones: Mapping[Id, ClipperOnlyZone] = NOTHING
    routines: Mapping[Id, Routine] = NOTHING
    stations: Mapping[Id, Station] = NOTHING
    methods: Mapping[Id, Method] = NOTHING
    comparisons: Mapping[FactName, Comparison] = NOTHING
    rules: Mapping[Id, Rule] = NOTHING
    cases: Mapping[Id, Case] = NOTHING
    accept: Mapping[Id, Words | Annotated[Mapping[Place, Words], Length(1)]] = NOTHING
    over: Annotated[tuple[IdPattern, ...], Length(1)] = ()
    regimes: Annotated[Mapping[str, "Profile"], UNWRITTEN] = NOTHING
    whole: Annotated[Edition | None, UNWRITTEN] = None
    strip_whole: Annotated[bool, UNWRITTEN] = False
    rolled: Annotated["Profile | None", UNWRITTEN] = None
    show_mm: Annotated[Mapping[Id, tuple[Millimetres, ...]], UNWRITTEN] = NOTHING
    extras: Annotated[Mapping[str, Any], EXTRAS] = field(default=NOTHING, eq=False)  # no order follows from them
    origin: Annotated[Origin, UNWRITTEN] = field(default=NOWHERE, eq=False, repr=False)

    def to_dict(self) -> dict[str, Any]:
        """Returns the profile as plain data by ``schemas/profile.schema.json``: what it extends is in it, and so are its regimes."""
        from coatrules.profile.plain_data import profile_data  # only what is written out needs it

        return profile_data(self)

    @classmethod
    def from_dict(cls, data: Mapping[str, Any]) -> "Profile":
        """Returns a profile from plain data; raises ``InputError`` with every problem found."""
        from coatrules.profile.loading import load_profile

        return load_profile(without_file(data).data)

    @property
    def edition(self) -> Edition:
        """Which edition of the profile this is, all that it builds on merged in; the walk over the dog counts too."""
        return self.whole or Edition(self, tuple(self.regions))

    @property
    def sha256(self) -> str:
        """The SHA-256 of the edition, in hexadecimal digits."""
        return self.edition.sha256
