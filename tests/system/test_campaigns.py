"""No command and no file it takes escapes the attacks: the lists of the two campaigns are held against the parsers themselves."""

from __future__ import annotations

from argparse import Action
from pathlib import Path

import pytest

from coatrules.cli import COMMANDS, parser_of
from coatrules.cli.common import existing_folder
from tests.system import test_faults, test_hostile_files

PROFILES = {
    ("check", "profile"),
    ("rehearse", "profile"),
    ("compare", "old"),
    ("compare", "new"),
    ("profiles", "id"),
    ("new", "extends"),
}
"""What may be the name of a profile's file though it need not be."""
IN_PLACE = {("record", "dog"), ("tidy", "file"), ("migrate", "file"), ("check", "fix")}
"""What is written to without an option for it."""
MARK = "@"


def _files(command: str) -> set[str]:
    """What takes the name of a file or a folder."""
    actions: list[Action] = parser_of(command)._actions
    return {action.dest for action in actions if action.type in (Path, existing_folder)}


def _given(command: str, words: list[str]) -> set[str]:
    """What a command line gives a value to that its parser does not give by itself."""
    parser = parser_of(command)
    args = vars(parser.parse_args(words))
    return {name for name, value in args.items() if value != parser.get_default(name)}


def test_every_file_that_a_command_reads_is_given_hostile_ones(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / MARK).mkdir()
    attacked = set()
    for _, line in test_hostile_files.COMMANDS.values():
        command, *words = line.split()
        args = vars(parser_of(command).parse_args(words))
        attacked |= {(command, name) for name, value in args.items() if MARK in (str(value), *_names(value))}
    reading = {(command, name) for command in COMMANDS for name in _files(command) - {"out"}}
    assert attacked == reading | PROFILES


def _names(value: object) -> list[str]:
    return [str(one) for one in value] if isinstance(value, list) else []


def test_every_command_that_writes_is_struck_at_every_call() -> None:
    struck: dict[str, set[str]] = {}
    for words, _ in test_faults.COMMANDS.values():
        struck.setdefault(words[0], set()).update(_given(words[0], words[1:]))
    for command in COMMANDS:
        assert "out" not in _files(command) or "out" in struck.get(command, ()), command
    for command, option in IN_PLACE:
        assert option in struck[command], (command, option)
    assert {"correct", "withdraw"} <= struck["record"]
