"""What the rows of a sheet say of one visit, put together; rows that cannot be read, or disagree, are refused."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from coatrules.catalogue.message import Message, message
from coatrules.profile.compiled import CompiledProfile
from coatrules.recording.entry import put_off, set_work

LONGEST_NOTE = 2000
"""Characters of one visit's note (``schemas/history.schema.json``)."""


class Refused(Exception):
    """A row that cannot be read: why, and how to fix it."""

    def __init__(self, says: Message, fix: Message | None = None) -> None:
        super().__init__(says)
        self.says, self.fix = says, fix

    def cell(self, headings: Sequence[str]) -> int:
        """Returns which cell of the row it is about, from 0: of the row as a whole the first."""
        heading = self.says.params.get("column")
        return headings.index(heading) if heading in headings else 0


def refused_row(code: str, fix: Message | None = None, /, **params: Any) -> Refused:
    """Returns the refusal with this sentence, and a fix where the one of the same code does not do."""
    return Refused(message(code, **params), fix)


def merged_visit(visit: Mapping[str, Any], row_visit: Mapping[str, Any]) -> dict[str, Any]:
    """A visit with what a further row says of it; two rows must not say different things."""
    merged = dict(visit)
    for part, done in row_visit.get("work", {}).items():
        work = dict(merged.get("work", {}))
        before = work.get(part, {})
        for task, figure in done.items():
            if task != "minutes" and before.get(task, figure) != figure:
                raise refused_row("row-differs", part=part, task=task, first=before[task], figure=figure)
        minutes = [part["minutes"] for part in (before, done) if "minutes" in part]
        work[part] = {**before, **done, **({"minutes": sum(minutes)} if minutes else {})}
        merged["work"] = work
    if left := row_visit.get("put_off"):
        merged["put_off"] = [*(part for part in merged.get("put_off", ()) if part not in left), *left]
    for part in merged.get("put_off", ()):
        if part in merged.get("work", {}):
            raise refused_row("row-left-and-worked", part=part)
    for part, seen in row_visit.get("seen", {}).items():
        before = merged.get("seen", {}).get(part, {})
        for key, value in seen.items():
            if before.get(key, value) != value:
                raise refused_row("row-differs", part=part, task=key, first=before[key], figure=value)
        merged["seen"] = {**merged.get("seen", {}), part: {**before, **seen}}
    for part, reaction in row_visit.get("reactions", {}).items():
        reactions = dict(merged.get("reactions", {}))
        if reactions.get(part, reaction) != reaction:
            raise refused_row("row-reaction-differs", part=part, first=reactions[part], reaction=reaction)
        merged["reactions"] = {**reactions, part: reaction}
    if note := row_visit.get("note"):
        notes = [part for part in (merged.get("note"),) if part]
        if note not in (notes[0].split(" / ") if notes else ()):
            merged["note"] = " / ".join([*notes, note])
        if len(merged["note"]) > LONGEST_NOTE:
            raise refused_row("row-note-too-long", most=LONGEST_NOTE)
    return merged


def with_left(visit: Mapping[str, Any], compiled: CompiledProfile) -> dict[str, Any]:
    """Returns the visit in which a part that was left is an exception to the work on a larger one, whichever row came first."""
    entries = [*((part, None) for part in visit["put_off"]), *visit.get("work", {}).items()]
    whole = {key: value for key, value in visit.items() if key not in ("work", "put_off")}
    for part, done in sorted(entries, key=lambda entry: -len(compiled.names[entry[0]])):
        if done is None:
            put_off(whole, part, compiled)
        else:
            set_work(whole, part, done, compiled)
    return whole
