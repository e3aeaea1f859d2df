"""Reading is strict, never loses a place, and fails only by InputError."""

from __future__ import annotations

import json
import re
import subprocess
import sys
import unicodedata
from typing import Any

import pytest
import yaml
from hypothesis import example, given, settings
from hypothesis import strategies as st

from coatrules.problems import MAX_PROBLEMS, InputError, Problem
from coatrules.reading import Document, json_text, read_json, read_yaml, read_yaml_partly, source, yaml_text

HIDDEN = re.compile("[\x00-\x09\x0b-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028-\u202e\u2066-\u2069\ufeff\ufffe\uffff]")


@pytest.fixture(params=["C", "Python"])
def parser(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> str:
    """Both parsers: PyYAML may be installed without the one in C."""
    if request.param == "Python":
        monkeypatch.delattr(yaml, "CSafeLoader", raising=False)
    return str(request.param)


def data_of(text: str | bytes) -> Any:
    (document,) = read_yaml(text)
    return document.data


def problems(text: str | bytes, read: Any = read_yaml) -> tuple[Problem, ...]:
    with pytest.raises(InputError) as caught:
        read(text, "f")
    assert all(p.file == "f" and p.line >= 1 and p.column >= 1 for p in caught.value.problems)
    return caught.value.problems


def codes_and_places(text: str | bytes, read: Any = read_yaml) -> list[tuple[str, int, int]]:
    return [(p.code, p.line, p.column) for p in problems(text, read)]


# -- what scalars stand for -------------------------------------------------------------------------------------------

# YAML 1.2.2, example 10.9 "Core Tag Resolution", and the table of section 10.3.2 it illustrates.
CORE = {
    "": None, "null": None, "Null": None, "NULL": None, "~": None,
    "true": True, "True": True, "TRUE": True, "false": False, "False": False, "FALSE": False,
    "0": 0, "0o7": 7, "0x3A": 58, "-19": -19, "+12": 12, "010": 10, "-0": 0,
    "0.": 0.0, "-0.0": -0.0, ".5": 0.5, "+12e03": 12000.0, "-2E+05": -200000.0, "1e3": 1000.0,
    "999999999999999999": 10**18 - 1,
}  # fmt: skip
# Types of YAML 1.1 that 1.2 dropped (https://yaml.org/spec/1.2.2/ext/changes/), and other text like a number.
TEXT = (
    "no", "No", "yes", "on", "off", "y", "n", "12:30", "190:20:30", "2026-01-31", "1_000", "0b1", "-0x1", "0o8", "nULL",
    "tRUE", "1.2.3", "+", "-", ".", "-.", "e3", "1e", "=", "nan", "inf", "Infinity", "0x", "1 2", "١", "१",
)  # fmt: skip


@pytest.mark.parametrize(("scalar", "value"), CORE.items())
def test_core_schema(scalar: str, value: object) -> None:
    read = data_of(f"a: {scalar}\n")["a"]
    assert (read, type(read)) == (value, type(value))
    assert data_of(f"a: '{scalar}'\nb: \"{scalar}\"\nc: |-\n  {scalar}\n") == dict.fromkeys("abc", scalar)


@pytest.mark.parametrize("scalar", TEXT)
def test_stays_text(scalar: str) -> None:
    assert data_of(f"- {scalar}" if scalar != "-" else "['-']") == [scalar]


@pytest.mark.parametrize("scalar", [".nan", ".NaN", ".inf", "-.INF", "1e999", "1" * 20, "9" * 5000, "0x" + "f" * 19])
def test_numbers_out_of_bounds(scalar: str, parser: str) -> None:
    (problem,) = problems(f"a:\n- b: {scalar}\n")
    assert (problem.code, problem.line, problem.column, problem.path) == ("number", 2, 6, ("a", 0, "b"))
    assert len(problem.message) < 80


def test_texts_of_many_lines() -> None:
    assert data_of("a: one\n  two\n\n  three\nb: |\n  x\n  y\nc: >-\n  x\n  y\n") == {
        "a": "one two\nthree", "b": "x\ny\n", "c": "x y",
    }  # fmt: skip


def test_a_stream_holds_a_document_a_part() -> None:
    text = "a: 1\n---\n- b\n- ü: [c]\n---\n"
    first, second, third = read_yaml(text, "pip.yaml")
    assert (first.data, second.data, third.data) == ({"a": 1}, ["b", {"ü": ["c"]}], None)
    assert second.places.place([1, "ü", 0]) == (4, 7)
    assert {d.file for d in (first, second, third)} == {"pip.yaml"}
    assert read_yaml("") == read_yaml(b"# only a comment\n") == ()


# -- places -----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize("start", ["", "\ufeff"])
def test_places(parser: str, start: str, end: str) -> None:
    text = start + end.join(["é: {ü𝄞: 1, x: [α, β]}", "b:", "  c: 'ö'", "  d:", "- 1", ""]).replace("- 1", "  - 1")
    for raw in (text, text.encode()):
        (document,) = read_yaml(raw)
        place = document.places.place
        assert document.data == {"é": {"ü𝄞": 1, "x": ["α", "β"]}, "b": {"c": "ö", "d": [1]}}
        assert place(()) == (1, 1)
        assert [place(["é", "ü𝄞"]), place(["é", "ü𝄞"], key=True)] == [(1, 9), (1, 5)]
        assert [place(["é", "x"]), place(["é", "x", 1]), place(["é", "x", 1], key=True)] == [(1, 15), (1, 19), (1, 19)]
        assert [place(["b"]), place(["b"], key=True)] == [(3, 3), (2, 1)]
        assert [place(["b", "d", 0]), place(["b", "d"], key=True)] == [(5, 5), (4, 3)]


@pytest.mark.parametrize("text", ['{"a": 1}', ' \n\t {"a": 1}', "\r\n[1]\n", "\ufeff\n\n7", '{"a": "\\u0041"}'])
def test_where_a_json_document_begins_is_told_alike_before_and_after_its_parts_were_looked_for(text: str) -> None:
    place = read_json(text).places.place
    before = place(()), place((), key=True)
    place(["a"])
    assert before == (place(()), place((), key=True))


def test_an_unknown_path_answers_its_nearest_ancestor() -> None:
    for document in (read_yaml("a:\n  b: [1]\n")[0], read_json('{"a":\n  {"b": [1]}}')):
        place = document.places.place
        assert place(["a", "b", 7]) == place(["a", "b"])
        assert place(["a", "b", 0, "c"]) == place(["a", "b", 0])
        assert place(["a", "z", "b"], key=True) == place(["a"], key=True)
        assert place(["z"]) == place([]) == (1, 1)


def paths(data: Any, path: tuple[str | int, ...] = ()) -> list[tuple[tuple[str | int, ...], Any]]:
    inner = data.items() if isinstance(data, dict) else enumerate(data) if isinstance(data, list) else ()
    return [(path, data), *(each for key, value in inner for each in paths(value, (*path, key)))]


def from_place(text: str, place: tuple[int, int]) -> str:
    line, column = place
    lines = text.split("\n")
    return "\n".join([lines[line - 1][column - 1 :], *lines[line:]])


# -- any data, written by another library, is read as it was ----------------------------------------------------------

texts = st.text(
    st.one_of(st.characters(codec="utf-8"), st.sampled_from("-:#{}[]&*!|>'\"%@`\\/ ~0123456789.eExo\n")), max_size=12
).map(lambda t: HIDDEN.sub("", unicodedata.normalize("NFC", t)))
lookalikes = st.sampled_from([*CORE, *TEXT, "<<", ".nan", "1" * 30, " a", "a ", "a: b", "a #b", "---", "...", "? a"])
scalars = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(-(10**18) + 1, 10**18 - 1),
    st.floats(allow_nan=False, allow_infinity=False),
    texts,
    lookalikes,
)
values = st.recursive(
    scalars, lambda inner: st.lists(inner, max_size=4) | st.dictionaries(texts | lookalikes, inner, max_size=4)
)


def same(a: Any, b: Any) -> bool:
    """Equal in type too: 1, 1.0 and true are three values."""
    return repr(a) == repr(b) and a == b


@given(values, st.booleans(), st.sampled_from([None, 1, "   "]))
def test_json_round_trip(data: Any, ascii_only: bool, indent: int | str | None) -> None:
    text = json.dumps(data, ensure_ascii=ascii_only, indent=indent)
    document = read_json(text)
    assert same(read_json(text + " " * source.MAX_SCALAR).data, data)  # a long text is read by other means
    assert same(document.data, data)
    for path, value in paths(data):
        # The reference library reads the same value from the place alone.
        assert same(json.JSONDecoder().raw_decode(from_place(text, document.places.place(path)))[0], value)
        if path and isinstance(path[-1], str):
            key, _ = json.JSONDecoder().raw_decode(from_place(text, document.places.place(path, key=True)))
            assert key == path[-1]


@given(values, st.booleans(), st.sampled_from(["'", '"', None]))
def test_yaml_round_trip(data: Any, flow: bool, style: str | None) -> None:
    dumper = type("Styled", (_Dumper,), {"text_style": style})
    text = yaml.dump(data, Dumper=dumper, allow_unicode=True, default_flow_style=flow, sort_keys=False)
    (document,) = read_yaml(text)
    assert same(document.data, data)
    for path, value in paths(data):
        line, column = document.places.place(path)
        if isinstance(value, str) and value and text.split("\n")[line - 1][column - 1] not in "'\"|>":
            assert from_place(text, (line, column)).startswith(re.split("[ \n]", value.strip(" \n"))[0])


class _Dumper(yaml.SafeDumper):
    """Quotes what YAML 1.2 takes for something else than text, too, and never writes an alias or a tag."""

    text_style: str | None = None

    def ignore_aliases(self, data: Any) -> bool:
        return True


def _text(dumper: _Dumper, value: str) -> yaml.ScalarNode:
    # The regular expressions of YAML 1.2.2, section 10.3.2, written out a second time.
    number = r"[-+]?[0-9]+|0o[0-7]+|0x[0-9a-fA-F]+|[-+]?(\.[0-9]+|[0-9]+(\.[0-9]*)?)([eE][-+]?[0-9]+)?"
    style = dumper.text_style or ('"' if re.fullmatch(number, value) else None)
    return dumper.represent_scalar("tag:yaml.org,2002:str", value, style=style)


_Dumper.add_representer(str, _text)


BRACKETS_AND_MORE = st.text('[]{},:"\\\n 0123456789-+.eEatrufalsn/é', max_size=60)


@st.composite
def nearly_json(draw: st.DrawFn) -> str:
    """What was JSON before something was put in or taken out."""
    text = json.dumps(draw(values), ensure_ascii=draw(st.booleans()), indent=draw(st.sampled_from([None, 1])))
    start = draw(st.integers(0, len(text)))
    return text[:start] + draw(st.one_of(st.just(""), BRACKETS_AND_MORE)) + text[start + draw(st.integers(0, 3)) :]


@given(st.one_of(BRACKETS_AND_MORE, nearly_json()))
@example('{"a": 1, "a": 2}')
@example('{"a" :1,"a"\n:2,"b":"x\\":y"}')
@example(f"[{'9' * 18}, -{'9' * 18}]")
@example("[1000000000000000000]")
@example("[9223372036854775808]")
@example("[-0, -0.0, 1.0, 1e5, 5e-324, 1e-999, 0.1234567890123456789]")
@example("[1e999]")
@example("[NaN]")
@example('["\\ud800"]')
@example("[" * 65 + "]" * 65)
@example("[{}, []] ")
@example("")
def test_json_is_read_alike_with_the_extra_and_without(text: str) -> None:
    with_it = json_text.quick_json(text)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(json_text, "_msgspec", lambda: None)
        without = json_text.quick_json(text)
    assert same(with_it, without) if without is not source.REFUSED else with_it is source.REFUSED


def test_without_the_extra_json_is_read_all_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    pytest.importorskip("msgspec", reason="here nothing is left to do without")
    monkeypatch.setitem(sys.modules, "msgspec.json", None)
    json_text._msgspec.cache_clear()
    try:
        assert read_json('{"a": [1, 2.5]}').data == {"a": [1, 2.5]}
        assert json_text._msgspec() is None
    finally:
        json_text._msgspec.cache_clear()
    monkeypatch.undo()
    assert json_text._msgspec() is not None


@given(values)
def test_json_is_yaml(data: Any) -> None:
    """YAML 1.2.2, section 1.2: JSON is a subset of YAML, so the two readers must agree, places and all."""
    text = json.dumps(data, ensure_ascii=False).replace("\\/", "/")
    try:
        (as_yaml,) = read_yaml(text)
    except InputError as error:
        # A key of more than 1,024 characters cannot be written without "?" (YAML 1.2.2, 7.4.3); none is that long here.
        raise AssertionError(text) from error
    as_json = read_json(text)
    assert same(as_yaml.data, as_json.data)
    for path, _ in paths(data):
        assert as_yaml.places.place(path) == as_json.places.place(path)
        assert as_yaml.places.place(path, key=True) == as_json.places.place(path, key=True)


# -- what is refused --------------------------------------------------------------------------------------------------


def test_all_problems_of_a_file_are_found(parser: str) -> None:
    text = "a: 1\nb: !x 2\na: &y 3\n1: {c: *y, c: .inf}\n<<: {}\n? [k]\n: v\n---\nd: {e: 1, 'e': 2}\n?\n: 5\ntrue: 6\n"
    assert codes_and_places(text) == [
        ("tag", 2, 4), ("duplicate-key", 3, 1), ("anchor", 3, 4), ("key-not-text", 4, 1), ("alias", 4, 8),
        ("duplicate-key", 4, 12), ("number", 4, 15), ("merge-key", 5, 1), ("key-not-a-word", 6, 3),
        ("duplicate-key", 9, 11), ("no-key", 10, 2), ("key-not-text", 12, 1),
    ]  # fmt: skip
    by_code = {p.code: p for p in problems(text)}
    assert "line 9" in by_code["duplicate-key"].message
    assert by_code["duplicate-key"].path == ("d", "e")
    assert by_code["number"].path == ("1", "c")
    assert "group" in by_code["alias"].hint
    assert 'quotes: "true"' in by_code["key-not-text"].hint


@pytest.mark.parametrize(
    ("text", "code", "place"),
    [
        ("? &k a\n: b", "anchor", (1, 3)),
        ("? *k\n: b", "alias", (1, 3)),
        ("- &k [a]", "anchor", (1, 3)),
        ("- !!map {a: b}", "tag", (1, 3)),
        ("- !!str a", "tag", (1, 3)),
        ("! a", "tag", (1, 1)),
        ("a: !x!y z", "tag-or-directive", (1, 4)),
        ("a: 1\n---\n%TAG ! x\n--- a", "directive", (3, 1)),
        ("%TAG !a! x\n" * 90_000, "directive", (1, 1)),
        ("? {a: b}\n: c", "key-not-a-word", (1, 3)),
        ("é: 1\ne\u0301: 2", "duplicate-key", (2, 1)),
        ('"\\x65": 1\ne: 2', "duplicate-key", (2, 1)),
        ("é:\tb", "tab", (1, 3)),
        ("é: b # \u202e", "control-character", (1, 8)),
        ('é: "\\u202e"', "control-character", (1, 4)),
        ('é: "\\t"', "tab", (1, 4)),
        ('é: "\\r"', "control-character", (1, 4)),
        ("a\n\ufeffb", "control-character", (2, 1)),
        ("a: \x00", "control-character", (1, 4)),
        ("a: \x85", "control-character", (1, 4)),
        ("a: \ud800", "broken-character", (1, 4)),
        ("é: a\nü: ".encode() + b"\xff\nx", "encoding", (2, 4)),
        (b"\xef\xbb\xbfa: \xe4", "encoding", (1, 4)),
        ("a: 1".encode("utf-16"), "encoding-utf-16", (1, 1)),
        ("a: " + "x" * 65_537, "text-too-long", (1, 4)),
        ("x" * 1_000_001, "too-large", (1, 1)),
        ("a: 1\n---\n" * 2_001, "too-many-documents", (4001, 4)),
        (b"x" * 1_000_001, "too-large", (1, 1)),
        ("[" * 65 + "]" * 65, "too-deep", (1, 65)),
        ("[" * 100_000, "too-deep", None),
        ("- " * 100_000, "too-deep", None),
        ("{a: " * 100_000, "too-deep", None),
    ],
)
def test_refused(text: str | bytes, code: str, place: tuple[int, int] | None) -> None:
    (problem,) = problems(text)
    assert problem.code == code
    assert place in (None, (problem.line, problem.column))
    assert len(str(problem)) < 300


def test_the_bounds_themselves_are_allowed() -> None:
    assert len(data_of("a: " + "x" * 65_536)["a"]) == 65_536
    assert len(read_json('"' + "x" * 65_536 + '"').data) == 65_536
    assert data_of("[" * 64 + "]" * 64) == read_json("[" * 64 + "]" * 64).data


def test_the_number_of_keys_and_values_is_bounded(monkeypatch: pytest.MonkeyPatch) -> None:
    assert source.MAX_NODES == 100_000
    for module in (source, yaml_text):
        monkeypatch.setattr(module, "MAX_NODES", 100)
    padding = " " * source.MAX_SCALAR  # only long JSON can hold too many
    for most in (
        "[" + "1," * 98 + "1]",
        "[[" + "1," * 97 + "1]]",
        "{" + ",".join(f'"{n}": 1' for n in range(49)) + "}",
    ):
        assert data_of(most) == read_json(most + padding).data == json.loads(most)
    assert len(read_yaml("---\n" * 100)) == 100
    for more in ("[" + "1," * 99 + "1]", "[" + "1," * 99 + "[]]", "{" + ",".join(f'"{n}": 1' for n in range(50)) + "}"):
        assert [code for code, _, _ in codes_and_places(more) + codes_and_places(more + padding, read_json)] == [
            "too-many-values",
            "too-many-values",
        ]
    assert codes_and_places("---\n" * 101) == [("too-many-values", 102, 1)]


def test_problems_end_at_a_bound() -> None:
    assert len(problems("a: 1\n" * 1000)) == MAX_PROBLEMS
    assert len(problems("\x00" * 1000)) == MAX_PROBLEMS


# Mistakes that people make, and a word the message or its hint must hold for them to mend it.
SYNTAX = [
    ("a: 'x\nb: 1\n", "yaml-quote", (1, 4), "unclosed"),
    ('a: "x\n---\nb: 1\n', "yaml-quote", (1, 4), "unclosed"),
    ("a: 'it's'", "yaml-apostrophe", (1, 7), "double quotes"),
    ("note: see: below", "yaml-colon", (1, 10), "quotes"),
    ("a:1\nb: 2", "yaml-colon-joined", (1, 1), "a space: 'a: 1'"),
    ("a: 1\nb\nc: 2", "yaml-no-colon", (2, 1), "missing colon"),
    ("a:\n  b: 1\n c: 2", "yaml-indentation", (3, 2), "spaces"),
    ("- a\nb: 1", "yaml-indentation", (2, 1), "spaces"),
    ("a: - b", "yaml-list-start", (1, 4), "next line"),
    ("a: [1, 2\nb: 3\n", "yaml-bracket", (1, 4), "bracket"),
    ("a: [1,\n", "yaml-bracket", (2, 1), "bracket"),
    ("a: {b: 1]}", "yaml-bracket", (1, 9), "bracket"),
    ("a: }", "yaml-bracket", (1, 4), "bracket"),
    ("a: * b", "anchor-without-name", None, "quotes"),
    ("a: @b", "yaml-first-character", (1, 4), "quotes"),
    ("a: 5 %\nb: `x`", "yaml-first-character", (2, 4), "quotes"),
    ('a: "C:\\pictures"', "yaml-backslash", None, "backslash"),
    ("a: |x\n  s", "yaml-block-text", None, "next line"),
    ("a: b\n...\nc: d", "yaml-after-end", (3, 1), "---"),
    ("%YAML 3.0\n--- a", "tag-or-directive", (1, 1), "%"),
]


@pytest.mark.parametrize(("text", "code", "place", "word"), SYNTAX)
def test_syntax_in_plain_words(text: str, code: str, place: tuple[int, int] | None, word: str, parser: str) -> None:
    (problem,) = problems(text)
    assert problem.code == code
    assert place in (None, (problem.line, problem.column))
    assert word in f"{problem.message} {problem.hint}"
    assert not re.search("token|scalar|node|stream|<|parsing|scanning", f"{problem.message} {problem.hint}")


def test_earlier_problems_are_told_beside_a_mistake_of_syntax() -> None:
    assert codes_and_places("a: 1\na: 2\nb: [") == [("duplicate-key", 2, 1), ("yaml-bracket", 3, 5)]
    assert codes_and_places('{"a": 1, "a": 2,\n"b"}', read_json) == [("duplicate-key", 1, 10), ("json-syntax", 2, 4)]


# RFC 8259 has no comments, no trailing commas, no single quotes, no NaN, one value, and three words in small letters.
JSON = [
    ('{"é": 1, "e\\u0301": 2}', "duplicate-key", (1, 10), "line 1"),
    ('{"a": 1,\n "a": 2}', "duplicate-key", (2, 2), "line 1"),
    ('{"a": 1,}', "json-syntax", (1, 9), "comma"),
    ("[1,]", "json-syntax", (1, 4), "comma"),
    ("[1 2]", "json-syntax", (1, 4), "comma"),
    ("[1}", "json-syntax", (1, 3), "closing bracket"),
    ('{"a" 1}', "json-syntax", (1, 6), "colon"),
    ('{"a": 1', "json-end", (1, 8), "file ends"),
    ("", "json-end", (1, 1), "file ends"),
    ("[1] 2", "json-syntax", (1, 5), "nothing more"),
    ("{'a': 1}", "json-syntax", (1, 2), "double quotes"),
    ("{a: 1}", "json-syntax", (1, 2), "double quotes"),
    ("[True]", "json-syntax", (1, 2), "lower case"),
    ("[truer]", "json-syntax", (1, 2), "lower case"),
    ("[1] // x", "json-syntax", (1, 5), "comments"),
    ("[# x\n1]", "json-syntax", (1, 2), "comments"),
    ("[01]", "json-syntax", (1, 2), "numbers"),
    ("[.5]", "json-syntax", (1, 2), "numbers"),
    ("[1.]", "json-syntax", (1, 2), "numbers"),
    ('["a\nb"]', "json-syntax", (1, 2), "\\n"),
    ('["C:\\p"]', "json-syntax", (1, 2), "backslash"),
    ('["a\tb"]', "json-syntax", (1, 2), "backslash"),
    ("[NaN]", "number", (1, 2), "finite"),
    ("[-Infinity]", "number", (1, 2), "finite"),
    ("[1e999]", "number", (1, 2), "finite"),
    ("[" + "9" * 5000 + "]", "number", (1, 2), "no greater"),
    ('["\\ud800"]', "broken-character", (1, 2), "character"),
    ('["\\t"]', "tab", (1, 2), "spaces"),
    ('["\\r\\n"]', "control-character", (1, 2), "\\n"),
    ('["\u202e"]', "control-character", (1, 3), "U+202E"),
    ("[" * 100_000, "too-deep", (1, 65), "deep"),
    ("[" * 65 + "]" * 65, "too-deep", (1, 65), "deep"),
    ('["' + "x" * 65_537 + '"]', "text-too-long", (1, 2), "characters"),
    ("{1: 2}", "key-not-text", (1, 2), '"1"'),
]


@pytest.mark.parametrize(("text", "code", "place", "word"), JSON)
def test_json_refused(text: str, code: str, place: tuple[int, int] | None, word: str) -> None:
    (problem,) = problems(text, read_json)
    assert problem.code == code
    assert place in (None, (problem.line, problem.column))
    assert word in f"{problem.message} {problem.hint}"


@pytest.mark.parametrize(
    ("text", "data", "places"),
    [
        (
            "a:\n\tb:\n\t\tc: 1\n\td: [2]\n",
            {"a": {"b": {"c": 1}, "d": [2]}},
            {("a", "b"): (3, 3), ("a", "d", 0): (4, 6)},
        ),
        ("a:\n    b:\n\t\tc: 1\n", {"a": {"b": {"c": 1}}}, {("a", "b", "c"): (3, 6)}),  # a tab for four spaces
        ("a:\n  b:\n  \tc: 1\n", {"a": {"b": {"c": 1}}}, {("a", "b", "c"): (3, 7)}),
        ("\ta: 1\n\tb: 2\t# x\n", {"a": 1, "b": 2}, {("b",): (2, 5)}),
    ],
)
def test_a_text_indented_with_tabs_is_read_on(
    text: str, data: object, places: dict[tuple[str | int, ...], object]
) -> None:
    """YAML has no such indents (1.2.2, 6.1): they are told once, and do not hide what else is wrong."""
    (document,), (first, *_) = read_yaml_partly(text, "f")
    assert (first.code, first.params["lines"]) == ("tab-indent", len(re.findall(r"^ *\t", text, re.MULTILINE)))
    assert document.data == data
    assert {path: document.places.place(path) for path in places} == places


def test_a_fault_beside_tabs_is_told_only_where_no_width_of_theirs_makes_it() -> None:
    assert codes_and_places("a:\n\tb: 1\n\tb: 2\nc: [\n") == [
        ("tab-indent", 2, 1),
        ("duplicate-key", 3, 2),
        ("yaml-bracket", 5, 1),
    ]
    assert codes_and_places("a:\n   b: 1\n\tc: 2\n") == [("tab-indent", 3, 1)]


def test_json_with_tabs_and_other_line_ends() -> None:
    document = read_json(b'\xef\xbb\xbf{\r\n\t"a":\t1,\r\t"b": "\\/ \\ud834\\udd1e"}')
    assert document.data == {"a": 1, "b": "/ 𝄞"}
    assert [document.places.place([k], key=True) for k in "ab"] == [(2, 2), (3, 2)]


def test_json_needs_no_yaml() -> None:
    code = "import sys; from coatrules.reading import read_json; read_json('[]'); sys.exit('yaml' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


# -- whatever comes ---------------------------------------------------------------------------------------------------

pieces = st.lists(
    st.sampled_from(
        ["a", "é", ":", ": ", "- ", "\n", "  ", "[", "]", "{", "}", ",", "'", '"', "\\", "\\u", "|", ">", "&a", "*a",
         "!", "!!str ", "%", "%YAML 1.", "%TAG ! x", "---", "...", "? ", "#", "<<", "1", "9" * 20, ".inf", "\t",
         "\ufeff", "\r", "\x85", "\u2028", "@", "\\UFFFFFFFF", "\\ud800", "e\u0301"]
    ),
    max_size=25,
).map("".join)  # fmt: skip


def whole(data: Any) -> bool:
    """Only plain data, all of it within the bounds."""
    for _, value in paths(data):
        if isinstance(value, dict):
            assert all(type(key) is str for key in value)
        elif type(value) is str:
            assert not HIDDEN.search(value)
            assert unicodedata.is_normalized("NFC", value)
        else:
            assert value is None or type(value) in (list, bool, int, float)
    return True


@pytest.mark.parametrize("without_c", [False, True])
@settings(max_examples=300)
@given(raw=st.one_of(pieces, pieces.map(str.encode), st.binary(max_size=40), st.text(max_size=20)))
@example(raw='"\\UFFFFFFFF"')
@example(raw="%YAML 1." + "9" * 5000 + "\n--- a")
def test_only_input_errors_escape(without_c: bool, raw: str | bytes) -> None:
    documents: list[Document] = []
    found_problems: list[Problem] = []
    refused = 0
    with pytest.MonkeyPatch.context() as patch:
        if without_c:
            patch.delattr(yaml, "CSafeLoader", raising=False)
        for read in (read_yaml, lambda text: (read_json(text),)):
            try:
                documents += read(raw)
            except InputError as error:
                found_problems += error.problems
                refused += 1
    text = raw if isinstance(raw, str) else raw.decode("utf-8", "replace")
    lines = len(re.split("\r\n?|\n", text))
    assert len(found_problems) >= refused
    assert all(1 <= p.line <= lines and p.column >= 1 and p.message for p in found_problems)
    assert all(whole(document.data) for document in documents)


@given(st.one_of(pieces, st.text(max_size=20)))
def test_what_json_reads_the_reference_reads_alike(text: str) -> None:
    try:
        document = read_json(text)
    except InputError:
        return
    assert same(document.data, json.loads(text.removeprefix("\ufeff")))
    assert same(document.data, read_json(text + " " * source.MAX_SCALAR).data)
