"""The salon's days: read strictly, and next visits moved to an open day in their window."""

from __future__ import annotations

import csv
import io
import json
from datetime import date, timedelta
from pathlib import Path
from typing import Any, get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st
from jsonschema import Draft202012Validator

from coatrules.book.due import due
from coatrules.cli import main
from coatrules.dog.loading import history_of
from coatrules.formats.resources import schema
from coatrules.formats.structure import structure
from coatrules.order.next_visit import NextVisit
from coatrules.order.salon import FAR_DAYS, WEEKDAYS, OwnDay, Salon, Weekday
from coatrules.reading import read_yaml
from tests.support.book import HISTORY, compiled_profile, profile_folder

DAY = date(2026, 3, 21)  # a Saturday (ISO 8601: the 80th day of 2026, which began on a Thursday)
SALON = """\
format: 1
closed_weekdays: [saturday, sunday]
closed_days: [2026-03-23]
dogs: {pip: {weekday: wednesday, minutes: 20}}
"""

days = st.dates(date(2026, 1, 1), date(2026, 12, 31))
salons = st.builds(
    lambda weekdays, closed, own: structure(
        {
            "format": 1,
            "closed_weekdays": weekdays,
            "closed_days": [day.isoformat() for day in closed],
            "dogs": {} if own is None else {"pip": {"weekday": own}},
        },
        Salon,
    ),
    st.lists(st.sampled_from(WEEKDAYS), max_size=6, unique=True),
    st.lists(days, max_size=20),
    st.none() | st.sampled_from(WEEKDAYS),
)


@st.composite
def windows(draw: st.DrawFn) -> NextVisit:
    earliest = draw(days)
    latest = draw(st.none() | st.integers(0, 40).map(lambda n: earliest + timedelta(days=n)))
    most = (latest - earliest).days if latest is not None else 40
    return NextVisit(
        earliest=earliest, best=earliest + timedelta(days=draw(st.integers(0, most))), latest=latest, binding=()
    )


@given(salons, windows(), days)
def test_the_day_is_open_and_in_the_window_wherever_one_is(salon: Salon, visit: NextVisit, today: date) -> None:
    day = salon.open_day("pip", visit, today)
    best = max(visit.best, today)
    assert day >= today
    # By hand: every day of the window, one after the other.
    last = visit.latest or best + timedelta(days=FAR_DAYS)
    window = [visit.earliest + timedelta(days=n) for n in range((last - visit.earliest).days + 1)]
    possible = [d for d in window if d >= today and salon.is_open(d) and abs((d - best).days) <= FAR_DAYS]
    own = [d for d in possible if "pip" in salon.dogs and d.strftime("%A").lower() == salon.dogs["pip"].weekday]
    for wanted in (own, possible):
        if wanted:
            assert day in wanted
            assert abs((day - best).days) == min(abs((d - best).days) for d in wanted)
            break
    else:
        assert salon.is_open(day) or day == best


def test_an_overdue_dog_comes_on_its_own_weekday() -> None:
    """It was called in for the day that somebody happened to ask on."""
    over = NextVisit(
        earliest=DAY - timedelta(days=20), best=DAY - timedelta(days=9), latest=DAY - timedelta(days=3), binding=()
    )
    weekday: Weekday
    for name, weekday in enumerate(get_args(Weekday)):
        day = Salon(format=1, dogs={"pip": OwnDay(weekday=weekday)}).open_day("pip", over, DAY)
        assert day.weekday() == name
        assert 0 <= (day - DAY).days < 7
    assert Salon(format=1).open_day("pip", over, DAY) == DAY


@given(salons)
def test_nothing_moves_where_the_best_day_is_open(salon: Salon) -> None:
    visit = NextVisit(earliest=DAY, best=DAY, latest=DAY, binding=())
    assert (salon.placed("zoe", visit, DAY).day == DAY) or not salon.is_open(DAY)
    assert visit.day == DAY


@pytest.fixture
def book(tmp_path: Path) -> Path:
    (tmp_path / "profiles").mkdir()
    profile_folder(tmp_path / "profiles")
    (tmp_path / "book").mkdir()
    (tmp_path / "book" / "pip.yaml").write_text(HISTORY, encoding="utf-8")
    return tmp_path / "book"


def ask(book: Path, command: str, *options: str) -> int:
    what = str(book / "pip.yaml") if command == "order" else str(book)
    return main([command, what, "--profiles", str(book.parent / "profiles"), "--date", DAY.isoformat(), *options])


def test_due_moves_to_the_open_day_and_keeps_the_best(book: Path, capsys: pytest.CaptureFixture[str]) -> None:
    ask(book, "due", "--format", "json")
    (before,) = json.loads(capsys.readouterr().out)["dogs"]
    assert before["best"] == "2026-03-21"
    assert before["open"] is None
    (book / "salon.yaml").write_text(SALON, encoding="utf-8")
    assert ask(book, "due", "--format", "json") == 0
    (after,) = json.loads(capsys.readouterr().out)["dogs"]
    assert (after["best"], after["open"], after["due"]) == ("2026-03-21", "2026-03-25", "2026-03-25")
    assert after["minutes"] <= 20 < before["minutes"]
    assert ask(book, "due") == 0
    assert capsys.readouterr().out.splitlines()[1].startswith("25 Mar")
    assert ask(book, "due", "--why") == 0
    assert "Best: Saturday 21 March 2026." in " ".join(capsys.readouterr().out.split())
    assert ask(book, "due", "--format", "csv") == 0
    (row,) = csv.DictReader(io.StringIO(capsys.readouterr().out))
    assert (row["due"], row["best"], row["open"]) == ("2026-03-25", "2026-03-21", "2026-03-25")


def test_the_order_names_the_open_day_and_the_best(book: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert ask(book, "order", "--format", "json") == 0
    before = json.loads(capsys.readouterr().out)["next_visit"]
    assert "open" not in before
    best = date.fromisoformat(before["best"])
    salon = book.parent / "days.yaml"
    salon.write_text(f"format: 1\nclosed_days: [{best}]\n", encoding="utf-8")
    assert ask(book, "order", "--format", "json", "--salon", str(salon)) == 0
    after = json.loads(capsys.readouterr().out)
    Draft202012Validator(schema("work-order")).validate(after)
    assert after["next_visit"]["best"] == before["best"]
    moved = date.fromisoformat(after["next_visit"]["open"])
    assert abs((moved - best).days) == 1
    assert ask(book, "order", "--format", "markdown", "--salon", str(salon)) == 0
    assert f"{moved.day} " in (line := next(x for x in capsys.readouterr().out.splitlines() if "open day" in x))
    assert f"Best: {best:%A} {best.day} {best:%B}" in line


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("format: 1\nclosed_weekdays: [sonntag]\n", "salon.yaml:2:19: error: unknown value: 'sonntag'"),
        ("format: 1\nclosed: [sunday]\n", "salon.yaml:2:1: error: unknown key: 'closed'"),
        ("format: 1\nclosed_days: [25.12.2026]\n", "salon.yaml:2:15: error: invalid date"),
        ("format: 1\nclosed_days: [Sunday]\n", "Write days of the week under 'closed_weekdays'."),
        ("format: 1\ndogs: {pip: {minutes: 0}}\n", "salon.yaml:2:23: error: "),
        ("format: 1\n---\nformat: 1\n", "expected the days of one salon, found 2 documents"),
    ],
)
def test_the_file_is_read_strictly(book: Path, text: str, message: str, capsys: pytest.CaptureFixture[str]) -> None:
    (book / "salon.yaml").write_text(text, encoding="utf-8")
    for command in ("due", "order"):
        assert ask(book, command) == 1
        out, err = capsys.readouterr()
        assert message in err
        assert out == ""


EVERY_KEY: dict[str, Any] = {
    "format": 1,
    "closed_weekdays": ["sunday"],
    "closed_days": ["2026-12-25"],
    "minutes": 90,
    "dogs": {"pip": {"weekday": "monday", "minutes": 60}},
}


@given(
    st.dictionaries(
        st.sampled_from([*EVERY_KEY, "x"]),
        st.sampled_from(
            [1, 0, 601, "sunday", ["sunday"], ["2026-12-25"], ["x"], {}, {"pip": {}}, {"pip": {"x": 1}}, None]
        ),
        max_size=2,
    )
)
def test_the_strict_road_and_the_schema_agree(changed: dict[str, Any]) -> None:
    data = EVERY_KEY | changed
    try:
        structure(data, Salon)
        accepted = True
    except Exception:
        accepted = False
    judge = Draft202012Validator(schema("salon"), format_checker=Draft202012Validator.FORMAT_CHECKER)
    assert accepted == judge.is_valid(data)


def test_a_dog_is_never_overdue_while_its_window_is_open() -> None:
    compiled, history = compiled_profile(), history_of(read_yaml(HISTORY))
    visit = due(compiled, history, DAY).visit
    assert visit.latest is not None
    assert visit.best < visit.latest
    assert [due(compiled, history, visit.best + timedelta(days=n)).days for n in (-3, 0, 1)] == [3, 0, 0]
    assert due(compiled, history, visit.latest).days == 0
    assert due(compiled, history, visit.latest + timedelta(days=2)).days == -2


def test_the_reception_gets_one_line_a_dog(book: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (book / "sick.yaml").write_text(
        HISTORY.replace("id: pip", "id: sick").replace("name: Pip", "name: Sick")
        + "---\nvisit: 2026-03-10\nhealth: [unwell]\n",
        encoding="utf-8",
    )
    assert ask(book, "due") == 0
    lines = capsys.readouterr().out.splitlines()
    assert len(lines) == 3
    assert max(map(len, lines)) <= 100
    assert any("vet first" in line and "Sick" in line for line in lines)
    assert ask(book, "due", "--why") == 0
    assert "Not after" in capsys.readouterr().out


def test_a_salon_s_dog_without_a_history_is_told(book: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A slip in a dog's id went unnoticed: it came on no weekday of its own."""
    (book / "salon.yaml").write_text(
        "format: 1\ndogs:\n  pipp: {weekday: friday}\n  pip: {weekday: friday}\n", encoding="utf-8"
    )
    assert ask(book, "due") == 0
    err = capsys.readouterr().err
    assert f"{book / 'salon.yaml'}:3:3: warning: there is no history of the dog 'pipp'" in err
    assert "Fix: Use 'pip'." in err
    assert "'pip' (" not in err
    assert ask(book, "order") == 0
    assert "no history" not in capsys.readouterr().err, "one dog is no book"


def test_a_dog_with_sore_skin_is_marked_for_the_vet(book: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Only dogs on which nobody may work were marked."""
    (book / "pip.yaml").write_text(
        f"{HISTORY}---\nvisit: 2026-03-10\nseen: {{ribs: {{skin: unsound}}}}\n", encoding="utf-8"
    )
    assert ask(book, "due") == 0
    dog = capsys.readouterr().out.splitlines()[1]
    assert "Pip (vet)" in dog


def test_what_sets_the_day_is_whole_or_said_to_be_cut(
    book: Path, capsys: pytest.CaptureFixture[str], monkeypatch: Any
) -> None:
    """'34 days overdue; top o…' was printed, and of an overdue dog no part at all."""
    text = f"{HISTORY}---\nvisit: 2026-03-10\nseen: {{ribs: {{skin: unsound}}}}\n"
    (book / "pip.yaml").write_text(text, encoding="utf-8")
    shown = {}
    for width in ("30", "46", "80"):
        monkeypatch.setenv("COLUMNS", width)
        assert ask(book, "due", "--date", "2026-06-21") == 0
        shown[width] = capsys.readouterr().out.splitlines()
        assert max(map(len, shown[width])) <= int(width)
    for width in ("46", "80"):
        (line,) = shown[width][1:]
        assert "days overdue" in line
        assert "…" not in line
        assert line.endswith("  clip vent" if width == "80" else "; clip vent")
    assert "Window" in shown["80"][0]
    assert "Window" not in shown["30"][0]
    assert shown["30"][1].endswith("…")
    assert "--why" in " ".join(shown["30"][2:])
