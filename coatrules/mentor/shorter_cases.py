"""Writes the histories of a profile's cases as shortly as they can be: without a format, and visits that are alike once.

Works on the text: what stands there besides stays as it was written. Visits with a comment between them stay apart, and a history
that cannot be used stays as it is.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, TypeAlias

import yaml

from coatrules.dog.loading import load_history
from coatrules.formats.values import MAPPINGS
from coatrules.mentor.one_line import WIDTH, value_end
from coatrules.problems import InputError
from coatrules.profile.case_history import in_series, runs, written_out

_Edit: TypeAlias = tuple[int, int, str]
"""From where to where, and what comes instead."""


def shorter(text: str, data: Mapping[str, Any]) -> str:
    """The text of a profile, which says ``data``, with the histories of its cases shortened."""
    pieces, end = [], 0
    for history, node in _histories(data, yaml.compose(text, Loader=yaml.SafeLoader)):
        for start, stop, new in sorted([*_format(text, node), *_series(text, history, node)]):
            pieces += [text[end:start], new]
            end = stop
    return "".join([*pieces, text[end:]])


def shortened(data: Any) -> Any:
    """What a profile says, with the histories of its cases as ``shorter`` would write them if nothing stood between their visits."""
    if not isinstance(data, MAPPINGS):
        return data
    made = {key: _shortened_cases(value) if key == "cases" else value for key, value in data.items()}
    if isinstance(regimes := made.get("regimes"), MAPPINGS):
        made["regimes"] = {name: shortened(regime) for name, regime in regimes.items()}
    return made


def _shortened_cases(cases: Any) -> Any:
    if not isinstance(cases, MAPPINGS):
        return cases
    return {
        name: {**case, "history": in_series(case["history"])} if _is_usable(case) else case
        for name, case in cases.items()
    }


def _is_usable(case: Any) -> bool:
    """Whether a case has a history that can be used."""
    if not isinstance(case, MAPPINGS) or "history" not in case:
        return False
    try:
        load_history(written_out(case["history"]))
    except InputError:
        return False
    return True


def _histories(data: Any, root: yaml.Node | None) -> Iterator[tuple[Mapping[str, Any], yaml.MappingNode]]:
    """The histories that can be used, each as data and composed, in the order of the text."""
    for section, node in _entries(root):
        if not isinstance(data, MAPPINGS) or section not in data:
            continue
        if section == "cases":
            for name, case in _entries(node):
                if _is_usable(data["cases"][name]):
                    yield data["cases"][name]["history"], dict(_entries(case))["history"]
        elif section == "regimes":
            for name, regime in _entries(node):
                yield from _histories(data["regimes"][name], regime)


def _entries(node: yaml.Node | None) -> Iterator[tuple[str, Any]]:
    for key, value in node.value if isinstance(node, yaml.MappingNode) else ():
        yield key.value, value


def _format(text: str, history: yaml.MappingNode) -> Iterator[_Edit]:
    """Takes out the format, up to the key after it."""
    keys = [key.value for key, _ in history.value]
    if "format" in keys[:-1]:
        at = keys.index("format")
        start, end = (history.value[n][0].start_mark.index for n in (at, at + 1))
        if "#" not in text[start:end]:
            yield start, end, ""


def _series(text: str, history: Mapping[str, Any], node: yaml.MappingNode) -> Iterator[_Edit]:
    """Writes visits that are alike once."""
    visits = dict(_entries(node)).get("visits")
    shorter = in_series(history).get("visits", ())
    for (first, end), entry in zip(runs(history.get("visits", ())), shorter, strict=True):
        if end - first == 1 or not isinstance(visits, yaml.SequenceNode):
            continue
        one, start, stop = visits.value[first], value_end(visits.value[first]), value_end(visits.value[end - 1])
        if "#" in text[one.start_mark.index : stop]:
            continue
        series = f"series: {{visits: {entry['series']['visits']}, every_weeks: {entry['series']['every_weeks']}}}"
        yield _after_day(text, one, series)
        yield start, stop, ""


def _after_day(text: str, visit: yaml.MappingNode, series: str) -> _Edit:
    """Puts the series behind the day of its first visit; what comes after it in braces goes to the next line where it must."""
    day = dict(_entries(visit))["visit"].end_mark.index
    if not visit.flow_style:
        return day, day, f"\n{' ' * visit.start_mark.column}{series}"
    later = [key.start_mark.index for key, _ in visit.value if key.start_mark.index > day]
    written = text[visit.start_mark.index : value_end(visit)]
    fits = "\n" not in written and visit.start_mark.column + len(written) + len(series) + 2 <= WIDTH
    if fits or not later:
        return day, day, f", {series}"
    return day, later[0], f", {series},\n{' ' * (visit.start_mark.column + 1)}"
