"""How long a dog stood on the table, as far as its record tells."""

from __future__ import annotations

from collections.abc import Callable

from coatrules.dog.equivalence import once_per_class
from coatrules.dog.history import Visit
from coatrules.dog.region_log import merged
from coatrules.profile.compiled import CompiledProfile


def minutes_on_table(
    compiled: CompiledProfile, visit: Visit, speed: Callable[[str], float], *, raked: float = 1.0
) -> float:
    """Returns the minutes of a visit: as recorded; of work for which that is not said, the profile's for pulling and raking at a
    speed in each region, of raking a share (``raked``)."""
    minutes = sum(work.minutes or 0.0 for work in visit.work.values())
    if visit.minutes is not None:
        return max(visit.minutes, minutes)
    speaking = compiled.parts_of(visit.work)
    done_in = once_per_class(speaking, lambda name: merged([visit.work[key] for key in speaking[name]]))
    for name, done in done_in.items():
        if done.minutes is None:
            usual = compiled.regions[name].region.minutes
            pulling, raking = usual.get("pull", 0.0) * (done.pull or 0.0), usual.get("card", 0.0) * raked
            minutes += (pulling + raking * bool(done.card)) / speed(name)
    return minutes
