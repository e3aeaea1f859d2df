"""Two versions of a profile compared by their effect: the same histories under both, and which line made the difference.

The lines that differ are found in the merged data. Which of them made an order differ is found by trying: each change is made
alone on the old version; where the order then differs from the old one, that line is a cause.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import Any, Final, TypeAlias

from attrs import evolve, frozen

from coatrules.catalogue.message import Message, message
from coatrules.catalogue.speaking import say
from coatrules.dog.history import History
from coatrules.dog.loading import load_history
from coatrules.dog.regime import in_regime, worked_by
from coatrules.formats.documents import Origin
from coatrules.formats.unstructure import thawed
from coatrules.order.engine import order
from coatrules.order.work_order import Step, WorkOrder
from coatrules.problems import InputError, path_text
from coatrules.problems import Path as ValuePath
from coatrules.profile.compiled import compile_profile
from coatrules.profile.loading import load_profile, merged_profile, merged_regimes
from coatrules.profile.merging import is_extra
from coatrules.profile.model import Case, Profile
from coatrules.profile.shelves import Shelf

SILENT: Final = frozenset({"about", "breed", "cases", "extends", "format", "id", "sources"})
"""Sections that no work order depends on."""
_MISSING: Final = object()
_NOT_THERE: Final = message("compare.not-there")


@frozen
class Occasion:
    """A dog on a day: what both versions are asked about. ``minutes`` None is the profile's usual visit."""

    name: str
    history: History
    date: date
    minutes: float | None = None

    def to_dict(self) -> dict[str, Any]:
        """Returns the occasion as plain data, a part of ``schemas/comparison.schema.json``."""
        return {
            "name": self.name,
            "history": self.history.to_dict(),
            "date": self.date.isoformat(),
            "minutes": self.minutes,
        }


@frozen
class Change:
    """A place where the data of two profiles differ; ``old`` or ``new`` is None where it is missing, with its place."""

    path: ValuePath
    old: Any
    new: Any
    old_place: tuple[str, int]
    new_place: tuple[str, int]

    @property
    def key(self) -> tuple[object, ...]:
        """What tells a change from others: profiles that build on one may change at the same path."""
        return self.path, self.old_place, self.new_place, self.in_words

    @property
    def in_words(self) -> str:
        """The change in words."""
        return say("compare.change", path=path_text(self.path), old=_in_words(self.old), new=_in_words(self.new))


@frozen
class Difference:
    """One thing that came out otherwise: where (a region, or empty for the whole dog), what it was and what it became."""

    region: str
    old: Message
    new: Message
    because: tuple[Change, ...] = ()


@frozen
class Compared:
    """One occasion under both versions."""

    occasion: Occasion
    differences: tuple[Difference, ...]

    @classmethod
    def from_dict(cls, data: Mapping[str, Any]) -> Compared:
        """Returns the comparison from what ``to_dict`` gave; raises ``InputError``."""
        from coatrules.order.stored_results import stored_result

        return stored_result(cls, data, "comparison")

    def to_dict(self) -> dict[str, Any]:
        """Returns the comparison as plain data by ``schemas/comparison.schema.json``."""
        from coatrules.order.plain_data import result_data

        return {
            "format": 1,
            "occasion": self.occasion.to_dict(),
            "differences": result_data(self.differences),
        }


def case_occasions(*profiles: Profile) -> list[Occasion]:
    """The histories of the profiles' worked cases and of their regimes', those in the regime; of two of one name both, where they are
    of another dog or day."""
    cases: dict[str, tuple[Case, str | None]] = {}
    for profile in profiles:
        for regime, one in [(None, profile), *profile.regimes.items()]:
            for name, case in one.cases.items():
                if regime is not None:
                    name = say("compare.of-profile", profile=regime, name=name)
                known = cases.get(name)
                if known is not None and _occasion(known[0]) != _occasion(case):
                    name = say("compare.case-of-new", case=name)
                cases.setdefault(name, (case, regime))
    return [
        Occasion(name, in_regime(load_history(case.history), regime), case.date, case.minutes)
        for name, (case, regime) in cases.items()
    ]


def _occasion(case: Case) -> tuple[object, ...]:
    return thawed(case.history), case.date, case.minutes


Merged: TypeAlias = tuple[Any, Origin]
"""A profile as plain data, merged with what it builds on and not checked, and where each part was written."""
Versions: TypeAlias = Mapping[str | None, Merged]
"""A profile as it is, and in each of its regimes."""


def versions_of(source: str | Path | Mapping[str, Any], *, shelves: Iterable[Shelf] = ()) -> Versions:
    """Returns a profile, given as ``load_profile`` takes it, and each of its regimes; raises ``InputError``."""
    merged = merged_profile(source, shelves=shelves)
    return dict([(None, merged), *merged_regimes(merged[1]).items()])


def all_changes(old: Versions, new: Versions, *, silent: bool = False) -> list[Change]:
    """All places where two versions differ, as ``changes`` finds them: where regimes take a change over, at the same lines, once for
    each of them; a regime that only one version has is a change as a whole."""
    found: list[Change] = []
    for regime in {**old, **new}:
        if regime in old and regime in new:
            found += changes(old[regime], new[regime], silent=silent)
        elif not silent:
            path = ("regimes", str(regime))
            labels = [versions[regime][0]["label"] if regime in versions else None for versions in (old, new)]
            places = [versions[None][1].place(path, key=True)[:2] for versions in (old, new)]
            found.append(Change(path, labels[0], labels[1], places[0], places[1]))
    return found


def compare_all(old: Versions, new: Versions, occasions: Iterable[Occasion]) -> list[Compared]:
    """Each occasion under both versions, in the regime that its history names, as ``compare`` does."""
    found: dict[int, Compared] = {}
    by_regime: dict[str | None, dict[int, Occasion]] = {}
    for number, occasion in enumerate(occasions):
        by_regime.setdefault(occasion.history.dog.regime, {})[number] = occasion
    for regime, asked in by_regime.items():
        if regime in old and regime in new:
            candidates = changes(old[regime], new[regime])
            compared = compare(old[regime], new[regime], list(asked.values()), candidates)
            found |= dict(zip(asked, compared, strict=True))
        else:
            found |= {number: _of_one_version(occasion, old, new) for number, occasion in asked.items()}
    return [found[number] for number in sorted(found)]


def _of_one_version(occasion: Occasion, old: Versions, new: Versions) -> Compared:
    """What to say where one version at least has not the regime that a history names."""
    regime = occasion.history.dog.regime
    before, after = (
        message("compare.in-regime", regime=regime)
        if regime in versions
        else message("compare.no-order", problem=message("unknown-regime", regime=regime))
        for versions in (old, new)
    )
    return Compared(occasion, (Difference("", before, after),))


def changes(old: tuple[Any, Origin], new: tuple[Any, Origin], *, silent: bool = False) -> list[Change]:
    """All places where the merged data of two profiles differ, but for those that no work order depends on; with ``silent`` those."""
    differences = []
    for path, before, after in _differing(old[0], new[0], ()):
        if _is_silent(path) is silent:
            old_place, new_place = (origin.place(path, key=True)[:2] for origin in (old[1], new[1]))
            differences.append(Change(path, before, after, old_place, new_place))
    return differences


def _is_silent(path: ValuePath) -> bool:
    return path[0] in SILENT or is_extra(path[0]) or "source" in path[1:] or path[-1] == "because"


def _differing(old: Any, new: Any, path: ValuePath) -> Iterator[tuple[ValuePath, Any, Any]]:
    if isinstance(old, Mapping) and isinstance(new, Mapping):
        for key in (*old, *(key for key in new if key not in old)):
            if old.get(key, _MISSING) != new.get(key, _MISSING):
                yield from _differing(old.get(key), new.get(key), (*path, key))
    elif old != new:
        yield path, old, new


def compare(
    old: tuple[Any, Origin], new: tuple[Any, Origin], occasions: Sequence[Occasion], candidates: Sequence[Change]
) -> list[Compared]:
    """Each occasion under both versions, given as merged data; a cause of every difference that one change alone makes.

    Raises ``InputError`` where a version or a history cannot be used. Changes that cannot stand alone name no difference.
    """
    before, after = load_profile(_merged(old[0])), load_profile(_merged(new[0]))
    alone: list[tuple[Change, Profile]] | None = None
    compared = []
    for occasion in occasions:
        old_outcome, new_outcome = _outcome(before, occasion), _outcome(after, occasion)
        differing = [
            region
            for region in (*old_outcome, *(r for r in new_outcome if r not in old_outcome))
            if old_outcome.get(region) != new_outcome.get(region)
        ]
        causes: dict[str, list[Change]] = {region: [] for region in differing}
        if differing and alone is None:
            tried_alone = ((change, _with(_merged(old[0]), change)) for change in candidates)
            alone = [(change, profile) for change, profile in tried_alone if profile is not None]
        for change, profile in (alone or ()) if differing else ():
            tried = _outcome(profile, occasion)
            for region in differing:
                if tried.get(region) != old_outcome.get(region):
                    causes[region].append(change)
        compared.append(
            Compared(
                occasion,
                tuple(
                    Difference(
                        region,
                        old_outcome.get(region, _NOT_THERE),
                        new_outcome.get(region, _NOT_THERE),
                        tuple(causes[region]),
                    )
                    for region in differing
                ),
            )
        )
    return compared


def _merged(data: Any) -> Any:
    """Merged data as a profile that stands alone: what it extends is in it already, and what it took out stays out."""
    return {key: value for key, value in data.items() if key not in ("extends", "regime")}


def _with(data: Any, change: Change) -> Profile | None:
    """The old profile with one change made; None where that alone cannot be used."""
    changed = _with_value_at(data, change.path, change.new)
    try:
        return load_profile(changed)
    except InputError:
        return None


def _with_value_at(data: Any, path: ValuePath, value: Any) -> Any:
    if not path:
        return value
    key, *rest = path
    changed = dict(data) if isinstance(data, Mapping) else {}
    inner = _with_value_at(changed.get(key), tuple(rest), value)
    if inner is None:
        changed.pop(key, None)
    else:
        changed[key] = inner
    return changed


def _outcome(profile: Profile, occasion: Occasion) -> dict[str, Message]:
    """What is ordered in each region, and the rest of the order under the empty name, as messages that can be compared."""
    try:
        history = evolve(occasion.history, dog=evolve(occasion.history.dog, regime=None))  # it is in the regime already
        compiled = compile_profile(worked_by(profile, history, occasion.date))
        today = order(compiled, history, occasion.date, occasion.minutes)
    except InputError as error:
        first = error.problems[0]
        return {"": message("compare.no-order", problem=Message(code=first.code, params=first.params))}
    return {region: _ordered(today, region) for region in today.labels} | {"": _whole(today)}


def _ordered(today: WorkOrder, region: str) -> Message:
    works: dict[str, Message] = {}
    steps = [step for step in today.steps if step.region == region]
    for step in steps:
        minutes = sum(other.minutes for other in steps if other.task == step.task)
        works[step.task] = message("compare.work", task=step.task, details=tuple(_details(step, minutes)))
    if works:
        cautions = {message("compare.caution", caution=caution) for step in steps for caution in step.cautions}
        return message("compare.works", works=(*works.values(), *sorted(cautions, key=str)))
    aside = today.not_worked(region)
    if aside is None:  # every region is worked or set aside
        raise KeyError(region)
    how, because = aside
    return message(f"compare.{how}", rules=tuple(dict.fromkeys(reason.rule for reason in because)))


def _details(step: Step, minutes: float) -> Iterator[Message]:
    """How one task is done, to the places that are worth comparing."""
    if step.share is not None:
        yield message("compare.share", share=float(f"{step.share:.3g}"))
    if step.leave_mm is not None:
        yield message("compare.leave", leave_mm=float(f"{step.leave_mm:g}"))
    if step.method is not None:
        yield message("compare.method", method=step.method)
    yield message("compare.minutes", minutes=float(f"{minutes:g}"))


def _whole(today: WorkOrder) -> Message:
    visit = today.next_visit
    code = "compare.next-visit" if visit.latest is not None else "compare.any-next-visit"
    days = message(code, best=visit.best, earliest=visit.earliest, latest=visit.latest)
    return message("compare.works", works=(days, *(message("compare.refer", refer=refer) for refer in today.refer)))


def _in_words(value: Any) -> str:
    if value is None:
        return say("compare.nothing")
    if isinstance(value, Mapping):
        return "{" + ", ".join(f"{key}: {_in_words(inner)}" for key, inner in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(map(_in_words, value)) + "]"
    return str(value).lower() if isinstance(value, bool) else str(value)
