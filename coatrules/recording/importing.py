"""Brings old records in: rows of a spreadsheet's export (CSV) into histories, by a small mapping file. Nothing is dropped:
every row is in a history, is empty, or is a problem with its line and the reason.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Mapping
from typing import Any, get_args

from attrs import fields_dict, frozen

from coatrules.catalogue import typed_amounts as amounts
from coatrules.catalogue.message import Message, message
from coatrules.catalogue.spellings import typed_as
from coatrules.dog.history import History
from coatrules.dog.state import unknown_names
from coatrules.formats.documents import Origin
from coatrules.formats.unstructure import thawed
from coatrules.formats.validation import structured
from coatrules.formats.values import Reaction, TaskKind, id_from_name
from coatrules.problems import InputError, Problem
from coatrules.profile.compiled import CompiledProfile
from coatrules.recording.cells import named_columns, read_rows
from coatrules.recording.days import date_pattern, day_written
from coatrules.recording.lines import seen_of_part
from coatrules.recording.parts import Parts, part_fix
from coatrules.recording.sheets import ISO_DAY, Meanings, SheetMapping
from coatrules.recording.typed import TASKS, NotUnderstood, key_typed
from coatrules.recording.visit_rows import Refused, merged_visit, refused_row, with_left

Profiles = Callable[[str], CompiledProfile]
"""Finds a profile by its id; raises ``InputError`` where there is none."""


@frozen(eq=False)
class Imported:
    """What came of a sheet: ``histories`` as plain data by dog's id; ``rows`` with something in them, ``read`` of those."""

    histories: Mapping[str, dict[str, Any]]
    rows: int
    read: int
    problems: tuple[Problem, ...]

    @classmethod
    def from_dict(cls, data: Mapping[str, Any]) -> Imported:
        """Returns what came of a sheet from what ``to_dict`` gave; raises ``InputError``."""
        from coatrules.order.stored_results import stored_result

        return stored_result(cls, data, "imported")

    def to_dict(self) -> dict[str, Any]:
        """Returns what came of a sheet as plain data by ``schemas/imported.schema.json``."""
        return {
            "format": 1,
            "histories": thawed(self.histories),
            "rows": self.rows,
            "read": self.read,
            "problems": [problem.to_dict() for problem in self.problems],
        }


def import_rows(content: bytes, file: str, mapping: SheetMapping, profiles: Profiles | None = None) -> Imported:
    """The histories that a sheet holds. ``content`` is the CSV file, ``file`` its name in messages. ``profiles`` finds a profile by
    its id; with it, names that the profile of a dog does not have are problems. Raises ``InputError`` where the sheet as a whole
    cannot be read.
    """
    headings, rows = read_rows(content, file, mapping)
    sheet = _Sheet(mapping, profiles)
    problems: list[Problem] = []
    filled = read = 0
    for row in rows:
        cells = row.cells
        if not any(cell.strip() for cell in cells):
            continue
        filled += 1
        try:
            if len(cells) != len(headings):
                raise refused_row("row-length", cells=len(cells), headings=len(headings))
            sheet.add(dict(zip(headings, (cell.strip() for cell in cells), strict=True)), row.line)
            read += 1
        except Refused as refused:
            line, column = row.place(refused.cell(headings))
            params = refused.says.params
            problems.append(
                Problem(code=refused.says.code, params=params, file=file, line=line, column=column, fix=refused.fix)
            )
    return Imported(sheet.histories(), filled, read, tuple(problems))


class _Sheet:
    """The histories as they grow, row by row. A row is taken whole or not at all."""

    def __init__(self, mapping: SheetMapping, profiles: Profiles | None) -> None:
        self.mapping, self.profiles = mapping, profiles
        self.columns = named_columns(mapping)
        self.compiled: dict[str, CompiledProfile] = {}
        self.unusable: dict[str, InputError] = {}
        self.profile_of: dict[str, str] = {}
        self.arrivals: dict[str, dict[str, dict[str, Any]]] = {}
        self.dates = [date_pattern(way) for way in (*mapping.ways_of_dates, ISO_DAY)]
        self.names: dict[str, str] = {}
        self.lines: dict[tuple[str, ...], int] = {}
        self.visits: dict[str, dict[str, dict[str, Any]]] = {}

    def histories(self) -> dict[str, dict[str, Any]]:
        """All dogs, the visits of each from old to new."""

        def head(dog: str) -> dict[str, Any]:
            profile = self.profile_of.get(dog, self.mapping.profile)
            who = {"id": dog, "name": self.names[dog]} | ({} if profile is None else {"profile": profile})
            return {"dog": who} | ({"arrival": self.arrivals[dog]} if dog in self.arrivals else {})

        return {
            dog: {
                "format": 1,
                **head(dog),
                "visits": [self._whole(dog, visit) for _, visit in sorted(self.visits[dog].items())],
            }
            for dog in sorted(self.visits)
        }

    def add(self, row: Mapping[str, str], line: int) -> None:
        """Adds the row on this line; raises ``Refused``."""
        cells = {name: row[heading] for name, heading in self.columns.items()}
        first = self.lines.setdefault(tuple(cells.values()), line)
        if first != line and cells.get("minutes"):
            raise refused_row("row-repeated", line=first)  # its minutes would count twice
        for name, text in cells.items():
            if not text.replace("\n", " ").replace("\r", " ").isprintable():
                raise refused_row("cell-hidden-character", column=self._heading(name))
        name, dog = self._dog(cells["dog"])
        day = self._day(cells["date"])
        row_visit: dict[str, Any] = {"visit": day}
        profile = self._profile(dog, cells)
        cells["part"] = self._part(cells, profile) or ""
        part, work = self._work(cells)
        if part is not None:
            row_visit |= {"put_off": [part]} if work is None else {"work": {part: work}}
        if reaction := cells.get("reaction"):
            meant = self._meaning("reaction", reaction)
            how = key_typed(meant, "typed.reaction", get_args(Reaction)) or meant
            row_visit["reactions"] = {self._part_of(cells): how}
        if cells.get("seen"):
            row_visit["seen"] = {self._part_of(cells): self._seen(cells["seen"])}
        if note := " ".join(cells.get("note", "").split()):
            row_visit["note"] = unicodedata.normalize("NFC", note)
        arrival = self._arrival(cells)
        if len(row_visit) == 1 and not arrival:
            raise refused_row("row-says-nothing")
        self._check(row_visit, arrival, profile)
        visits = self.visits.get(dog, {})
        merged = merged_visit(visits.get(day, {"visit": day}), row_visit)
        arrivals = self.arrivals.get(dog, {})
        for place, coat in arrival.items():
            if arrivals.get(place, coat) != coat:
                raise refused_row("row-arrival-differs", part=place)
        self.names.setdefault(dog, name)
        self.visits.setdefault(dog, {})
        if profile is not None:
            self.profile_of[dog] = profile
        if arrival:
            self.arrivals[dog] = {**arrivals, **arrival}
        if len(row_visit) > 1:
            self.visits[dog][day] = merged

    def _whole(self, dog: str, visit: dict[str, Any]) -> dict[str, Any]:
        compiled = self._compiled(self.profile_of.get(dog, self.mapping.profile)) if "put_off" in visit else None
        return visit if compiled is None else with_left(visit, compiled)

    def _seen(self, text: str) -> dict[str, Any]:
        try:
            return seen_of_part(text)
        except NotUnderstood as error:
            raise refused_row("cell-refused", column=self._heading("seen"), problem=error.says) from error

    def _part_of(self, cells: Mapping[str, str]) -> str:
        """The part that a row must have to say this."""
        part = cells["part"] or self.mapping.always.part
        if not part:
            raise refused_row("cell-empty", column=self._heading("part"))
        return part

    def _heading(self, name: str) -> str:
        heading: str = getattr(self.mapping.columns, name) or name
        return heading

    def _meaning(self, name: str, text: str) -> Any:
        """What a word of the sheet stands for; itself where nothing is said of it."""
        meanings: Mapping[str, Any] = getattr(self.mapping.values, name)
        for word, meaning in meanings.items():
            if word.strip().casefold() == text.casefold():
                return meaning
        return text

    def _dog(self, text: str) -> tuple[str, str]:
        if not text:
            raise refused_row("cell-empty", column=self._heading("dog"))
        name = unicodedata.normalize("NFC", text)
        dog = self._meaning("dog", text)
        if dog == text:
            dog = id_from_name(text)
            if not dog:
                raise refused_row("cell-no-id", name=text)
            dog = dog if dog[0].isalpha() else f"dog-{dog}"
            if self.names.get(dog, name).casefold() != name.casefold():
                raise refused_row("cell-same-id", name=name, other=self.names[dog], dog=dog)
        return name, dog

    def _profile(self, dog: str, cells: Mapping[str, str]) -> str | None:
        """The profile of the row's dog, the same in all its rows."""
        cell = cells.get("profile")
        before = self.profile_of.get(dog)
        if not cell:
            return before or self.mapping.profile
        named: str = self._meaning("profile", cell)
        if named == cell:
            named = id_from_name(cell) or cell
        if before is not None and before != named:
            raise refused_row("row-profile-differs", first=before, profile=named)
        return named

    def _arrival(self, cells: Mapping[str, str]) -> dict[str, dict[str, float]]:
        """How the coat of the row's part was when the dog first came, where the row says so."""
        columns = (("arrival_weeks", "grown_weeks"), ("arrival_mm", "longest_mm"))
        coat = {key: self._number(name, cells[name]) for name, key in columns if cells.get(name)}
        if not coat:
            return {}
        return {self._part_of(cells): coat}

    def _part(self, cells: Mapping[str, str], profile: str | None) -> str:
        """The part of the row: what the mapping says that its word stands for, else what the profile of the dog calls so."""
        text = cells.get("part", "")
        part: str = self._meaning("part", text)
        if part != text or not text:
            return part
        try:
            compiled = self._compiled(profile)
        except InputError as error:
            raise self._not_held(error) from error
        if compiled is None or text in compiled.names:
            return text
        named = Parts(compiled).named(text)
        if named is None or named.shortened or named.one_side:
            use = part_fix(compiled, text)
            fix = None if use is None else message("cell-part.fix", use=use)
            raise refused_row("cell-part", fix, column=self._heading("part"), text=text)
        return named.id

    def _compiled(self, profile: str | None) -> CompiledProfile | None:
        if profile is None or self.profiles is None:
            return None
        if profile in self.unusable:
            raise self.unusable[profile]
        if profile not in self.compiled:
            try:
                self.compiled[profile] = self.profiles(profile)
            except InputError as error:
                self.unusable[profile] = error
                raise
        return self.compiled[profile]

    def _day(self, text: str) -> str:
        if not text:
            raise refused_row("cell-empty", column=self._heading("date"))
        day = day_written(text, self.dates)
        if day is None:
            raise refused_row("cell-date", column=self._heading("date"), text=text, dates=self.mapping.dates)
        return day.isoformat()

    def _number(self, name: str, text: str) -> float:
        value = self._meaning(name, text) if name in fields_dict(Meanings) else text
        if not isinstance(value, str):
            return float(value)
        bare = value.removesuffix("%").strip()
        if not re.fullmatch(rf"[0-9]+(?:\{self.mapping.decimal}[0-9]+)?", bare, re.ASCII):
            # A fraction or its words; a number with another decimal mark is no share, but a slip.
            words = name == "share" and re.search(r"/|^\D+$", bare) is not None
            if words and (fraction := amounts.share(value)) is not None:
                return fraction
            raise refused_row("cell-number", column=self._heading(name), text=text, mark=self.mapping.decimal)
        number = float(bare.replace(",", "."))
        percent = value.endswith("%") or (name == "share" and self.mapping.share_as == "percent")
        return round(number / 100, 6) if percent else number

    def _work(self, cells: Mapping[str, str]) -> tuple[str | None, dict[str, Any] | None]:
        """The part and what was done there, None where it was left; no part where the row says nothing of work."""
        part = cells["part"] or self.mapping.always.part
        tasks = self._meaning("task", cells.get("task", "")) or self.mapping.always.task
        figures = [name for name in ("share", "leave_mm", "minutes") if cells.get(name)]
        no_work = bool([name for name in ("arrival_weeks", "arrival_mm", "seen") if cells.get(name)])
        no_work = no_work or ("reaction" in cells and not tasks)
        if (no_work or not cells.get("part")) and not cells.get("task") and not figures:
            return None, {}
        if not part or not tasks:
            raise refused_row("cell-empty", column=self._heading("task" if part else "part"))
        left = typed_as(tasks, "typed.left")
        done: dict[str, Any] = {}
        for task in () if left else map(str.strip, tasks.split("+")):
            match key_typed(task, "typed.task", TASKS) or task:
                case "pull":
                    if not cells.get("share"):
                        raise refused_row("cell-no-share", column=self._heading("share"))
                    done["pull"] = self._number("share", cells["share"])
                    if done["pull"] > 1:
                        raise refused_row("cell-share", column=self._heading("share"), text=cells["share"])
                case "clip" | "scissor" as kind:
                    if cells.get("leave_mm"):
                        done[kind] = self._number("leave_mm", cells["leave_mm"])
                    elif kind == "clip":
                        raise refused_row("cell-no-length", column=self._heading("leave_mm"))
                    else:
                        done[kind] = True
                case "card" | "comb" as kind:
                    done[kind] = True
                case _:
                    raise refused_row("cell-task", column=self._heading("task"), task=task, tasks=get_args(TaskKind))
        takers_of = (("share", {"pull"}), ("leave_mm", {"clip", "scissor"}), *((("minutes", set()),) if left else ()))
        for figure, takers in takers_of:
            if cells.get(figure) and not takers & done.keys():
                raise refused_row("cell-idle-figure", column=self._heading(figure), task=tasks)
        if left:
            return part, None
        if cells.get("minutes"):
            done["minutes"] = self._number("minutes", cells["minutes"])
        return part, done

    def _check(self, row_visit: dict[str, Any], arrival: dict[str, Any], profile: str | None) -> None:
        """A row is checked as the history of its own visit would be."""
        data = {"format": 1, "dog": {"id": "a"}, "arrival": arrival, "visits": [row_visit]}
        try:
            history = structured(data, History, "history", Origin())
            compiled = self._compiled(profile)
            if compiled is not None and (problems := list(unknown_names(compiled, history))):
                raise InputError(problems)
        except InputError as error:
            raise self._not_held(error) from error

    def _not_held(self, error: InputError) -> Refused:
        """What no history can hold, with the column that it comes from."""
        first = error.problems[0]
        problem = Message(code=first.code, params=first.params)
        keys = (
            ("profile",) if first.code == "unknown-profile" else ("seen",) if "seen" in first.path else first.path[::-1]
        )
        column = next((_COLUMNS[key] for key in keys if key in _COLUMNS), None)
        if column is None or getattr(self.mapping.columns, column) is None:
            return Refused(problem, first.fix)
        return refused_row("cell-refused", first.fix, column=self._heading(column), problem=problem)


_COLUMNS: Mapping[str | int, str] = {
    **{"pull": "share", "clip": "leave_mm", "scissor": "leave_mm", "minutes": "minutes", "reactions": "reaction"},
    **{
        "grown_weeks": "arrival_weeks",
        "longest_mm": "arrival_mm",
        "note": "note",
        "profile": "profile",
        "seen": "seen",
    },
}
"""The column from which each key of a history comes."""
