"""The short sheet: at most twelve lines of work for any dog at eighty columns, what must be decided first, reasons on request."""

from __future__ import annotations

import re
from datetime import date
from itertools import cycle, pairwise, takewhile
from typing import Any

import pytest
from attrs import evolve

from coatrules import InputError, WorkOrder, load_history, load_profile, work_order
from coatrules.catalogue.languages import catalogue
from coatrules.catalogue.speaking import speaking
from coatrules.cli import main
from coatrules.order.next_visit import Binding
from coatrules.profile.model import Profile
from coatrules.profile.shelves import ids
from coatrules.report.box import decided
from coatrules.report.passes import MOST_LINES, Detail, Stretch, parts, pass_lines, tender_parts, where
from coatrules.report.rows import spread
from coatrules.report.sheet import next_visit, reasons_of, sheet
from tests.support.paths import EXAMPLES

DAY = date(2026, 3, 21)
HISTORIES: dict[str, dict[str, Any]] = {
    "new": {"format": 1, "dog": {"id": "tip"}},
    "puppy": {"format": 1, "dog": {"id": "tip", "born": "2026-01-10"}},
    "rolled": {"format": 1, "dog": {"id": "tip", "show": "2026-06-01"}, "visits": []},
    "ill": {"format": 1, "dog": {"id": "tip"}, "visits": [{"visit": "2026-03-10", "health": ["unwell"]}]},
}
PIP = work_order("griffon-bruxellois-rough", load_history(EXAMPLES / "salon" / "pip.yaml"), date=DAY)


def work_lines(shown: str) -> list[str]:
    """The lines of work: from under the box to what follows the last time."""
    lines = shown.splitlines()
    below = lines[next(index for index, line in enumerate(lines) if line.startswith("└")) + 1 :]
    ends = [index for index, line in enumerate(below) if re.match(r"(Put off|Next visit|A veterinary)", line)]
    return below[: ends[0]]


def test_any_dog_fits_on_one_screen() -> None:
    for name, told in zip(list(ids())[::5], cycle(HISTORIES), strict=False):
        shown = sheet(work_order(name, HISTORIES[told], date=DAY))
        assert len(work_lines(shown)) <= MOST_LINES
        assert max(map(len, shown.splitlines())) <= 80


def long_told(profile: Profile, told: str) -> dict[str, Any]:
    """A dog with a record of its own: whose parts were worked unlike each other, clipped, away for long, or with sore skin."""
    regions = list(profile.regions)
    body = "body" if "body" in profile.groups else regions[0]
    visits = {
        "unlike": [
            {
                "visit": "2026-01-17",
                "work": {name: {"pull": 0.1 + at % 7 / 20} for at, name in enumerate(regions[:20])},
            },
            {"visit": "2026-02-14", "seen": {name: {"longest_mm": 20 + at} for at, name in enumerate(regions[:12:3])}},
        ],
        "refused": [
            {"visit": "2026-02-07", "work": {body: {"card": True, "pull": 0.25}}, "reactions": {regions[-9]: "stop"}},
        ],
        "clipped": [{"visit": day, "work": {body: {"clip": 6}}} for day in ("2025-11-01", "2026-01-10")],
        "away": [{"visit": "2025-01-25", "work": {body: {"pull": 0.2}}}],
        "sore": [{"visit": "2026-03-14", "seen": {regions[3]: {"skin": "unsound"}}}],
    }
    dog = {"id": "tip", "name": "Bartholomew", "born": "2022-01-01", "show": "2026-05-01"}
    return {"format": 1, "dog": dog, "visits": visits[told]}


@pytest.mark.slow
def test_any_record_fits_on_a_screen_of_any_width() -> None:
    """1,395 orders of every profile, such a record and day were looked at by hand; here one of each third profile."""
    days = zip(cycle(("unlike", "refused", "clipped", "away", "sore")), cycle((30, None, 180)), strict=False)
    for name, (told, minutes) in zip(ids()[::3], days, strict=False):
        profile = load_profile(name)
        order = work_order(profile, long_told(profile, told), date=DAY, minutes=minutes)
        for width in (80, 60, 40):
            shown = sheet(order, width)
            assert len(work_lines(shown)) <= MOST_LINES * 80 // width
            assert max(map(len, shown.splitlines())) <= width


def test_a_line_that_is_cut_ends_with_a_whole_word() -> None:
    """'beyond the old mil…' was printed where a line was just full."""
    cut = []
    order = evolve(PIP, labels={name: f"{label} beyond the old millstones" for name, label in PIP.labels.items()})
    words = {word.strip("‹›;:,") for word in sheet(order, 5000).split()}
    for width in range(66, 81):  # at some of them a line is just full
        for line in work_lines(sheet(order, width)):
            assert len(line) <= width
            if "…" in line:
                cut.append(line.split("…")[0].split()[-1].strip("‹›;:,"))
                assert cut[-1] in words, line
    assert len(cut) > 10


@pytest.mark.slow
@pytest.mark.parametrize("tag", ["de", "fr", "nl"])
def test_any_language_fits_on_a_screen_of_any_width(tag: str) -> None:
    """11,160 sheets of every profile, five records each, four languages and six widths were looked through; here a few of them."""
    records = cycle(("unlike", "refused", "clipped", "away", "sore"))
    with speaking(catalogue(tag)):
        for name, told in zip(ids()[::7], records, strict=False):
            order = work_order(name, long_told(load_profile(name), told), date=DAY)
            for width in (100, 72, 50):
                lines = sheet(order, width).splitlines()
                below = lines[next(index for index, line in enumerate(lines) if line.startswith("└")) + 1 :]
                work = list(takewhile(re.compile(r" \d |\d\d |   ").match, below))
                assert len(work) <= MOST_LINES * 80 // min(width, 80)
                assert max(map(len, lines)) <= width
                numbers = [int(line[:2]) for line in work if line[:2].strip()]
                assert numbers == [one.number for one in pass_lines(order)]


def test_hints_are_given_once() -> None:
    """'1 thing to know: --steps.' stood above 'Cautions and every step: --steps.'"""
    for told in HISTORIES:
        shown = sheet(work_order("border-terrier", HISTORIES[told], date=DAY))
        assert shown.count("--steps") == 1
        assert shown.count("--why PART.") == 1


def test_the_decision_is_read_before_the_pause() -> None:
    assert decided(PIP)[0].startswith("Roll on")
    assert decided(PIP)[-1].startswith("Lift the dog down")


def test_a_day_without_work_claims_no_minutes() -> None:
    """'0 min ± 0 of 120' was printed."""
    assert (
        sheet(work_order("border-terrier", HISTORIES["ill"], date=DAY))
        .splitlines()[0]
        .endswith("no work; 90 min are there")
    )


def test_two_ways_over_the_same_parts_are_told_once() -> None:
    """The page told both rakes' in full where only tender places differed."""
    rakes = pass_lines(PIP)[0]
    told = where(PIP, rakes, Detail.IN_PLACE)
    assert told.count("outside of the thighs") == 1
    tender = {name for one in rakes.stretches if one.tender for name in one.regions}
    for name in tender:
        assert PIP.labels[name].lower().split(",")[0] in told
    first = rakes.stretches[0]
    other = next(one for one in rakes.stretches if not one.tender and one.tool != first.tool)
    unlike = rakes._replace(stretches=(first, other._replace(regions=("croup",))))
    assert where(PIP, unlike, Detail.IN_PLACE) == "top of the neck then fine rake: croup"


def test_every_minute_and_every_part_is_in_a_pass() -> None:
    passes = pass_lines(PIP)
    assert sum(one.minutes for one in passes) == PIP.minutes_planned
    assert {name for one in passes for stretch in one.stretches for name in stretch.regions} == {
        step.region for step in PIP.steps if step.region is not None
    }
    assert [one.number for one in passes] == list(range(1, len(passes) + 1))


def test_the_passes_follow_the_trade() -> None:
    """Rake, knife, stone, fingers, clipper, feet, beard: common practice, no source (the order of a tutorial page)."""
    tools = [one.tool.lower() for one in pass_lines(PIP)]
    found = [
        next(i for i, tool in enumerate(tools) if word in tool) for word in ("rake", "knife", "stone", "finger", "comb")
    ]
    assert found == sorted(found)


def test_what_must_be_decided_is_read_first() -> None:
    ill = work_order("griffon-bruxellois-rough", HISTORIES["ill"], date=DAY)
    assert sheet(ill).splitlines()[2].startswith("│ TO THE VET FIRST. The dog is unwell")
    assert not work_lines(sheet(ill))
    puppy = work_order("griffon-bruxellois-rough", HISTORIES["puppy"], date=DAY)
    assert decided(puppy)[0].startswith("Table practice today, 10 min at most")
    rolled = work_order("griffon-bruxellois-rough", HISTORIES["rolled"], date=DAY)
    assert "Show in 10 weeks (1 Jun)." in decided(rolled)


def test_times_are_not_claimed_too_surely() -> None:
    """'119½ min; there are 120' was said of hands whose speed was known to a fifth."""
    new = work_order("griffon-bruxellois-rough", HISTORIES["new"], date=DAY)
    assert spread(new, 100) == 20
    assert re.search(r"min ± \d+ of 120$", sheet(new).splitlines()[0])


def test_why_takes_a_line_or_a_part() -> None:
    assert reasons_of(PIP, "1")[0] == "Neck, forechest: The undercoat is fully back."
    assert "The undercoat is fully back." in reasons_of(PIP, "neck-top")
    with pytest.raises(InputError):
        reasons_of(PIP, "bak")
    with pytest.raises(InputError):
        reasons_of(PIP, "99")


def test_why_takes_a_group() -> None:
    """'--why feet' was answered with 'Use hindfeet'."""
    reasons = reasons_of(PIP, "feet")
    assert any(reason.startswith("Toes") for reason in reasons)
    assert any(reason.startswith("Foot outlines") for reason in reasons)
    with pytest.raises(InputError, match="Use 'jacket'"):
        reasons_of(PIP, "jackett")


def test_a_day_that_is_the_first_one_is_named_once() -> None:
    """It read: next visit 19 Dec, not before 19 Dec."""
    ready = Binding(bound="earliest", region="back", why="ready", day=date(2026, 5, 8), window=(date(2026, 5, 8),) * 2)
    visit = evolve(PIP.next_visit, earliest=ready.day, best=ready.day, latest=None, binding=(ready,))
    told = next_visit(evolve(PIP, next_visit=visit))
    assert told == "Next visit 8 May, and not before: then enough hair is ready (back)."
    later = evolve(visit, best=date(2026, 5, 11))
    assert "11 May, not before 8 May: " in next_visit(evolve(PIP, next_visit=later))


def test_next_visit_is_one_line() -> None:
    assert re.match(r"Next visit \d+ [A-Z][a-z]{2} \(\d+ [A-Z][a-z]{2} to \d+ [A-Z][a-z]{2}\): ", next_visit(PIP))
    assert isinstance(PIP, WorkOrder)


def test_the_command_shows_the_sheet_the_steps_and_why(capsys: pytest.CaptureFixture[str]) -> None:
    command = ["order", str(EXAMPLES / "salon" / "pip.yaml"), "--date", "2026-03-21"]
    assert main(command) == 0
    assert capsys.readouterr().out.startswith("Pip, Griffon Bruxellois, rough coat, 21 Mar")
    assert main([*command, "--steps"]) == 0
    assert "If the dog comes later" in capsys.readouterr().out
    assert main([*command, "--why", "back"]) == 0
    assert capsys.readouterr().out.startswith("- ")
    assert main([*command, "--why", "bak"]) == 1
    assert "Use 'back'" in capsys.readouterr().err


def test_what_is_named_in_a_pass_about_something_else_says_what_is_done_there() -> None:
    """A place that stood under a rake or a comb alone would be raked or combed, where it is to be clipped."""
    others = 0
    for name in ids()[::6]:
        for one in pass_lines(order := work_order(name, HISTORIES["new"], date=DAY)):
            tasks = {stretch.task for stretch in one.stretches if not stretch.tender}
            for stretch in one.stretches if tasks else ():
                for detail in (Detail.NAMED, Detail.IN_PLACE) if stretch.tender else ():
                    words = tender_parts(order, one, [stretch], detail)
                    assert words.startswith(f"{stretch.task} ") == (stretch.task not in tasks)
                    others += stretch.task not in tasks
    assert others > 15


@pytest.mark.parametrize("width", [40, 52, 80])
def test_a_narrow_terminal_breaks_no_line(width: int) -> None:
    """Below sixty columns the terminal broke lines in the middle of words."""
    lines = sheet(PIP, width).splitlines()
    assert max(map(len, lines)) <= width
    words = " ".join(lines).replace("│", " ").split()
    assert "thighs" in words, "and what is said is the same"


def test_a_tool_is_named_only_where_it_is_taken_up() -> None:
    """Short parts get both rakes in one go: "then coarse rake" stood behind every other part."""
    history = {**HISTORIES["new"], "visits": [{"visit": "2026-03-07", "work": {"body": {"card": True, "pull": 0.2}}}]}
    named = 0
    orders = [
        work_order(name, history, date=DAY) for name in ("border-terrier", "griffon-bruxellois-rough", "welsh-terrier")
    ]
    for order in (*orders, work_order("griffon-bruxellois-rough", HISTORIES["puppy"], date=DAY)):
        for one in pass_lines(order):
            taken = re.findall(r"then ([\w ]+):", where(order, one, Detail.IN_PLACE))
            assert all(before != after for before, after in pairwise(taken))
            assert not re.fullmatch(r"(.+) then [\w ]+: \1", where(order, one, Detail.IN_PLACE)), (
                "both tools stand at the head"
            )
            named += len(taken)
    assert named


def test_a_whole_group_is_told_by_its_name() -> None:
    """Where both outlines stood side by side they took half a line, and toes, pads and legs were spelt out part by part."""
    shown = sheet(PIP)
    assert re.search(r"scissors: foot outlines ", shown)
    assert "outline of the" not in shown
    assert "brisket; legs" in shown
    assert "; pads 1;" in shown
    assert "round the genitals" in shown  # its group's name says no more than the parts' own


@pytest.mark.parametrize(
    ("regions", "told"),
    [
        (("forefeet", "hindfeet"), "foot outlines"),
        (("hindfeet", "forefeet"), "foot outlines"),
        (("front-toes",), "toes of the forefeet"),
        (("forefeet", "front-pads"), "outline of the forefeet, between the pads of the forefeet"),
        (("brisket", "forearms", "front-pasterns", "lower-thighs", "hocks"), "brisket, legs"),
        (("neck-top", "neck-sides", "withers", "back"), "top of the neck to back"),
        (("armpits", "groin"), "armpits, groin"),
    ],
)
def test_parts_are_told_in_as_few_names_as_say_them_all(regions: tuple[str, ...], told: str) -> None:
    assert parts(PIP, Stretch(regions, "", "", False, ())) == told


def test_the_box_tells_the_share_of_what_takes_longest_and_of_what() -> None:
    """It told the middle of all shares: a twelfth, where the jacket gave a fifth and many small parts less."""
    rolled = work_order("welsh-terrier", {"format": 1, "dog": {"id": "tansy"}}, date=DAY, minutes=180)
    assert {step.share for step in rolled.steps if step.region == "back" and step.share} == {0.25}
    assert decided(rolled)[0].startswith("Roll on, a quarter: body")
    dog = {"id": "fell", "regime": "staged", "show": "2026-05-23"}
    arrival = {"jacket": {"grown_weeks": 26}, "tail": {"grown_weeks": 26}, "head": {"grown_weeks": 20}}
    staged = work_order("lakeland-terrier", {"format": 1, "dog": dog, "arrival": arrival}, date=DAY, minutes=180)
    assert decided(staged)[0] == "Strip, all: withers, back, loin, croup, sides of the chest, flanks."


def test_the_box_begins_with_the_jacket_and_tells_like_shares_as_one() -> None:
    """It told half of the skull first, as the jacket's time went in two; and a quarter apart from just under a quarter."""
    visits = [
        {"visit": "2026-01-12", "work": {"jacket": {"card": True, "pull": 0.25}}},
        {"visit": "2026-02-11", "work": {"jacket": {"card": True, "pull": 0.2}}},
    ]
    history = {"format": 1, "dog": {"id": "ash", "born": "2021-05-03"}, "visits": visits}
    usual = work_order("wire-fox-terrier", history, date=DAY)
    jacket = {step.share for step in usual.steps if step.region in ("back", "shoulders") and step.share}
    assert len(jacket) == 2
    assert max(jacket) < 1.15 * min(jacket)
    assert decided(usual)[0].startswith("Roll on, just under a quarter: jacket")
    knife = next(line for line in pass_lines(usual) if "stripping knife" in line.tool)
    assert knife.amount == "under 1/4"  # not "1/4 to under 1/4"
    seen = [*visits, {"visit": DAY, "seen": {"back": {"comes": "holds"}}}]
    held = work_order("wire-fox-terrier", {**history, "visits": seen}, date=DAY, minutes=180)
    assert decided(held)[0].startswith("Roll on, a quarter: body")
