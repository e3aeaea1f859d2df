"""What a history makes a reader stop at: records that contradict the rest, a coat that does not roll, what ended one that did.

Dogs' breeds are named where a figure was published for them alone.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from coatrules.dog.history import History
from coatrules.dog.rolling import BLOWN_AFTER, RollingEnd, blown_window, visits_to_layer
from coatrules.dog.state import DogState
from coatrules.learning.pace import Observation, Outlier
from coatrules.learning.speed import Timed
from coatrules.order.words import date_words, minutes_words, weeks_words
from coatrules.problems import Path, Problem
from coatrules.profile.compiled import CompiledProfile


def history_findings(compiled: CompiledProfile, history: History, state: DogState) -> Iterator[Problem]:
    """The findings, each at its visit's line where a visit tells of it."""
    if state.first_visit is None and history.visits:
        first = min(visit.day for visit in history.visits)
        if first.toordinal() > state.day:
            yield _too_early(history, first, state.day)
    for contrary in state.pace.contrary:
        yield _contrary(compiled, history, contrary)
    for entry in state.speed.rejected:
        yield _minutes(history, entry)
    if state.rolling.rolls == "no":
        yield _one_coat(history, state)
    for ending in state.endings:
        yield _ending(compiled, history, ending, state.day)


def _too_early(history: History, first: date, day: int) -> Problem:
    message = (
        f"This is asked for {_on(day)}, before the first visit on record ({date_words(first)}): nothing of what was done "
        "counts yet."
    )
    return history.origin.problem("before-first-visit", message, (), severity="warning", hint="Check the date.")


def _contrary(compiled: CompiledProfile, history: History, contrary: Outlier) -> Problem:
    said = contrary.said
    where, when = compiled.regions[said.region].region.label, _on(said.day)
    if isinstance(said, Observation):
        key = "longest_mm"
        expected = f"about {contrary.expected:.0f} mm" if contrary.expected else "a length under the skin"
        what = f"{said.length_mm:g} mm on {when} does not fit the rest of the record ({expected} would)"
    else:
        key = "layers"
        layers = f"{said.layers} layer" + ("s" if said.layers != 1 else "")
        what = f"{layers} on {when} do not fit the rest of the record"
    path: Path = ("visits", said.visit, "seen")
    if said.visit >= 0:
        path = (*path, compiled.said(history.visits[said.visit].seen)[said.region], key)
    return history.origin.problem(
        "seen-contradicts",
        f"{where}: {what}; it was left out when the pace was learned.",
        path,
        severity="warning",
        hint="Check what was written, and whether work before it is missing.",
    )


def _minutes(history: History, entry: Timed) -> Problem:
    took, usual = minutes_words(entry.minutes), minutes_words(entry.usual_minutes)
    message = (
        f"{took} on record for '{entry.said}' do not fit its work, which usually takes {usual}; they were left out."
    )
    path = ("visits", entry.visit, "work", entry.said, "minutes")
    return history.origin.problem("minutes-doubtful", message, path, severity="warning", hint="Check the record.")


def _one_coat(history: History, state: DogState) -> Problem:
    days = ", ".join(_on(day) for day, _ in state.rolling.days)
    message = (
        f"One layer was seen on {days}, where even a slow coat would show two: this dog seems to carry one coat at a time, "
        "and such a coat cannot be kept rolling (published for the Wire Fox Terrier; most dogs carry two). Rather a staged "
        "strip: wait until the coat is blown, then take all of it, section by section; the new one follows six to eight "
        "weeks after."
    )
    path = ("visits", state.rolling.days[-1][1], "seen")
    hint = "Count the layers once more before you change the way of work: two seen once settle it."
    return history.origin.problem("one-coat-at-a-time", message, path, severity="warning", hint=hint)


def _ending(compiled: CompiledProfile, history: History, ending: RollingEnd, day: int) -> Problem:
    path: Path = () if ending.visit is None else ("visits", ending.visit)
    rounds = visits_to_layer(compiled)
    back = f"its usual share at every visit: layered again after about {rounds} visits"
    when = _on(ending.day)
    match ending.kind:
        case "season" | "whelped":
            path = (*path, "events", ending.kind)
            what = "The bitch whelped" if ending.kind == "whelped" else "A season began"
            first, last = (date_words(at) for at in blown_window(ending.day))
            if day - ending.day < BLOWN_AFTER[0] * 7:
                message = (
                    f"{what} on {when}. The coat is often blown six to eight weeks after, here between {first} and {last}. "
                    f"The way back then: down to the shortest layer that can be worked, and from there {back}."
                )
            else:
                message = (
                    f"{what} on {when}; the coat was likely blown between {first} and {last}. The way back: take out what "
                    f"is loose, down to the shortest layer that can be worked, and from there {back}."
                )
        case "gap":
            weeks, every = weeks_words((day - ending.day) / 7), weeks_words(compiled.profile.visit.every_weeks)
            message = (
                f"The last visit was {weeks} ago, where {every} are planned: the lengths have run together. The way back: "
                f"not all today, but {back}."
            )
        case "clip":
            where = ", ".join(compiled.regions[name].region.label for name in ending.regions)
            message = (
                f"Clipped on {when} and not pulled out since: {where}. Cut hair comes softer and paler and does not roll. "
                "The way back: strip it out whole as soon as it can be held; two or three full strips may be needed "
                "(published for the Border Terrier), and the coat may never quite recover (published for the Dandie Dinmont)."
            )
    return history.origin.problem(f"rolling-ended-{ending.kind}", message, path, severity="note")


def _on(day: int) -> str:
    return date_words(date.fromordinal(day))
