"""Names in what a profile says of the work at the table that lead nowhere: stations next door, and tools."""

from __future__ import annotations

from collections.abc import Iterator

from coatrules.problems import Problem, nearest
from coatrules.profile.model import Profile


def at_the_table(profile: Profile) -> Iterator[Problem]:
    """Yields a problem for each name of a station or a tool that the profile does not have."""
    for name, station in profile.stations.items():
        for index, other in enumerate(station.next_door):
            if other not in profile.stations:
                hint = nearest(other, profile.stations)
                message = f"there is no station '{other}'"
                yield profile.origin.problem("unknown-name", message, ("stations", name, "next_door", index), hint=hint)
    for name, method in profile.methods.items():
        if method.tool is not None and method.tool not in profile.methods:
            hint = nearest(method.tool, profile.methods)
            message = f"there is no method '{method.tool}'"
            yield profile.origin.problem("unknown-name", message, ("methods", name, "tool"), hint=hint)
