"""What every check looks at: a profile, its regions made ready, and the facts that can occur in them."""

from __future__ import annotations

import json
from collections.abc import Mapping
from functools import cached_property
from typing import Any

from attrs import frozen

from coatrules.catalogue.message import Message
from coatrules.check.satisfiability import Spaces
from coatrules.conditions.condition import Condition
from coatrules.formats.paths import has, value_at
from coatrules.formats.values import TaskKind
from coatrules.problems import Problem
from coatrules.profile.compiled import CompiledProfile, CompiledRegion, compile_profile
from coatrules.profile.model import Profile
from coatrules.profile.parts import expand
from coatrules.reading import Document

STRUCTURE = frozenset({"region", "groups", "coat"})
"""Facts that say where on the dog, rather than how it is there."""


@frozen(eq=False, slots=False)  # the cached properties need a place to stay
class Subject:
    """One profile under check, or one of its regimes: of that, ``whole`` is the profile with all of them."""

    profile: Profile
    whole: Profile | None = None

    @cached_property
    def compiled(self) -> CompiledProfile:
        """The profile made ready."""
        return compile_profile(self.profile)

    @cached_property
    def spaces(self) -> Spaces:
        """The facts that can occur in each region."""
        return Spaces(self.compiled)

    @property
    def is_base(self) -> bool:
        """Whether this is only there to be built on: it asks for no rolling coat anywhere."""
        return not self.profile.layer_targets

    @property
    def is_for_others(self) -> bool:
        """Whether what it defines and does not use is for profiles that build on it: a breed that is not stripped is none."""
        return self.is_base and self.profile.breed is None

    @property
    def needs_cases(self) -> bool:
        """Whether worked cases have something to show: what is taken over unchanged is proven where it was written."""
        is_alone = len(self.chain) < 2 and self.whole is None
        return is_alone or self.is_own("rules") or self.is_own("layer_targets")

    @cached_property
    def chain(self) -> tuple[Document, ...]:
        """The profile's file, then those that it builds on; none of what came without a file."""
        return tuple(document for _, document in (self.whole or self.profile).origin.parts)

    @property
    def file(self) -> str:
        """The profile's own file."""
        return self.chain[0].file if self.chain else ""

    @cached_property
    def _own(self) -> Any:
        """What the profile writes itself, in a regime what it writes for that."""
        data = self.chain[0].data
        return data if self.whole is None else value_at(data, ("regimes", str(self.profile.regime)))

    def is_own(self, *path: str | int) -> bool:
        """Whether the value at a path is written in the profile itself, not taken over from one it extends."""
        return not self.chain or has(self._own, path)

    def is_written(self, *path: str | int) -> bool:
        """Whether the value at a path is written in the profile or in one it extends, not left to the default."""
        return any(has(document.data, path) for _, document in self.profile.origin.parts)

    def regions(self, names: tuple[str, ...] | None) -> list[CompiledRegion]:
        """The regions that a part of the profile holds for; all where it names none."""
        if names is None:
            return list(self.compiled.regions.values())
        return [self.compiled.regions[name] for name in expand(self.profile, names)]

    def tasks(self, region: CompiledRegion) -> frozenset[TaskKind]:
        """The tasks that can ever come up in a region."""
        return self._tasks[region.id]

    @cached_property
    def _tasks(self) -> dict[str, frozenset[TaskKind]]:
        # Every rule asks about every region that it is for, and each answer looks at all rules of a region.
        return {name: frozenset(self._tasks_in(region)) for name, region in self.compiled.regions.items()}

    def _tasks_in(self, region: CompiledRegion) -> set[TaskKind]:
        tasks: set[TaskKind] = {routine.task for _, routine in region.routines}
        if region.clipper_only is not None:
            tasks.add("clip")
        elif region.target is not None or self.is_base:
            tasks.add("pull")
        if "card" in region.region.minutes:  # what is seen can put an undercoat on any coat
            tasks.add("card")
        for _, rule in region.rules:
            tasks.update(rule.then.add)
        return tasks

    def problem(
        self, code: str, params: Mapping[str, Any], *path: str | int, fix: Message | None = None, key: bool = False
    ) -> Problem:
        """Returns a finding with its place: something to think about, not an error."""
        return self.profile.origin.problem_at(path, code, params, fix=fix, severity="warning", key=key)


def parts(condition: Condition) -> dict[str, Condition]:
    """The parts of a condition that must all hold, by their key."""
    return {key: Condition.parse({key: part}) for key, part in json.loads(condition.text).items()}
