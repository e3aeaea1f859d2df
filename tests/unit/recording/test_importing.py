"""Old records from a spreadsheet's export: every row is in a history or is listed with its line and the reason."""

from __future__ import annotations

import csv
import io
import json
import re
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from jsonschema import Draft202012Validator

from coatrules.catalogue.languages import catalogue
from coatrules.catalogue.speaking import speaking
from coatrules.cli import main
from coatrules.dog.history import Work
from coatrules.dog.loading import load_history
from coatrules.formats.resources import schema
from coatrules.formats.structure import structure
from coatrules.problems import InputError, Problem
from coatrules.profile.compiled import compile_profile
from coatrules.profile.loading import load_profile
from coatrules.recording.importing import import_rows
from coatrules.recording.sheets import SheetMapping, load_mapping
from tests.support.book import compiled_profile, profile_folder

MAPPING: dict[str, Any] = {
    "format": 1,
    "profile": "small",
    "columns": {"date": "Datum", "dog": "Hund", "part": "Stelle", "task": "Arbeit", "share": "Anteil"}
    | {"leave_mm": "Länge", "minutes": "Min", "reaction": "Verhalten", "note": "Notiz"},
    "values": {
        "part": {"Rücken": "back", "Körper": "body", "Pfoten": "toes"},
        "task": {"Rupfen": "pull", "Kardieren und Rupfen": "card+pull", "Schere": "scissor", "Maschine": "clip"},
        "share": {"Hälfte": 0.5},
        "reaction": {"ruhig": "calm", "gar nicht": "stop"},
    },
    "ignore": ["Preis"],
    "dates": "DD.MM.YYYY",
    "share_as": "percent",
    "decimal": ",",
    "delimiter": ";",
}
HEADINGS = "Datum;Hund;Stelle;Arbeit;Anteil;Länge;Min;Verhalten;Notiz;Preis"
GOOD = f"""{HEADINGS}
31.01.2026;Pip;Körper;Kardieren und Rupfen;60;;55;ruhig;"Fell gut;
weich";80
31.01.2026;Pip;Pfoten;Schere;;12,5;10;gar nicht;;80
28.02.2026;Pip;Rücken;rupfen;Hälfte;;;;;80
28.02.2026;Zoë;vent;Maschine;;3;;;;80
31.01.2026;Zoë;;;;;;;nur Gespräch;0
;;;;;;;;;
28.02.2026;Pip;Körper;Rupfen;7,5 %;;20;;noch etwas;80
"""


def mapping(**changed: Any) -> SheetMapping:
    """The mapping with keys changed; None takes one away."""
    return structure({key: value for key, value in (MAPPING | changed).items() if value is not None}, SheetMapping)


def rows(*lines: str, **changed: Any) -> list[str]:
    """The problems of a sheet of these rows, as people see them."""
    text = "\n".join([HEADINGS, *lines]) + "\n"
    imported = import_rows(text.encode(), "sheet.csv", mapping(**changed), lambda _: compiled_profile())
    assert imported.read + len(imported.problems) == imported.rows
    return [str(problem).replace("\n    ", " ") for problem in imported.problems]


def test_what_a_sheet_says_is_what_the_histories_say(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(tmp_path, GOOD) == 0
    assert "6 of 6 rows read: 2 dogs, 4 visits." in capsys.readouterr().err
    pip, zoe = (load_history(tmp_path / "out" / name) for name in ("pip.yaml", "zoe.yaml"))
    assert (zoe.dog.id, zoe.dog.name, zoe.dog.profile) == ("zoe", "Zoë", "small")
    first, second = pip.visits
    assert first.day == date(2026, 1, 31)
    assert first.work == {"body": Work(card=True, pull=0.6, minutes=55), "toes": Work(scissor=12.5, minutes=10)}
    assert first.reactions == {"body": "calm", "toes": "stop"}
    assert first.note == "Fell gut; weich"
    assert second.work == {"back": Work(pull=0.5), "body": Work(pull=0.075, minutes=20)}
    assert second.note == "noch etwas"
    assert [visit.day for visit in zoe.visits] == [date(2026, 1, 31), date(2026, 2, 28)]
    assert zoe.visits[0].work == {}
    assert zoe.visits[1].work == {"vent": Work(clip=3)}


@pytest.mark.parametrize(
    "text",
    [
        *("3 Mar 2026", "March 3, 2026", "3. März 2026", "3 mars 2026", "3-Mar-26", "3.Mrz.2026", "3rd March 2026"),
        *("Tuesday 3 March 2026", "Di., 3. März 2026", "2026-03-03 00:00:00", "03.03.2026 00:00"),
    ],
)
def test_a_day_with_its_month_in_words_or_a_time_is_read_whatever_the_mapping_says(text: str) -> None:
    sheet = f'{HEADINGS}\n"{text}";Pip;Rücken;Rupfen;20;;;;;80\n'
    found = import_rows(sheet.encode(), "sheet.csv", mapping(), lambda _: compiled_profile())
    assert [visit["visit"] for visit in found.histories["pip"]["visits"]] == ["2026-03-03"]


@pytest.mark.parametrize("text", ["3 Ma 2026", "3 Foo 2026", "31 Feb 2026", "3 Mar", "Mar 2026"])
def test_what_is_no_day_in_words_is_refused(text: str) -> None:
    assert "invalid date in 'Datum'" in rows(f"{text};Pip;Rücken;Rupfen;20;;;;;80")[0]


@pytest.mark.parametrize("share_as", ["share", "percent"])
def test_a_fraction_is_read_as_people_write_it(tmp_path: Path, share_as: str) -> None:
    """'1/5' was an invalid number, to be mended by another decimal mark."""
    (tmp_path / "mapping.yaml").write_text(json.dumps(MAPPING | {"share_as": share_as}), encoding="utf-8")
    assert run(tmp_path, f"{HEADINGS}\n31.01.2026;Pip;Rücken;Rupfen;1/5;;;;;80\n") == 0
    assert load_history(tmp_path / "out" / "pip.yaml").visits[0].work == {"back": Work(pull=0.2)}
    assert rows("31.01.2026;Pip;Rücken;Rupfen;1/0;;;;;80") != []


def run(tmp_path: Path, sheet: str, *options: str, encoding: str = "utf-8") -> int:
    (tmp_path / "profiles").mkdir(exist_ok=True)
    profiles = profile_folder(tmp_path / "profiles")
    (tmp_path / "sheet.csv").write_bytes(sheet.encode(encoding))
    if not (tmp_path / "mapping.yaml").exists():
        (tmp_path / "mapping.yaml").write_text(json.dumps(MAPPING), encoding="utf-8")
    files = [str(tmp_path / "sheet.csv"), str(tmp_path / "mapping.yaml")]
    return main(["import", *files, "--profiles", str(profiles), "--out", str(tmp_path / "out"), *options])


@pytest.mark.parametrize(
    ("row", "message"),
    [
        (
            "30.02.2026;Pip;Rücken;Rupfen;20;;;;;",
            "invalid date in 'Datum': '30.02.2026' Fix: Write it as DD.MM.YYYY, or change 'dates' in the mapping.",
        ),
        ("28/02/2026;Pip;Rücken;Rupfen;20;;;;;", "invalid date in 'Datum': '28/02/2026'"),
        ("28.02.2026;;Rücken;Rupfen;20;;;;;", "empty cell in 'Hund'"),
        ("28.02.2026;狗;Rücken;Rupfen;20;;;;;", "cannot derive an id from '狗'"),
        ("28.02.2026;Pip;;Rupfen;20;;;;;", "empty cell in 'Stelle'"),
        ("28.02.2026;Pip;Rücken;;20;;;;;", "empty cell in 'Arbeit'"),
        (
            "28.02.2026;Pip;Rücken;Rupfen;;;;;;",
            "empty cell in 'Anteil', but hair was pulled Fix: Write how much was pulled.",
        ),
        ("28.02.2026;Pip;vent;Maschine;;;;;;", "empty cell in 'Länge', but the coat was clipped"),
        (
            "28.02.2026;Pip;Rücken;Rupfen;0.2;;;;;",
            "invalid number in 'Anteil': '0.2' Fix: Write a number from 0 on, with ',' as the decimal mark",
        ),
        ("28.02.2026;Pip;Rücken;Rupfen;-5;;;;;", "invalid number in 'Anteil'"),
        ("28.02.2026;Pip;Rücken;Rupfen;120;;;;;", "more than the whole coat in 'Anteil': '120'"),
        (
            "28.02.2026;Pip;Rücken;Rupfn;20;;;;;",
            "unknown task in 'Arbeit': 'Rupfn' Fix: Use card, pull, clip, scissor or comb, or map it",
        ),
        ("28.02.2026;Pip;Rücken;Rupfen;20;3;;;;", "'Länge' has a figure, but the task 'pull' takes none"),
        ("28.02.2026;Pip;bak;Rupfen;20;;;;;", "no part in 'Stelle': 'bak' Fix: Use 'back'."),
        (
            ";;;;;;;;;160",
            "empty cell in 'Hund' Fix: Fill it in (of merged cells only the first is exported), or remove the row if it is no visit",
        ),
        (
            ";Summe;;;;;;;;160",
            "empty cell in 'Datum' Fix: Fill it in (of merged cells only the first is exported), or remove the row",
        ),
        ("28.02.2026;Pip;Rücken;Rupfen;20;;700;;;", "in 'Min': too high: 700, expected at most 600"),
        ("28.02.2026;Pip;Rücken;Rupfen;20;;;wild;;", "in 'Verhalten': unknown value: 'wild'"),
        ("28.02.2026;Pip;;;;;;;;80", "row has neither work nor a note"),
        ("28.02.2026;Pip;Rücken;Rupfen;20;;;;", "row has 9 cells, but there are 10 headings"),
        ("28.02.2026;Pip;Rücken;Rupfen;20;;;;bell\x07;", "invisible character in 'Notiz'"),
        ("28.02.2026;Pip;Rücken;Rupfen;20;;;;" + "x" * 2001 + ";", "text too long: 2,001 characters"),
    ],
)
def test_a_row_that_cannot_be_read_is_listed_with_its_line_and_why(row: str, message: str) -> None:
    good = "28.02.2026;Pip;Rücken;Rupfen;20;;;;;"
    problems = rows(good, row, good)
    assert len(problems) == 1
    assert re.match(r"sheet\.csv:3:\d+: error: ", problems[0])
    assert message in problems[0]


@pytest.mark.parametrize(
    ("second", "message"),
    [
        (
            "28.02.2026;Pip;Rücken;Rupfen;30;;;;;",
            "another row of this visit has 0.2 for 'pull' on 'back', this one 0.3",
        ),
        ("28.02.2026;Pip;Rücken;Schere;;;;gar nicht;;", "another row of this visit has the reaction 'calm' on"),
        ("28.02.2026;pip!;Rücken;Rupfen;30;;;;;", "'pip!' and 'Pip' would both get the id 'pip'"),
        (f"28.02.2026;Pip;;;;;;;{'x' * 1999};", "too long: more than 2,000 characters"),
    ],
)
def test_rows_that_do_not_agree_are_listed(second: str, message: str) -> None:
    problems = rows("28.02.2026;Pip;Rücken;Rupfen;20;;;ruhig;note;", second)
    assert len(problems) == 1
    assert message in problems[0]


def test_one_bad_row_holds_all_back_unless_it_may_be_left_out(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    sheet = GOOD + "30.02.2026;Pip;Rücken;Rupfen;20;;;;;\n"
    assert run(tmp_path, sheet) == 1
    assert not (tmp_path / "out").exists()
    err = capsys.readouterr().err
    assert "sheet.csv:10:1: error: invalid date in 'Datum'" in err  # a note that goes over two lines counts as two
    assert "Nothing was written" in err
    assert run(tmp_path, sheet, "--leave-out") == 1
    assert sorted(file.name for file in (tmp_path / "out").iterdir()) == ["pip.yaml", "zoe.yaml"]
    assert "sheet.csv:10:1: error: invalid date in 'Datum'" in capsys.readouterr().err


def test_it_never_overwrites(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "zoe.yaml").write_text("mine", encoding="utf-8")
    assert run(tmp_path, GOOD) == 1
    assert "zoe.yaml: error: file already exists" in capsys.readouterr().err
    assert {file.name: file.read_text(encoding="utf-8") for file in (tmp_path / "out").iterdir()} == {
        "zoe.yaml": "mine"
    }


def test_a_disk_that_fills_up_leaves_no_half_of_a_book(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    calls = iter([None, None, OSError(28, "No space left on device")])

    def fsync(_: int) -> None:
        if (fault := next(calls, None)) is not None:
            raise fault

    monkeypatch.setattr("coatrules.recording.folders.os.fsync", fsync)
    assert run(tmp_path, GOOD) == 1
    assert list((tmp_path / "out").iterdir()) == []


@pytest.mark.parametrize(
    ("first", "message"),
    [
        (HEADINGS.replace("Hund", "Hnd"), "missing column: 'Hund'\n    Fix: Use 'Hnd'."),
        (HEADINGS + ";Telefon", "the mapping does not explain the column 'Telefon'"),
        (HEADINGS + ";Preis", "two columns have this heading: 'Preis'"),
        ("", "missing column: 'Datum'"),
    ],
)
def test_no_column_is_dropped_in_silence(
    tmp_path: Path, first: str, message: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(tmp_path, first + "\n") == 1
    assert message in capsys.readouterr().err


def test_letters_in_another_encoding(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(tmp_path, GOOD, encoding="windows-1252") == 1
    assert "sheet.csv:1:34: error: file is not in utf-8" in capsys.readouterr().err
    (tmp_path / "mapping.yaml").write_text(json.dumps(MAPPING | {"encoding": "windows-1252"}), encoding="utf-8")
    assert run(tmp_path, GOOD, encoding="windows-1252") == 0
    assert load_history(tmp_path / "out" / "zoe.yaml").dog.name == "Zoë"


def test_a_sheet_with_a_byte_order_mark_and_an_open_quote() -> None:
    sheet = GOOD.encode("utf-8-sig")
    assert import_rows(sheet, "sheet.csv", mapping()).read == 6
    with pytest.raises(InputError, match=r"sheet.csv:10:1: error: invalid CSV from here on"):
        import_rows(sheet + b'"28.02.2026;Pip\n', "sheet.csv", mapping())


@pytest.mark.parametrize(
    ("dates", "text", "day"),
    [
        ("YYYY-MM-DD", "2026-03-04", "2026-03-04"),
        ("D/M/YY", "4/3/26", "2026-03-04"),
        ("MM/DD/YYYY", "03/04/2026", "2026-03-04"),
        ("D. M. YYYY", "04. 03. 2026", "2026-03-04"),
        ("DD.MM.YYYY", "4.3.2026", None),
        ("YYYY-MM-DD", "２026-03-04", None),
    ],
)
def test_days_as_the_sheet_writes_them(dates: str, text: str, day: str | None) -> None:
    sheet = f"{HEADINGS}\n{text};Pip;Rücken;Rupfen;20;;;;;\n"
    imported = import_rows(sheet.encode(), "sheet.csv", mapping(dates=dates))
    assert [visit["visit"] for dog in imported.histories.values() for visit in dog["visits"]] == ([day] if day else [])
    assert len(imported.problems) == (day is None)


names = st.sampled_from(["Pip", "Ada", "", "Bo;Bo", 'the "small" one', "pip"])
days = st.sampled_from(["31.01.2026", "28.02.2026", "30.02.2026", ""])
cells = st.sampled_from(["", "Rücken", "Pfoten", "x"])
sheets = st.lists(
    st.tuples(days, names, cells, st.sampled_from(["", "Rupfen", "Schere", "card"]), st.sampled_from(["", "20", "x"])),
    max_size=12,
)


@given(sheets)
def test_nothing_is_dropped(rows: list[tuple[str, ...]]) -> None:
    out = io.StringIO()
    writer = csv.writer(out, delimiter=";", lineterminator="\n")
    for row in rows:
        writer.writerow([*row, "", "1", "", f"n{len(out.getvalue())}", ""])
    sheet = f"{HEADINGS}\n{out.getvalue()}"
    imported = import_rows(sheet.encode(), "sheet.csv", mapping(), lambda _: compiled_profile())
    assert imported.rows == len(rows)
    assert imported.read + len(imported.problems) == imported.rows
    refused = {problem.line for problem in imported.problems}
    # Each row carries a note and a minute of its own: those of the rows that were read are all there, and no others.
    notes = sorted(
        note for dog in imported.histories.values() for visit in dog["visits"] for note in visit["note"].split(" / ")
    )
    read_back = list(csv.reader(io.StringIO(sheet), delimiter=";"))[1:]
    assert notes == sorted(row[8] for line, row in enumerate(read_back, 2) if line not in refused)
    spent = [
        done["minutes"] for dog in imported.histories.values() for v in dog["visits"] for done in v["work"].values()
    ]
    assert sum(spent) == imported.read


# -- the mapping --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("changed", "message"),
    [
        ({"colums": {}}, "unknown key: 'colums'"),
        ({"columns": {"date": "Datum"}}, "missing key: 'dog'"),
        ({"dates": "DD.MM"}, "invalid value: 'DD.MM'"),
        ({"dates": "DD.DD.YYYY"}, "date format without a day, a month or a year: 'DD.DD.YYYY'"),
        ({"always": {"task": "pull"}}, "'task' has a column and a fixed value"),
        ({"decimal": ";"}, "unknown value: ';'"),
        ({"values": {"share": {"all": 1.5}}}, "at most 1"),
        ({"format": 2}, "error"),
    ],
)
def test_a_wrong_mapping_is_explained(
    tmp_path: Path, changed: dict[str, Any], message: str, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "mapping.yaml").write_text(json.dumps(MAPPING | changed), encoding="utf-8")
    assert run(tmp_path, GOOD) == 1
    err = capsys.readouterr().err
    assert message in err
    assert "mapping.yaml:1:" in err


def test_what_every_row_means(tmp_path: Path) -> None:
    file = tmp_path / "mapping.yaml"
    file.write_text(
        "format: 1\ncolumns: {date: day, dog: dog, share: share}\nalways: {part: body, task: card+pull}\n",
        encoding="utf-8",
    )
    imported = import_rows(b"day,dog,share\n2026-01-31,7,0.2\n", "s.csv", load_mapping(file))
    assert imported.histories["dog-7"]["visits"] == [
        {"visit": "2026-01-31", "work": {"body": {"card": True, "pull": 0.2}}}
    ]


# -- what a salon's own sheet looks like ----------------------------------------------------------------------------------


def found(text: str, **changed: Any) -> Any:
    return import_rows(text.encode(), "sheet.csv", mapping(**changed), lambda _: compiled_profile())


@pytest.mark.parametrize("delimiter", [",", ";", "\t", "|"])
def test_the_delimiter_is_found_by_the_headings(delimiter: str) -> None:
    columns = {"date": "day", "dog": "dog", "share": "How much, roughly; or not"}
    out = io.StringIO()
    writer = csv.writer(out, delimiter=delimiter)
    writer.writerow(columns.values())
    writer.writerow(["31.01.2026", "Pip", "20"])
    always = {"part": "body", "task": "pull"}
    imported = found(out.getvalue(), columns=columns, always=always, ignore=[], delimiter=None)
    assert imported.problems == ()
    assert imported.histories["pip"]["visits"] == [{"visit": "2026-01-31", "work": {"body": {"pull": 0.2}}}]


def test_a_wrong_delimiter_is_one_problem_that_names_the_right_one() -> None:
    with pytest.raises(InputError) as refused:
        found(GOOD, delimiter=",")
    (problem,) = refused.value.problems
    assert (problem.code, problem.line) == ("delimiter", 1)
    assert problem.message == "the cells are separated by ';', but the mapping says ','"
    assert problem.hint == "Write 'delimiter: \";\"' in the mapping, or remove the key."


BREEDS = """day,dog,breed,part,task,share
31.01.2026,Pip,small,body,pull,20
28.02.2026,Pip,,body,pull,20
31.01.2026,Zoe,Little one,body,pull,20
31.01.2026,Ada,large,body,pull,20
28.02.2026,Zoe,big,body,pull,20
"""


def test_a_book_kept_by_several_hands_is_read() -> None:
    """Days were read in one way alone, and 'Rib' or 'Cheek' was no part."""
    sheet = """day,dog,part,task,share
31.01.2026,Pip,Rib,pull,1/5
2026-02-14,PIP,whole body,pull,a fifth
03/03/26,pip,BACK ,pull,20%
,,,,
"""
    columns = {name: name if name != "date" else "day" for name in ("date", "dog", "part", "task", "share")}
    read = mapping(
        columns=columns,
        ignore=[],
        values={},
        delimiter=None,
        decimal=".",
        share_as=None,
        dates="DD.MM.YYYY or DD/MM/YY",
    )
    imported = import_rows(("\ufeff" + sheet).encode(), "sheet.csv", read, lambda _: compiled_profile())
    assert [str(problem) for problem in imported.problems] == []
    visits = imported.histories["pip"]["visits"]
    assert {visit["visit"]: visit["work"] for visit in visits} == {
        "2026-01-31": {"ribs": {"pull": 0.2}},
        "2026-02-14": {"body": {"pull": 0.2}},
        "2026-03-03": {"back": {"pull": 0.2}},
    }
    short = import_rows(sheet.replace("Rib", "ri").encode(), "sheet.csv", read, lambda _: compiled_profile())
    assert [problem.line for problem in short.problems] == [2], "a shortened word is for its author to write out"


def test_a_row_that_repeats_another_counts_its_minutes_once() -> None:
    """The minutes of a row that was pasted twice were added up."""
    row = "28.02.2026;Pip;Rücken;Rupfen;20;;30;;;"
    assert rows(row, "28.02.2026;Pip;Rücken;Rupfen;20;;15;;;", row) == [
        "sheet.csv:4:1: error: row repeats line 2, minutes and all "
        "Fix: Remove one; write the sum of the minutes in one row if it was done twice."
    ]


@pytest.mark.parametrize(
    ("language", "words"),
    [("de", ("Rücken", "gezupft", "ruhig")), ("fr", ("dos", "épilé", "calme")), ("en", ("back", "pulled", "quiet"))],
)
def test_a_sheet_is_read_in_the_words_of_its_language(language: str, words: tuple[str, str, str]) -> None:
    """Parts were; for what was done and how the dog bore it every word had to be in the mapping."""
    part, task, bore = words
    sheet = f"{HEADINGS}\n28.02.2026;Pip;{part};{task};20;;;{bore};;\n"
    border = compile_profile(load_profile("border-terrier"))
    with speaking(catalogue(language)):
        imported = import_rows(sheet.encode(), "sheet.csv", mapping(values=None), lambda _: border)
    assert imported.problems == ()
    (visit,) = imported.histories["pip"]["visits"]
    assert visit == {"visit": "2026-02-28", "work": {"back": {"pull": 0.2}}, "reactions": {"back": "calm"}}


def test_a_breed_that_is_misspelt_is_told_with_its_column() -> None:
    sheet = "day,dog,breed,part,task,share\n31.01.2026,Pip,Border Terier,Rücken,pull,20\n"
    columns = {"date": "day", "dog": "dog", "profile": "breed", "part": "part", "task": "task", "share": "share"}
    read = mapping(columns=columns, ignore=[], values={}, delimiter=None)
    imported = import_rows(sheet.encode(), "sheet.csv", read, lambda name: compile_profile(load_profile(name)))
    (problem,) = imported.problems
    assert str(problem).replace("\n    ", " ") == (
        "sheet.csv:2:16: error: in 'breed': unknown profile: 'border-terier' Fix: Use 'border-terrier'."
    )


def test_each_dog_has_the_profile_of_its_column() -> None:
    columns = {"date": "day", "dog": "dog", "profile": "breed", "part": "part", "task": "task", "share": "share"}
    asked: list[str] = []

    def profiles(name: str) -> Any:
        asked.append(name)
        if name == "large":
            raise InputError([Problem(code="profile-not-given", params={"profile": name})])
        return compiled_profile()

    read = mapping(
        columns=columns, ignore=[], values={"profile": {"Little one": "tiny"}}, profile="usual", delimiter=None
    )
    imported = import_rows(BREEDS.encode(), "sheet.csv", read, profiles)
    assert {dog: history["dog"]["profile"] for dog, history in imported.histories.items()} == {
        "pip": "small",
        "zoe": "tiny",
    }
    assert [(problem.code, problem.line) for problem in imported.problems] == [
        ("profile-not-given", 5),
        ("row-profile-differs", 6),
    ]
    assert asked == ["small", "tiny", "large"], "each is looked for once"


ARRIVALS = """day,dog,part,task,share,came,long
31.01.2026,Pip,body,,,26,
31.01.2026,Pip,toes,,,,40
31.01.2026,Pip,body,pull,60,26,
28.02.2026,Pip,body,pull,20,,
14.03.2026,Pip,body,pull,10,12,
31.01.2026,Zoe,toes,,,12,30
31.01.2026,Ada,,,,12,
31.01.2026,Bo,body,,,12,
"""


def test_how_the_coat_was_when_the_dog_came() -> None:
    columns = {"date": "day", "dog": "dog", "part": "part", "task": "task", "share": "share"}
    columns |= {"arrival_weeks": "came", "arrival_mm": "long"}
    imported = found(ARRIVALS, columns=columns, ignore=[], values={}, delimiter=None)
    pip, bo = imported.histories["pip"], imported.histories["bo"]
    assert pip["arrival"] == {"body": {"grown_weeks": 26}, "toes": {"longest_mm": 40}}
    assert [visit["visit"] for visit in pip["visits"]] == ["2026-01-31", "2026-02-28"]
    assert (bo["arrival"], bo["visits"]) == ({"body": {"grown_weeks": 12}}, [])
    assert set(imported.histories) == {"pip", "bo"}
    codes = [(problem.code, problem.line) for problem in imported.problems]
    assert codes[0] == ("row-arrival-differs", 6)
    assert codes[1][1] == 7, "weeks and millimetres exclude each other"
    assert codes[2] == ("cell-empty", 8)
    for history in imported.histories.values():
        load_history(history)


changes = st.dictionaries(
    st.sampled_from(
        ["dates", "decimal", "delimiter", "share_as", "ignore", "always", "values", "profile", "format", "x"]
    ),
    st.sampled_from(
        ["DD.MM.YYYY", ",", "\t", "share", [], ["a"], [""], {}, {"part": "a b"}, {"dog": {"": "a"}}, 1, None]
    ),
    max_size=3,
)


@given(changes)
def test_the_strict_road_and_the_schema_agree(changed: dict[str, Any]) -> None:
    data = MAPPING | changed
    try:
        structure(data, SheetMapping)
        accepted = True
    except Exception:
        accepted = False
    assert accepted == Draft202012Validator(schema("import")).is_valid(data)


TEXTS = st.text("ab;,\"'\t |\n\u00e4", max_size=6)


@given(st.sampled_from(",;\t|"), st.sampled_from(["\n", "\r\n"]), st.lists(TEXTS, min_size=3, max_size=5), st.data())
def test_a_cell_that_is_wrong_is_told_where_it_begins(
    delimiter: str, end: str, cells: list[str], data: st.DataObject
) -> None:
    """Only the line was; found here by looking for the cell in what the standard library's writer made of the row."""
    at = data.draw(st.integers(0, len(cells) - 1))
    cells[at] = data.draw(st.sampled_from(["#", '"#', "a;#", "a\nb#", "\n#"]))
    columns = {"date": "date", "dog": "dog"}
    headings = [*columns, *(f"more {number}" for number in range(len(cells)))]
    headings[2 + at] = "minutes"
    columns["minutes"] = "minutes"
    out = io.StringIO()
    writer = csv.writer(out, delimiter=delimiter, lineterminator=end)
    writer.writerows([headings, ["2026-02-28", "Pip", *cells]])
    text = out.getvalue()
    mapping = load_mapping(
        {
            "format": 1,
            "profile": "small",
            "columns": columns,
            "ignore": [name for name in headings if name not in columns],
            "delimiter": "tab" if delimiter == "\t" else delimiter,
            "always": {"part": "back", "task": "card"},
        }
    )
    (problem,) = import_rows(text.encode(), "sheet.csv", mapping).problems
    lines = list(io.StringIO(text, newline=""))
    rest = "".join([lines[problem.line - 1][problem.column - 1 :], *lines[problem.line :]])
    written = io.StringIO()
    csv.writer(written, delimiter=delimiter, lineterminator=end).writerow(cells[at:])
    assert rest == written.getvalue()


def test_headings_are_told_with_their_column() -> None:
    columns = {"date": "date", "dog": "dog", "note": "notes"}
    with pytest.raises(InputError) as refused:
        import_rows(b"date;dog;note;dog\n", "sheet.csv", load_mapping({"format": 1, "columns": columns}))
    places = {(problem.code, problem.line, problem.column) for problem in refused.value.problems}
    assert places == {("column-missing", 1, 1), ("column-twice", 1, 6), ("column", 1, 10), ("column-twice", 1, 15)}


def test_a_delimiter_that_cannot_be_seen_is_named() -> None:
    """A mapping could not say it: a file that people write holds no tab."""
    text = "date\tdog\tnote\n2026-02-28\tPip\tcalm, quiet\n"
    columns = {"date": "date", "dog": "dog", "note": "note"}
    imported = found(text, columns=columns, always=None, ignore=[], values={}, delimiter="tab")
    assert imported.histories["pip"]["visits"] == [{"visit": "2026-02-28", "note": "calm, quiet"}]
    with pytest.raises(InputError) as refused:
        found(text, columns=columns, always=None, ignore=[], values={}, delimiter=",")
    assert refused.value.problems[0].hint == "Write 'delimiter: \"tab\"' in the mapping, or remove the key."


def test_what_was_left_and_what_was_seen_come_in_too() -> None:
    """An old book says "toes left" and "holds"; neither had a place in a history brought in."""
    columns = {"date": "day", "dog": "dog", "part": "part", "task": "done", "share": "share"}
    columns |= {"minutes": "min", "reaction": "bore", "seen": "felt"}
    changed: dict[str, Any] = {"columns": columns, "ignore": [], "values": {"task": {"not today": "left"}}}
    changed |= {"delimiter": None, "dates": None, "share_as": None}
    head = "day|dog|part|done|share|min|bore|felt\n"
    day = "2026-02-28|Pip"
    told = f"{day}|ribs|not today|||stop|\n{day}|body|pull|1/5|40||holds, 14,5 mm\n{day}|toes||||calm|\n"
    (visit,) = found(head + told, **changed).histories["pip"]["visits"]
    assert visit == {
        "visit": "2026-02-28",
        "reactions": {"ribs": "stop", "toes": "calm"},
        "seen": {"body": {"comes": "holds", "longest_mm": 14.5}},
        "work": {"body": {"pull": 0.2, "minutes": 40}, "ribs": {"pull": 0}},
        "put_off": ["ribs"],
    }
    wrong = [
        f"{day}|ribs|pull|1/5|||",
        f"{day}|toes|left|1/5|||",
        f"{day}|toes|left||5||",
        f"{day}|body||||wild|",
        f"{day}|body||||| hard",
    ]
    said = [str(problem) for problem in found(head + told + "\n".join(wrong), **changed).problems]
    for part, text in zip(
        ("and that it was left", "takes none", "takes none", "'wild'", "'hard' is unknown"), said, strict=True
    ):
        assert part in text
