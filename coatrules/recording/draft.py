"""A visit while it is told, line by line: as planned by what was seen before the work, but for what was otherwise."""

from __future__ import annotations

from collections.abc import Callable, Container, Iterable, Mapping, Sequence
from contextlib import suppress
from copy import deepcopy
from typing import Any

from coatrules.catalogue.message import Message, message
from coatrules.problems import InputError
from coatrules.profile.compiled import CompiledProfile
from coatrules.recording.answered import Answered
from coatrules.recording.answers import apply, keep_apart, larger_first, seen_in, worked_in
from coatrules.recording.entry import check_minutes
from coatrules.recording.lines import Item, items
from coatrules.recording.parts import parts_shown
from coatrules.recording.typed import NotUnderstood

Plan = Callable[[Mapping[str, Any]], Mapping[str, Any]]
"""Gives the work planned for a visit, by what was seen before it (plain data)."""


class Draft:
    """A visit as plain data in ``visit``; ``start`` is what stands in it before anything is told, ``plan`` what was planned."""

    def __init__(self, start: Mapping[str, Any], plan: Plan, compiled: CompiledProfile) -> None:
        self._start, self._plan, self._compiled = start, plan, compiled
        self._lines: list[list[Item]] = []
        self._seen: Mapping[str, Any] = {}
        self._planned = plan({})
        self.visit = self._as_told()

    def take(self, line: str) -> tuple[bool, list[Message], list[Exception]]:
        """Takes what a line says, and returns whether any of it was understood, how where that is not plain, and what was wrong: a wrong
        item takes nothing from the others."""
        understood: list[Message] = []
        wrong: list[Exception] = []
        taken: list[Item] = []
        earlier = Answered()
        for item in larger_first(items(line, self._compiled), self._compiled):
            visit = deepcopy(self.visit)
            try:
                keep_apart(earlier, item, self._compiled)
                understood += apply(visit, item, self._compiled)
                check_minutes(visit, self._compiled)
            except (NotUnderstood, InputError) as error:
                wrong.append(error)
            else:
                self.visit = visit
                taken.append(item)
        if taken:
            self._lines.append(taken)
            understood += self._planned_again()
            refused = {part.id for item in taken for part in item.parts}
            understood += done_though_refused(self.visit, refused, self._answers(), self._compiled)
        return bool(taken), understood, wrong

    def undo(self) -> bool:
        """Takes the last line back; returns whether there was one."""
        if not self._lines:
            return False
        self._lines.pop()
        self._planned_again()
        self.visit = self._as_told()
        return True

    def _planned_again(self) -> list[Message]:
        """Asks for the plan again where another was seen before the work, and returns what it leaves that was planned before."""
        seen = seen_in(self._answers(), self._compiled)
        if seen == self._seen:
            return []
        before, self._planned, self._seen = self._planned, self._plan(seen), seen
        self.visit = self._as_told()
        return plan_leaves(before, self._planned, self._compiled)

    def _answers(self) -> Sequence[Item]:
        return [item for line in self._lines for item in line]

    def _as_told(self) -> dict[str, Any]:
        visit = deepcopy({**self._start, **self._planned})
        for item in self._answers():
            with suppress(NotUnderstood):  # as planned, where the plan has nothing left
                apply(visit, item, self._compiled)
        return visit


def plan_leaves(before: Mapping[str, Any], planned: Mapping[str, Any], compiled: CompiledProfile) -> list[Message]:
    """Returns where nothing is planned any more by what was seen: somebody may have worked there all the same."""
    shown = parts_shown(compiled)
    left = tuple([shown[part] for part in before.get("work", {}) if part not in planned.get("work", {})])
    return [message("prompt.plan-leaves", parts=left)] if left else []


def done_though_refused(
    visit: Mapping[str, Any], parts: Container[str], answers: Iterable[Item], compiled: CompiledProfile
) -> list[Message]:
    """Returns at which of these parts the dog refused although the planned work counts as done, as nothing was told of it."""
    worked, shown = dict(compiled.by_region(visit.get("work", {}))), parts_shown(compiled)
    as_planned = worked.keys() - worked_in(answers, compiled)
    return [
        message("prompt.done-though-refused", part=shown[part])
        for part, how in visit.get("reactions", {}).items()
        if how == "stop" and part in parts and as_planned.intersection(compiled.names[part])
    ]
