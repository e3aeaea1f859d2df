"""A profile against what standards and clubs say of its breed: each statement that a dog kept by the profile contradicts."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import cached_property
from typing import Final, TypeAlias

from attrs import frozen

from coatrules.catalogue.message import Message, message
from coatrules.check.figures import unsupported
from coatrules.check.kept_coat import KeptRegion, kept_regions
from coatrules.check.statements import Statement, statements_on
from coatrules.check.subject import Subject
from coatrules.problems import Path, Problem
from coatrules.profile.floor import points_of

NEAR_MM: Final = 0.5
"""Nobody measures closer on a dog."""
ALIKE: Final = 0.1
"""Two lengths that differ by no more than a tenth are alike."""
RATIO_NEAR: Final = 0.05
"""How many times as long is told so closely, beyond a tenth of it."""
ROUNDED_WEEKS: Final = 0.05
AGE_WEEKS: Final = 2.0
"""Nobody brings a puppy to the week."""

_BACK_AGAIN: Final = ("after-strip", "grip")
"""Weeks by which the coat hides the skin again and can be gripped."""

Contradicted: TypeAlias = tuple[Message, tuple[Path, ...]]
"""What comes out, and the paths of what may have made it so, the likeliest first."""


def contradicted(subject: Subject) -> Iterator[Problem]:
    """Statements on the breed that are not so on an average dog kept by the profile for two years."""
    if any(unsupported(subject)):
        return  # of a figure that is a slip nothing need be worked out
    kept = _Kept(subject)
    for statement in statements_on(subject.profile):
        if found := list(kept.against(statement)):
            params = {
                "found": tuple(dict.fromkeys(what for what, _ in found)),
                "wanted": _wanted(statement),
                "says": statement.says,
                "source": ", ".join(
                    filter(None, (statement.title, statement.publisher, statement.year, statement.page))
                ),
                "statement": statement.id,
            }
            paths = [path for _, paths in found for path in (*paths, ("breed",)) if subject.is_written(*path)]
            path = next((path for path in paths if _is_in_file(subject, path)), paths[0])
            yield subject.problem("breed-contradicted", params, *path, key=True)


def _is_in_file(subject: Subject, path: Path) -> bool:
    """Whether the value at a path is written in the profile's own file, be it in a regime or outside."""
    return subject.profile.origin.place(path)[0] == subject.file


def _wanted(statement: Statement) -> Message:
    low, high = statement.low, statement.high
    match statement.asked_as:
        case "length":
            if low == high:
                return message("breed.length-about", mm=high)
            return message("breed.length", low=low, high=high) if low else message("breed.length-most", mm=high)
        case "relation":
            return message(f"breed.{statement.relation}")
        case "pulled" | "cut":
            return message("breed.done", tasks=statement.tasks)
        case "untouched":
            return message("breed.untouched", tasks=statement.tasks)
        case _:
            if statement.weeks_of in _BACK_AGAIN:
                return message("breed.back-again")
            return (
                message("breed.weeks-about", weeks=high) if low == high else message("breed.weeks", low=low, high=high)
            )


@frozen(eq=False, slots=False)  # the cached properties need a place to stay
class _Kept:
    """A dog kept by the profile, asked by the points of the dog."""

    subject: Subject

    @cached_property
    def regions(self) -> Mapping[str, KeptRegion]:
        return kept_regions(self.subject.compiled)

    @cached_property
    def at(self) -> Mapping[str, tuple[str, ...]]:
        """The regions that lie at each point of the dog: the one of its name, else those known to lie there by an Uberon term."""
        found: dict[str, tuple[str, ...]] = {}
        written = self.subject.profile.regions
        for name, region in written.items():
            for point in points_of(name, region):
                if point == name or point not in written:
                    found[point] = (*found.get(point, ()), name)
        return found

    def where(self, points: tuple[str, ...]) -> list[KeptRegion]:
        return [
            self.regions[name] for name in dict.fromkeys(name for point in points for name in self.at.get(point, ()))
        ]

    def against(self, statement: Statement) -> Iterator[Contradicted]:
        """Yields what speaks against a statement; nothing where it is so or nobody can tell."""
        here = self.where(statement.points)
        match statement.asked_as:
            case "length":
                low, high = statement.limits
                for one in here:
                    if not low - NEAR_MM <= one.outline_mm <= high + NEAR_MM:
                        yield message("breed.is-long", region=one.region.id, mm=one.outline_mm), _makes_length(one)
            case "relation":
                yield from self._relation(statement, here)
            case "pulled" | "cut":
                for one in here:
                    if one.tasks.isdisjoint(statement.tasks):
                        what = message("breed.never-done", region=one.region.id, tasks=statement.tasks)
                        yield what, (("regions", one.region.id),)
            case "untouched":
                for one in here:
                    for task in statement.tasks:
                        if task in one.tasks:
                            yield message("breed.is-done", region=one.region.id, task=task), _asks_for(one, task)
            case "rhythm" if statement.weeks_of == "before-show":
                yield from _shown(statement, here)
            case "rhythm":
                yield from self._rhythm(statement)
            case "puppy":
                yield from self._puppy(statement)

    def _relation(self, statement: Statement, here: list[KeptRegion]) -> Iterator[Contradicted]:
        for one in here:
            for other in self.where(statement.than):
                if one is not other and not _is_so(statement, one.outline_mm, other.outline_mm):
                    lengths = {"mm": one.outline_mm, "other_mm": other.outline_mm}
                    what = message("breed.are-long", region=one.region.id, other=other.region.id, **lengths)
                    yield what, (*_makes_length(one), *_makes_length(other))

    def _rhythm(self, statement: Statement) -> Iterator[Contradicted]:
        low, high = statement.limits
        profile = self.subject.profile
        if statement.weeks_of == "visit":
            paces = {("visit", "every_weeks"): profile.visit.every_weeks} | {
                ("routines", name, "every_weeks"): routine.every_weeks
                for name, routine in profile.routines.items()
                if routine.task in statement.tasks
            }
            path, every = min(paces.items(), key=lambda pace: pace[1])
            if not low - ROUNDED_WEEKS <= every <= high + ROUNDED_WEEKS:
                yield message("breed.comes-every", weeks=every), (path,)
        for back in self.where(("back",)):
            growth = back.region.growth
            paths = _makes_length(back)
            if statement.weeks_of == "strip":
                # A rolled coat is never stripped whole: then the row speaks of the hair, ripe by then and not yet all shed.
                turn = profile.visit.every_weeks / back.share if back.share else None
                turns = turn is not None and low * (1 - ALIKE) <= turn <= high * (1 + ALIKE)
                ripe, shed = growth.grown_weeks, growth.blown_weeks
                if not turns and not (ripe * (1 - ALIKE) <= high and low <= shed * (1 + ALIKE)):
                    yield message("breed.ripe-and-shed", ripe=ripe, shed=shed), paths
            elif statement.weeks_of in _BACK_AGAIN and growth.length(high) < max(growth.cover_mm, growth.ready_mm):
                yield message("breed.grown-after", mm=growth.length(high), weeks=high), paths

    def _puppy(self, statement: Statement) -> Iterator[Contradicted]:
        low, high = statement.limits
        first = self.subject.profile.visit.first_coat_weeks
        if statement.weeks_of == "first-strip" or (first is not None and low - AGE_WEEKS <= first <= high + AGE_WEEKS):
            return
        what = message("breed.no-first-coat") if first is None else message("breed.first-coat", weeks=first)
        yield what, (("visit", "first_coat_weeks"), ("visit",))


def _shown(statement: Statement, here: list[KeptRegion]) -> Iterator[Contradicted]:
    """What speaks against weeks from a strip to the show, where the profile says how long hair should be on that day."""
    for one in here:
        target, growth = one.region.hand, one.region.growth
        if target is not None and target.show_mm is not None:
            least, most = map(growth.length, statement.limits)
            if not (least <= target.show_mm[1] + NEAR_MM and most >= target.show_mm[0] - NEAR_MM):
                lengths = {"low": target.show_mm[0], "high": target.show_mm[1]}
                what = message("breed.wants-for-show", region=one.region.id, least=least, most=most, **lengths)
                yield what, _makes_length(one)


def _is_so(statement: Statement, one: float, other: float) -> bool:
    so = {
        "shorter": one < other - NEAR_MM,
        "longer": one > other + NEAR_MM,
        "equal": abs(one - other) <= ALIKE * other,
        "not-shorter": one >= other - NEAR_MM,
        "not-longer": one <= other + NEAR_MM,
    }[statement.relation]
    ratio = statement.ratio
    return so and (ratio is None or abs(one - ratio * other) <= (ALIKE * ratio + RATIO_NEAR) * other)


def _makes_length(kept: KeptRegion) -> tuple[Path, ...]:
    """What a region's length comes from: what is pulled or clipped there, and how its hair grows."""
    region = kept.region
    hair: tuple[Path, ...] = (("coats", region.region.coat), ("regions", region.id))
    if region.clipper_only is not None:
        return ("clipper_only_zones", str(region.clipper_only_id)), *hair
    return (("layer_targets", str(region.target_id)), *hair) if kept.share else hair


def _asks_for(kept: KeptRegion, task: str) -> tuple[Path, ...]:
    """What asks for a task in a region."""
    region = kept.region
    asking: list[Path] = [("routines", name) for name, routine in region.routines if routine.task == task]
    if task == "pull":
        asking.append(("layer_targets", str(region.target_id)))
    elif task == "clip":
        asking.append(("clipper_only_zones", str(region.clipper_only_id)))
    return (*asking, ("regions", region.id, "minutes", task), ("regions", region.id))
