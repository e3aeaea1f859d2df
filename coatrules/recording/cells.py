"""The cells of a sheet's export (CSV, RFC 4180), row by row: decoded, the delimiter found, the headings checked, each with its place."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Sequence
from typing import Any

from attrs import fields_dict, frozen

from coatrules.problems import InputError, Problem, nearest_fix
from coatrules.recording.sheets import DELIMITERS, Columns, SheetMapping


@frozen(eq=False)
class Row:
    """A row: its cells, and the ``lines`` in which it is written, the first of them the sheet's ``line`` (from 1)."""

    cells: Sequence[str]
    line: int
    lines: Sequence[str]
    delimiter: str

    def place(self, index: int) -> tuple[int, int]:
        """Returns the line and the column (from 1) in which a cell begins."""
        line, column = self.line, 0
        begins, quoted, within = True, False, False
        for line, text in enumerate(self.lines, self.line):
            for column, letter in enumerate(text, 1):
                if begins:
                    if index == 0:
                        return line, column
                    quoted = within = letter == '"'
                    begins = False
                elif quoted and letter == '"':
                    within = not within  # a doubled quote turns it twice
                if letter == self.delimiter and not within:
                    index, begins = index - 1, True
        return line, column + 1


def read_rows(content: bytes, file: str, mapping: SheetMapping) -> tuple[Sequence[str], Iterator[Row]]:
    """Returns the headings of a sheet and its other rows; raises ``InputError`` where the sheet as a whole cannot be read."""
    text = _text(content, file, mapping)
    rows = _rows(text, file, _delimiter(text, file, mapping))
    headings = next(rows, Row((), 1, (), ","))
    _check_headings(headings, file, mapping)
    return headings.cells, rows


def named_columns(mapping: SheetMapping) -> dict[str, str]:
    """Returns the columns that the mapping names, with their headings."""
    columns = {name: getattr(mapping.columns, name) for name in fields_dict(Columns)}
    return {name: heading for name, heading in columns.items() if heading is not None}


def _text(content: bytes, file: str, mapping: SheetMapping) -> str:
    try:
        return content.decode("utf-8-sig" if mapping.encoding == "utf-8" else mapping.encoding)
    except UnicodeDecodeError as error:
        line = content.count(b"\n", 0, error.start) + 1
        column = error.start - content.rfind(b"\n", 0, error.start)
        params = {"encoding": mapping.encoding}
        raise InputError(
            [Problem(code="sheet-encoding", params=params, file=file, line=line, column=column)]
        ) from error


def _delimiter(text: str, file: str, mapping: SheetMapping) -> str:
    """What stands between the cells: what the mapping says, else that by which the first line holds most of its headings.

    Raises ``InputError`` where the mapping says one and the headings another.
    """
    named = set(named_columns(mapping).values()) | set(mapping.ignore)

    def headings(delimiter: str) -> int:
        try:
            rows = csv.reader(io.StringIO(text, newline=""), delimiter=_letter(delimiter))
            return len(named.intersection(next(rows, ())))
        except csv.Error:
            return 0

    found = max(DELIMITERS, key=headings)
    if mapping.delimiter is None:
        return _letter(found)
    if headings(found) > max(headings(mapping.delimiter), 1):
        params = {"found": found, "written": mapping.delimiter}
        raise InputError([Problem(code="delimiter", params=params, file=file, line=1, column=1)])
    return _letter(mapping.delimiter)


def _letter(delimiter: str) -> str:
    return "\t" if delimiter == "tab" else delimiter


def _rows(text: str, file: str, delimiter: str) -> Iterator[Row]:
    lines = list(io.StringIO(text, newline=""))
    reader = csv.reader(lines, delimiter=delimiter, strict=True)
    line = 1
    try:
        for cells in reader:
            yield Row(cells, line, lines[line - 1 : reader.line_num], delimiter)
            line = reader.line_num + 1
    except csv.Error as error:
        problem = Problem(code="csv", params={"reason": str(error)}, file=file, line=line, column=1)
        raise InputError([problem]) from error


def _check_headings(row: Row, file: str, mapping: SheetMapping) -> None:
    headings = row.cells
    explained = [*named_columns(mapping).values(), *mapping.ignore]
    problems = []

    def add(code: str, heading: str, index: int = 0, **more: Any) -> None:
        line, column = row.place(index)
        problems.append(Problem(code=code, params={"column": heading}, file=file, line=line, column=column, **more))

    for heading in explained:
        if heading not in headings:
            add("column-missing", heading, fix=nearest_fix(heading, headings))
    for index, heading in enumerate(headings):
        if headings.count(heading) > 1:
            add("column-twice", heading, index)
        elif heading not in explained:
            add("column", heading, index)
    if problems:
        raise InputError(problems)
