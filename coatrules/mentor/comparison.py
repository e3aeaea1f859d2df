"""Two versions of a profile compared by their effect: the same histories under both, and which line made the difference.

The lines that differ are found in the merged data. Which of them made an order differ is found by trying: each change is made
alone on the old version; where the order then differs from the old one, that line is a cause.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import Any, Final

from attrs import evolve, frozen

from coatrules.catalogue.message import Message, message
from coatrules.catalogue.plain_data import day_of, message_of
from coatrules.catalogue.speaking import say
from coatrules.dog.history import History
from coatrules.dog.loading import given_history, load_history
from coatrules.formats.documents import Origin
from coatrules.formats.unstructure import thawed
from coatrules.order.arguments import checked_day
from coatrules.order.engine import order
from coatrules.order.work_order import Step, WorkOrder
from coatrules.problems import InputError, path_text
from coatrules.problems import Path as ValuePath
from coatrules.profile.compiled import compile_profile
from coatrules.profile.loading import checked_profile, load_profile, merged_profile
from coatrules.profile.model import Case, Profile
from coatrules.profile.shelves import Shelf

Version = tuple[Mapping[str, Any] | Path | str, Iterable[Shelf]]
"""A version of a profile, and the shelves on which it and all that it builds on are found."""
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
            "occasion": _occasion_data(self.occasion),
            "differences": result_data(self.differences),
        }


@frozen
class ProfileComparison:
    """Two versions of a profile, or of several, compared: ``changes`` that orders can depend on, ``silent`` ones on which none does,
    the ids of profiles of which there is one version ``only``, and every occasion under both (``orders``)."""

    changes: tuple[Change, ...]
    orders: tuple[Compared, ...]
    silent: tuple[Change, ...] = ()
    only: tuple[str, ...] = ()

    @classmethod
    def together(cls, parts: Iterable[ProfileComparison], only: Iterable[str] = ()) -> ProfileComparison:
        """Returns several comparisons as one, each change once: what builds on a profile changes with it at the same lines. ``only``:
        profiles of which there is one version only."""
        parts = tuple(parts)
        return cls(
            changes=_each_once(change for part in parts for change in part.changes),
            orders=tuple(compared for part in parts for compared in part.orders),
            silent=_each_once(change for part in parts for change in part.silent),
            only=tuple(only),
        )

    def of_profile(self, name: str) -> ProfileComparison:
        """Returns the same with the id of the profile in the names of its occasions."""
        named = (
            evolve(
                one, occasion=evolve(one.occasion, name=say("compare.of-profile", profile=name, name=one.occasion.name))
            )
            for one in self.orders
        )
        return evolve(self, orders=tuple(named))

    @classmethod
    def from_dict(cls, data: Mapping[str, Any]) -> ProfileComparison:
        """Returns a comparison from what ``to_dict`` gave; raises ``InputError``."""
        from coatrules.order.stored import read_back

        return read_back(_comparison_of, data, "comparison")

    def to_dict(self) -> dict[str, Any]:
        """Returns the comparison as plain data by ``schemas/comparison.schema.json``; a cause is the index of a change."""
        from coatrules.order.plain_data import result_data

        index = {change.key: number for number, change in enumerate(self.changes)}
        return {
            "format": 1,
            "changes_without_effect": len(self.silent),
            "silent_changes": list(map(_change_data, self.silent)),
            "profiles_of_one_version": list(self.only),
            "changes": [_change_data(change) for change in self.changes],
            "orders": [
                {
                    **_occasion_data(compared.occasion),
                    "differences": [
                        {
                            "region": difference.region or None,
                            "old": difference.old.text,
                            "new": difference.new.text,
                            "was": result_data(difference.old),
                            "became": result_data(difference.new),
                            "because": [index[change.key] for change in difference.because],
                        }
                        for difference in compared.differences
                    ],
                }
                for compared in self.orders
            ],
        }


def compared_profiles(old: Version, new: Version, occasions: Sequence[Occasion] = ()) -> ProfileComparison:
    """Returns two versions of a profile compared, each with the shelves on which it is found: on these occasions, else on the worked
    cases of both. Raises ``InputError``."""
    before, after = (merged_profile(source, shelves=shelves) for source, shelves in (old, new))
    asked = occasions or case_occasions(*(load_profile(source, shelves=shelves) for source, shelves in (old, new)))
    changed = changes(before, after)
    silent = tuple(changes(before, after, silent=True))
    return ProfileComparison(tuple(changed), tuple(compare(before, after, asked, changed)), silent)


def dog_occasions(dogs: Iterable[History | Mapping[str, Any]], day: date | None) -> list[Occasion]:
    """Returns dogs on a day as occasions; raises ``InputError`` where there are dogs and no day."""
    histories = list(map(given_history, dogs))
    return [Occasion(history.dog.called, history, checked_day(day)) for history in histories]


def _occasion_data(occasion: Occasion) -> dict[str, Any]:
    return {
        "name": occasion.name,
        "history": occasion.history.to_dict(),
        "date": occasion.date.isoformat(),
        "minutes": occasion.minutes,
    }


def _change_data(change: Change) -> dict[str, Any]:
    places = {"old_place": change.old_place, "new_place": change.new_place}
    return {
        "path": list(change.path),
        "old": thawed(change.old),
        "new": thawed(change.new),
        **{key: {"file": file, "line": line} for key, (file, line) in places.items()},
    }


def _each_once(changes: Iterable[Change]) -> tuple[Change, ...]:
    return tuple({change.key: change for change in changes}.values())


def _change_of(data: Mapping[str, Any]) -> Change:
    return Change(
        path=tuple(data["path"]),
        old=data["old"],
        new=data["new"],
        old_place=(data["old_place"]["file"], data["old_place"]["line"]),
        new_place=(data["new_place"]["file"], data["new_place"]["line"]),
    )


def _comparison_of(data: Mapping[str, Any]) -> ProfileComparison:
    changes = tuple(map(_change_of, data["changes"]))
    orders = tuple(
        Compared(
            Occasion(one["name"], History.from_dict(one["history"]), day_of(one["date"]), one["minutes"]),
            tuple(
                Difference(
                    region=told["region"] or "",
                    old=message_of(told["was"]),
                    new=message_of(told["became"]),
                    because=tuple(changes[number] for number in told["because"]),
                )
                for told in one["differences"]
            ),
        )
        for one in data["orders"]
    )
    silent = tuple(map(_change_of, data["silent_changes"]))
    return ProfileComparison(changes, orders, silent, tuple(data["profiles_of_one_version"]))


def case_occasions(*profiles: Profile) -> list[Occasion]:
    """The histories of the profiles' worked cases; of two of one name both, where they are of another dog or day."""
    cases: dict[str, Case] = {}
    for profile in profiles:
        for name, case in profile.cases.items():
            known = cases.get(name)
            if known is not None and _occasion(known) != _occasion(case):
                name = say("compare.case-of-new", case=name)
            cases.setdefault(name, case)
    return [Occasion(name, load_history(case.history), case.date, case.minutes) for name, case in cases.items()]


def _occasion(case: Case) -> tuple[object, ...]:
    return thawed(case.history), case.date, case.minutes


def changes(old: tuple[Any, Origin], new: tuple[Any, Origin], *, silent: bool = False) -> list[Change]:
    """All places where the merged data of two profiles differ, but for those that no work order depends on; with ``silent`` those."""
    differences = []
    for path, before, after in _differing(old[0], new[0], ()):
        if _is_silent(path) is silent:
            old_place, new_place = (origin.place(path, key=True)[:2] for origin in (old[1], new[1]))
            differences.append(Change(path, before, after, old_place, new_place))
    return differences


def _is_silent(path: ValuePath) -> bool:
    return path[0] in SILENT or "source" in path[1:] or path[-1] == "because"


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
    return {key: value for key, value in data.items() if key != "extends"}


def _with(data: Any, change: Change) -> Profile | None:
    """The old profile with one change made; None where that alone cannot be used."""
    changed = _with_value_at(data, change.path, change.new)
    try:
        return checked_profile(*merged_profile(changed))
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
        today = order(compile_profile(profile), occasion.history, occasion.date, occasion.minutes)
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
