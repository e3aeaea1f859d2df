"""The commands as a user runs them: what goes to which stream, which exit code, and that nothing is half written."""

from __future__ import annotations

import gc
import json
import os
import re
import subprocess
import sys
from collections.abc import Mapping
from datetime import date
from importlib.metadata import version
from pathlib import Path
from typing import Any

import pytest

from coatrules.catalogue.english import ENGLISH
from coatrules.catalogue.speaking import speaking
from coatrules.cli import COMMANDS, main, parser_of
from coatrules.dog.loading import load_history
from coatrules.profile.loading import load_profile, merged_profile
from tests.support.paths import BAD, ROOT

KNOWN = BAD / "known"
DOG = """\
format: 1
dog: {id: pip, name: Pip, profile: sound}
arrival: {body: {grown_weeks: 20}}
---
visit: 2026-01-31
work: {body: {card: true, pull: 0.4}, anus: {clip: 3}}
reactions: {toes: unsettled}
---
visit: 2026-02-28
work: {body: {pull: 0.2}}
"""


@pytest.fixture
def dog(tmp_path: Path) -> Path:
    file = tmp_path / "pip.yaml"
    file.write_text(DOG, encoding="utf-8")
    return file


def command(*arguments: str | Path) -> list[str]:
    return [sys.executable, "-m", "coatrules", *map(str, arguments)]


def on(dog: Path, *more: str | Path) -> list[str]:
    return [str(dog), "--date", "2026-03-21", "--profiles", str(KNOWN), *map(str, more)]


class TestOrder:
    def test_text_names_dog_day_and_region(self, dog: Path, capsys: pytest.CaptureFixture[str]) -> None:
        assert main(["order", *on(dog)]) == 0
        out, err = capsys.readouterr()
        assert "Pip" in out
        assert "back" in out
        assert "veterinary" in out
        assert err == ""

    def test_json_is_one_document_with_every_region_in_one_place(
        self, dog: Path, capsys: pytest.CaptureFixture[str]
    ) -> None:
        assert main(["order", *on(dog, "--format", "json")]) == 0
        order = json.loads(capsys.readouterr().out)
        assert order["dog"] == {"id": "pip", "name": "Pip"}
        assert order["date"] == "2026-03-21"
        worked = {step["region"] for step in order["steps"] if step["region"]}
        lists = [worked, set(order["left_alone"]), set(order["deferred"]), set(order["not_to_be_touched"])]
        assert sorted(region for regions in lists for region in regions) == ["anus", "back", "ribs", "toes"]

    def test_markdown_has_headings(self, dog: Path, capsys: pytest.CaptureFixture[str]) -> None:
        assert main(["order", *on(dog, "--format", "markdown")]) == 0
        assert capsys.readouterr().out.startswith("# ")

    def test__out_holds_what_would_be_shown(
        self, dog: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
    ) -> None:
        main(["order", *on(dog, "--format", "json")])
        shown = capsys.readouterr().out
        assert main(["order", *on(dog, "--format", "json", "--out", tmp_path / "order.json")]) == 0
        assert capsys.readouterr().out == ""
        assert (tmp_path / "order.json").read_text(encoding="utf-8") == shown

    def test_the_same_history_as_json_gives_the_same_order(
        self, dog: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
    ) -> None:
        history = load_history(dog)
        same = tmp_path / "pip.json"
        visits = [
            {"visit": "2026-01-31", "work": {"body": {"card": True, "pull": 0.4}, "anus": {"clip": 3}},
             "reactions": {"toes": "unsettled"}},
            {"visit": "2026-02-28", "work": {"body": {"pull": 0.2}}},
        ]  # fmt: skip
        arrival = {"body": {"grown_weeks": 20}}
        whole = {"format": 1, "dog": {"id": history.dog.id, "name": "Pip", "profile": "sound"}}
        same.write_text(json.dumps(whole | {"arrival": arrival, "visits": visits}), encoding="utf-8")
        main(["order", *on(dog, "--format", "json")])
        from_yaml = capsys.readouterr().out
        main(["order", *on(same, "--format", "json")])
        assert capsys.readouterr().out == from_yaml

    def test_less_time_plans_no_more_than_there_is(self, dog: Path, capsys: pytest.CaptureFixture[str]) -> None:
        assert main(["order", *on(dog, "--format", "json", "--minutes", "10")]) == 0
        order = json.loads(capsys.readouterr().out)
        assert order["minutes"]["planned"] <= order["minutes"]["available"] == 10
        assert order["deferred"]

    def test_without_a_date_it_is_today(self, dog: Path, capsys: pytest.CaptureFixture[str]) -> None:
        before = date.today()
        assert main(["order", str(dog), "--profiles", str(KNOWN), "--format", "json"]) == 0
        assert before.isoformat() <= json.loads(capsys.readouterr().out)["date"] <= date.today().isoformat()

    def test__profile_goes_before_what_the_history_names(self, dog: Path, capsys: pytest.CaptureFixture[str]) -> None:
        dog.write_text(DOG.replace("profile: sound", "profile: unknown"), encoding="utf-8")
        assert main(["order", *on(dog)]) == 1
        assert main(["order", *on(dog, "--profile", "sound")]) == 0
        out, err = capsys.readouterr()
        assert "unknown profile: 'unknown'" in err
        assert f"{dog}:2:36" in err
        assert "Pip" in out


class TestOtherCommands:
    def test_explain_tells_of_one_region(self, dog: Path, capsys: pytest.CaptureFixture[str]) -> None:
        assert main(["explain", str(dog), "back", *on(dog)[1:]]) == 0
        assert "Back" in capsys.readouterr().out

    def test_explain_of_an_unknown_region_names_the_nearest(
        self, dog: Path, capsys: pytest.CaptureFixture[str]
    ) -> None:
        assert main(["explain", str(dog), "bak", *on(dog)[1:]]) == 1
        out, err = capsys.readouterr()
        assert out == ""
        assert "Fix: Use 'back'." in err

    def test_check_shows_the_problems_of_every_profile(self, capsys: pytest.CaptureFixture[str]) -> None:
        bad = KNOWN.parent
        files = [str(bad / "p-tab-indent.yaml"), str(KNOWN / "sound.yaml"), str(bad / "p-format-3.yaml")]
        assert main(["check", *files, "--profiles", str(KNOWN)]) == 1
        out, err = capsys.readouterr()
        assert "p-tab-indent.yaml:6:1" in out
        assert "p-format-3.yaml:1:9" in out
        assert err.startswith("3 profiles checked, ")

    def test_check_of_a_sound_profile_finds_nothing(self, capsys: pytest.CaptureFixture[str]) -> None:
        assert main(["check", str(KNOWN / "sound.yaml")]) == 0
        assert capsys.readouterr() == ("", "1 profile checked: no findings.\n")

    def test__profiles_lists_own_and_packaged_ones(self, capsys: pytest.CaptureFixture[str]) -> None:
        assert main(["profiles", "--profiles", str(KNOWN)]) == 0
        lines = capsys.readouterr().out.splitlines()
        ids = [line.split()[0] for line in lines]
        assert ids == sorted(ids)
        assert {"sound", "points-of-the-dog"} <= set(ids)

    def test_a_profile_shown_whole_is_the_profile(self, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
        assert main(["profiles", "griffon-bruxellois-rough"]) == 0
        whole = tmp_path / "griffon-bruxellois-rough.yaml"
        text = capsys.readouterr().out
        whole.write_text(text, encoding="utf-8")
        assert merged_profile(whole)[0] == merged_profile("griffon-bruxellois-rough")[0]

    def test_a_new_dog_can_be_ordered_for(self, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
        file = tmp_path / "thimble.yaml"
        assert main(["new", "dog", "--out", str(file)]) == 0
        assert main(["order", str(file)]) == 0
        assert "Thimble" in capsys.readouterr().out

    def test_a_new_dog_goes_by_the_profile_and_the_day_named(
        self, tmp_path: Path, capsys: pytest.CaptureFixture[str]
    ) -> None:
        file = tmp_path / "new.yaml"
        options = ["--profile", "border-terrier", "--date", "2026-03-21"]
        assert main(["new", "dog", "--out", str(file), *options]) == 0
        history = load_history(file)
        assert history.dog.profile == "border-terrier"
        assert history.visits == ()
        assert history.arrival == {}
        text = file.read_text(encoding="utf-8")
        assert "visit: 2026-03-21" in text
        assert date.today().isoformat() not in text.replace("2026-03-21", "")
        assert main(["new", "dog", "--profile", "border-terier"]) == 1
        assert "border-terrier" in capsys.readouterr().err

    @pytest.mark.parametrize("profile", ["griffon-bruxellois-rough", "border-terrier", "deerhound"])
    def test_the_examples_of_a_new_dog_hold(self, profile: str, tmp_path: Path) -> None:
        file = tmp_path / "new.yaml"
        assert main(["new", "dog", "--out", str(file), "--profile", profile, "--date", "2026-03-21"]) == 0
        text = re.sub(
            "(?m)^# ?(?=arrival|  |---|visit|minutes|work|seen|reac|health|put_off|events|note)", "", file.read_text()
        )
        file.write_text(text, encoding="utf-8")
        assert len(load_history(file).visits) == 1
        assert main(["order", str(file), "--date", "2026-03-22"]) == 0

    def test_a_new_profile_loads_and_only_wants_cases(self, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
        file = tmp_path / "my-profile.yaml"
        assert main(["new", "profile", "--out", str(file)]) == 0
        main(["check", str(file)])
        assert "error:" not in capsys.readouterr().out
        assert load_profile(file).id == "my-profile"

    def test_new_never_writes_over_a_file(self, dog: Path, capsys: pytest.CaptureFixture[str]) -> None:
        assert main(["new", "dog", "--out", str(dog)]) == 1
        assert dog.read_text(encoding="utf-8") == DOG
        assert "this file already exists; nothing was written" in capsys.readouterr().err


class TestWrongInput:
    """Exit 1: the input has problems."""

    def test_a_file_that_is_not_there(self, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
        assert main(["order", str(tmp_path / "none.yaml")]) == 1
        out, err = capsys.readouterr()
        assert out == ""
        assert f"{tmp_path / 'none.yaml'}: error: cannot read this file" in err

    def test_a_folder_instead_of_a_file(self, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
        assert main(["order", str(tmp_path)]) == 1
        assert "cannot read this file" in capsys.readouterr().err

    def test_out_into_a_missing_folder_writes_nothing(
        self, dog: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
    ) -> None:
        assert main(["order", *on(dog, "--out", tmp_path / "none" / "order.txt")]) == 1
        out, err = capsys.readouterr()
        assert out == ""
        assert "cannot write this file" in err
        assert list(tmp_path.iterdir()) == [dog]

    def test_out_keeps_the_old_file_where_writing_fails(
        self, dog: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
    ) -> None:
        out = tmp_path / "order.txt"
        out.write_text("the old one", encoding="utf-8")

        def full(_: int) -> None:
            raise OSError(28, "No space left on device")

        monkeypatch.setattr(os, "fsync", full)
        assert main(["order", *on(dog, "--out", out)]) == 1
        assert "no space left" in capsys.readouterr().err
        assert out.read_text(encoding="utf-8") == "the old one"
        assert sorted(tmp_path.iterdir()) == [out, dog]

    @pytest.mark.parametrize("minutes", ["0", "-5", "601", "nan", "inf"])
    def test_minutes_that_are_no_visit(self, dog: Path, minutes: str, capsys: pytest.CaptureFixture[str]) -> None:
        assert main(["order", *on(dog), f"--minutes={minutes}"]) == 1
        assert "1 to 600" in capsys.readouterr().err


class TestWrongCommandLine:
    """Exit 2: the command line is wrong."""

    @pytest.mark.parametrize("day", ["2026-02-30", "21.03.2026", "tomorrow", ""])
    def test_a_date_that_is_none(self, dog: Path, day: str, capsys: pytest.CaptureFixture[str]) -> None:
        with pytest.raises(SystemExit) as ended:
            main(["order", str(dog), "--date", day])
        assert ended.value.code == 2
        assert f"'{day}' is not a date; write it as 2026-03-21" in capsys.readouterr().err

    @pytest.mark.parametrize(
        "arguments", [["ordr"], ["order"], ["order", "a.yaml", "--format", "song"], ["order", "a.yaml", "--hurry"], ["new", "cat"]]
    )  # fmt: skip
    def test_what_is_not_known(self, arguments: list[str], capsys: pytest.CaptureFixture[str]) -> None:
        with pytest.raises(SystemExit) as ended:
            main(arguments)
        assert ended.value.code == 2
        out, err = capsys.readouterr()
        assert out == ""
        assert err.startswith("usage: coatrules")

    def test_no_command_shows_them_all(self, capsys: pytest.CaptureFixture[str]) -> None:
        assert main([]) == 2
        out, err = capsys.readouterr()
        assert out == ""
        assert all(name in err for name in COMMANDS)


@pytest.mark.parametrize("name", COMMANDS)
def test__every_command_explains_its_options(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as ended:
        main([name, "--help"])
    assert ended.value.code == 0
    assert capsys.readouterr().out.startswith(f"usage: coatrules {name} ")


class TestProcess:
    """What only a process of its own shows."""

    def test_the_collector_of_a_program_that_calls_is_left_as_it_is(self, dog: Path) -> None:
        before = gc.isenabled(), gc.get_threshold(), gc.get_freeze_count()
        assert main(["order", *on(dog)]) == 0
        assert (gc.isenabled(), gc.get_threshold(), gc.get_freeze_count()) == before

    def test_an_order_is_over_before_anything_is_collected(self, dog: Path) -> None:
        code = f"""if True:
            import gc, sys
            from coatrules.__main__ import run
            sys.argv = {["coatrules", "order", *on(dog)]}
            before = gc.get_stats()
            try:
                run()
            finally:
                print(gc.get_stats() == before, file=sys.stderr)
        """
        done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
        assert done.stdout.startswith("Pip")
        assert done.stderr == "True\n"

    def test_version(self) -> None:
        done = subprocess.run(command("--version"), cwd=ROOT, capture_output=True, text=True, check=True)
        assert done.stdout == f"{version('coatrules')}\n"

    @pytest.mark.parametrize("buffered", [True, False])
    def test_a_reader_that_goes_away_is_no_error(self, dog: Path, buffered: bool) -> None:
        environment = {name: value for name, value in os.environ.items() if name != "PYTHONUNBUFFERED"}
        if not buffered:
            environment["PYTHONUNBUFFERED"] = "1"
        process = subprocess.Popen(
            command("order", *on(dog)),
            cwd=ROOT,
            env=environment,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )
        assert process.stdout is not None
        process.stdout.close()
        assert process.stderr is not None
        with process.stderr:
            assert process.stderr.read() == ""
        assert process.wait() == 0

    def test_names_beyond_ascii_reach_a_terminal_without_them(self, dog: Path) -> None:
        dog.write_text(DOG.replace("name: Pip", "name: Zoë"), encoding="utf-8")
        environment = {**os.environ, "PYTHONIOENCODING": "ascii:strict"}
        done = subprocess.run(command("order", *on(dog)), cwd=ROOT, capture_output=True, env=environment)
        assert b"Traceback" not in done.stderr
        assert done.returncode == 0
        assert b"Zo" in done.stdout


def test_a_result_can_be_read_by_those_who_may_read_other_files(tmp_path: Path) -> None:
    beside = tmp_path / "beside.txt"
    beside.write_text("", encoding="utf-8")
    assert main(["new", "dog", "--out", str(tmp_path / "dog.yaml")]) == 0
    assert (tmp_path / "dog.yaml").stat().st_mode == beside.stat().st_mode


class Shouting:
    """A catalogue that marks whatever it puts into words."""

    locale = "x-shout"

    direction = "ltr"

    def sentence(self, code: str, params: Mapping[str, Any]) -> str:
        return f"«{code}»"

    def several(self, code: str) -> str:
        return f"«{code}»"

    def knows(self, code: str) -> bool:
        return ENGLISH.knows(code)

    def amount(self, kind: str, value: Any) -> str:
        return f"«{kind}»"

    def own(self, text: str) -> str:
        return text


@pytest.mark.parametrize("name", COMMANDS)
def test_every_help_text_comes_from_the_catalogue(name: str) -> None:
    with speaking(Shouting()):
        parser = parser_of(name)
    assert parser.description == f"«help.{name}»"
    texts = {" ".join(action.option_strings) or action.dest: action.help for action in parser._actions}
    assert [option for option, text in texts.items() if text and not text.startswith("«")] == []
    assert all(code in ENGLISH.sentences for text in texts.values() for code in re.findall("«(.*?)»", text or ""))


def test_only_the_parser_of_the_command_is_built() -> None:
    code = """if True:
        import sys
        from coatrules.cli import parser_of
        parser_of("profiles")
        modules = sorted(name for name in sys.modules if name.startswith("coatrules.cli."))
        print([name for name in modules if name.removeprefix("coatrules.cli.") in sys.argv[1:]])
    """
    done = subprocess.run([sys.executable, "-c", code, *COMMANDS], cwd=ROOT, capture_output=True, text=True, check=True)
    assert done.stdout == "['coatrules.cli.profiles']\n"
