"""What is installed is complete: the wheel, unpacked somewhere else, and the clone."""

from __future__ import annotations

import ast
import os
import subprocess
import sys
import tarfile
import tomllib
from collections.abc import Iterator
from email.parser import Parser
from importlib.metadata import packages_distributions
from pathlib import Path
from zipfile import ZipFile

import pytest
from packaging.requirements import Requirement

from coatrules.formats import resources
from tests.support.paths import ROOT

PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]


def built(kind: str, folder: Path) -> Path:
    """A wheel or an sdist, by the hook that every installer calls (PEP 517)."""
    code = f"import sys, hatchling.build as b; sys.stdout.write('\\n' + b.build_{kind}(sys.argv[1]))"
    done = subprocess.run(
        [sys.executable, "-c", code, str(folder)], cwd=ROOT, capture_output=True, text=True, check=True
    )
    return folder / done.stdout.splitlines()[-1]


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return built("wheel", tmp_path_factory.mktemp("wheel"))


@pytest.fixture(scope="module")
def unpacked(wheel: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("unpacked")
    with ZipFile(wheel) as archive:
        archive.extractall(folder)
    return folder


def names(folder: str, pattern: str) -> set[str]:
    return {file.name for file in (ROOT / folder).glob(pattern)}


class TestWheel:
    def test_holds_every_profile_schema_and_module(self, unpacked: Path) -> None:
        package = unpacked / "coatrules"
        assert {file.name for file in (package / "profiles").iterdir()} >= names("profiles", "*.yaml")
        assert {file.name for file in (package / "schemas").iterdir()} == names("schemas", "*.json")
        modules = {file.relative_to(ROOT) for file in (ROOT / "coatrules").rglob("*.py")}
        assert {file.relative_to(unpacked) for file in package.rglob("*.py")} == modules
        assert (package / "py.typed").exists()

    def test_holds_nothing_else(self, unpacked: Path) -> None:
        (about,) = unpacked.glob("*.dist-info")
        assert {entry.name for entry in unpacked.iterdir()} == {"coatrules", about.name}
        held = {
            file.relative_to(unpacked / "coatrules") for file in (unpacked / "coatrules").rglob("*") if file.is_file()
        }
        written = {file.relative_to(top) for top in (ROOT / "coatrules", ROOT) for file in top.rglob("*.*")}
        assert held <= written
        assert not [file for file in held if "__pycache__" in file.parts or file.name.startswith(".")]

    def test_says_what_it_needs(self, unpacked: Path) -> None:
        (about,) = unpacked.glob("*.dist-info")
        said = Parser().parsestr((about / "METADATA").read_text(encoding="utf-8"))
        assert said["Name"] == "coatrules"
        assert said["Requires-Python"] == ">=3.11"
        assert any((about / "licenses").iterdir())
        assert "coatrules = coatrules.__main__:run" in (about / "entry_points.txt").read_text(encoding="utf-8")

    def test_works_from_where_it_was_unpacked(self, unpacked: Path, tmp_path: Path) -> None:
        def run(*arguments: str) -> str:
            environment = {**os.environ, "PYTHONPATH": str(unpacked)}
            command = [sys.executable, *arguments]
            done = subprocess.run(command, cwd=tmp_path, env=environment, capture_output=True, text=True, check=True)
            return done.stdout

        code = (
            "from coatrules.formats import resources as r; print(r.folder('profiles'), r.folder('schemas'), sep='\\n')"
        )
        assert run("-c", code).splitlines() == [str(unpacked / "coatrules" / name) for name in ("profiles", "schemas")]
        listed = {line.split()[0] for line in run("-m", "coatrules", "profiles").splitlines()}
        assert {f"{profile}.yaml" for profile in listed} == names("profiles", "*.yaml")
        run("-m", "coatrules", "new", "dog", "--out", "dog.yaml")
        assert "Dog" in run("-m", "coatrules", "order", "dog.yaml")


def test_the_source_archive_is_enough_to_build_and_test(tmp_path: Path) -> None:
    with tarfile.open(built("sdist", tmp_path)) as archive:
        held = {name.partition("/")[2] for name in archive.getnames()}
    needed = [*ROOT.glob("coatrules/**/*.py"), *ROOT.glob("profiles/*.yaml"), *ROOT.glob("schemas/*.json")]
    needed += [*ROOT.glob("tests/*.py"), *ROOT.glob("tests/bad/*.txt")]
    assert {file.relative_to(ROOT).as_posix() for file in needed} <= held
    assert {"pyproject.toml", "README.md", "LICENSE"} <= held


class TestClone:
    """Where the clone itself is on the path, as in an editable installation."""

    @pytest.mark.parametrize("name", ["profiles", "schemas"])
    def test_finds_its_folders_at_the_top(self, name: str) -> None:
        assert resources.folder(name) == ROOT / name

    def test_says_which_folder_is_missing(self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setattr(resources, "_PACKAGE", tmp_path / "coatrules")
        with pytest.raises(FileNotFoundError, match="'profiles' is missing"):
            resources.folder("profiles")


def imported(folder: Path) -> Iterator[str]:
    """The packages that are neither Python's nor our own, wherever they are imported."""
    for file in folder.rglob("*.py"):
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            found = []
            if isinstance(node, ast.Import):
                found = [alias.name for alias in node.names]
            elif isinstance(node, ast.ImportFrom) and not node.level:
                found = [node.module or ""]
            for name in found:
                top = name.partition(".")[0]
                if top not in sys.stdlib_module_names and top != "coatrules":
                    yield top


def required(lines: list[str]) -> set[str]:
    return {Requirement(line).name for line in lines}


def test_what_is_imported_is_required_and_what_is_required_is_imported() -> None:
    owners = packages_distributions()
    used = {owners.get(name, [name])[0].lower() for name in imported(ROOT / "coatrules")}
    core = required(PROJECT["dependencies"])
    extras = {name: required(lines) for name, lines in PROJECT["optional-dependencies"].items()}
    declared = core.union(*(extras[name] for name in extras if name not in ("test", "all")))
    assert used <= declared
    assert core <= used
