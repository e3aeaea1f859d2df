"""The wheel is the same byte for byte wherever and whenever it is built, and holds what it should and nothing else."""

from __future__ import annotations

import base64
import csv
import hashlib
import os
import shutil
import subprocess
import sys
import tarfile
from pathlib import Path
from zipfile import ZipFile

import pytest

from tests.support.paths import ROOT

EPOCH = 1_767_225_600  # 2026-01-01, for SOURCE_DATE_EPOCH (reproducible-builds.org, "SOURCE_DATE_EPOCH specification")
NOT_SOURCES = {
    "__pycache__",
    ".git",
    ".hypothesis",
    ".mypy_cache",
    ".pytest_cache",
    ".ruff_cache",
    ".venv",
    "dist",
    "build",
}


def built(kind: str, tree: Path, folder: Path, **environment: str) -> Path:
    """A wheel or an sdist of a tree, by the hook that every installer calls (PEP 517)."""
    code = f"import sys, hatchling.build as b; sys.stdout.write('\\n' + b.build_{kind}(sys.argv[1]))"
    done = subprocess.run(
        [sys.executable, "-c", code, str(folder)],
        cwd=tree,
        env={**os.environ, "SOURCE_DATE_EPOCH": str(EPOCH), **environment},
        capture_output=True,
        text=True,
        check=True,
    )
    return folder / done.stdout.splitlines()[-1]


def copied(folder: Path, *, age: int, mode: int) -> Path:
    """The tree in another folder, with other times and rights, and with what work leaves behind."""
    shutil.copytree(ROOT, folder, ignore=lambda _, names: NOT_SOURCES & set(names))
    left = folder / "coatrules" / "__pycache__" / "engine.cpython-311.pyc"
    left.parent.mkdir()
    left.write_bytes(str(age).encode())
    for file in folder.rglob("*"):
        if file.is_file():
            os.utime(file, (age, age))
            file.chmod(mode)
    return folder


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    tree = copied(tmp_path_factory.mktemp("one") / "tree", age=EPOCH - 10**8, mode=0o644)
    return built("wheel", tree, tmp_path_factory.mktemp("dist"), PYTHONHASHSEED="1", TZ="UTC", LC_ALL="C")


def test_two_folders_give_the_same_bytes(wheel: Path, tmp_path: Path) -> None:
    tree = copied(tmp_path / "elsewhere" / "and deeper", age=EPOCH + 10**7, mode=0o600)
    other = built("wheel", tree, tmp_path, PYTHONHASHSEED="2", TZ="Asia/Tokyo", LC_ALL="C.UTF-8")
    assert other.name == wheel.name
    assert other.read_bytes() == wheel.read_bytes()


def test_the_source_archive_gives_the_same_bytes(wheel: Path, tmp_path: Path) -> None:
    tree = copied(tmp_path / "tree", age=EPOCH, mode=0o644)
    with tarfile.open(built("sdist", tree, tmp_path)) as archive:
        archive.extractall(tmp_path / "unpacked", filter="data")
    (unpacked,) = (tmp_path / "unpacked").iterdir()
    assert built("wheel", unpacked, tmp_path).read_bytes() == wheel.read_bytes()


def test_another_tree_gives_other_bytes(wheel: Path, tmp_path: Path) -> None:
    tree = copied(tmp_path / "tree", age=EPOCH, mode=0o644)
    with (tree / "profiles" / "points-of-the-dog.yaml").open("a", encoding="utf-8") as file:
        file.write("# a word more\n")
    assert built("wheel", tree, tmp_path).read_bytes() != wheel.read_bytes()


def test_the_wheel_holds_what_it_should_and_nothing_else(wheel: Path) -> None:
    sources = {
        f"coatrules/{file.relative_to(ROOT / 'coatrules').as_posix()}"
        for file in (ROOT / "coatrules").rglob("*")
        if file.suffix in (".py", ".jinja", ".typed", ".md") or file.parent.name == "outlines"
    }
    sources |= {
        f"coatrules/catalogue/languages/{file.stem}.mo"
        for file in (ROOT / "coatrules/catalogue/languages").glob("*.po")
    }
    data = {
        f"coatrules/{file.relative_to(ROOT).as_posix()}"
        for name in ("profiles", "schemas")
        for file in (ROOT / name).rglob("*")
        if file.is_file()
    }
    with ZipFile(wheel) as archive:
        (about,) = {name.partition("/")[0] for name in archive.namelist()} - {"coatrules"}
        told = {f"{about}/{name}" for name in ("METADATA", "WHEEL", "RECORD", "entry_points.txt", "licenses/LICENSE")}
        assert set(archive.namelist()) == sources | data | told
        assert any(name.endswith(".jinja") for name in sources)
        assert {"coatrules/py.typed", "coatrules/schemas/profile.schema.json"} <= sources | data
        assert archive.read(f"{about}/licenses/LICENSE") == (ROOT / "LICENSE").read_bytes()
        assert "Tag: py3-none-any" in archive.read(f"{about}/WHEEL").decode().splitlines()


def test_the_record_is_true(wheel: Path) -> None:
    """Source: the binary distribution format (packaging.python.org): every file with its sha256, but for RECORD itself."""
    with ZipFile(wheel) as archive:
        (record,) = [name for name in archive.namelist() if name.endswith(".dist-info/RECORD")]
        rows = list(csv.reader(archive.read(record).decode().splitlines()))
        assert sorted(row[0] for row in rows) == sorted(archive.namelist())
        for name, digest, size in rows:
            content = archive.read(name)
            expected = base64.urlsafe_b64encode(hashlib.sha256(content).digest()).rstrip(b"=").decode()
            assert (digest, size) == (("", "") if name == record else (f"sha256={expected}", str(len(content))))


def test_no_member_tells_when_or_by_whom_it_was_built(wheel: Path) -> None:
    with ZipFile(wheel) as archive:
        assert {member.date_time for member in archive.infolist()} == {(2026, 1, 1, 0, 0, 0)}
        assert {member.external_attr >> 16 & 0o777 for member in archive.infolist()} <= {0o644, 0o755}
