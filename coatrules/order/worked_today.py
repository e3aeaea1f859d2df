"""What was already done on the day of the order, which is not asked for again."""

from __future__ import annotations

from collections.abc import Mapping

from coatrules.dog.state import DogState
from coatrules.order.reasons import Reason
from coatrules.order.verdicts import Verdict


def without_done(state: DogState, verdicts: Mapping[str, Verdict]) -> dict[str, Verdict]:
    """Returns the verdicts without the work that the day's own record says is done; a region where nothing else is to do is left
    alone for that reason, which the tasks of any other say too."""
    return {name: _without(state, name, verdict) for name, verdict in verdicts.items()}


def _without(state: DogState, name: str, verdict: Verdict) -> Verdict:
    done = [kind for kind, day in state.regions[name].last.items() if day == state.day]
    if not done:
        return verdict
    facts: dict[str, object] = {"tasks": tuple(sorted(done))}
    if verdict.outcome == "forbid":  # the dog may have refused after some of it
        return verdict._replace(because=(*verdict.because, Reason(rule="coat.worked-today", facts=facts)))
    left = [task for task in verdict.tasks if task.kind not in done]
    if left:
        rest = Reason(rule="coat.rest-of-today", facts=facts)
        return verdict._replace(tasks=tuple([task._replace(because=(*task.because, rest)) for task in left]))
    because = (Reason(rule="coat.worked-today", facts=facts), *verdict.because)
    return Verdict(
        "leave",
        because=because,
        cautions=verdict.cautions,
        refer=verdict.refer,
        conflicts=verdict.conflicts,
        fired=verdict.fired,
    )
