"""The one door to the disk: what is written keeps its kind, what is read is never written over, and nobody goes round it."""

from __future__ import annotations

import ast
import os
import stat
import subprocess
import threading
from pathlib import Path

import pytest

from coatrules.book.entries import files
from coatrules.cli import main
from coatrules.disk import create, files_below, locked, opened, read, read_inputs, write
from coatrules.problems import InputError
from coatrules.profile.graph import profiles_in
from tests.support.book import HISTORY
from tests.support.paths import ROOT
from tests.unit.book.test_fleet import folder

__all__ = ["folder"]  # a fixture

FORBIDDEN_CALLS = {
    *("open", "read_bytes", "read_text", "write_bytes", "write_text", "replace_file", "touch", "unlink", "rename"),
    *("mkstemp", "NamedTemporaryFile", "fdopen", "truncate", "ftruncate", "fsync", "symlink_to", "hardlink_to"),
}
OF_OS = {
    "open",
    "replace",
    "rename",
    "unlink",
    "remove",
    "link",
    "symlink",
    "fsync",
    "truncate",
    "chmod",
    "chown",
    "fdopen",
}
EXEMPT = {"catalogue/translated.py"}  # below the door: gettext's own file, from a folder that the caller names


def test_nobody_goes_round_the_door() -> None:
    found = []
    for file in sorted((ROOT / "coatrules").rglob("*.py")):
        name = file.relative_to(ROOT / "coatrules").as_posix()
        if name.startswith("disk/") or name in EXEMPT:
            continue
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            if not isinstance(node, ast.Call):
                continue
            match node.func:
                case ast.Name(id="open"):
                    found.append((name, node.lineno))
                case ast.Attribute(value=ast.Name(id="os"), attr=attribute) if attribute in OF_OS:
                    found.append((name, node.lineno))
                case ast.Attribute(value=value, attr=attribute) if attribute in FORBIDDEN_CALLS:
                    if not (isinstance(value, ast.Name) and value.id == "os"):
                        found.append((name, node.lineno))
    assert found == []
    assert {file.relative_to(ROOT / "coatrules").as_posix() for file in (ROOT / "coatrules").rglob("*.py")} >= EXEMPT


# -- what is written keeps its kind -------------------------------------------------------------------------------------


def test_a_file_keeps_its_mode_and_a_new_one_has_the_usual(tmp_path: Path) -> None:
    old, new = tmp_path / "old", tmp_path / "new"
    old.write_bytes(b"before")
    old.chmod(0o600)
    mask = os.umask(0o027)
    try:
        write(old, b"after")
        write(new, b"after")
    finally:
        os.umask(mask)
    assert stat.S_IMODE(old.stat().st_mode) == 0o600
    assert stat.S_IMODE(new.stat().st_mode) == 0o640
    assert (old.read_bytes(), new.read_bytes()) == (b"after", b"after")
    assert sorted(path.name for path in tmp_path.iterdir()) == ["new", "old"]


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() != 0, reason="only root may give a file away")
def test_a_file_keeps_its_owner(tmp_path: Path) -> None:
    file = tmp_path / "file"
    file.write_bytes(b"before")
    os.chown(file, 12345, 12345)
    write(file, b"after")
    assert (file.stat().st_uid, file.stat().st_gid) == (12345, 12345)


def test_a_link_leads_where_it_led_and_a_second_name_stays(tmp_path: Path) -> None:
    target, link, second = tmp_path / "target", tmp_path / "link", tmp_path / "second"
    target.write_bytes(b"a long text before")
    link.symlink_to(target)
    write(link, b"after")
    assert link.is_symlink()
    assert target.read_bytes() == b"after"
    second.hardlink_to(target)
    write(link, b"again")
    assert second.samefile(target)
    assert second.read_bytes() == b"again"
    broken = tmp_path / "broken"
    broken.symlink_to(tmp_path / "to come")
    write(broken, b"new")
    assert (tmp_path / "to come").read_bytes() == b"new"
    assert broken.is_symlink()


def test_devices_and_pipes_are_written_to(tmp_path: Path) -> None:
    write(Path(os.devnull), b"gone")
    assert not Path(os.devnull).is_file()
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    got: list[bytes] = []
    reader = threading.Thread(target=lambda: got.append(pipe.read_bytes()))
    reader.start()
    write(pipe, b"x" * 200_000)
    reader.join()
    assert got == [b"x" * 200_000]
    assert stat.S_ISFIFO(pipe.stat().st_mode)
    with pytest.raises(InputError, match="is a directory"):
        write(tmp_path, b"x")
    if os.path.exists("/dev/full"):
        with pytest.raises(InputError, match="no space left"):
            write(Path("/dev/full"), b"x")


def test_what_was_read_is_not_written_over_by_any_name(tmp_path: Path) -> None:
    file, link, second = tmp_path / "file", tmp_path / "link", tmp_path / "second"
    file.write_bytes(b"mine")
    link.symlink_to(file)
    second.hardlink_to(file)
    with read_inputs():
        assert read(file, 100) == b"mine"
        for name in (file, link, second):
            with pytest.raises(InputError, match="also an input"):
                write(name, b"yours")
        with pytest.raises(InputError, match="another program changed it"):
            write(file, b"yours", expected=b"other")
        write(file, b"yours", expected=b"mine")
    assert file.read_bytes() == b"yours"


def test_a_profile_is_not_written_over_by_the_order_it_serves(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    profile = folder / "small.yaml"
    (folder / "pip.yaml").write_text(HISTORY, encoding="utf-8")
    before = profile.read_bytes()
    line = ["order", str(folder / "pip.yaml"), "--profiles", str(folder), "--date", "2026-03-21"]
    assert main([*line, "--out", str(profile)]) == 1
    assert "output file is also an input" in capsys.readouterr().err
    assert profile.read_bytes() == before
    assert main([*line, "--out", str(folder / "order.txt")]) == 0


def test_tidy_keeps_a_link_and_a_mode(folder: Path) -> None:
    profile, link = folder / "terse.yaml", folder / "link.yaml"
    text = (ROOT / "profiles" / "points-of-the-dog.yaml").read_text(encoding="utf-8")
    profile.write_text(text + "\n\n\n", encoding="utf-8")
    profile.chmod(0o600)
    link.symlink_to(profile)
    before = profile.read_bytes()
    assert main(["tidy", str(link)]) == 0
    assert profile.read_bytes() != before
    assert link.is_symlink()
    assert stat.S_IMODE(profile.stat().st_mode) == 0o600


def test_a_new_file_takes_nobodys_place(tmp_path: Path) -> None:
    create(tmp_path / "new", b"one")
    with pytest.raises(FileExistsError):
        create(tmp_path / "new", b"two")
    assert [path.name for path in tmp_path.iterdir()] == ["new"]
    assert (tmp_path / "new").read_bytes() == b"one"


def test_one_writer_at_a_time(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("coatrules.disk.locking.PATIENCE_SECONDS", 0.05)
    with locked(tmp_path / "file"), pytest.raises(InputError, match="another program is writing"):
        write(tmp_path / "file", b"x")
    write(tmp_path / "file", b"x")


# -- what is read is bounded --------------------------------------------------------------------------------------------


def test_only_files_are_read_and_no_more_than_asked(tmp_path: Path) -> None:
    sparse = tmp_path / "sparse"
    with sparse.open("wb") as file:
        file.truncate(3_000_000_000)
    assert len(read(sparse, 1000)) == 1001
    os.mkfifo(tmp_path / "pipe")
    (tmp_path / "a").symlink_to(tmp_path / "b")
    (tmp_path / "b").symlink_to(tmp_path / "a")
    for name, said in {
        "/dev/zero": "it is a device, not a file",
        str(tmp_path / "pipe"): "it is a pipe, not a file",
        str(tmp_path): "is a directory",
        str(tmp_path / "a"): "too many levels of symbolic links",
        str(tmp_path / ("x" * 300)): "file name too long",
        "a\0b": "no file can have this name",
        "a\ud800": "no file can have this name",
    }.items():
        for piped in (True, False):
            with pytest.raises(InputError, match=said):
                opened(Path(name), piped=piped)


def test_folders_deeper_than_python_calls_itself_are_borne(tmp_path: Path) -> None:
    (tmp_path / "mine.yaml").write_text("id: mine\nextends: small\n", encoding="utf-8")
    (tmp_path / ".hidden").mkdir()
    (tmp_path / ".hidden" / "not.yaml").write_text("a: 1\n", encoding="utf-8")
    (tmp_path / "round").symlink_to(tmp_path, target_is_directory=True)
    here = os.open(tmp_path, os.O_RDONLY)
    for _ in range(1200):
        os.mkdir("in", dir_fd=here)
        within = os.open("in", os.O_RDONLY, dir_fd=here)
        os.close(here)
        here = within
    os.close(here)
    try:
        assert list(files_below(tmp_path)) == [tmp_path / "mine.yaml"]
        assert files([tmp_path]) == [tmp_path / "mine.yaml"]
        assert profiles_in(tmp_path) == [tmp_path / "mine.yaml"]
    finally:
        subprocess.run(["rm", "-rf", str(tmp_path / "in")], check=True)  # Python's own way calls itself
