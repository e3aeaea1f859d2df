"""Blends that hold nothing, and blends that keep a target from its usual share or its lengths for ever."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from coatrules.check.subject import Subject
from coatrules.problems import Problem
from coatrules.profile.compiled import CompiledRegion
from coatrules.profile.model import Blend


def blends(subject: Subject) -> Iterator[Problem]:
    """Blends of fewer than two regions that are pulled or without a limit, and those whose targets' usual shares, or lengths, lie further
    apart than they allow."""
    if subject.is_base:
        return
    for name, blend in subject.profile.blends.items():
        pulled = [
            (region.hand.take.usual, region)
            for region in subject.regions(blend.regions)
            if region.hand is not None and not region.hand.full_strip
        ]
        if len(pulled) < 2 or (blend.within == 1 and blend.within_mm is None):
            yield subject.problem("blend-idle", {"blend": name}, "blends", name, key=True)
            continue
        least, most = (end(pulled, key=lambda pair: pair[0]) for end in (min, max))
        apart = round(most[0] - least[0], 6)
        if apart > blend.within:
            params = {
                "blend": name,
                "within": blend.within,
                "region": most[1].id,
                "share": most[0],
                "target": str(most[1].target_id),
                "other": least[1].id,
                "other_share": least[0],
                "apart": apart,
            }
            yield subject.problem("blend-holds-back", params, "blends", name, "within")
        yield from _lengths(subject, name, blend, [region for _, region in pulled])


def _lengths(subject: Subject, name: str, blend: Blend, regions: Iterable[CompiledRegion]) -> Iterator[Problem]:
    """A blend whose targets want lengths further apart than it allows, however near they come to each other."""
    wanted = [(region.hand.longest_mm, region) for region in regions if region.hand and region.hand.longest_mm]
    if blend.within_mm is None or len(wanted) < 2:
        return
    (low, _), longer = max(wanted, key=lambda one: one[0][0])
    (_, high), shorter = min(wanted, key=lambda one: one[0][1])
    if low - high > blend.within_mm:
        params = {
            "blend": name,
            "within": blend.within_mm,
            "region": longer.id,
            "low": low,
            "other": shorter.id,
            "high": high,
            "apart": low - high,
        }
        yield subject.problem("blend-lengths", params, "blends", name, "within_mm")
