"""What is decided of a region: its tasks, how pressing they are, and why."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal, NamedTuple

from coatrules.catalogue.message import Message
from coatrules.formats.values import TaskKind
from coatrules.order.reasons import Reason
from coatrules.profile.compiled import Means


class Task(NamedTuple):
    """One task in one region. ``mass`` is what is pulled, in parts per million; 0 for other tasks."""

    kind: TaskKind
    minutes: float
    mass: int = 0
    leave_mm: float | None = None
    means: Means | None = None
    because: tuple[Reason, ...] = ()


class Verdict(NamedTuple):
    """What was decided for a region. ``outcome`` is final but for the time: work may still be deferred.

    overgrown_weeks: since when the oldest hair is longer than wanted or blown; of equals, what is least so can best wait.
    """

    outcome: Literal["work", "leave", "forbid"]
    tasks: tuple[Task, ...] = ()
    priority: float = 0
    priority_parts: Mapping[str, float] = {}
    overgrown_weeks: float = 0.0
    because: tuple[Reason, ...] = ()
    cautions: tuple[Message, ...] = ()
    refer: tuple[Message, ...] = ()
    conflicts: tuple[Reason, ...] = ()
    fired: tuple[str, ...] = ()

    @property
    def pulled(self) -> int:
        """What is pulled, in parts per million."""
        return max((task.mass for task in self.tasks), default=0)


def all_forbidden(verdicts: Mapping[str, Verdict]) -> bool:
    """Whether no region may be worked at all."""
    return all(verdict.outcome == "forbid" for verdict in verdicts.values())
