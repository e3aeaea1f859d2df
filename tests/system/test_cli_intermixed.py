"""What a command works on may stand before, between and behind its options."""

from __future__ import annotations

from itertools import combinations, permutations
from pathlib import Path

import pytest

from coatrules.cli import COMMANDS, main, parser_of

LINES = {
    "check": (["a.yaml", "b", "c"], [["--format", "json"], ["--profiles", "own"]]),
    "compare": (["old", "new", "a.yaml", "b.yaml"], [["--format", "json"], ["--date", "2026-03-21"]]),
    "draw": (["a.yaml", "b.yaml"], [["--what", "book"], ["--format", "svg"]]),
    "due": (["a.yaml", "b.jsonl", "c"], [["--until", "2026-03-21"], ["--format", "csv"]]),
    "explain": (["a.yaml", "back"], [["--minutes", "60"], ["--profile", "x"]]),
    "fleet": (["book.jsonl"], [["--out", "orders.jsonl"], ["--processes", "2"]]),
    "import": (["sheet.csv", "mapping.yaml"], [["--out", "folder"], ["--leave-out"]]),
    "migrate": (["a.yaml", "b.yaml"], [["--check"]]),
    "new": (["case", "a.yaml"], [["--date", "2026-03-21"], ["--out", "new.yaml"]]),
    "order": (["a.yaml"], [["--for", "owner"], ["--minutes", "60"]]),
    "plan": (["a.yaml"], [["--visits", "3"], ["--show", "2026-06-01"]]),
    "profiles": (["border-terrier"], [["--profiles", "own"], ["--profiles", "too"]]),
    "record": (["a.yaml"], [["--as-planned"], ["--left", "toes"]]),
    "rehearse": (["a.yaml"], [["--format", "json"]]),
    "tidy": (["a.yaml", "b.yaml"], [["--check"]]),
}


def lines(names: list[str], options: list[list[str]]) -> list[list[str]]:
    """The names in their order, with the options at every place among them and in every order."""
    arrangements = []
    size = len(names) + len(options)
    for positions in combinations(range(size), len(options)):
        for ordered in permutations(options):
            options_left, names_left = iter(ordered), iter(names)
            groups = [next(options_left) if position in positions else [next(names_left)] for position in range(size)]
            arrangements.append([word for group in groups for word in group])
    return arrangements


@pytest.mark.parametrize("command", COMMANDS)
def test_every_order_of_a_line_is_the_same_line(command: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    for folder in ("own", "too"):  # folders of profiles must be there
        (tmp_path / folder).mkdir()
    names, options = LINES[command]
    parser = parser_of(command)
    first, *others = (vars(parser.parse_args(line)) for line in lines(names, sorted(options)))
    for other in others:
        values = {key: sorted(map(str, value)) if key == "profiles" else value for key, value in other.items()}
        assert values == {key: sorted(map(str, first[key])) if key == "profiles" else first[key] for key in first}


@pytest.mark.parametrize(
    ("line", "message"),
    [
        (["compare", "old"], "the following arguments are required: NEW\n"),
        (["due", "--until", "2026-03-21"], "the following arguments are required: DOG\n"),
        (["due", "a.yaml", "b.yaml", "--hurry"], "unrecognised arguments: --hurry\n"),
        (["new", "dgo"], "invalid choice: 'dgo'"),
        (
            ["plan", "--compare-intervals", "3", "a.yaml"],
            "'a.yaml' is not a number of weeks; name the dog before this option",
        ),
        (["plan", "--dates", "2026-03-21", "a.yaml"], "'a.yaml' is not a date; name the dog before this option"),
        (["plan", "a.yaml", "--dates", "soon"], "'soon' is not a date; write it as 2026-03-21"),
    ],
)
def test_what_is_wrong_with_a_line_is_still_said(
    line: list[str], message: str, capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit) as ended:
        main(line)
    assert ended.value.code == 2
    assert message in capsys.readouterr().err


@pytest.mark.parametrize("command", ["check", "compare", "draw", "due", "migrate", "new", "tidy"])
def test_help_is_as_an_ordinary_parser_gives_it(command: str, capsys: pytest.CaptureFixture[str]) -> None:
    parser = parser_of(command)
    help_text = parser.format_help()
    with pytest.raises(SystemExit):
        parser.parse_args(["--help"])
    assert capsys.readouterr().out == help_text
