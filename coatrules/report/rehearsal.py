"""A rehearsal in sentences and tables."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from coatrules.catalogue.message import Message, message
from coatrules.catalogue.speaking import called, say
from coatrules.mentor.rehearsal import LATE, SETTLED, WEEKS, Rehearsal, Run, TargetRun, Wanted, settled_looks


def text(rehearsed: Rehearsal) -> str:
    """Every layer target with a line for each dog, then the minutes that the visits took."""
    return "".join(f"{line}\n" for line in _lines(rehearsed))


def _lines(rehearsed: Rehearsal) -> Iterator[str]:
    runs = rehearsed.runs
    figures = {"weeks": WEEKS, "every_weeks": rehearsed.every_weeks, "minutes": rehearsed.minutes}
    yield say("rehearsal.rehearsed", profile=say.own(rehearsed.profile_label), **figures)
    yield say("rehearsal.rehearsed-how", settled=SETTLED)
    paces = [run.actor.pace for run in runs]
    late_weeks = LATE * rehearsed.every_weeks
    yield say("rehearsal.rehearsed-dogs", slow=min(paces), fast=max(paces), late_weeks=late_weeks)
    labels = {region: called(region, label) for region, label in rehearsed.labels.items()}
    for name, target in rehearsed.wanted.items():
        if not any(name in run.targets for run in runs):
            continue
        yield ""
        yield say("rehearsal.target", target=called(name), asked=tuple(_asked(target)))
        rows = [_row(run, run.targets[name], target, labels) for run in runs]
        yield from _table((*_heads("dog", "layers", "from", "cover", "longest", "easily"), ""), rows)
    yield ""
    yield say("rehearsal.minutes-at-a-visit")
    yield from _table((*_heads("dog", "usual", "most"), ""), [_time(run) for run in runs])


def _heads(*columns: str) -> tuple[str, ...]:
    return tuple(say(f"rehearsal.column-{column}") for column in columns)


def _asked(target: Wanted) -> Iterator[Message]:
    yield message("rehearsal.target-layers", layers=target.layers)
    if target.cover_at_least is not None:
        yield message("rehearsal.target-cover", cover=target.cover_at_least)
    if target.longest_mm is not None:
        yield message("rehearsal.target-longest", shortest_mm=target.longest_mm[0], longest_mm=target.longest_mm[1])


def _row(run: Run, target: TargetRun, layer_target: Wanted, labels: Mapping[str, str]) -> tuple[str, ...]:
    looks = list(settled_looks(target))
    if not looks:
        return (_who(run), "", "", "", "", "", say("rehearsal.no-visit"))
    reached = target.reached_week
    layers = sorted({look.layers for look in looks})
    longest = max(look.longest_mm for look in looks)
    easily = [look.comes_easily for look in looks if look.comes_easily is not None]
    return (
        _who(run),
        str(layers[0]) if len(layers) == 1 else say("rehearsal.range", low=layers[0], high=layers[-1]),
        say("rehearsal.from-week", week=round(reached)) if reached is not None else say("rehearsal.from-never"),
        say.amount("fixed", min(look.cover for look in looks)),
        say.amount("mm", longest),
        say.amount("percent", min(easily)) if easily else "",
        _verdict(target, layer_target, longest, labels),
    )


def _verdict(target: TargetRun, layer_target: Wanted, longest: float, labels: Mapping[str, str]) -> str:
    faults = []
    if target.see_through:
        visits = _of(target.see_through, target)
        faults.append(message("rehearsal.see-through", visits=visits, region=labels[target.regions["cover"]]))
    if target.overgrown and layer_target.longest_mm is not None:
        over = longest - layer_target.longest_mm[1]
        params = {"visits": _of(target.overgrown, target), "region": labels[target.regions["longest_mm"]]}
        code = "rehearsal.overgrown" if over >= 1 else "rehearsal.overgrown-a-little"
        faults.append(message(code, **params, over_mm=round(over)))
    if target.few_layers:
        visits = _of(target.few_layers, target)
        faults.append(message("rehearsal.few-layers", visits=visits, region=labels[target.regions["layers"]]))
    return say("rehearsal.faults", faults=tuple(faults)) if faults else say("rehearsal.as-wanted")


def _of(count: int, target: TargetRun) -> Message:
    if count == target.settled:
        return message("rehearsal.every-visit")
    return message("rehearsal.some-visits", some=count, all=target.settled)


def _who(run: Run) -> str:
    dog, rhythm = message(f"rehearsal.dog-{run.actor.dog}"), message(f"rehearsal.rhythm-{run.actor.rhythm}")
    return say("rehearsal.actor", dog=dog, rhythm=rhythm)


def _time(run: Run) -> tuple[str, ...]:
    minutes = sorted(run.minutes)
    code = "rehearsal.no-time-for-all" if run.deferred else "rehearsal.time-for-all"
    enough = say(code, deferred=run.deferred, visits=run.visits)
    return _who(run), *(say.amount("number", number) for number in (minutes[len(minutes) // 2], minutes[-1])), enough


def _table(head: tuple[str, ...], rows: Sequence[tuple[str, ...]]) -> Iterator[str]:
    widths = [max(map(len, column)) for column in zip(head, *rows, strict=True)]
    for row in (head, *rows):
        yield ("  " + "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True))).rstrip()
