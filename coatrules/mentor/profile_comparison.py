"""Two versions of a profile, or of several, compared: what was changed, and every order that came out otherwise, as one value."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import Any, TypeAlias

from attrs import evolve, frozen

from coatrules.catalogue.message import Message
from coatrules.catalogue.plain_data import day_of, message_of
from coatrules.catalogue.speaking import say
from coatrules.dog.history import History
from coatrules.dog.loading import given_history
from coatrules.formats.unstructure import thawed
from coatrules.mentor.comparison import (
    Change,
    Compared,
    Difference,
    Occasion,
    all_changes,
    case_occasions,
    compare_all,
    versions_of,
)
from coatrules.order.arguments import checked_day
from coatrules.profile.loading import chain_of, checked_profile, load_profile, merged_chain
from coatrules.profile.model import Profile
from coatrules.profile.shelves import Shelf

Version: TypeAlias = tuple[Mapping[str, Any] | Path | str, Iterable[Shelf]]
"""A version of a profile, and the shelves on which it and all that it builds on are found."""


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
        """Returns the comparison as plain data by ``schemas/comparison.schema.json``; a cause is the index of a change. What was and
        what became is said of many regions alike: each sentence is in the list of them once."""
        from coatrules.order.plain_data import result_data

        index = {change.key: number for number, change in enumerate(self.changes)}
        words = [text for one in self.orders for change in one.differences for text in (change.old, change.new)]
        sentences = list({_key(text): text for text in words}.values())
        place = {_key(text): number for number, text in enumerate(sentences)}
        return {
            "format": 1,
            "changes_without_effect": len(self.silent),
            "silent_changes": list(map(_change_data, self.silent)),
            "profiles_of_one_version": list(self.only),
            "changes": [_change_data(change) for change in self.changes],
            "sentences": result_data(sentences),
            "orders": [
                {
                    **compared.occasion.to_dict(),
                    "differences": [
                        {
                            "region": difference.region or None,
                            "old": difference.old.text,
                            "new": difference.new.text,
                            "was": place[_key(difference.old)],
                            "became": place[_key(difference.new)],
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
    cases of both and of their regimes. Raises ``InputError``."""
    before, after = (versions_of(source, shelves=shelves) for source, shelves in (old, new))
    asked = occasions or case_occasions(*(_with_cases(source, shelves) for source, shelves in (old, new)))
    return ProfileComparison(
        changes=_each_once(all_changes(before, after)),
        orders=tuple(compare_all(before, after, asked)),
        silent=_each_once(all_changes(before, after, silent=True)),
    )


def _with_cases(source: Mapping[str, Any] | Path | str, shelves: Iterable[Shelf]) -> Profile:
    """A profile with the cases of its own; house rules that are laid over it have theirs."""
    shelves = tuple(shelves)
    loaded = load_profile(source, shelves=shelves)
    if not isinstance(source, str):
        return loaded
    return checked_profile(*merged_chain(chain_of(source, shelves=shelves)))


def dog_occasions(dogs: Iterable[History | Mapping[str, Any]], day: date | None) -> list[Occasion]:
    """Returns dogs on a day as occasions; raises ``InputError`` where there are dogs and no day."""
    histories = list(map(given_history, dogs))
    return [Occasion(history.dog.called, history, checked_day(day)) for history in histories]


def _key(message: Message) -> str:
    """What tells a sentence from others."""
    return repr((message.code, message.params, message.own))


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
    sentences = tuple(map(message_of, data["sentences"]))
    orders = tuple(
        Compared(
            Occasion(one["name"], History.from_dict(one["history"]), day_of(one["date"]), one["minutes"]),
            tuple(
                Difference(
                    region=difference["region"] or "",
                    old=sentences[difference["was"]],
                    new=sentences[difference["became"]],
                    because=tuple(changes[number] for number in difference["because"]),
                )
                for difference in one["differences"]
            ),
        )
        for one in data["orders"]
    )
    silent = tuple(map(_change_of, data["silent_changes"]))
    return ProfileComparison(changes, orders, silent, tuple(data["profiles_of_one_version"]))
