"""Where a cursor stands in a YAML text, whole or broken: the path that a parser finds, found without one."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coatrules.editor.cursor import Context, context, word_at
from coatrules.formats.resources import folder
from coatrules.problems import Path
from coatrules.reading import read_yaml


def at(marked: str) -> Context:
    """The context at the mark ``|`` of a text."""
    before, after = marked.split("|", 1)
    return context(before + after, before.count("\n"), len(before) - before.rfind("\n") - 1)


@pytest.mark.parametrize(
    ("marked", "path", "kind", "prefix"),
    [
        ("la|", (), "key", "la"),
        ("format: 1\n|", (), "key", ""),
        ("extends: po|", ("extends",), "value", "po"),
        ("targets:\n  body:\n    |", ("targets", "body"), "key", ""),
        ("targets:\n  body:\n    reg|", ("targets", "body"), "key", "reg"),
        ("targets:\n  body:\n    regions: [back, lo|\n    x: 1", ("targets", "body", "regions", 1), "value", "lo"),
        ("targets:\n  body:\n    take: {usual: 0.2, at_|}", ("targets", "body", "take"), "key", "at_"),
        ("targets:\n  body:\n    take: {usual: |", ("targets", "body", "take", "usual"), "value", ""),
        ("legs:\n  regions:\n    - fore\n    - hi|", ("legs", "regions", 1), "item", "hi"),
        ("legs:\n  regions:\n  - fore\n  - hi|", ("legs", "regions", 1), "item", "hi"),
        ("a:\n  if:\n    anyOf:\n      - cover: 1\n      - lon|", ("a", "if", "anyOf", 1), "item", "lon"),
        ("x:\n  visits:\n    - {visit: 2026-01-01, work: {ba|", ("x", "visits", 0, "work"), "key", "ba"),
        ("a:\n  because: >\n    text: here\n    mo|\n", ("a", "because"), "value", "mo"),
        ("visit: {every_weeks: 3,\n   pace: 0.1, source: pra|}", ("visit", "source"), "value", "pra"),
        ('regions:\n  back: {label: "A: b", coat: |', ("regions", "back", "coat"), "value", ""),
        ('rules:\n  a: {because: "it\'s # x", th|', ("rules", "a"), "key", "th"),
        ("a:\n  b: [x, y\n  c: {d|", ("a", "c"), "key", "d"),  # the bracket before is never closed
        ("regions:\n  back:\n    {label: Back, co|", ("regions", "back"), "key", "co"),
        ("a:\n  b: 1  # {not: open\n  c|", ("a",), "key", "c"),
        ("# a: comment\n|", (), "key", ""),
    ],
)
def test_a_place_is_known_in_a_text_that_is_not_whole(marked: str, path: Path, kind: str, prefix: str) -> None:
    found = at(marked)
    assert (found.path, found.kind, found.prefix) == (path, kind, prefix)
    line = marked.split("|")[0].split("\n")[-1]
    assert line[found.start :] == prefix


def paths(data: object, path: Path = ()) -> list[Path]:
    if isinstance(data, dict):
        return [path, *(inner for key, value in data.items() for inner in paths(value, (*path, key)))]
    if isinstance(data, list):
        return [path, *(inner for index, value in enumerate(data) for inner in paths(value, (*path, index)))]
    return [path]


SHIPPED = sorted(folder("profiles").glob("*.yaml"))


@settings(max_examples=60, derandomize=True, deadline=None)
@given(st.data())
def test_every_key_of_a_shipped_profile_is_where_the_reader_has_it(data: st.DataObject) -> None:
    # The oracle is the reader, which parses; the cursor counts indents and brackets.
    file = data.draw(st.sampled_from(SHIPPED))
    text = file.read_text(encoding="utf-8")
    (document,) = read_yaml(text, str(file))
    known = [path for path in paths(document.data) if path and isinstance(path[-1], str)]
    path = data.draw(st.sampled_from(known))
    line, column = document.places.place(path, key=True)
    found, start, end = word_at(text, line - 1, column - 1)
    assert found == path
    assert text.split("\n")[line - 1][start:end] == path[-1]


@settings(max_examples=200, derandomize=True)
@given(st.text(alphabet="ab:-[]{},#|>'\"\n ", max_size=60), st.integers(0, 8), st.integers(0, 20))
def test_no_text_is_too_broken_to_be_asked(text: str, line: int, column: int) -> None:
    lines = text.split("\n")
    line = min(line, len(lines) - 1)
    column = min(column, len(lines[line]))
    found = context(text, line, column)
    assert lines[line][found.start : column].strip() == found.prefix.strip()
    _, start, end = word_at(text, line, column)
    assert 0 <= start <= end <= len(lines[line])
