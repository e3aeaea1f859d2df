"""What the columns and words of a salon's own sheet mean. Mirrors ``schemas/import.schema.json``."""

import re
from collections.abc import Mapping
from pathlib import Path
from typing import Annotated, Any, Literal, get_args

from attrs import frozen

from coatrules.disk import read
from coatrules.formats.documents import Origin, read_one, without_file
from coatrules.formats.validation import structured
from coatrules.formats.values import Id, Length, Matches, Millimetres, Range, Reaction, Share, Words
from coatrules.problems import InputError, Problem
from coatrules.read_only import NOTHING

Cell = Annotated[str, Length(0, 2000)]

ISO_DAY = "YYYY-MM-DD"
"""How days are written by ISO 8601, which is understood in every sheet."""
_FIGURE = "(D{1,2}|M{1,2}|YY|YYYY)"
_DAY = f"[^A-Za-z]*{_FIGURE}([^A-Za-z]+{_FIGURE}){{2}}[^A-Za-z]*"
SHEET_BYTES = 20_000_000
"""Of a sheet: about 300,000 rows."""


Delimiter = Literal[",", ";", "tab", "|"]
DELIMITERS: tuple[Delimiter, ...] = get_args(Delimiter)
"""As the mapping names them: a file that people write holds no tab."""


@frozen(kw_only=True)
class Columns:
    """The heading of the column that holds each thing. Mirrors ``columns`` of ``schemas/import.schema.json``."""

    date: Words
    dog: Words
    profile: Words | None = None
    part: Words | None = None
    task: Words | None = None
    share: Words | None = None
    leave_mm: Words | None = None
    minutes: Words | None = None
    reaction: Words | None = None
    seen: Words | None = None
    arrival_weeks: Words | None = None
    arrival_mm: Words | None = None
    note: Words | None = None


@frozen(kw_only=True)
class Always:
    """What holds for every row, where no column says it."""

    part: Id | None = None
    task: Words | None = None


@frozen(kw_only=True)
class Meanings:
    """What the words of the sheet stand for."""

    dog: Mapping[Cell, Id] = NOTHING
    profile: Mapping[Cell, Id] = NOTHING
    part: Mapping[Cell, Id] = NOTHING
    task: Mapping[Cell, Words] = NOTHING
    share: Mapping[Cell, Share] = NOTHING
    leave_mm: Mapping[Cell, Millimetres] = NOTHING
    reaction: Mapping[Cell, Reaction] = NOTHING


@frozen(kw_only=True)
class SheetMapping:
    """How a sheet is read. delimiter: found by the headings where it is None."""

    format: Annotated[int, Range(1, 1)]
    columns: Columns
    always: Always = Always()
    values: Meanings = Meanings()
    ignore: tuple[Words, ...] = ()
    profile: Id | None = None
    dates: Annotated[str, Matches(f"^{_DAY}( or {_DAY})*$")] = ISO_DAY
    share_as: Literal["share", "percent"] = "share"
    decimal: Literal[".", ","] = "."
    delimiter: Delimiter | None = None
    encoding: Literal["utf-8", "utf-16", "windows-1252", "iso-8859-1"] = "utf-8"

    @property
    def ways_of_dates(self) -> tuple[str, ...]:
        """The ways in which days are written, the first that fits counts."""
        return tuple(map(str.strip, self.dates.split(" or ")))


def read_sheet(file: Path) -> bytes:
    """What a sheet holds; raises ``InputError`` where it cannot be read, or holds too much."""
    content = read(file, SHEET_BYTES, piped=True)
    if len(content) > SHEET_BYTES:
        raise InputError([Problem(code="too-large", params={"most": SHEET_BYTES}, file=str(file))])
    return content


def load_mapping(source: Mapping[str, Any] | Path) -> SheetMapping:
    """Returns how a sheet is read, from a file or plain data; raises ``InputError`` with every problem found."""
    document = read_one(source, "not-a-mapping") if isinstance(source, Path) else without_file(source)
    origin = Origin((((), document),))
    mapping = structured(document.data, SheetMapping, "import", origin)
    if any(sorted(set(re.findall("[DMY]", way))) != ["D", "M", "Y"] for way in mapping.ways_of_dates):
        raise InputError([origin.problem_at(("dates",), "dates", {"dates": mapping.dates})])
    for name in ("part", "task"):
        if getattr(mapping.columns, name) is not None and getattr(mapping.always, name) is not None:
            raise InputError([origin.problem_at(("always", name), "always", {"key": name})])
    return mapping
