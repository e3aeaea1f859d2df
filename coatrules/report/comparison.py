"""A comparison of two profiles, for people."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from coatrules.catalogue.speaking import say
from coatrules.mentor.comparison import Change, Difference
from coatrules.mentor.profile_comparison import ProfileComparison


def text(comparison: ProfileComparison) -> str:
    """What was changed, and every order that came out otherwise."""
    return "".join(f"{line}\n" for line in _lines(comparison))


def _lines(comparison: ProfileComparison) -> Iterator[str]:
    changes, orders = comparison.changes, comparison.orders
    differing = [compared for compared in orders if compared.differences]
    yield say("compare.summary", changes=len(changes), differing=len(differing), orders=len(orders))
    if comparison.silent:
        yield say("compare.silent", changes=len(comparison.silent))
    if comparison.only:
        yield say("compare.only", profiles=comparison.only)
    for change in changes:
        yield f"  {_place(change)}{change.in_words}"
    for compared in differing:
        yield ""
        yield say("compare.occasion", name=compared.occasion.name, day=compared.occasion.date)
        for difference, regions in _grouped(compared.differences):
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
