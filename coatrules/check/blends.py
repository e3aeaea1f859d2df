"""Blends that hold nothing, and blends that keep a target from its usual share for ever."""

from __future__ import annotations

from collections.abc import Iterator

from coatrules.check.subject import Subject
from coatrules.problems import Problem


def blends(subject: Subject) -> Iterator[Problem]:
    """Blends of fewer than two regions that are pulled, and those whose targets' usual shares lie further apart than they allow."""
    if subject.is_base:
        return
    for name, blend in subject.profile.blends.items():
        pulled = [
            (region.hand.take.usual, region)
            for region in subject.regions(blend.regions)
            if region.hand is not None and not region.hand.full_strip
        ]
        if len(pulled) < 2:
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
