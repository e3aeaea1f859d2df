"""Slips as mentors and groomers make them, each planted in a sound file: told on its line, and before all else what to write."""

from __future__ import annotations

import re
from datetime import date
from pathlib import Path

import pytest

from coatrules import Engine, InputError, load_history
from coatrules.check import examine
from coatrules.formats.date_slips import date_fix
from coatrules.problems import Problem
from coatrules.profile.loading import load_profile

PROFILE = """\
format: 2
id: moor-terrier
label: Moor Terrier
about: A small hard-coated terrier kept rolling.
extends: rough-terrier
visit: {every_weeks: 4, minutes: 130}

sources:
  moor-book: {title: "The moor terrier", publisher: me}

layer_targets:
  jacket:
    take: {usual: 0.2, at_most: 0.25}
    longest_mm: [18, 64]
    because: "Hard and close."
  legs:
    take: {usual: 0.2}
    cover: {at_least: 0.5}

groups:
  saddle: [back, loin, withers]
  shawl: {neck-top: true, neck-sides: true}

rules:
  old-and-thin:
    regions: [back, loin]
    if:
      age_weeks: {minimum: 520}
      cover: {maximum: 0.5}
    then: {take: {at_most: 0.1}, caution: "An old coat: half as much."}
    because: "Common practice."
    source: practice
  summer:
    regions: [saddle, shawl]
    if: {month: {enum: [6, 7, 8]}}
    then: {caution: "In summer leave more cover."}
    because: "Sunburn."
    source: [practice, moor-book]

cases:
  rolls:
    because: "Ten weeks after the first visit."
    history:
      dog: {id: sedge, sex: female, neutered: true}
      visits:
        - {visit: 2026-01-05, work: {jacket: {card: true, pull: 0.15}}}
    date: 2026-03-16
    minutes: 120
    expect:
      regions: {back: {share: 0.25}}
"""
HISTORY = """\
format: 1
dog:
  id: sedge
  name: Sedge
  profile: border-terrier
  born: 2022-05-01
  sex: female
  neutered: true
arrival:
  jacket: {grown_weeks: 20}
  legs: {longest_mm: 40}
  head: {clipped_mm: 6, clipped_weeks: 5}
---
visit: 2026-02-02
minutes: 80
work:
  jacket: {card: true, pull: 0.2}
  legs: {pull: 0.1}
  pads: {clip: 1}
seen:
  back: {longest_mm: 38, layers: 2, skin: sound}
reactions: {feet: unsettled}
put_off: [beard, tail]
events: {season: 2026-01-10}
---
visit: 2026-02-23
work:
  jacket: {pull: 0.15}
health: [bruises-easily]
note: quiet today
"""

IN_A_PROFILE = [
    ("cover: {maximum: 0.5}", "over: {maximum: 0.5}", "over: {max", "Use 'cover'."),
    ("cover: {maximum: 0.5}", "cover: {below: 0.5}", "below: 0.5", "Use 'maximum'."),
    ("cover: {maximum: 0.5}", "cover: {over: 0.5}", "over: 0.5", "Use 'minimum'."),
    ("extends: rough-terrier", "extends: ruff-terrier", "extends: ruff", "Use 'rough-terrier'."),
    ("extends: rough-terrier", "extend: rough-terrier", "extend: rough", "Use 'extends'."),
    (
        "visit: {every_weeks: 4,",
        "visit: {every_weeks: fortnightly,",
        "fortnightly",
        "Write the number alone, with a point and without quotes: 2.",
    ),
    (
        "usual: 0.2, at_most",
        "usual: 1 in 5, at_most",
        "1 in 5",
        "Write the number alone, with a point and without quotes: 0.2.",
    ),
    (
        "usual: 0.2, at_most",
        "usual: a fifth, at_most",
        "a fifth",
        "Write the number alone, with a point and without quotes: 0.2.",
    ),
    (
        "usual: 0.2, at_most",
        "usual: 20 %, at_most",
        "20 %",
        "Write the number alone, with a point and without quotes: 0.2.",
    ),
    ("usual: 0.2, at_most", "usual: 0,2, at_most", "0,2", 'Put it in quotes: "2". If you meant a decimal, write 0.2.'),
    (
        "saddle: [back, loin, withers]",
        "saddle: [back, loin, back]",
        "loin, back]",
        "Remove it here, or write the name that was meant.",
    ),
    (
        "regions: [back, loin]",
        "regions: [back, loin, loin]",
        "loin, loin]",
        "Remove it here, or write the name that was meant.",
    ),
    ("regions: [back, loin]", "regions: [back, lion]", "lion", "Use 'loin'."),
    (
        "month: {enum: [6, 7, 8]}",
        "month: [6, 7, 8]",
        "month: [6",
        "Use {enum: [...]} for alternatives, {contains: ...} for an entry of a list.",
    ),
    (
        "month: {enum: [6, 7, 8]}",
        "month: summer",
        "month: summer",
        "Write the numbers of the months, as in {enum: [6, 7, 8]}.",
    ),
    ("month: {enum: [6, 7, 8]}", "month: {minimum: June}", "June", "Write the month as a number: 6."),
    ("neutered: true}", "neutered: no}", "neutered: no", "Write false."),
    ("neutered: true}", "neutered: yes}", "neutered: yes", "Write true."),
    ("sex: female", "sex: bitch", "sex: bitch", "Use 'female'."),
    ("minutes: 130}", "minutes: 2h10}", "2h10", "Write the number alone, with a point and without quotes: 130."),
    ("minutes: 130}", "minutes: 130 min}", "130 min", "Write the number alone, with a point and without quotes: 130."),
    (
        "longest_mm: [18, 64]",
        "longest_mm: 18-64",
        "18-64",
        "Write the lowest and the highest in square brackets: [18, 64].",
    ),
    (
        "longest_mm: [18, 64]",
        "longest_mm: [64, 18]",
        "[64, 18]",
        "Write the shortest length wanted first, then the longest.",
    ),
    (
        "longest_mm: [18, 64]",
        "longest_mm: [1.8 cm, 6.4 cm]",
        "1.8 cm",
        "Write the number alone, with a point and without quotes: 18.",
    ),
    ("at_most: 0.25}", "at_most: 25}", "at_most: 25", "Write 0.25 if you mean 25 %."),
    (
        "age_weeks: {minimum: 520}",
        "age_weeks: {minimum: 10 years}",
        "10 years",
        "Write the number alone, with a point and without quotes: 522.",
    ),
    ("age_weeks: {minimum: 520}", "age: {minimum: 520}", "age: {min", "Use 'age_weeks'."),
    ('caution: "In summer', 'cautoin: "In summer', "cautoin", "Use 'caution'."),
    ("  legs:\n    take", "  leg:\n    take", "  leg:", "Use 'legs'."),
    (
        "then: {take: {at_most: 0.1}, ",
        "then: {take: {at_most: half}, ",
        "half",
        "Write the number alone, with a point and without quotes: 0.5.",
    ),
    (
        "then: {take: {at_most: 0.1}, ",
        "then: {at_most: 0.1, ",
        "then: {at_most",
        "Write it below 'take': 'take: {at_most: …}'.",
    ),
    ("date: 2026-03-16", "date: 16/03/2026", "16/03/2026", "Write 2026-03-16."),
    ("date: 2026-03-16", "date: 2026-3-16", "2026-3-16", "Write 2026-03-16."),
    (
        '    because: "Hard and close."',
        '   because: "Hard and close."',
        'because: "Hard',
        "Indent all keys of one block by the same number of spaces. Put the whole of a text in quotes.",
    ),
    (
        "label: Moor Terrier",
        "label Moor Terrier",
        "label Moor",
        "Write 'key: value', with a space after the colon. Indent the further lines of a text.",
    ),
    (
        "id: moor-terrier",
        "id: Moor Terrier",
        "id: Moor",
        "Use lower-case letters, digits and hyphens, starting with a letter, e.g. 'moor-terrier'.",
    ),
    ("format: 2", "format: two", "format: two", "Write the number alone, with a point and without quotes: 2."),
]
"""What stands in the file, the slip, words on its line, and the fix."""
IN_A_HISTORY = [
    ("profile: border-terrier", "profile: border-terier", "border-terier", "Use 'border-terrier'."),
    (
        "profile: border-terrier",
        "profile: Border Terrier",
        "Border Terrier",
        "Use lower-case letters, digits and hyphens, starting with a letter, e.g. 'border-terrier'.",
    ),
    ("neutered: true", "neutered: no", "neutered: no", "Write false."),
    ("neutered: true", "neutered: spayed", "spayed", "Write true."),
    ("neutered: true", "neutered: 2023", "neutered: 2023", "Write the day too, e.g. 2023-07-15; an estimate will do."),
    ("sex: female", "sex: F", "sex: F", "Use 'female'."),
    ("born: 2022-05-01", "born: May 2022", "born: May", "Write the day too, e.g. 2022-05-15; an estimate will do."),
    ("born: 2022-05-01", "born: 01.05.2022", "01.05.2022", "Write 2022-05-01."),
    ("pull: 0.2}", "pull: 1/5}", "1/5", "Write the number alone, with a point and without quotes: 0.2."),
    ("pull: 0.2}", "pull: 1 in 5}", "1 in 5", "Write the number alone, with a point and without quotes: 0.2."),
    ("pull: 0.2}", "pull: fifth}", "fifth", "Write the number alone, with a point and without quotes: 0.2."),
    ("pull: 0.2}", "pull: 20}", "pull: 20", "Write 0.2 if you mean 20 %."),
    ("minutes: 80", "minutes: 1:20", "1:20", "Write the number alone, with a point and without quotes: 80."),
    ("minutes: 80", "minutes: 1h20m", "1h20m", "Write the number alone, with a point and without quotes: 80."),
    ("longest_mm: 38", "longest_mm: 3.8 cm", "3.8 cm", "Write the number alone, with a point and without quotes: 38."),
    ("longest_mm: 38", "longest_mm: 38+", "38+", "Write {minimum: 38}."),
    ("layers: 2", "layers: two", "layers: two", "Write the number alone, with a point and without quotes: 2."),
    ("skin: sound", "skin: sore", "skin: sore", "Use 'unsound'."),
    ("skin: sound", "skin: red", "skin: red", "Use 'unsound'."),
    ("reactions: {feet: unsettled}", "reactions: {feet: fidgety}", "fidgety", "Use 'unsettled'."),
    ("reactions: {feet: unsettled}", "reactions: {feet: growled}", "growled", "Use 'stop'."),
    ("reactions: {feet: unsettled}", "reaction: {feet: unsettled}", "reaction: {feet", "Use 'reactions'."),
    (
        "put_off: [beard, tail]",
        "put_off: beard, tail",
        "put_off: beard, tail",
        "Put it in square brackets: [beard, tail].",
    ),
    ("put_off: [beard, tail]", "put-off: [beard, tail]", "put-off", "Use 'put_off'."),
    ("health: [bruises-easily]", "health: [bruises easily]", "bruises easily", "Use 'bruises-easily'."),
    (
        "health: [bruises-easily]",
        "health: bruises-easily",
        "health: bruises",
        "Put it in square brackets: [bruises-easily].",
    ),
    (
        "health: [bruises-easily]",
        "health: [pregnant]",
        "pregnant",
        "Use one of these: bruises-easily, in-whelp, long-medication, nursing, parasites, recent-surgery, spot-on-treatment and unwell.",
    ),
    ("health: [bruises-easily]", "health: none", "health: none", "Write [], an empty list."),
    ("visit: 2026-02-23", "visit: 2026-02-30", "2026-02-30", "Use a day up to 28: that month has no more."),
    ("visit: 2026-02-23", "visit: 23 Feb 2026", "23 Feb", "Write 2026-02-23."),
    ("events: {season: 2026-01-10}", "events: {heat: 2026-01-10}", "heat:", "Use season or whelped."),
    ("events: {season: 2026-01-10}", "events: season 2026-01-10", "events: season", "Write {season: 2026-01-10}."),
    ("jacket: {grown_weeks: 20}", "jacket: 20 weeks", "20 weeks", "Write {grown_weeks: 20}."),
    ("jacket: {card: true, pull: 0.2}", "jacket: pull 0.2", "jacket: pull 0.2", "Write {pull: 0.2}."),
    (
        "jacket: {card: true, pull: 0.2}",
        "jacket: {card: true pull: 0.2}",
        "card: true pull",
        "Close every [ with ] and every { with }, and put one comma between entries.",
    ),
    ("jacket: {card: true, pull: 0.2}", "jakcet: {card: true, pull: 0.2}", "jakcet", "Use 'jacket'."),
    (
        "  pads: {clip: 1}",
        "  pads: {clip: 1 mm}",
        "1 mm",
        "Write the number alone, with a point and without quotes: 1.",
    ),
    ("  pads: {clip: 1}", "  pads: {clipped: 1}", "clipped: 1}", "Use 'clip'."),
    (
        "  pads: {clip: 1}",
        '  pads: {clip: "#10"}',
        "#10",
        "Write the millimetres that the blade leaves: they stand on it.",
    ),
    ("note: quiet today", "notes: quiet today", "notes:", "Use 'note'."),
    (
        "note: quiet today",
        "note: quiet: very",
        "quiet: very",
        "Put text that contains a colon in quotes. Check the colon and the indent of the line before, too.",
    ),
]


def planted(text: str, old: str, new: str, mark: str) -> tuple[str, int]:
    """The text with a slip, and its line."""
    assert text.count(old) >= 1
    changed = text.replace(old, new, 1)
    return changed, next(number for number, line in enumerate(changed.splitlines(), 1) if mark in line)


def told(problem: Problem) -> tuple[int, str]:
    return problem.line, re.findall(r"Fix: (.*)", str(problem))[0]


@pytest.mark.parametrize(("old", "new", "mark", "fix"), IN_A_PROFILE)
def test_a_slip_in_a_profile(tmp_path: Path, old: str, new: str, mark: str, fix: str) -> None:
    text, line = planted(PROFILE, old, new, mark)
    file = tmp_path / "moor-terrier.yaml"
    file.write_text(text, encoding="utf-8")
    assert told(examine(file)[0]) == (line, fix)


@pytest.mark.parametrize(("old", "new", "mark", "fix"), IN_A_HISTORY)
def test_a_slip_in_a_history(tmp_path: Path, old: str, new: str, mark: str, fix: str) -> None:
    text, line = planted(HISTORY, old, new, mark)
    file = tmp_path / "sedge.yaml"
    file.write_text(text, encoding="utf-8")
    with pytest.raises(InputError) as refused:
        Engine().order(load_history(file), date=date(2026, 3, 16))
    assert told(refused.value.problems[0]) == (line, fix)


def test_the_files_are_sound_without_them(tmp_path: Path) -> None:
    file = tmp_path / "moor-terrier.yaml"
    file.write_text(PROFILE, encoding="utf-8")
    assert {problem.code for problem in examine(file)} == {"rule-untested"}
    (tmp_path / "sedge.yaml").write_text(HISTORY, encoding="utf-8")
    found = Engine().order(load_history(tmp_path / "sedge.yaml"), date=date(2026, 3, 16))
    assert "visit-far-back" not in {problem.code for problem in found.findings}


def test_the_old_year_is_asked_after(tmp_path: Path) -> None:
    """A visit of January with the year before was taken into the record without a word, and moved the coat's whole past."""
    text, line = planted(HISTORY, "visit: 2026-02-23", "visit: 2025-02-23", "2025-02-23")
    file = tmp_path / "sedge.yaml"
    file.write_text(text, encoding="utf-8")
    found = Engine().order(load_history(file), date=date(2026, 3, 16))
    problem = next(one for one in found.findings if one.code == "visit-far-back")
    assert told(problem) == (line, "Check its year. If it is right, put the visits in the order of their days.")


def test_a_visit_that_is_entered_late_is_nothing_to_stop_at(tmp_path: Path) -> None:
    file = tmp_path / "sedge.yaml"
    for day in ("2026-01-12", "2025-11-17", "2025-06-14"):
        file.write_text(HISTORY.replace("visit: 2026-02-23", f"visit: {day}"), encoding="utf-8")
        found = Engine().order(load_history(file), date=date(2026, 3, 16))
        assert "visit-far-back" not in {problem.code for problem in found.findings}


@pytest.mark.parametrize(
    ("text", "fix"),
    [
        ("16.3.26", "Write 2026-03-16."),
        ("20260316", "Write 2026-03-16."),
        ("2026/3/16", "Write 2026-03-16."),
        ("03/16/2026", "Write 2026-03-16."),
        ("3-4-2026", "Write 2026-04-03 or 2026-03-04, whichever you mean."),
        ("16th March 2026", "Write 2026-03-16."),
        ("March 16, 2026", "Write 2026-03-16."),
        ("2026-03", "Write the day too, e.g. 2026-03-15; an estimate will do."),
        ("2024-02-30", "Use a day up to 29: that month has no more."),
        ("0000-02-30", None),
        ("31.2.2026", None),
        ("yesterday", None),
        ("9" * 5000, None),
    ],
)
def test_a_day_in_another_form(text: str, fix: str | None) -> None:
    found = date_fix(text)
    assert (None if found is None else found.text) == fix


def test_a_dog_is_not_offered_as_a_profile(tmp_path: Path) -> None:
    """Of a folder that holds both, 'marsh' was taken for the dog's file."""
    (tmp_path / "marsh.yaml").write_text("format: 1\ndog: {id: marsh}\n", encoding="utf-8")
    (tmp_path / "marsh-terrier.yaml").write_text(
        "format: 2\nid: marsh-terrier\nextends: border-terrier\n", encoding="utf-8"
    )
    with pytest.raises(InputError, match=r"Fix: Use 'marsh-terrier'\."):
        load_profile("marhs", shelves=[tmp_path])
