"""The formatter and the migration lose nothing: same data, same comments, whatever was written."""

from __future__ import annotations

import json
from collections import Counter
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coatrules import InputError
from coatrules.cli import main
from coatrules.mentor.formatting import comments, tidied
from coatrules.mentor.migration import NEWEST, STEPS, Edit, edited, migrated
from coatrules.profile.shelves import library
from coatrules.reading import read_yaml

MESSY = """\
# My breed. It stays on top.
label: Mine   # said on the sheet
format: 1


id: mine
# How often.
visit: {minutes: 60, pace_spread: 0.150, every_weeks: 3.0}
rules:
  # Legs last.
  legs:   # a rule
    because: >-
      Two lines
      of words.   # not a comment


    then: {priority: -5.50, take: {at_most: 0.20, at_least: 0.10}}
    if:
      longest_mm: {maximum: 30}
      cover: {minimum: 0.5}   # the order of facts is the author's
coats:
  jacket: {mm_per_week: 2.10, lag_weeks: 4, # kept together
           full_mm: 45}
# the end
"""

TIDY = """\
# My breed. It stays on top.
format: 1

id: mine
label: Mine   # said on the sheet
# How often.
visit: {every_weeks: 3.0, minutes: 60, pace_spread: 0.15}
coats:
  jacket: {mm_per_week: 2.10, lag_weeks: 4, # kept together
           full_mm: 45}
rules:
  # Legs last.
  legs:   # a rule
    if:
      longest_mm: {maximum: 30}
      cover: {minimum: 0.5}   # the order of facts is the author's

    then: {take: {at_least: 0.1, at_most: 0.2}, priority: -5.5}
    because: >-
      Two lines
      of words.   # not a comment
# the end
"""


def test_keys_are_put_in_order_and_comments_go_with_them() -> None:
    assert tidied(MESSY) == TIDY
    assert tidied(TIDY) == TIDY


LONG = """\
format: 2
id: mine
visit:
  every_weeks: 3
  minutes: 60
sources:
  guide: {title: "A guide",
          year: 2003}
  club: {title: "On the coat, and how it is kept", publisher: "The club of the breed",
         note: "Twelve weeks from a full strip to the ring, and a show day at their end."}
layer_targets:
  jacket:
    layers: 4
    take:
      usual: 0.2
      at_most: 0.25
  legs:
    # Like posts.
    layers: 4
    take: {usual: 0.2}
  tail:
    layers: 3
    because: "As long as the body."
rules:
  late:
    if:
      anyOf: [{skin: {not: sound}}]
    then:
      caution: "Skin, and what lies beside it, is left."
cases:
  rolls:
    history:
      format: 1   # as in a file
      dog: {id: one}
      visits:
        - {visit: 2026-01-05, work: {back: {pull: 0.2}}}
        - {visit: 2026-02-02, work: {back: {pull: 0.2}}}
        # Late.
        - {visit: 2026-03-09, work: {back: {pull: 0.2}}}
    date: 2026-04-06
    expect:
      regions:
        back: {layers: 3}
      rules:
        - late
  again:
    history:
      format: 1
      dog:
        id: two
      visits:
        - visit: 2026-01-05
          work: {back: {pull: 0.2}}
        - visit: 2026-02-02
          work: {back: {pull: 0.2}}
    date: 2026-04-06
    expect: {rules: [late]}
  unusable:
    because: "The dog has no id."
    history:
      format: 1
      dog: {name: One}
      visits: [{visit: 2026-01-05}, {visit: 2026-02-02}]   # as it was written
"""

SHORT = """\
format: 2
id: mine
visit: {every_weeks: 3, minutes: 60}
sources:
  guide: {title: "A guide", year: 2003}
  club: {title: "On the coat, and how it is kept", publisher: "The club of the breed",
         note: "Twelve weeks from a full strip to the ring, and a show day at their end."}
layer_targets:
  jacket: {layers: 4, take: {usual: 0.2, at_most: 0.25}}
  legs:
    # Like posts.
    layers: 4
    take: {usual: 0.2}
  tail:
    layers: 3
    because: "As long as the body."
rules:
  late:
    if: {anyOf: [{skin: {not: sound}}]}
    then: {caution: "Skin, and what lies beside it, is left."}
cases:
  rolls:
    history:
      format: 1   # as in a file
      dog: {id: one}
      visits:
        - {visit: 2026-01-05, series: {visits: 2, every_weeks: 4}, work: {back: {pull: 0.2}}}
        # Late.
        - {visit: 2026-03-09, work: {back: {pull: 0.2}}}
    date: 2026-04-06
    expect: {regions: {back: {layers: 3}}, rules: [late]}
  again:
    history:
      dog: {id: two}
      visits: [{visit: 2026-01-05, series: {visits: 2, every_weeks: 4}, work: {back: {pull: 0.2}}}]
    date: 2026-04-06
    expect: {rules: [late]}
  unusable:
    because: "The dog has no id."
    history:
      format: 1
      dog: {name: One}
      visits: [{visit: 2026-01-05}, {visit: 2026-02-02}]   # as it was written
"""


def test_what_fits_is_set_in_one_line_and_alike_visits_are_written_once() -> None:
    assert tidied(LONG) == SHORT
    assert tidied(SHORT) == SHORT


def test_visits_of_one_line_are_written_once_and_broken_where_they_must() -> None:
    work = "work: {jacket: {card: true, pull: 0.25}, neck-and-front: {card: true, pull: 0.34}, belly: {clip: 10}}}"
    days = ", ".join(f"{{visit: {day}, {work}" for day in ("2026-01-05", "2026-01-19", "2026-02-02"))
    head = "id: mine\ncases:\n  one:\n    history:\n      dog: {id: one}\n"
    assert tidied(f"{head}      visits: [{days}]\n    date: 2026-02-16\n") == (
        f"{head}      visits: [{{visit: 2026-01-05, series: {{visits: 3, every_weeks: 2}},\n"
        f"                {work}]\n    date: 2026-02-16\n"
    )


@pytest.mark.parametrize("name", sorted(library()))
def test_shipped_profiles_are_tidy(name: str) -> None:
    source = library()[name].read_text(encoding="utf-8")
    assert tidied(source) == source, "set it out by: coatrules tidy"


# --- any profile, in any style, with comments anywhere --------------------------------------------------------------

KEYS: dict[str, list[str]] = {
    "": ["format", "id", "label", "about", "visit", "groups", "routines", "rules", "cases"],
    "visit": ["every_weeks", "minutes", "pace_spread", "source"],
    "rules": ["regions", "if", "then", "because", "source"],
    "routines": ["regions", "task", "every_weeks", "minutes", "because"],
    "cases": ["because", "date", "minutes"],
}
SCALARS = st.sampled_from(
    ["1", "0.50", "-2.10", "3.0", "words", '"quoted: # yes"', "'it''s'", "true", "2026-03-21", "[a, b]", "{}"]
)
COMMENT = st.sampled_from(["", "", "", "# a note", "#tight", "# with: colon {and} 'quotes'", "# twice"])


@st.composite
def mappings(draw: st.DrawFn, keys: list[str], indent: int, flow: st.SearchStrategy[bool]) -> list[str]:
    chosen = draw(st.permutations(keys))[: draw(st.integers(1, len(keys)))]
    lines: list[str] = []
    for key in chosen:
        pad = " " * indent
        if comment := draw(COMMENT):
            lines += [""] * draw(st.integers(0, 2)) + [pad + comment]
        behind = draw(COMMENT)
        behind = f"  {behind}" if behind else ""
        if draw(flow) and indent:
            inner = ", ".join(f"{name}: {draw(SCALARS)}" for name in ("minutes", "every_weeks"))
            lines.append(f"{pad}{key}: {{{inner}}}{behind}")
        elif draw(st.integers(0, 4)) == 0:
            lines += [f"{pad}{key}: |{draw(st.sampled_from(['', '-']))}", f"{pad}  text   ", "", f"{pad}  # text"]
        else:
            lines.append(f"{pad}{key}: {draw(SCALARS)}{behind}")
    return lines


@st.composite
def texts(draw: st.DrawFn) -> str:
    lines: list[str] = []
    for key in draw(st.permutations(KEYS[""])):
        if comment := draw(COMMENT):
            lines.append(comment)
        if key == "visit":
            lines += [f"{key}:", *draw(mappings(KEYS[key], 2, st.just(False)))]
        elif key in KEYS:
            lines.append(f"{key}:")
            for name in draw(st.permutations(["one", "two"])):
                if comment := draw(COMMENT):
                    lines.append(f"  {comment}")
                lines += [f"  {name}:", *draw(mappings(KEYS[key], 4, st.booleans()))]
        else:
            lines.append(f"{key}: {draw(SCALARS)}")
    if comment := draw(COMMENT):
        lines.append(comment)
    return "\n".join(lines) + "\n"


def paths(data: Any, path: tuple[str, ...] = ()) -> set[tuple[str, ...]]:
    if not isinstance(data, dict):
        return {path}
    return {path}.union(*(paths(value, (*path, key)) for key, value in data.items())) if data else {path}


@settings(max_examples=25)
@given(texts())
def test_nothing_is_lost(source: str) -> None:
    before = read_yaml(source)[0].data
    output = tidied(source)
    after = read_yaml(output)[0].data
    assert after == before
    assert paths(after) == paths(before)
    assert comments(output) == comments(source) == by_hand(source)
    assert tidied(output) == output
    keys = list(after)
    assert keys == sorted(keys, key=KEYS[""].index)
    for section in ("rules", "routines", "cases"):
        assert list(after[section]) == list(before[section]), "ids keep the author's order"


def by_hand(source: str) -> Counter[str]:
    """The comments a second way: those that were written, which all start so, outside of quotes and of texts in blocks."""
    counts: Counter[str] = Counter()
    block: int | None = None
    for line in source.splitlines():
        depth = len(line) - len(line.lstrip())
        if block is not None and (depth > block or not line.strip()):
            continue
        block = depth if line.endswith((": |", ": |-", ": |+")) else None
        head, sign, tail = line.replace('"quoted: # yes"', "").partition("#")
        if sign and (not head or head.endswith(" ")):
            counts["#" + tail.rstrip()] += 1
    return counts


@pytest.mark.parametrize("source", ["format: 1\n---\nformat: 1\n", "", "format: [1\n", "format: 1\nformat: 2\n"])
def test_what_cannot_be_a_profile_is_refused(source: str) -> None:
    with pytest.raises(InputError):
        tidied(source)


@pytest.mark.parametrize("source", ["- a\n", "{format: 1, id: mine}\n", "words\n"])
def test_what_has_no_lines_of_its_own_is_left(source: str) -> None:
    assert tidied(source) == source


def test_what_cannot_be_moved_without_loss_is_refused() -> None:
    """A text that keeps the blank lines behind it would take in those above the key that comes to stand below it."""
    source = "format: 1\n\nlabel: x\nid: |+\n  y\n"
    with pytest.raises(InputError, match="without loss"):
        tidied(source)


def test_line_ends_of_another_system_are_read_and_kept() -> None:
    assert tidied(MESSY.replace("\n", "\r\n")) == TIDY.replace("\n", "\r\n")


def test_a_file_is_rewritten_whole_or_not_at_all(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    messy, torn = tmp_path / "messy.yaml", tmp_path / "torn.yaml"
    messy.write_text(MESSY, encoding="utf-8")
    torn.write_text("format: [1\n", encoding="utf-8")
    assert main(["tidy", "--check", str(messy)]) == 1
    assert messy.read_text(encoding="utf-8") == MESSY
    assert main(["tidy", str(torn), str(messy)]) == 1
    assert torn.read_text(encoding="utf-8") == "format: [1\n"
    assert messy.read_text(encoding="utf-8") == TIDY
    assert main(["tidy", "--check", str(messy)]) == 0
    assert "torn.yaml" in capsys.readouterr().err
    assert main(["tidy", str(tmp_path / "nowhere.yaml")]) == 1
    (tmp_path / "latin.yaml").write_bytes(b"label: caf\xe9\n")
    assert main(["tidy", str(tmp_path / "latin.yaml")]) == 1


# --- migration ------------------------------------------------------------------------------------------------------


def a_made_up_step(data: Any) -> list[Edit]:
    """As if format 2 called `minutes` of a visit `usual_minutes`, and counted in halves."""
    return [Edit(("visit", "minutes"), key="usual_minutes", value=str(data["visit"]["minutes"] * 2))]


def test_the_newest_format_needs_nothing() -> None:
    assert NEWEST == 2
    assert set(STEPS) == {1}
    newest = migrated(MESSY)
    assert migrated(newest) == newest


def test_a_step_edits_only_what_it_means() -> None:
    output = migrated(MESSY, steps={1: a_made_up_step}, newest=2)
    assert output == MESSY.replace("format: 1", "format: 2").replace("minutes: 60", "usual_minutes: 120")
    assert comments(output) == comments(MESSY)
    further = {1: a_made_up_step, 2: lambda data: [Edit(("label",), value="Ours")]}
    again = migrated(MESSY, steps=further, newest=3)
    assert again == output.replace("format: 2", "format: 3").replace("label: Mine", "label: Ours")
    assert migrated(again, steps=further, newest=3) == again


@pytest.mark.parametrize(
    "line", ["format: 9", "format: '1'", "format: 0", "format: 1.5", "format: true", "other: 1", "- 1", ""]
)
def test_a_format_that_is_not_known_is_refused(line: str) -> None:
    with pytest.raises(InputError) as refused:
        migrated(f"{line}\n", steps={1: a_made_up_step}, newest=2)
    assert refused.value.problems[0].code in ("unknown-format", "no-format", "no-document")


def test_edits_are_made_where_they_are_meant() -> None:
    source = "a: [x, {b: 1}]  # note\nc: {d: 'old', e: 2}\n"
    output = edited(
        source, [Edit(("a", 1, "b"), value="7"), Edit(("c", "d"), key="f", value="new"), Edit(("c",), key="g")]
    )
    assert output == "a: [x, {b: 7}]  # note\ng: {f: new, e: 2}\n"
    for path in (("z",), ("a", 5), ("a", 0, "b")):
        with pytest.raises(KeyError):
            edited(source, [Edit(path, value="1")])
    with pytest.raises(ValueError, match="not a scalar"):
        edited(source, [Edit(("c",), value="1")])


def test_the_command_says_what_is_new_enough(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "mine.yaml"
    file.write_text(MESSY, encoding="utf-8")
    assert main(["migrate", str(file)]) == 0
    assert "rewritten" in capsys.readouterr().err
    assert main(["migrate", str(file)]) == 0
    assert "already in the newest format" in capsys.readouterr().err
    file.write_text(json.dumps({"format": 7}), encoding="utf-8")
    assert main(["migrate", "--check", str(file)]) == 1
    assert "unknown format: '7'" in capsys.readouterr().err


def test_lines_keep_their_ends() -> None:
    """What an editor of Windows wrote stays as it was, but for the order of keys."""
    text = "# ours\r\nid: mine\r\nformat: 2\r\nlabel: Mine\r\n"
    tidy = tidied(text)
    assert tidy.count("\r\n") == tidy.count("\n") == 4
    assert tidied(tidy) == tidy
    assert tidy.replace("\r\n", "\n") == tidied(text.replace("\r\n", "\n"))
