"""Writes new histories into a folder: all of them or none, and none over what is there."""

from __future__ import annotations

import os
from collections.abc import Iterable, Mapping
from contextlib import suppress
from pathlib import Path
from typing import Any

from coatrules.disk import create, read, remove
from coatrules.dog.loading import history_of
from coatrules.problems import InputError, Problem
from coatrules.reading import read_yaml
from coatrules.recording.text import history_text


def write_histories(histories: Mapping[str, Mapping[str, Any]], folder: Path) -> list[Path]:
    """Writes each history to its own file in ``folder``; all or none. Never overwrites: raises ``InputError`` instead."""
    files = {folder / f"{name}.yaml": history_text(data) for name, data in histories.items()}
    if existing := [file for file in files if os.path.lexists(file)]:
        raise InputError([Problem(code="exists", file=str(file)) for file in existing])
    for file, text in files.items():
        history_of(read_yaml(text, str(file)))  # what could not be read again is never written
    begun: list[Path] = []
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for file, text in files.items():
            begun.append(file)
            create(file, text.encode())
    except FileExistsError as error:
        _take_back(begun[:-1], files)
        raise InputError([Problem(code="exists", file=str(error.filename2 or error.filename or folder))]) from error
    except OSError as error:
        _take_back(begun, files)
        reason = (error.strerror or type(error).__name__).lower()
        raise InputError([Problem(code="cannot-write-folder", params={"reason": reason}, file=str(folder))]) from error
    except BaseException:  # whoever stops it wants none of it either
        _take_back(begun, files)
        raise
    return begun


def _take_back(begun: Iterable[Path], files: Mapping[Path, str]) -> None:
    """Removes the files that were written, and no other."""
    for file in begun:
        content = files[file].encode()
        with suppress(OSError, InputError):
            if read(file, len(content)) == content:
                remove(file)
