"""Where the values of a profile come from: what its numbers rest on, and in which file a value was written."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

import yaml

from coatrules.catalogue.speaking import say
from coatrules.check.provenance import KINDS, shares, sourced_numbers
from coatrules.problems import InputError, Problem, nearest_fix
from coatrules.profile.loading import chain_under_house_rules, merged_chain
from coatrules.profile.model import Profile
from coatrules.profile.shelves import Shelf


def sources(profile: Profile) -> str:
    """Returns a table: a row for each kind of source, a column for all numbers, its own, and the lengths among these."""
    numbers = list(sourced_numbers(profile))
    own = [number for number in numbers if number.own]
    columns = [numbers, own, [number for number in own if number.wanted]]
    kinds = {kind: say(f"provenance.{kind}") for kind in KINDS if any(number.kind == kind for number in numbers)}
    heads = [say("provenance.all"), say("provenance.own"), say("provenance.wanted")]
    width = max(map(len, kinds.values()), default=0)
    lines = [f"{profile.id}:", f"{'':<{width}}  " + "  ".join(f"{head:>13}" for head in heads)]
    for kind, words in kinds.items():
        cells = []
        for column in columns:
            count = sum(number.kind == kind for number in column)
            cells.append(f"{count:>6} {shares(column).get(kind, 0):>6.0%}")
        lines.append(f"{words:<{width}}  " + "  ".join(cells))
    return "\n".join(lines) + "\n\n"


def where(profile: Mapping[str, Any] | Path | str, key: str, shelves: Iterable[Shelf]) -> Iterator[str]:
    """Yields the value that holds at a key, and every place where it was written or removed, the one that wins first."""
    chain = chain_under_house_rules(profile, shelves=shelves)
    steps = tuple(int(step) if step.isdecimal() else step for step in key.replace("[", ".").replace("]", "").split("."))
    merged, _ = merged_chain(chain)
    name = merged.get("id", "") if isinstance(profile, Mapping) else str(profile)
    value, known = _at(merged, steps)
    written = [(one, *_at(one.data, steps)) for one in chain]
    if not known and not any(there for _, _, there in written):
        keys = merged.keys() if len(steps) == 1 else ()
        around, _ = _at(merged, steps[:-1])
        fix = nearest_fix(str(steps[-1]), map(str, around if isinstance(around, dict) else keys))
        raise InputError([Problem(code="where.unknown", params={"profile": name, "path": key}, fix=fix)])
    yield say("where.value", path=key, value=_shown(value)) if known else say("where.nothing", path=key, profile=name)
    first = True
    for document, here, there in written:
        if not there:
            continue
        line, _ = document.places.place(steps, key=True)
        place = f"  {document.file}:{line}" if document.file else "  -"
        overridden = not first and not isinstance(here, dict)
        code = "where.removed" if here is None else "where.overridden" if overridden else "where.set"
        yield say(code, place=place, value=_shown(here))
        first = False


def _at(data: Any, steps: Sequence[str | int]) -> tuple[Any, bool]:
    """What is at a path, and whether anything is."""
    for step in steps:
        try:
            data = data[step]
        except (LookupError, TypeError):
            return None, False
    return data, True


def _shown(value: Any) -> str:
    return (
        yaml.safe_dump(value, default_flow_style=True, allow_unicode=True, width=1000).removesuffix("\n...\n").strip()
    )
