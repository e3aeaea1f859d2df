"""What the sheet says: each thing once, as it is, no surer than it is known; and all forms of an order agree."""

from __future__ import annotations

import io
import re
import sys
from datetime import date, timedelta
from functools import cache
from typing import Any

import pytest
from attrs import evolve

from coatrules import WorkOrder, load_history, work_order
from coatrules.catalogue.amounts import half_up
from coatrules.catalogue.english import ENGLISH
from coatrules.catalogue.speaking import say, speaking
from coatrules.catalogue.template import Plural
from coatrules.catalogue.translated import Translated
from coatrules.cli import main
from coatrules.cli.spelling import ERRORS
from coatrules.report.box import decided
from coatrules.report.owner import note, owner_text, parts_words
from coatrules.report.passes import Detail, pass_lines, planned_regions, tender_parts, where
from coatrules.report.rows import work_rows
from coatrules.report.sheet import next_visit, reasons_of, sheet
from tests.support.paths import EXAMPLES

DAY = date(2026, 3, 21)
NEW = {"format": 1, "dog": {"id": "tip"}}
AWAY: dict[str, Any] = {**NEW, "visits": [{"visit": "2025-11-01", "work": {"body": {"pull": 0.2}}}]}


@cache
def orders() -> tuple[WorkOrder, ...]:
    """Orders unlike each other: rolled for long, new, in a third of the time, hardly pulled, of a puppy."""
    puppy = {"format": 1, "dog": {"id": "tip", "born": "2025-12-20"}}
    return (
        work_order("griffon-bruxellois-rough", load_history(EXAMPLES / "salon" / "pip.yaml"), date=DAY),
        work_order("welsh-terrier", NEW, date=DAY, minutes=180),
        work_order("airedale-terrier", AWAY, date=DAY, minutes=60),
        work_order("deerhound", NEW, date=DAY),
        work_order("border-terrier", puppy, date=DAY),
    )


@pytest.mark.parametrize("tag", ["en", "de", "fr"])
def test_what_is_done_in_between_is_said_once_and_after_what_the_pass_is_about(tag: str) -> None:
    """'pull toes 1/10; pull between the eyes 1/6; pull eyebrows; forechest': the forechest was to be carded."""
    with speaking(ENGLISH if tag == "en" else Translated(tag)):
        verbs = {task: say("sheet.tender-other", task=say(f"task.{task}"), parts="").strip() for task in TASKS}
        for order in orders():
            for one in pass_lines(order):
                tasks = {stretch.task for stretch in one.stretches if stretch.regions and not stretch.tender}
                between = [stretch for stretch in one.stretches if stretch.tender]
                if not tasks or not between:
                    continue
                words = tender_parts(order, one, between, Detail.IN_PLACE).split(say.amount("clauses", ("", "")))
                begun = [verb for part in words for verb in verbs.values() if part.startswith(verb)]
                assert len(begun) == len(set(begun)) == len({one.task for one in between} - tasks)
                if {one.task for one in between} & tasks:
                    assert not any(words[0].startswith(verb) for verb in verbs.values())


TASKS = ("card", "pull", "clip", "scissor", "comb")


def test_a_length_is_told_wherever_a_place_to_be_clipped_is_named() -> None:
    """Where the line was short the places were named alone; those round the genitals are clipped longest, the anus short."""
    clipped = 0
    for order in orders():
        for one in pass_lines(order):
            lengths = {
                (step.region, step.leave_mm) for step in one.steps if step.leave_mm is not None and step.bout == 1
            }
            for detail in (Detail.OTHERS_NAMED, Detail.NAMED, Detail.IN_PLACE):
                words = where(order, one, detail)
                if "tender place" not in words:
                    assert all(f"{mm:g}" in words or f"{mm:g}" in one.amount for _, mm in lengths if mm)
                    clipped += len(lengths)
    assert clipped > 20


def test_what_is_pulled_less_or_more_is_not_told_as_left_out() -> None:
    """'jacket (but not flanks)' stood in the box where the flanks were pulled less."""
    rolled = orders()[0]
    usual = planned_regions(rolled)["back"]

    def with_share(share: float | None) -> str:
        steps = [
            evolve(step, share=share) if step.region == "withers" and step.share else step
            for step in rolled.steps
            if share is not None or step.region != "withers"
        ]
        return decided(evolve(rolled, steps=tuple(steps)))[0]

    assert "but not" not in with_share(usual)
    assert "body (withers less)" in with_share(usual / 2)
    assert "body (withers more)" in with_share(usual * 2)
    assert "body (but not withers)" in with_share(None)


def test_two_shares_of_a_jacket_are_both_told() -> None:
    """'Roll on, a sixth: neck and front' said nothing of the rest of the jacket."""
    short = orders()[2]
    shares = {planned_regions(short)[name] for name in ("neck-top", "back")}
    assert len(shares) == 2
    assert all(say.amount("share", share) in decided(short)[0] for share in shares)


def test_a_command_is_told_at_the_terminal_and_not_on_paper() -> None:
    """'--minutes 90 on each' and "'health: []'" were printed on the page."""
    of_box = [
        code for code in ENGLISH.sentences if re.match(r"(box|show|first|floor|skin|owner|next-visit|hold)\.", code)
    ]
    assert len(of_box) > 60
    for code in of_box:
        sentence = ENGLISH.sentences[code]
        for form in sentence[1:] if isinstance(sentence, Plural) else [sentence]:
            assert "--" not in form
            assert "[]" not in form
    ill = work_order("border-terrier", {**NEW, "visits": [{"visit": "2026-03-10", "health": ["unwell"]}]}, date=DAY)
    assert "record --health none" in sheet(ill)


def test_nothing_is_said_of_layering_again_where_the_coat_is_stripped_out() -> None:
    """'Away for 5 weeks: not all today' stood beside a strip in stages that had set those five weeks."""
    staged = {
        "format": 1,
        "dog": {"id": "fell", "regime": "staged", "show": "2026-05-23"},
        "arrival": {"jacket": {"grown_weeks": 26}},
        "visits": [{"visit": "2026-02-14", "work": {"neck": {"pull": 1.0}}}],
    }
    stripped = work_order("lakeland-terrier", staged, date=DAY, minutes=180)
    rolled = work_order("border-terrier", AWAY, date=DAY)
    assert any(sentence.startswith("Strip, all") for sentence in decided(stripped))
    assert any(finding.code == "rolling-ended-gap" for finding in stripped.findings)
    assert any(sentence.startswith("Away for") for sentence in decided(rolled))
    assert not any(sentence.startswith("Away for") for sentence in decided(stripped))


@pytest.mark.parametrize(
    ("first", "best", "last", "words"),
    [
        (1, 21, 35, "11 Apr, 25 Apr at the latest"),
        (14, 21, 35, "11 Apr (4 Apr to 25 Apr)"),
        (14, 14, 35, "4 Apr, 25 Apr at the latest"),
        (1, 10, 10, "31 Mar at the latest"),
    ],
)
def test_nobody_is_asked_to_come_back_the_day_after(first: int, best: int, last: int, words: str) -> None:
    """A window from the day after the work was told of an overgrown coat."""
    rolled = orders()[0]
    first_day, day, last_day = (DAY + timedelta(days=days) for days in (first, best, last))
    visit = evolve(rolled.next_visit, earliest=first_day, best=day, latest=last_day, clash=False)
    assert next_visit(evolve(rolled, next_visit=visit)).startswith(f"Next visit {words}")


def test_minutes_beside_a_spread_are_whole_and_add_up() -> None:
    """'119½ min ± 9' was said of hands whose speed was known to a fifth."""
    for order in orders():
        passes = pass_lines(order)
        assert sum(one.whole_minutes for one in passes) == half_up(order.minutes_planned)
        assert all(abs(one.whole_minutes - one.minutes) < 1 for one in passes)
        assert "½ min" not in sheet(order).splitlines()[0]


def test_all_forms_of_an_order_agree() -> None:
    for order in orders():
        passes, rows = pass_lines(order), work_rows(order)
        assert sum(one.minutes for one in passes) == sum(row.minutes for row in rows) == order.minutes_planned
        worked = {name for row in rows for name in row.regions}
        assert worked == {step.region for one in passes for step in one.steps if step.region is not None}
        assert not worked & set(order.left_alone)
        for one in passes:
            of_line = "\n".join(reasons_of(order, str(one.number)))
            for step in one.steps:
                for reason in step.because if step.region is not None else ():
                    assert reason.text in of_line
                    assert reason.text in reasons_of(order, step.region or "")
        pulled = planned_regions(order)
        assert pulled == {step.region: step.share for one in passes for step in one.steps if step.share}
        home = next(paragraph for paragraph in note(order).paragraphs if paragraph.title == say("owner.done"))
        for share in {min(pulled.values()), max(pulled.values())} if pulled else ():
            assert any(say.amount("share", share) in sentence for sentence in home.lines)


@pytest.mark.parametrize("tag", ["en", "de", "fr"])
def test_the_owners_note_breaks_no_line_of_a_narrow_terminal(tag: str) -> None:
    """It was set for 88 letters whatever the terminal."""
    with speaking(ENGLISH if tag == "en" else Translated(tag)):
        for order in orders():
            assert max(map(len, owner_text(order, 40).splitlines())) <= 40


def test_reasons_and_a_terminal_without_letters_keep_to_the_width(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """A reason was one line however long; '±' spelt '+/-' made lines longer than the terminal."""
    command = ["order", str(EXAMPLES / "salon" / "pip.yaml"), "--date", "2026-03-21"]
    assert main([*command, "--why", "2"]) == 0
    assert max(map(len, capsys.readouterr().out.splitlines())) <= 88
    written = io.BytesIO()
    monkeypatch.setattr(sys, "stdout", io.TextIOWrapper(written, "ascii", errors=ERRORS))
    assert main(command) == 0
    sys.stdout.flush()
    lines = written.getvalue().decode("ascii").splitlines()
    assert any("+/-" in line for line in lines)
    assert max(map(len, lines)) <= 80
    assert not any("?" in line for line in lines)


def test_many_parts_without_a_group_are_counted_where_the_lines_of_work_name_them() -> None:
    """Thirty parts of a profile without groups stood in one sentence of the box, five lines of it at 80 columns."""
    order = work_order("dachshund-wire-haired", NEW, date=DAY, minutes=180)
    groups_forgotten = {name: {**facts, "groups": ()} for name, facts in order.all_facts.items()}
    first = decided(evolve(order, all_facts=groups_forgotten))[0]
    found = re.search(r": (.*) and (\d+) parts more\.$", first)
    assert found is not None, first
    named = found[1].split(", ")
    most = [name for name, share in planned_regions(order).items() if say.amount("share", share) in first.split(":")[0]]
    assert len(named) == 6
    assert {name for name in order.labels if order.labels[name].lower() in named} <= set(most)
    assert 6 + int(found[2]) <= len(most)
    assert len(first) < 160
    with_one_more = parts_words(order, ["withers", "beard"], most=1)
    assert "more" not in with_one_more, "one more is as soon named as counted"
