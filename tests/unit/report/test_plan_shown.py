"""The plan command and the plan's data: what is shown, what is refused and in which words."""

from __future__ import annotations

import json
import re
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest
import yaml
from jsonschema import Draft202012Validator

from coatrules import InputError
from coatrules.cli import main
from coatrules.formats.resources import schema
from coatrules.plan import compare_intervals, plan_ahead, staged_strip
from coatrules.profile.floor import DAY_MINUTES
from coatrules.report.plan import text
from tests.unit.plan.test_plan import ROLLING, profile_of

TODAY = date(2026, 3, 21)
VALID = Draft202012Validator(schema("plan"), format_checker=Draft202012Validator.FORMAT_CHECKER)
SHOWN = profile_of(show_mm=[12, 25])


def plans() -> dict[str, Any]:
    """One of each kind, and one whose dates clash."""
    return {
        "visits": plan_ahead(SHOWN, ROLLING, date=TODAY, show=date(2026, 6, 20), sure=True),
        "clash": plan_ahead(SHOWN, ROLLING, date=TODAY, visits=12, minutes=20),
        "far": plan_ahead(SHOWN, ROLLING, date=TODAY, dates=[date(2026, 5, 1), date(2026, 8, 1)], minutes=300),
        "stages": staged_strip(SHOWN, ROLLING, date=TODAY, show=date(2026, 9, 5)),
        "intervals": compare_intervals(SHOWN, ROLLING, date=TODAY, weeks=(8, 3)),
    }


def test_every_plan_is_as_its_schema_says() -> None:
    for name, result in plans().items():
        data = json.loads(json.dumps(result.to_dict()))
        VALID.validate(data)
        for key in data:
            less = {other: value for other, value in data.items() if other != key}
            assert not VALID.is_valid(less), f"{name} without {key}"
        assert not VALID.is_valid(data | {"kind": "other"})


def test_the_vet_comes_before_the_days() -> None:
    last = {**ROLLING["visits"][-1], "seen": {"tail": {"skin": "unsound"}}}
    profile = profile_of()
    profile["regions"]["tail"] = {"label": "Tail", "coat": "jacket", "minutes": {"pull": 5}}
    shown = text(plan_ahead(profile, {**ROLLING, "visits": [*ROLLING["visits"][:-1], last]}, date=TODAY, visits=2))
    vet = shown.index("To a veterinary surgeon first: the skin is not sound (tail).")
    assert vet < shown.index("The visits")
    assert "skin is not sound (tail)" not in shown[vet + 60 :]


def test_the_text_says_what_the_data_says() -> None:
    texts = {name: text(result, width=72) for name, result in plans().items()}
    assert all(len(line) <= 72 for shown in texts.values() for line in shown.splitlines())
    assert "The whole coat is in order from Saturday 11 April 2026:" in texts["visits"]
    assert "On the show day, Saturday 20 June 2026" in texts["visits"]
    assert "Jacket: pull a fifth" in text(plan_ahead(SHOWN, ROLLING, date=TODAY, visits=2))
    assert "the coat is not all in order" in " ".join(texts["clash"].split())
    assert "of the hair is blown or longer than wanted" in " ".join(texts["clash"].split())
    assert "The smallest change that would help" in texts["clash"]
    assert "min more" in texts["clash"]
    assert "A cover of" in texts["far"]
    assert re.search(r"taken at once .*: Jacket", " ".join(texts["far"].split()))
    # Each day and figure had a line of its own: a dozen and more.
    for name in ("clash", "far"):
        relaxed = texts[name].partition("The smallest change that would help")[2].partition("\n\n")[0]
        assert 1 <= relaxed.count("\n  - ") <= 5
    assert "- Up to " in texts["clash"].partition("The smallest change that would help")[2].splitlines()[1]
    assert "Back: " in texts["stages"]
    assert "Ribs: " in texts["stages"]
    assert "12 to 25 mm is wanted" in " ".join(texts["stages"].split())
    assert re.search(r"Any day from \d+ [A-Z][a-z]+ \d{4} to \d+ [A-Z][a-z]+ \d{4} would do", texts["stages"])
    assert "The longest interval that keeps every target: 3 weeks." in texts["intervals"]
    assert "8 weeks: jacket: " in texts["intervals"]
    for name in ("visits", "clash", "far", "stages"):
        assert "Local animal welfare codes" in texts[name]
    none = text(compare_intervals(SHOWN, ROLLING, date=TODAY, weeks=[8]))
    assert "None of these intervals keeps every target." in none


def test_many_visits_that_are_too_short_are_told_together() -> None:
    plan = plans()["clash"]
    longer = [relaxation for relaxation in plan.loosenings if relaxation.kind == "minutes"]
    said = " ".join(text(plan).split())
    assert len(longer) > 3
    assert f" min more at {len(longer)} visits, from " in said
    assert said.count("min more") == 1


def test_visits_left_alone_are_said_so() -> None:
    stripped = {**ROLLING, "visits": [{"visit": TODAY.isoformat(), "work": {p: {"pull": 1} for p in ("back", "ribs")}}]}
    assert "Jacket: leave alone" in text(plan_ahead(SHOWN, stripped, date=TODAY, visits=2))


# --- refused ---


@pytest.mark.parametrize(
    ("options", "message"),
    [
        ({"dates": [date(2026, 3, 20)]}, "date is in the past: 2026-03-20. The plan starts on 2026-03-21"),
        ({"dates": [date(2026, 3, 21)]}, "a visit on 2026-03-21 is already recorded"),
        ({"dates": [date(2026, 5, 1)] * 2}, "duplicate date: 2026-05-01"),
        ({"dates": [date(2036, 5, 1)]}, "more than three years ahead"),
        ({"dates": []}, "no dates given"),
        (
            {"dates": [date(2026, 8, 1)], "show": date(2026, 7, 1)},
            "date is after the show: 2026-08-01. The show is on 2026-07-01",
        ),
        ({"show": date(2026, 3, 1)}, "show date is in the past: 2026-03-01"),
        ({"every_weeks": 0}, "interval out of range: 0 weeks"),
        ({"every_weeks": float("nan")}, "interval out of range: nan weeks"),
        ({"visits": 0}, "number of visits out of range: 0"),
        ({"visits": 40, "every_weeks": 8}, "40 visits every 8 weeks reach more than three years ahead"),
        ({"show": date(2036, 3, 1)}, "reach more than three years ahead"),
    ],
)
def test_what_cannot_be_planned_is_said_in_plain_words(options: dict[str, Any], message: str) -> None:
    with pytest.raises(InputError, match=message):
        plan_ahead(SHOWN, ROLLING, date=TODAY, **options)


@pytest.mark.parametrize("minutes", [0, float("nan")])
def test_a_visit_needs_minutes(minutes: float) -> None:
    with pytest.raises(InputError, match="minutes") as refused:
        plan_ahead(SHOWN, ROLLING, date=TODAY, minutes=minutes)
    assert len(refused.value.problems) == 1


def test_all_wrong_dates_are_named_at_once() -> None:
    with pytest.raises(InputError) as refused:
        plan_ahead(SHOWN, ROLLING, date=TODAY, dates=[date(2026, 1, 1), date(2026, 2, 1)])
    assert len(refused.value.problems) == 2


def test_a_profile_without_hand_work_is_refused() -> None:
    profile = profile_of() | {"layer_targets": {}}
    with pytest.raises(InputError, match="has no region with hand work"):
        plan_ahead(profile, ROLLING, date=TODAY)


def test_a_show_needs_lengths_in_the_profile() -> None:
    for plan in (
        lambda: plan_ahead(profile_of(), ROLLING, date=TODAY, show=date(2026, 6, 20)),
        lambda: staged_strip(profile_of(), ROLLING, date=TODAY, show=date(2026, 6, 20)),
    ):
        with pytest.raises(InputError, match="nothing says how long the hair is to be"):
            plan()


def test_lengths_that_hair_never_has_are_refused() -> None:
    for plan in (
        lambda: plan_ahead(profile_of(show_mm=[50, 60]), ROLLING, date=TODAY, show=date(2026, 6, 20)),
        lambda: staged_strip(profile_of(show_mm=[50, 60]), ROLLING, date=TODAY, show=date(2026, 6, 20)),
    ):
        with pytest.raises(InputError, match="stops growing at 42 mm"):
            plan()
    with pytest.raises(InputError, match="the first length is longer than the second"):
        plan_ahead(profile_of(show_mm=[30, 20]), ROLLING, date=TODAY)


STRIPPED: dict[str, Any] = {
    "format": 1,
    "dog": {"id": "pip"},
    "arrival": {p: {"grown_weeks": 20} for p in ("back", "ribs")},
    "visits": [{"visit": "2026-03-14", "work": {p: {"pull": 1} for p in ("back", "ribs")}}],
}


def test_a_show_before_the_first_possible_coat_names_the_first_day() -> None:
    # Stripped on 14 March; 12 mm stand 4 + 12 / 2.1 = 9.71 weeks later, on the 68th day: 21 May.
    first = date(2026, 5, 21)
    with pytest.raises(InputError, match=f"Use a show on {first} or later"):
        plan_ahead(SHOWN, STRIPPED, date=TODAY, show=date(2026, 4, 25))
    assert plan_ahead(SHOWN, STRIPPED, date=TODAY, show=first).regions["back"].show_share == 1
    with pytest.raises(InputError):
        plan_ahead(SHOWN, STRIPPED, date=TODAY, show=first - timedelta(days=1))


def test_a_staged_strip_too_near_the_show_names_the_first_day() -> None:
    # A tenth of it is ripe 4 + 0.685 * 20 = 17.7 weeks after 14 March, on 16 July; 68 days on it is 12 mm long again: 22 September.
    first = date(2026, 9, 22)
    with pytest.raises(InputError, match=f"'jacket' cannot be 12 mm long again by then\n.*{first}"):
        staged_strip(SHOWN, STRIPPED, date=TODAY, show=date(2026, 6, 20))
    assert staged_strip(SHOWN, STRIPPED, date=TODAY, show=first).stages[0].day == date(2026, 7, 16)
    with pytest.raises(InputError):
        staged_strip(SHOWN, STRIPPED, date=TODAY, show=first - timedelta(days=1))
    with pytest.raises(InputError, match="is not after"):
        staged_strip(SHOWN, STRIPPED, date=TODAY, show=TODAY)


def test_a_staged_strip_waits_for_a_veterinary_surgeon() -> None:
    ill = {**STRIPPED, "visits": [{"visit": "2026-03-14", "health": ["nursing"]}]}
    with pytest.raises(InputError, match="hand work is not allowed: 'nursing' is recorded"):
        staged_strip(SHOWN, ill, date=TODAY, show=date(2026, 9, 5))


def test_a_wait_of_three_days_only_moves_what_falls_into_it() -> None:
    """No hand work for 72 hours after a spot-on treatment (coatrules.dog.safety): a stage far off is none the worse."""
    treated = {**STRIPPED, "visits": [{"visit": TODAY.isoformat(), "health": ["spot-on-treatment"]}]}
    free = {**STRIPPED, "visits": [{"visit": TODAY.isoformat(), "note": "Nothing."}]}
    show = date(2026, 9, 5)
    assert (
        staged_strip(SHOWN, treated, date=TODAY, show=show).stages
        == staged_strip(SHOWN, free, date=TODAY, show=show).stages
    )
    grown = {**free, "arrival": {name: {"grown_weeks": 20} for name in SHOWN["regions"]}}
    soon = staged_strip(SHOWN, grown, date=TODAY, show=show).stages[0]
    near = show - (soon.day - TODAY)  # the show for which it would be taken down today
    assert staged_strip(SHOWN, grown, date=TODAY, show=near).stages[0].first == TODAY
    waiting = staged_strip(SHOWN, {**grown, "visits": treated["visits"]}, date=TODAY, show=near).stages[0]
    assert waiting.first == TODAY + timedelta(days=3)


def test_regions_that_grow_too_differently_are_taken_down_one_by_one() -> None:
    profile = profile_of(show_mm=[12, 14])
    profile["coats"]["slow"] = profile["coats"]["jacket"] | {"mm_per_week": 1.0}
    profile["regions"]["ribs"]["coat"] = "slow"
    strip = staged_strip(profile, ROLLING, date=TODAY, show=date(2027, 2, 6))
    assert [stage.section for stage in strip.stages] == ["ribs", "back"]


def test_a_section_that_takes_longer_than_a_day_is_taken_down_on_several() -> None:
    profile = profile_of(show_mm=[12, 25], regions=["back", "ribs", "thighs"])
    profile["regions"]["thighs"] = {"label": "Thighs", "coat": "jacket", "minutes": {"pull": 60}}
    show = date(2026, 9, 5)
    whole = staged_strip({**profile, "regions": with_minutes(profile, 50)}, ROLLING, date=TODAY, show=show)
    assert len(whole.stages) == 1
    strip = staged_strip(profile, ROLLING, date=TODAY, show=show)
    assert sorted(stage.labels for stage in strip.stages) == [("Back",), ("Ribs", "Thighs")]
    days = [stage.day for stage in strip.stages]
    assert (days[1] - days[0]).days == 1
    assert whole.stages[0].day in days
    assert all(stage.first <= stage.day <= stage.last and stage.minutes <= DAY_MINUTES for stage in strip.stages)
    assert strip.notes == whole.notes
    # One place alone that takes longer is said to; so is a day that has to hold both.
    long = staged_strip({**profile, "regions": with_minutes(profile, 200)}, ROLLING, date=TODAY, show=show)
    assert any(note.code == "plan.long-stage" for note in long.notes)


def with_minutes(profile: dict[str, Any], minutes: int) -> dict[str, Any]:
    return {name: {**region, "minutes": {"pull": minutes}} for name, region in profile["regions"].items()}


def test_clipped_hair_is_not_taken_down_whole() -> None:
    clips = [{"visit": day, "work": {"ribs": {"clip": 9}}} for day in ("2025-10-04", "2025-11-01")]
    clipped = {"format": 1, "dog": {"id": "pip"}, "visits": clips}
    with pytest.raises(
        InputError, match=r"clipped hair is soft, and not stripped whole for the show .*: Ribs of 'jacket'"
    ):
        staged_strip(SHOWN, clipped, date=TODAY, show=date(2026, 9, 5))


def test_hair_that_never_grows_too_long_may_be_stripped_until_it_comes_loose() -> None:
    # 42 mm is full grown: any day would do on which it is 30 mm and none is loose yet, 4 + 0.65 * 20 + 2 weeks after the strip.
    show = date(2026, 12, 5)
    stage = staged_strip(profile_of(show_mm=[30, 60]), ROLLING, date=TODAY, show=show).stages[0]
    assert stage.first == show - timedelta(weeks=19)
    assert stage.last == show - timedelta(days=128)  # 4 + 30 / 2.1 = 18.29 weeks


def test_a_dog_whose_own_hair_stays_too_short_is_refused_before_a_show() -> None:
    last = {**ROLLING["visits"][-1], "seen": {p: {"longest_mm": 14, "at_end": True} for p in ("back", "ribs")}}
    short = {**ROLLING, "visits": [*ROLLING["visits"][:-1], last]}
    for plan in (staged_strip, plan_ahead):
        with pytest.raises(InputError, match="no hair of 'back' can be 30 mm long by the show") as refused:
            plan(profile_of(show_mm=[30, 36]), short, date=TODAY, show=date(2026, 9, 5))
        assert len(refused.value.problems) == 2


def test_unsound_skin_is_not_taken_down() -> None:
    seen = {"back": {"skin": "unsound"}}
    history = {**STRIPPED, "visits": [{**STRIPPED["visits"][0], "seen": seen}]}
    profile = profile_of(show_mm=[12, 25], regions=["back", "ribs", "thighs"])
    profile["regions"]["thighs"] = {"label": "Thighs", "coat": "jacket", "minutes": {"pull": 20}}
    strip = staged_strip(profile, history, date=TODAY, show=date(2026, 9, 5))
    assert [stage.labels for stage in strip.stages] == [("Thighs",)], "nor is what lies beside it"


def test_an_interval_that_leaves_no_time_is_said_so() -> None:
    profile = profile_of()
    profile["routines"] = {"feet": {"regions": ["back"], "task": "comb", "every_weeks": 3, "minutes": 30}}
    intervals = compare_intervals(profile, ROLLING, date=TODAY, weeks=[3], minutes=20)
    assert "minutes" in intervals.intervals[0].missed["visit"]
    assert "3 weeks: visit: not enough time" in text(intervals)


# --- the command ---


@pytest.fixture
def dog(tmp_path: Path) -> list[str]:
    """The arguments that name a dog, its profile and the day."""
    (tmp_path / "jacket.yaml").write_text(yaml.safe_dump(SHOWN, sort_keys=False))
    history = {key: value for key, value in ROLLING.items() if key != "visits"}
    (tmp_path / "pip.yaml").write_text(yaml.safe_dump_all([history, *ROLLING["visits"]], sort_keys=False))
    return [str(tmp_path / "pip.yaml"), "--profile", "jacket", "--profiles", str(tmp_path), "--date", "2026-03-21"]


def test_the_command_plans(dog: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["plan", *dog, "--every", "3", "--visits", "2"]) == 0
    assert "Saturday 2 May 2026" in capsys.readouterr().out
    for options, kind in (
        (["--dates", "2026-04-11", "2026-05-02"], "visits"),
        (["--show", "2026-09-05"], "visits"),
        (["--show", "2026-09-05", "--staged"], "stages"),
        (["--compare-intervals", "3"], "intervals"),
    ):
        assert main(["plan", *dog, *options, "--format", "json"]) == 0
        data = json.loads(capsys.readouterr().out)
        VALID.validate(data)
        assert data["kind"] == kind


def test_the_command_refuses_what_it_cannot_do(dog: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["plan", *dog, "--dates", "2026-01-01"]) == 1
    assert "date is in the past: 2026-01-01" in capsys.readouterr().err
    for wrong in (["--staged"], ["--every", "often"], ["--every", "2", "--dates", "2026-05-01"]):
        with pytest.raises(SystemExit) as ended:
            main(["plan", *dog, *wrong])
        assert ended.value.code == 2
    assert "is not a number of weeks" in capsys.readouterr().err


def test_without_the_extra_the_command_says_what_to_install(
    dog: list[str], capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("coatrules.extras.find_spec", lambda name: None)
    assert main(["plan", *dog]) == 1
    errors = capsys.readouterr().err
    assert "'plan' (scipy is not installed)" in errors
    assert "pip install 'coatrules[plan]'" in errors
    with pytest.raises(InputError, match=r"'plan' \(scipy is not installed\)"):
        plan_ahead(SHOWN, ROLLING, date=TODAY)


def test_trying_intervals_shows_a_bar_only_on_a_terminal(
    dog: list[str], capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    assert main(["plan", *dog, "--compare-intervals", "3"]) == 0
    assert capsys.readouterr().err == ""
    monkeypatch.setattr("sys.stderr.isatty", lambda: True)
    monkeypatch.setenv("TERM", "xterm")
    assert main(["plan", *dog, "--compare-intervals", "3", "4"]) == 0
    shown = capsys.readouterr()
    assert "Trying intervals" in shown.err
    assert "Trying" not in shown.out


def test_regions_of_one_target_are_called_by_it() -> None:
    profile = profile_of()
    target = profile["layer_targets"]["jacket"]
    profile["regions"]["tail-top"] = {"label": "Tail, top", "coat": "jacket", "minutes": {"pull": 5}}
    profile["layer_targets"]["tail"] = {**target, "regions": ["tail-top"], "take": {"usual": 0.25}}
    plan_text = text(plan_ahead(profile, ROLLING, date=TODAY, visits=5))
    assert "     - Jacket: pull a fifth\n" in plan_text
    assert "     - Tail, top: pull" in plan_text
    assert "The parts\n  - Jacket: Back, ribs\n" in plan_text


def test_most_of_a_target_is_called_by_it_and_what_is_missing_is_said_once() -> None:
    profile = profile_of()
    target = profile["layer_targets"]["jacket"]
    for name in ("loin", "croup", "neck", "tail-top"):
        profile["regions"][name] = {"label": name.capitalize(), "coat": "jacket", "minutes": {"pull": 5}}
    target["regions"] = ["back", "ribs", "loin", "croup", "neck"]
    profile["layer_targets"]["tail"] = {**target, "regions": ["tail-top"]}
    behind = {"croup": {"grown_weeks": 2}}
    others = {name: {"grown_weeks": 40} for name in ("back", "ribs", "loin", "neck", "tail-top")}
    history = {"format": 1, "dog": {"id": "pip"}, "arrival": behind | others}
    plan_text = " ".join(text(plan_ahead(profile, history, date=TODAY, visits=8, minutes=15)).split())
    assert "- Rest of the jacket" in plan_text.split("The parts")[0]
    assert "- Croup, tail-top: leave alone" in plan_text
    assert "- Jacket (not croup): Saturday" in plan_text.split("Where dates and targets conflict")[1]


def test_a_coat_that_is_overgrown_already_is_given_the_visits_it_needs() -> None:
    history = {"format": 1, "dog": {"id": "pip"}}
    short = plan_ahead(profile_of(), history, date=TODAY, visits=3, minutes=300)
    assert short.set_on is None  # three visits of five
    assert not short.clashes
    assert plan_ahead(profile_of(), history, date=TODAY, visits=12, minutes=15).clashes


# Weeks before the show: United States Lakeland Terrier Club, Staging methods of stripping (the tail with the quarters).
# Airedale: no weeks are published; an inch of body coat takes 8 to 10 weeks by the figures of growth the profiles rest on
# (the same club's weeks), a quarter to half an inch four to six, the underline of a
# quarter of an inch about four.
SHIPPED: dict[str, dict[str, tuple[float, float]]] = {
    "lakeland-terrier-staged": {
        "jacket": (8, 10),
        "neck-and-front": (6, 8.5),
        "quarters": (5.5, 6.5),
        "tail": (5.5, 6.5),
        "front": (4, 5),
        "short-hair": (4, 4.5),
    },
    "airedale-terrier": {"jacket": (8, 10.1), "neck-and-front": (4, 6), "brisket": (3, 5)},
    "wire-fox-terrier-show": {"jacket": (8, 14), "neck-and-front": (6, 10)},
}


@pytest.mark.parametrize("profile", SHIPPED)
def test_shipped_show_coats_are_planned_as_a_user_would(
    profile: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    dog = tmp_path / "ash.yaml"
    history = (
        f"format: 1\ndog: {{id: ash, profile: {profile}, show: 2026-06-06}}\narrival: {{body: {{grown_weeks: 30}}}}\n"
    )
    dog.write_text(history, encoding="utf-8")
    command = ["plan", str(dog), "--date", "2026-01-05", "--format", "json"]
    assert main([*command, "--staged"]) == 0
    data = json.loads(capsys.readouterr().out)
    assert data["show"] == "2026-06-06"
    weeks = {stage["section"]: stage["weeks_before"] for stage in data["stages"]}
    assert list(weeks) == list(SHIPPED[profile])
    for name, (least, most) in SHIPPED[profile].items():
        assert least <= weeks[name] <= most, (name, weeks[name])
    assert main([*command, "--show", "2026-06-06"]) == 0
    data = json.loads(capsys.readouterr().out)
    VALID.validate(data)
    shares = [region["show_share"] for region in data["regions"].values() if region["show_share"] is not None]
    assert shares
    assert max(shares) > 0.3
