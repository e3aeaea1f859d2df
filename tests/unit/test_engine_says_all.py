"""Whatever the command line prints can be had from the engine, in the same words."""

from __future__ import annotations

import json
import os
from collections.abc import Callable, Mapping
from datetime import date
from pathlib import Path
from typing import Any

import pytest
import yaml

from coatrules import Engine, Problem, load_history
from coatrules.cli import COMMANDS, main
from coatrules.mentor import rehearsal
from tests.support.paths import EXAMPLES, ROOT

DAY = date(2026, 3, 21)
SALON = EXAMPLES / "salon"
PIP = load_history(SALON / "pip.yaml")
ENGINE = Engine()
BORDER = "border-terrier"


def as_json(data: Any) -> str:
    return json.dumps(data, indent=2, ensure_ascii=False) + "\n"


def order() -> Any:
    return ENGINE.order(PIP, date=DAY, ahead=True)


def dues() -> Any:
    found = ENGINE.dues([load_history(file) for file in sorted(SALON.glob("*.yaml")) if file.stem != "salon"], date=DAY)
    return sorted(found, key=lambda due: due.rank)


def whole_explanation() -> str:
    return "\n\n".join(ENGINE.text(ENGINE.explain(PIP, region, date=DAY)) for region in ENGINE.regions(PIP, "legs"))


def due_json() -> str:
    return as_json({"format": 1, "date": DAY.isoformat(), "dogs": ENGINE.due_rows(dues())})


def planned_visit() -> str:
    visit = {"visit": DAY.isoformat(), **ENGINE.as_planned(ENGINE.order(PIP, date=DAY))}
    return ENGINE.text(ENGINE.with_visit(PIP, visit).visits[-1])


def corrected() -> str:
    day = PIP.visits[-1].day
    return ENGINE.text(ENGINE.corrected_visit(PIP, {"visit": day.isoformat(), "note": "wrong dog"}).visits[-1])


SAID: Mapping[str, Callable[[], str]] = {
    f"order {SALON}/pip.yaml": lambda: ENGINE.text(order(), 80),
    f"order {SALON}/pip.yaml --steps": lambda: ENGINE.text(order(), steps=True),
    f"order {SALON}/pip.yaml --for owner": lambda: ENGINE.text(order(), audience="owner"),
    f"order {SALON}/pip.yaml --format json": lambda: as_json(ENGINE.data(order())),
    f"order {SALON}/pip.yaml --format markdown": lambda: ENGINE.markdown(order()),
    f"order {SALON}/pip.yaml --format markdown --for owner": lambda: ENGINE.markdown(order(), audience="owner"),
    f"order {SALON}/pip.yaml --format page --steps": lambda: ENGINE.page(order(), steps=True),
    f"order {SALON}/pip.yaml --format calendar": lambda: ENGINE.calendar([order()], date=DAY),
    f"order {SALON}/pip.yaml --why 1": lambda: "".join(f"- {why}\n" for why in ENGINE.reasons(order(), "1")),
    f"order {SALON}/pip.yaml --strip-whole": lambda: ENGINE.text(
        ENGINE.order(PIP, date=DAY, strip_whole=True, ahead=True), 80
    ),
    f"order {SALON}/pip.yaml --seen back:soft": lambda: ENGINE.text(
        ENGINE.order(ENGINE.with_seen(PIP, {"back": {"texture": "soft"}}, date=DAY), date=DAY, ahead=True), 80
    ),
    f"draw {SALON}/pip.yaml": lambda: ENGINE.picture(ENGINE.order(PIP, date=DAY)).decode(),
    f"draw {SALON}/pip.yaml --what coat --region back": lambda: ENGINE.coat_picture(PIP, "back", date=DAY).decode(),
    f"draw {SALON} --what book": lambda: ENGINE.book_picture(dues(), date=DAY).decode(),
    f"explain {SALON}/pip.yaml legs": whole_explanation,
    f"record {SALON}/pip.yaml --as-planned --dry-run": planned_visit,
    f"due {SALON}": lambda: ENGINE.text(dues(), 100),
    f"due {SALON} --why": lambda: ENGINE.text(dues(), 100, reasons=True),
    f"due {SALON} --format json": due_json,
    f"due {SALON} --format csv": lambda: ENGINE.due_sheet(dues()),
    f"due {SALON} --format calendar": lambda: ENGINE.calendar(dues(), date=DAY),
    f"check {BORDER}": lambda: ENGINE.findings(ENGINE.check(BORDER)),
    f"check {BORDER} --format sarif": lambda: ENGINE.findings(ENGINE.check(BORDER), form="sarif"),
    "check --explain case-unmet": lambda: "".join(f"{line}\n" for line in ENGINE.explained("case-unmet")),
    "rehearse silky-jacket": lambda: ENGINE.text(ENGINE.rehearse("silky-jacket")),
    f"compare silky-jacket {BORDER} {SALON}/pip.yaml": lambda: ENGINE.text(
        ENGINE.compare("silky-jacket", BORDER, dogs=[PIP], date=DAY)
    ),
    f"compare silky-jacket {BORDER} {SALON}/pip.yaml --format json": lambda: as_json(
        ENGINE.data(ENGINE.compare("silky-jacket", BORDER, dogs=[PIP], date=DAY))
    ),
    f"plan {SALON}/pip.yaml --visits 2": lambda: ENGINE.text(ENGINE.plan(PIP, date=DAY, visits=2, sure=True)),
    f"plan {SALON}/pip.yaml --compare-intervals 3": lambda: ENGINE.text(ENGINE.intervals(PIP, date=DAY, weeks=[3])),
    "profiles": lambda: "".join(
        f"{name:<{max(map(len, ENGINE.ids()))}}  {label}\n" for name, label in ENGINE.labels().items()
    ),
    f"profiles {BORDER}": lambda: yaml.safe_dump(ENGINE.merged(BORDER), sort_keys=False, allow_unicode=True, width=110),
    f"profiles {BORDER} --where coats.jacket.mm_per_week": lambda: "".join(
        f"{line}\n" for line in ENGINE.where(BORDER, "coats.jacket.mm_per_week")
    ),
    f"profiles {BORDER} --sources": lambda: ENGINE.sources(BORDER),
    f"new profile --extends {BORDER} --id mine": lambda: ENGINE.new_profile(BORDER, id="mine"),
    "new dog": lambda: ENGINE.new_history(date=DAY),
    f"new case {SALON}/pip.yaml": lambda: ENGINE.new_case(PIP, date=DAY),
}
"""By the command line: what the engine says. All but the last ones need ``--date``."""
WRITING = {"fleet", "import", "tidy", "migrate"}
"""Commands that write files; what they write the other tests hold against the engine."""
QUICK = (
    *(f"order {SALON}/pip.yaml{more}" for more in ("", " --for owner", " --format json", " --why 1")),
    *("check --explain case-unmet", "profiles", f"record {SALON}/pip.yaml --as-planned --dry-run"),
)
"""How the lines begin, or read, that take no time; all others are run with the slow tests."""
UNDATED = ("check", "rehearse", "profiles", "new profile")


def test_no_command_is_missing() -> None:
    assert {line.split()[0] for line in SAID} | WRITING == set(COMMANDS)


def _is_quick(line: str) -> bool:
    return line in QUICK or line.startswith(("new ", f"profiles {BORDER} --where"))


@pytest.mark.parametrize(
    "line", [line if _is_quick(line) else pytest.param(line, marks=pytest.mark.slow) for line in SAID]
)
def test_the_engine_says_what_the_command_prints(
    line: str, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    if line.startswith("rehearse"):  # one dog says as much here as six
        all_actors = rehearsal.actors
        monkeypatch.setattr(rehearsal, "actors", lambda profile: all_actors(profile)[:1])
    monkeypatch.setenv("COLUMNS", "100")
    dated = [] if line.startswith(UNDATED) else ["--date", DAY.isoformat()]
    main([*line.split(), *dated])
    printed, said = capsys.readouterr().out, SAID[line]()
    if " --why " in line:  # the command breaks its lines, as the terminal is wide
        printed, said = " ".join(printed.split()), " ".join(said.split())
    assert printed == said


@pytest.mark.slow
def test_what_is_written_is_the_engine_s_too(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for command, made in (("tidy", ENGINE.tidied), ("migrate", ENGINE.migrated)):
        file = tmp_path / f"{command}.yaml"
        text = (ROOT / "tests" / "golden" / "plain-terrier.yaml").read_text(encoding="utf-8").replace(": ", ":  ")
        file.write_text(text, encoding="utf-8")
        assert main([command, str(file)]) == 0
        assert file.read_text(encoding="utf-8") == made(text)
    sheet, mapping = EXAMPLES / "import" / "old-book.csv", EXAMPLES / "import" / "mapping.yaml"
    main(["import", str(sheet), str(mapping), "--out", str(tmp_path / "dogs")])
    imported = ENGINE.import_sheet(sheet.read_bytes(), mapping)
    assert {file.stem for file in (tmp_path / "dogs").iterdir()} == set(imported.histories)
    book = tmp_path / "book.jsonl"
    book.write_text(json.dumps(PIP.to_dict()) + "\n", encoding="utf-8")
    out = tmp_path / "orders.jsonl"
    assert main(["fleet", str(book), "--out", str(out), "--date", DAY.isoformat()]) == 0
    assert json.loads(out.read_text(encoding="utf-8")) == ENGINE.data(ENGINE.order(PIP, date=DAY))


@pytest.mark.slow
def test_a_text_is_checked_and_mended_as_a_file_is(tmp_path: Path) -> None:
    text = f"format: 2\nid: mine\nlabel: Mine\nextends: {BORDER}\nvisit: {{minuts: 60}}\n"
    (found, *_) = ENGINE.check_text(text, "mine.yaml")
    assert isinstance(found, Problem)
    assert (found.code, found.file, found.line) == ("schema-unknown-key", "mine.yaml", 5)
    assert "minutes: 60" in ENGINE.fixed(text, "mine.yaml")
    file = tmp_path / "mine.yaml"
    file.write_text(text, encoding="utf-8")
    assert [one.code for one in ENGINE.check(file)] == [one.code for one in ENGINE.check_text(text)]
    assert os.fspath(file) not in map(str, ENGINE.dependants(BORDER).values())


def test_a_correction_is_shown_as_it_is_recorded() -> None:
    assert yaml.safe_load(corrected())["corrects"] is True
    assert ENGINE.show_day(PIP, date=DAY) is None
    assert ENGINE.history(PIP, show_mm={"body": (9, 15)}).dog.show_mm == {"body": (9.0, 15.0)}
