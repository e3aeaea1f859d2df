"""A rehearsal in sentences and tables."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from coatrules.mentor.rehearsal import SETTLED, WEEKS, Run, TargetRun, settled_looks
from coatrules.profile.model import LayerTarget, Profile


def text(profile: Profile, runs: Sequence[Run]) -> str:
    """Every layer target with a line for each dog, then the minutes that the visits took."""
    return "".join(f"{line}\n" for line in _lines(profile, runs))


def _lines(profile: Profile, runs: Sequence[Run]) -> Iterator[str]:
    visit = profile.visit
    yield f"{profile.label}: {WEEKS} weeks rehearsed, a visit every {visit.every_weeks:g} weeks of {visit.minutes:g} minutes."
    yield f"The coat is grown out at first; figures are of the weeks from {SETTLED} on, lengths before a visit, cover after it."
    for name, target in profile.layer_targets.items():
        if not any(name in run.targets for run in runs):
            continue
        yield ""
        yield f"{name}: {_target_line(target)}"
        rows = [_row(run, run.targets[name], target) for run in runs]
        yield from _table(("dog", "layers", "from", "cover", "longest", ""), rows)
    yield ""
    yield "Minutes at a visit"
    yield from _table(("dog", "usual", "most", ""), [_time(run) for run in runs])


def _target_line(target: LayerTarget) -> str:
    targets = [f"{target.layers} layers"]
    if target.cover is not None and not target.full_strip:
        targets.append(f"cover {target.cover.at_least:g} or more")
    if target.longest_mm is not None:
        targets.append(f"longest hair {target.longest_mm[0]:g} to {target.longest_mm[1]:g} mm")
    return f"wanted are {', '.join(targets)}"


def _row(run: Run, target: TargetRun, layer_target: LayerTarget) -> tuple[str, ...]:
    looks = list(settled_looks(target))
    if not looks:
        return (_who(run), "", "", "", "", "no visit after the first year")
    reached = f"week {target.reached_week:.0f}" if target.reached_week is not None else "never"
    layers = sorted({look.layers for look in looks})
    cover = min(look.cover for look in looks)
    longest = max(look.longest_mm for look in looks)
    return (
        _who(run),
        f"{layers[0]}" if len(layers) == 1 else f"{layers[0]} to {layers[-1]}",
        reached,
        f"{cover:.2f}",
        f"{longest:.0f} mm",
        _verdict(target, layer_target, longest),
    )


def _verdict(target: TargetRun, layer_target: LayerTarget, longest: float) -> str:
    faults = []
    if target.see_through:
        faults.append(f"see-through at {_of(target.see_through, target)}, worst: {target.regions['cover']}")
    if target.overgrown and layer_target.longest_mm is not None:
        over = (
            f"{longest - layer_target.longest_mm[1]:.0f} mm"
            if longest - layer_target.longest_mm[1] >= 1
            else "less than 1 mm"
        )
        faults.append(f"overgrown at {_of(target.overgrown, target)}, by up to {over}: {target.regions['longest_mm']}")
    if target.few_layers:
        faults.append(f"too few layers at {_of(target.few_layers, target)}: {target.regions['layers']}")
    return "; ".join(faults) or "as wanted"


def _of(count: int, target: TargetRun) -> str:
    return "every visit" if count == target.settled else f"{count} of {target.settled} visits"


def _who(run: Run) -> str:
    return f"{run.actor.dog}, {run.actor.rhythm}"


def _time(run: Run) -> tuple[str, ...]:
    minutes = sorted(run.minutes)
    deferred = f"no time for all at {run.deferred} of {run.visits} visits" if run.deferred else "time for all"
    return _who(run), f"{minutes[len(minutes) // 2]:g}", f"{minutes[-1]:g}", deferred


def _table(head: tuple[str, ...], rows: Sequence[tuple[str, ...]]) -> Iterator[str]:
    widths = [max(map(len, column)) for column in zip(head, *rows, strict=True)]
    for row in (head, *rows):
        yield ("  " + "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True))).rstrip()
