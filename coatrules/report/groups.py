"""Groups of regions by name, where the name says which parts are meant."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from functools import lru_cache

from attrs import frozen

from coatrules.catalogue.speaking import say
from coatrules.order.work_order import WorkOrder

STAGES = ("stage", "stages")
"""How groups are called that only say which regions are stripped together before a show."""


@frozen
class Groups:
    """The groups of a profile that may stand for their parts. ``members``: the regions of each, the largest first;
    ``telling``: of each region the groups whose name says more than those of their parts, the largest first."""

    members: Mapping[str, frozenset[str]]
    telling: Mapping[str, Sequence[str]]

    def beginning(self, regions: Sequence[str], at: int) -> Iterator[tuple[str, int]]:
        """The groups all of which stands from there on among regions in their order, each with the index after it."""
        for group in self.telling.get(regions[at], ()):
            end = at + len(self.members[group])
            if end <= len(regions) and self.members[group].issuperset(regions[at:end]):
                yield group, end


def groups_of(order: WorkOrder) -> Groups:
    """Returns the groups of an order's profile."""
    groups = (facts.get("groups") for facts in order.all_facts.values())
    held = tuple([tuple(map(str, names)) if isinstance(names, tuple | list) else () for names in groups])
    return _groups(tuple(order.labels.items()), tuple(zip(order.all_facts, held, strict=True)))


def group_words(group: str) -> str:
    """Returns what a group is called."""
    return say.own(authors_words(group))


def authors_words(group: str) -> str:
    """Returns what a group is called in the language of its profile."""
    return group.replace("-", " ")


@lru_cache(maxsize=8)
def _groups(labels: tuple[tuple[str, str], ...], held: tuple[tuple[str, tuple[str, ...]], ...]) -> Groups:
    authors = {region: label.lower() for region, label in labels}
    found: dict[str, list[str]] = {}
    for region, groups in held:
        for group in groups:
            words = authors_words(group)
            if words not in authors.values() and words.split()[0] not in STAGES:
                found.setdefault(group, []).append(region)
    largest_first = sorted(found.items(), key=lambda pair: (-len(pair[1]), pair[0]))
    telling: dict[str, list[str]] = {}
    for group, regions in largest_first:
        if says_all(group, [authors[region] for region in regions]):
            for region in regions:
                telling.setdefault(region, []).append(group)
    return Groups({group: frozenset(regions) for group, regions in largest_first}, telling)


def says_all(group: str, labels: Sequence[str]) -> bool:
    """Whether a group's name says more than those of its parts: two are as soon said by their own, unless these only repeat the
    noun that the group is called by."""
    noun = authors_words(group).split()[-1].removesuffix("s")
    return len(labels) > 2 or (len(labels) == 2 and all(noun in label for label in labels))
