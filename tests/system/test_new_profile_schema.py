"""The first line of a new profile names a schema that is there, wherever the profile is written."""

from __future__ import annotations

import json
from pathlib import Path
from urllib.parse import urlsplit
from urllib.request import url2pathname

import pytest
from jsonschema import Draft202012Validator
from referencing import Registry

from coatrules.cli import main
from coatrules.formats.resources import folder
from coatrules.reading import read_yaml


def schema_named(text: str, beside: Path) -> Path:
    named = text.splitlines()[0].removeprefix("# yaml-language-server: $schema=")
    return Path(url2pathname(urlsplit(named).path)) if named.startswith("file:") else beside / named


def test_a_new_profile_names_a_schema_that_judges_it_right(tmp_path: Path) -> None:
    file = tmp_path / "mine.yaml"
    assert main(["new", "profile", "--out", str(file)]) == 0
    text = file.read_text(encoding="utf-8")
    judge = Draft202012Validator(json.loads(schema_named(text, tmp_path).read_text("utf-8")), registry=Registry())
    (document,) = read_yaml(text, str(file))
    assert list(judge.iter_errors(document.data)) == []


def test_within_the_clone_the_schema_is_named_as_seen_from_the_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "schemas").mkdir()
    (tmp_path / "salon" / "own").mkdir(parents=True)
    schema = (folder("schemas") / "profile.schema.json").read_bytes()
    (tmp_path / "schemas" / "profile.schema.json").write_bytes(schema)
    monkeypatch.setattr("coatrules.cli.new.folder", lambda name: tmp_path / name)
    file = tmp_path / "salon" / "own" / "mine.yaml"
    assert main(["new", "profile", "--out", str(file)]) == 0
    text = file.read_text(encoding="utf-8")
    assert text.startswith("# yaml-language-server: $schema=../../schemas/profile.schema.json\n")
    assert schema_named(text, file.parent).read_bytes() == schema


def test_a_profile_that_is_shown_names_the_schema_that_is_installed(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["new", "profile"]) == 0
    assert schema_named(capsys.readouterr().out, Path()) == folder("schemas") / "profile.schema.json"
