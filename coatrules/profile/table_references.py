"""Names in what a profile says of the work at the table that lead nowhere: stations next door, and tools."""

from __future__ import annotations

from collections.abc import Iterator

from coatrules.problems import Problem, nearest_fix
from coatrules.profile.model import Profile


def at_the_table(profile: Profile) -> Iterator[Problem]:
    """Yields a problem for each name of a station or a tool that the profile does not have."""
    for name, station in profile.stations.items():
        for other in station.next_door:
            if other not in profile.stations:
                path = profile.origin.entry(("stations", name, "next_door"), other)
                fix = nearest_fix(other, profile.stations)
                yield profile.origin.problem_at(path, "unknown-station", {"name": other}, fix=fix, key=True)
    for name, method in profile.methods.items():
        if method.tool is not None and method.tool not in profile.methods:
            fix = nearest_fix(method.tool, profile.methods)
            yield profile.origin.problem_at(("methods", name, "tool"), "unknown-tool", {"name": method.tool}, fix=fix)
