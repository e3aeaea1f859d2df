"""Where the numbers of a profile come from: how many rest on what is published, and how many on practice alone."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from typing import Literal, NamedTuple, get_args

from coatrules.check.sources import numbers_of
from coatrules.check.subject import Subject
from coatrules.problems import Path
from coatrules.profile.model import Profile, Source
from coatrules.profile.references import numbered_parts

Kind = Literal["published", "derived", "memory", "practice", "none"]
KINDS: tuple[Kind, ...] = get_args(Kind)
"""What a number may rest on, the best first: of several sources the best counts."""


class Sourced(NamedTuple):
    """A number, or the two ends of a span. ``own``: written in the profile itself. ``wanted``: a length that the coat is to have."""

    path: Path
    kind: Kind
    own: bool
    wanted: bool


def kind_of(sources: Iterable[Source]) -> Kind:
    """The best kind among sources; ``none`` where there are none."""
    return min((_kind(source) for source in sources), key=KINDS.index, default="none")


def _kind(source: Source) -> Kind:
    if source.common_practice:
        return "practice"
    if source.derived:
        return "derived"
    return "memory" if source.from_memory else "published"


def sourced_numbers(profile: Profile) -> Iterator[Sourced]:
    """Every number of a profile with the kind of its source, in the order of the sections."""
    subject = Subject(profile)
    for path, part in numbered_parts(profile):
        for key in sorted(numbers_of(part) - {"ranges"}):
            named = part.source
            if isinstance(named, Mapping):
                # Two ways to say one figure of a coat: its source may stand under either.
                same = {"grows_weeks": "full_mm", "full_mm": "grows_weeks"}.get(key, key)
                named = named.get(key, named.get(same))
            ids = () if named is None else (named,) if isinstance(named, str) else named
            yield Sourced(
                path=(*path, key),
                kind=kind_of(profile.sources[name] for name in ids if name in profile.sources),
                own=subject.is_own(*path, key),
                wanted=(path[0], key) in _WANTED,
            )


_WANTED = {("layer_targets", "longest_mm"), ("layer_targets", "show_mm"), ("coats", "full_mm")}


def shares(numbers: Iterable[Sourced]) -> Mapping[Kind, float]:
    """The share (0 to 1) of each kind among numbers; nothing where there are none."""
    counted = Counter(number.kind for number in numbers)
    return {kind: counted[kind] / counted.total() for kind in KINDS if counted[kind]}
