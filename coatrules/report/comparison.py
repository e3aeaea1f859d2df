"""A comparison of two profiles, for people and for programs."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from coatrules.catalogue.speaking import say
from coatrules.mentor.comparison import Change, Compared, Difference


def text(changes: Sequence[Change], comparisons: Sequence[Compared], silent: int = 0, only: Sequence[str] = ()) -> str:
    """What was changed, and every order that came out otherwise. ``silent``: how many changes no order depends on; ``only``: the
    profiles of which there is one version only."""
    return "".join(f"{line}\n" for line in _lines(changes, comparisons, silent, only))


def _lines(
    changes: Sequence[Change], comparisons: Sequence[Compared], silent: int, only: Sequence[str]
) -> Iterator[str]:
    differing = [comparison for comparison in comparisons if comparison.differences]
    yield say("compare.summary", changes=len(changes), differing=len(differing), orders=len(comparisons))
    if silent:
        yield say("compare.silent", changes=silent)
    if only:
        yield say("compare.only", profiles=tuple(only))
    for change in changes:
        yield f"  {_place(change)}{change.in_words}"
    for comparison in differing:
        yield ""
        yield say("compare.occasion", name=comparison.occasion.name, day=comparison.occasion.date)
        for difference, regions in _grouped(comparison.differences):
            yield f"  {', '.join(regions) if regions != [''] else say('compare.whole-visit')}"
            yield f"    {say('compare.was', outcome=difference.old)}"
            yield f"    {say('compare.now', outcome=difference.new)}"
            for change in difference.because:
                yield f"    {say('compare.because', change=f'{_place(change)}{change.in_words}')}"
            if not difference.because:
                yield f"    {say('compare.because-of-several')}"


def _grouped(differences: Sequence[Difference]) -> Iterator[tuple[Difference, list[str]]]:
    """Yields like differences once, with all their regions."""
    regions: dict[tuple[str, str, tuple[str, ...]], list[str]] = {}
    first: dict[tuple[str, str, tuple[str, ...]], Difference] = {}
    for difference in differences:
        key = (difference.old.text, difference.new.text, tuple(change.in_words for change in difference.because))
        regions.setdefault(key, []).append(difference.region)
        first.setdefault(key, difference)
    for key, region_names in regions.items():
        yield first[key], region_names


def _place(change: Change) -> str:
    file, line = change.new_place if change.new is not None and change.new_place[1] else change.old_place
    return f"{file}:{line}: " if file else ""


def _key(change: Change) -> tuple[object, ...]:
    """What tells a change from others: profiles that build on one may change at the same path."""
    return change.path, change.old_place, change.new_place, change.in_words


def merged_changes(changes: Iterable[Change]) -> list[Change]:
    """The changes, each once: what builds on a profile changes with it at the same lines."""
    return list({_key(change): change for change in changes}.values())


def plain(
    changes: Sequence[Change], comparisons: Sequence[Compared], silent: int = 0, only: Sequence[str] = ()
) -> dict[str, Any]:
    """The same as plain data, ready for JSON; a cause is the index of a change."""
    index = {_key(change): number for number, change in enumerate(changes)}
    return {
        "format": 1,
        "changes_without_effect": silent,
        "profiles_of_one_version": list(only),
        "changes": [
            {
                "path": list(change.path),
                "old": change.old,
                "new": change.new,
                "old_place": {"file": change.old_place[0], "line": change.old_place[1]},
                "new_place": {"file": change.new_place[0], "line": change.new_place[1]},
            }
            for change in changes
        ],
        "orders": [
            {
                "name": comparison.occasion.name,
                "date": comparison.occasion.date.isoformat(),
                "differences": [
                    {
                        "region": difference.region or None,
                        "old": difference.old.text,
                        "new": difference.new.text,
                        "because": [index[_key(change)] for change in difference.because],
                    }
                    for difference in comparison.differences
                ],
            }
            for comparison in comparisons
        ],
    }
