"""The steps of a work order, from the slots at the table: what is done, with what, in which pass, and why."""

from __future__ import annotations

from collections.abc import Iterator

from coatrules.coat.queue import WHOLE
from coatrules.dog.state import DogState
from coatrules.order.jobs import Slot
from coatrules.order.reasons import Reason
from coatrules.order.table import Pass, Piece
from coatrules.order.today import Today
from coatrules.order.verdicts import Task, Verdict
from coatrules.order.work_order import Step


def steps(state: DogState, today: Today) -> Iterator[Step]:
    """Yields the steps in working order."""
    begun: set[str] = set()
    slots = today.arrangement.slots
    for slot, pass_number in zip(slots, pass_numbers(today), strict=True):
        if slot.region is None or slot.task is None:
            yield Step(region=None, task="rest", minutes=slot.minutes / 2, pass_number=pass_number)
            continue
        verdict = today.worked[slot.region]
        task = next(task for task in verdict.tasks if task.kind == slot.kind)
        because = task.because
        if slot.region not in begun:  # what holds for the whole region is said once
            begun.add(slot.region)
            given = set(map(id, because))
            because = (*because, *[reason for reason in verdict.because if id(reason) not in given])
        if slot.parts > 1 and state.regions[slot.region].tolerance < 1:
            because = (*because, Reason(rule="coat.tender"))
        yield _step(slot, task, today.pieces[slot.region][slot.task], verdict, because, pass_number)


def _step(
    slot: Slot, task: Task, piece: Piece, verdict: Verdict, because: tuple[Reason, ...], pass_number: int
) -> Step:
    means = piece.means
    return Step(
        region=slot.region,
        task=task.kind,
        minutes=slot.minutes / 2,
        pass_number=pass_number,
        share=task.mass / WHOLE if task.mass else None,
        leave_mm=task.leave_mm,
        method=means.method if means is not None else None,
        how=means.how if means is not None else "",
        tools=means.tools if means is not None else "",
        priority=verdict.priority,
        priority_parts=verdict.priority_parts,
        bout=slot.part,
        bouts=slot.parts,
        because=because,
        cautions=verdict.cautions,
    )


def pass_numbers(today: Today) -> list[int]:
    """Returns for each slot the number of the pass in which it stands. A tender place visited on the way belongs to the pass that
    goes on round it; a rest, to the pass before it."""
    own = [
        None if slot.region is None or slot.task is None else today.pieces[slot.region][slot.task].stands
        for slot in today.arrangement.slots
    ]
    next_calm: list[Pass | None] = []
    ahead: Pass | None = None
    for slot, place in zip(reversed(today.arrangement.slots), reversed(own), strict=True):
        ahead = place if slot.region not in today.tender and place is not None else ahead
        next_calm.append(ahead)
    now, number, numbers = Pass(False, -1), 0, []
    for place, ahead in zip(own, reversed(next_calm), strict=True):
        if place is not None:
            stands = max(now, place if ahead is None else min(place, ahead))
            number += stands != now
            now = stands
        numbers.append(number)
    return numbers
