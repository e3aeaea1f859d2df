"""Slips of a user's hand, and the message that leads out of each."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from coatrules.cli import main
from coatrules.dog.loading import load_history
from coatrules.problems import nearest_fix
from tests.support.book import HISTORY, JSON_HISTORY, PROFILE

DATE = ["--date", "2026-03-21"]


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    (tmp_path / "small.yaml").write_text(json.dumps(PROFILE), encoding="utf-8")
    (tmp_path / "pip.yaml").write_text(HISTORY, encoding="utf-8")
    (tmp_path / "pip.json").write_text(JSON_HISTORY, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def refused(capsys: pytest.CaptureFixture[str], *line: str) -> str:
    """What is said of a wrong command line."""
    with pytest.raises(SystemExit) as ended:
        main(line)
    assert ended.value.code == 2
    return capsys.readouterr().err.splitlines()[-1].partition("error: ")[2]


@pytest.mark.parametrize(
    ("more", "said"),
    [
        (["--out", "x.pdf"], "x.pdf is not the name of a picture in SVG; use x.svg"),
        (["--out", "x.svg", "--format", "png"], "x.svg is not the name of a picture in PNG; use x.png"),
        (["--out", "x.PNG", "--format", "svg"], "x.PNG is not the name of a picture in SVG; use x.svg"),
    ],
)
def test_a_picture_is_never_named_as_what_it_is_not(
    more: list[str], said: str, folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert refused(capsys, "draw", "pip.yaml", "--profiles", ".", *DATE, *more) == said
    assert not list(folder.glob("x.*"))


@pytest.mark.parametrize(("name", "start"), [("x.svg", b"<?xml"), ("x.Png", b"\x89PNG"), ("picture", b"<?xml")])
def test_a_picture_is_what_its_name_says(name: str, start: bytes, folder: Path) -> None:
    assert main(["draw", "pip.yaml", "--profiles", ".", *DATE, "--out", name]) == 0
    assert (folder / name).read_bytes().startswith(start)


@pytest.mark.parametrize(
    "line",
    [
        ["check", "small.yaml", "other.yaml", "--out", "small.yaml"],
        ["compare", "small.yaml", "other.yaml", "pip.yaml", *DATE, "--out", "pip.yaml"],
        ["compare", "small.yaml", "other.yaml", *DATE, "--out", "other.yaml"],
        ["draw", "pip.yaml", "--profiles", ".", *DATE, "--format", "svg", "--out", "pip.yaml"],
        ["draw", "pip.yaml", "--what", "book", "--profiles", ".", *DATE, "--format", "svg", "--out", "pip.yaml"],
        ["due", "pip.json", "pip.yaml", "--profiles", ".", *DATE, "--out", "pip.yaml"],
        ["due", ".", "--profiles", ".", *DATE, "--out", "pip.yaml"],
        ["order", "pip.yaml", "--profiles", ".", *DATE, "--out", "./pip.yaml"],
        ["order", "pip.yaml", "--profiles", ".", *DATE, "--out", "same-pip.yaml"],
        ["plan", "pip.yaml", "--profiles", ".", *DATE, "--visits", "1", "--out", "pip.yaml"],
        ["rehearse", "small.yaml", "--out", "small.yaml"],
    ],
)
def test_nothing_is_written_over_what_is_read(
    line: list[str], folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (folder / "other.yaml").write_text(json.dumps(PROFILE | {"id": "other"}), encoding="utf-8")
    (folder / "same-pip.yaml").symlink_to(folder / "pip.yaml")
    before = {file.name: file.read_bytes() for file in folder.iterdir()}
    assert main(line) == 1
    name = str(Path(line[-1]))
    assert capsys.readouterr().err.startswith(
        f"{name}: error: output file is also an input\n    Fix: Choose another --out.\n"
    )
    assert {file.name: file.read_bytes() for file in folder.iterdir()} == before


def test_what_is_not_read_may_be_written_over(folder: Path) -> None:
    (folder / "old.txt").write_text("old", encoding="utf-8")
    assert main(["order", "pip.yaml", "--profiles", ".", *DATE, "--out", "old.txt"]) == 0
    assert "Pip, Small, rough coat, 21 Mar" in (folder / "old.txt").read_text(encoding="utf-8")


def test_a_region_named_before_its_dog_is_said_to_be(capsys: pytest.CaptureFixture[str]) -> None:
    said = refused(capsys, "explain", "back", "pip.yaml", "--profiles", ".", *DATE)
    assert said == "name the dog first and then the region: explain pip.yaml back"


@pytest.mark.parametrize(
    ("line", "said"),
    [
        (["order", "small.yaml"], "this is a profile, not a dog's history"),
        (["record", "small.yaml", "--did", "back=0.2"], "this is a profile, not a dog's history"),
        (["check", "pip.yaml"], "this is a dog's history, not a profile"),
        (["check", "pip.json"], "this is a dog's history, not a profile"),
        (["rehearse", "pip.yaml"], "this is a dog's history, not a profile"),
    ],
)
def test_a_file_of_the_other_kind_is_one_mistake(
    line: list[str], said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(line) == 1
    out, err = capsys.readouterr()
    assert (out + err).count("error: ") == 1
    assert re.search(rf"error: {re.escape(said)}(?: \[history-not-profile\])?\n    Fix: Run 'coatrules ", out + err)


@pytest.mark.parametrize(
    ("share", "pull"), [("20%", "0.2"), ("20 %", "0.2"), ("12,5%", "0.125"), ("0,2", "0.2"), ("card+15%", "0.15")]
)
def test_a_share_in_per_cent_or_with_a_comma_is_understood(
    share: str, pull: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["record", "pip.yaml", "--profiles", ".", *DATE, "--did", f"back={share}", "--dry-run"]) == 0
    assert f"pull: {pull}}}" in capsys.readouterr().out


@pytest.mark.parametrize("share", ["lots", "150%", "2,5"])
def test_what_is_no_share_at_all_is_told_what_can_be_said(share: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["record", "pip.yaml", "--profiles", ".", *DATE, "--did", f"back={share}"]) == 1
    assert f"'{share}' is not a share such as 1/5, 20% or a fifth" in capsys.readouterr().err


@pytest.mark.parametrize("minutes", ["1h20m", "1 h 20", "1:20", "eighty"])
def test_the_time_there_is_as_people_write_it(minutes: str, capsys: pytest.CaptureFixture[str]) -> None:
    texts = []
    for typed in (minutes, "80"):
        assert main(["order", "pip.yaml", "--profiles", ".", *DATE, "--minutes", typed]) == 0
        texts.append(capsys.readouterr().out)
    assert texts[0] == texts[1]


@pytest.mark.parametrize(
    ("file", "dog", "name"),
    [
        ("thimble.yaml", "thimble", "Thimble"),
        ("old-thimble.yaml", "old-thimble", "Old Thimble"),
        ("Old Thimble.yaml", "old-thimble", "Old Thimble"),
        ("Ölmühle von der Au.yaml", "olmuhle-von-der-au", "Ölmühle von der Au"),
        ("no.yaml", "no", "No"),
        ("123.yaml", "my-dog", "My dog"),
        ("Null: #1.yaml", "null-1", "Null: #1"),
    ],
)
def test_a_new_dog_is_called_as_its_file(file: str, dog: str, name: str, folder: Path) -> None:
    """Every dog was 'My dog', and 'my-dog' where its file began with a capital."""
    assert main(["new", "dog", "--out", file]) == 0
    history = load_history(folder / file)
    assert (history.dog.id, history.dog.name) == (dog, name)


@pytest.mark.parametrize("what", ["dog", "profile"])
def test_a_new_file_goes_by_its_own_name(what: str, folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    no_id = {"dog": "123.yaml", "profile": "Not an id.yaml"}[what]
    assert main(["new", what, "--out", "tansy-the-second.yaml"]) == 0
    assert main(["new", what, "--out", no_id]) == 0
    texts = [(folder / name).read_text(encoding="utf-8") for name in ("tansy-the-second.yaml", no_id)]
    ids = [line.split()[1] for text in texts for line in text.splitlines() if line.strip().startswith("id:")]
    assert ids == ["tansy-the-second", {"dog": "my-dog", "profile": "my-profile"}[what]]
    assert main(["new", what]) == 0
    assert capsys.readouterr().out == texts[1]
    if what == "profile":
        assert main(["check", "tansy-the-second.yaml"]) == 1
        assert "is called" not in capsys.readouterr().out
    else:
        assert main(["order", "tansy-the-second.yaml"]) == 0


def test_a_book_that_cannot_be_read_does_not_say_that_no_dog_is_due(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["due", "nowhere", *DATE]) == 1
    out, err = capsys.readouterr()
    assert out == ""
    assert "nowhere: error: cannot read this file: no such file or directory" in err
    assert main(["due", "nowhere", *DATE, "--format", "json"]) == 1
    assert json.loads(capsys.readouterr().out)["dogs"] == []


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("cairn", "Use cairn-terrier or cairn-terrier-show."),
        ("terrier", "Use airedale-terrier, border-terrier, cairn-terrier, cairn-terrier-show or one of 2 others."),
        ("cairn-terier", "Use 'cairn-terrier'."),
        ("deerhund", "Use 'deerhound'."),
        ("wire-haired-cairn", "Use cairn-terrier or cairn-terrier-show."),
        ("terrier-border", "Use 'border-terrier'."),
        ("Border Terrier", "Use 'border-terrier'."),
        ("Terrier", "Use airedale-terrier, border-terrier, cairn-terrier, cairn-terrier-show or one of 2 others."),
        ("longest", "Use 'longest_mm'."),
        ("deerhounds-coat", "Use 'deerhound'."),
        ("nothing-like-it", "Use one of these: airedale-terrier, border-terrier, cairn-terrier, cairn-terrier-show, "
         "deerhound, irish-terrier, longest_mm and welsh-terrier."),
    ],
)  # fmt: skip
def test_the_name_meant_is_one_spelt_alike_or_one_that_holds_it(name: str, said: str) -> None:
    terriers = ["airedale-terrier", "border-terrier", "cairn-terrier", "irish-terrier", "welsh-terrier"]
    known = [*terriers, "cairn-terrier-show", "deerhound", "longest_mm"]
    assert str(nearest_fix(name, known)) == said
    assert nearest_fix(name, []) is None
    assert str(nearest_fix("", known)).startswith("Use one of these: ")
    assert str(nearest_fix("nothing-like-it", ["only"])) == "Use 'only'."
    assert str(nearest_fix("x", [f"part-{n:02}" for n in range(13)])).endswith(", part-09 and 3 more.")


@pytest.mark.parametrize(
    ("line", "said"),
    [
        (["--minutes", "soon"], "argument --minutes: 'soon' is not a number of minutes; write it as 90 or 37.5"),
        (["--profiles", "nowhere"], "argument --profiles: there is no folder 'nowhere'"),
        (["--profiles", "pip.yaml"], "argument --profiles: there is no folder 'pip.yaml'"),
    ],
)
def test_what_is_no_number_and_no_folder_is_told(
    line: list[str], said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert refused(capsys, "order", "pip.yaml", *line) == said


@pytest.mark.parametrize(("minutes", "said"), [("0", "0"), ("-5", "-5"), ("601", "601"), ("0.0", "0"), ("inf", "inf")])
def test_no_visit_takes_such_minutes(minutes: str, said: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["order", "pip.yaml", "--profiles", ".", *DATE, f"--minutes={minutes}"]) == 1
    told = [f"error: minutes out of range: {said}", "    Fix: Use 1 to 600."]
    assert capsys.readouterr().err.splitlines() == told
