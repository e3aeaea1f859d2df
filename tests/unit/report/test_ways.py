"""Ways of their own: a show ahead, a puppy, a whole strip, a clipped coat, a dog under a vet's stop; each with its box, interval and
words to the owner."""

from __future__ import annotations

import json
import re
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest

from coatrules import Engine, InputError, WorkOrder, load_profile, work_order
from coatrules.cli import main
from coatrules.dog.loading import read_history
from coatrules.order.show_ahead import BLOWN, WORK_SHOWS_DAYS
from coatrules.recording.entry import as_planned
from coatrules.report.box import decided
from coatrules.report.owner import owner_text
from coatrules.report.passes import Detail, pass_lines, where
from coatrules.report.text import text

DAY = date(2026, 11, 26)
ROLLED = ["norwich-terrier", "wire-fox-terrier-show", "border-terrier"]


def rolled(profile: str, *, visits: int = 3, **dog: Any) -> dict[str, Any]:
    """A dog kept by its own orders up to an interval before the day."""
    every = timedelta(weeks=load_profile(profile).visit.every_weeks)
    made: list[dict[str, Any]] = []
    history = {"format": 1, "dog": {"id": "tip", "born": "2021-03-01", **dog}, "visits": made}
    for number in range(visits, 0, -1):
        day = DAY - number * every
        made.append({"visit": day.isoformat(), **as_planned(work_order(profile, history, date=day))})
    return history


ROWS = {profile: rolled(profile) for profile in ROLLED}


def with_show(profile: str, show: date) -> dict[str, Any]:
    return {**ROWS[profile], "dog": {**ROWS[profile]["dog"], "show": show.isoformat()}}


def order_of(file: Path, capsys: pytest.CaptureFixture[str], *more: str) -> str:
    assert main(["order", str(file), "--date", DAY.isoformat(), *more]) == 0
    return capsys.readouterr().out


# --- a show ---


@pytest.mark.parametrize("profile", ROLLED)
def test_what_will_be_right_on_the_day_is_what_is_found_on_it(profile: str) -> None:
    """The day's work recorded as ordered, and the coat read on the show day itself."""
    for weeks in (2, 5, 9):
        show = DAY + timedelta(weeks=weeks)
        history = with_show(profile, show)
        order = work_order(profile, history, date=DAY)
        ahead = order.show
        assert ahead is not None
        assert ahead.day == show
        visit = {"visit": DAY.isoformat(), **as_planned(order)}
        then = work_order(profile, {**history, "visits": [*history["visits"], visit]}, date=show)
        targets = {
            name: target
            for target in load_profile(profile).layer_targets.values()
            for name in ahead.right + tuple(ahead.faults)
            if name in target.regions
        }
        for name, target in targets.items():
            facts: Any = then.all_facts[name]
            faults = {
                "short": target.show_mm is not None and facts["outline_mm"] < target.show_mm[0],
                "bare": target.cover is not None and facts["cover"] < target.cover.at_least,
                "long": (span := target.show_mm or target.longest_mm) is not None and facts["outline_mm"] > span[1],
                "blown": facts["blown_share"] >= BLOWN,
            }
            assert ahead.faults.get(name) == next((fault for fault, is_so in faults.items() if is_so), None)


@pytest.mark.parametrize("profile", ROLLED)
@pytest.mark.parametrize("days", range(1, 40, 3))
def test_nothing_is_done_by_hand_where_it_would_show(profile: str, days: int) -> None:
    """Four to five days before a show trimming is done (an English Cocker Spaniel club's guide)."""
    show = DAY + timedelta(days=days)
    order = work_order(profile, with_show(profile, show), date=DAY)
    kinds = {step.task for step in order.steps}
    if days <= WORK_SHOWS_DAYS:
        assert not kinds & {"card", "pull"}
    best = order.next_visit.best
    assert best > show or (show - best).days > WORK_SHOWS_DAYS
    assert best > DAY


@pytest.mark.parametrize("days", [5, 20, 26])
def test_no_day_is_named_on_which_work_would_show(days: int) -> None:
    """'Any day from Tuesday to Monday' held the show and the days before it."""
    show = DAY + timedelta(days=days)
    visit = work_order("norwich-terrier", with_show("norwich-terrier", show), date=DAY).next_visit
    assert visit.latest is not None
    assert visit.earliest <= visit.best <= visit.latest
    assert visit.earliest > show or visit.latest < show - timedelta(days=WORK_SHOWS_DAYS)


def test_before_a_show_nothing_is_said_of_how_the_coat_would_be_worked() -> None:
    """'Nothing is to be done today', 'no work' and 'its usual share at every visit' stood in one box."""
    gap = {"format": 1, "dog": {"id": "tip", "born": "2021-03-01"}, "visits": ROWS["norwich-terrier"]["visits"][:1]}
    far = work_order("norwich-terrier", gap, date=DAY + timedelta(weeks=20))
    assert any("Away for" in sentence for sentence in decided(far)), "or nothing is shown"
    for days, told in ((0, ["Show today: no work."]), (2, ["No pulling today.", "Show in 2 days"])):
        show = far.date + timedelta(days=days)
        near = work_order(
            "norwich-terrier", gap | {"dog": {"id": "tip", "born": "2021-03-01", "show": show}}, date=far.date
        )
        assert not any("Away for" in sentence for sentence in decided(near))
        assert all(sentence.startswith(start) for sentence, start in zip(decided(near), told, strict=False))


def test_while_several_visits_come_before_a_show_one_sentence_tells_of_it() -> None:
    """At twenty weeks before the show the box listed the whole dog."""
    words = {}
    for weeks in (20, 12, 2):
        history = with_show("norwich-terrier", DAY + timedelta(weeks=weeks))
        order = work_order("norwich-terrier", history, date=DAY)
        assert order.show is not None
        assert {"blown", "long"} & {*order.show.faults.values()}
        words[weeks] = [sentence for sentence in decided(order)[1:] if "Lift" not in sentence]
        assert ("plan --show" in Engine().text(order)) is (weeks > 2)
    later = "Today's work alone will not do for it; the visits before it decide."
    assert words[20] == [f"Show in 20 weeks ({DAY + timedelta(weeks=20):%-d %b}).", later]
    assert words[12][1] == later
    assert len(words[2]) > 2 or "unless it is worked again before" in words[2][1]


def test_what_no_day_is_left_to_mend_is_told_as_it_is() -> None:
    order = work_order("norwich-terrier", with_show("norwich-terrier", DAY + timedelta(days=5)), date=DAY)
    assert order.show is not None
    assert not any("unless it is worked again" in sentence for sentence in decided(order))
    assert any(" on the day: " in sentence for sentence in decided(order))


@pytest.mark.parametrize("profile", ROLLED)
def test_on_the_show_day_there_is_no_work(profile: str) -> None:
    """Toes were pulled on the morning of a show."""
    order = work_order(profile, with_show(profile, DAY), date=DAY)
    assert not order.steps
    assert decided(order)[-1] == "Show today: no work."


def test_weeks_to_the_show_are_counted_as_people_say_them() -> None:
    """'Show in 1 weeks' and 'Show in 0 weeks' were printed."""
    starts = {
        4: "Show in 4 days (30 Nov)",
        1: "Show tomorrow",
        7: "Show in a week (3 Dec).",
        9: "Show in 9 days (5 Dec).",
        63: "Show in 9 weeks (28 Jan).",
    }
    for days, start in starts.items():
        order = work_order("norwich-terrier", with_show("norwich-terrier", DAY + timedelta(days=days)), date=DAY)
        assert any(sentence.startswith(start) for sentence in decided(order))


def test_a_stored_order_keeps_its_show() -> None:
    order = work_order("norwich-terrier", with_show("norwich-terrier", DAY + timedelta(weeks=6)), date=DAY)
    assert WorkOrder.from_dict(order.to_dict()).show == order.show


def test_a_profile_without_show_lengths_takes_them_from_the_file_or_the_command_line(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The error sent the groomer to edit a file of the library."""
    show = DAY + timedelta(weeks=6)
    history = with_show("norwich-terrier", show)
    history["dog"] |= {"profile": "norwich-terrier"}
    target = next(iter(load_profile("norwich-terrier").layer_targets))
    own = {**history, "dog": {**history["dog"], "show_mm": {target: [250, 300]}}}
    plain, told = (work_order("norwich-terrier", one, date=DAY).show for one in (history, own))
    assert plain is not None
    assert told is not None
    short = {name for name, fault in told.faults.items() if fault == "short"}
    assert short
    assert not {name for name, fault in plain.faults.items() if fault == "short"}
    file = tmp_path / "tip.json"
    file.write_text(json.dumps(history))
    found = json.loads(order_of(file, capsys, "--format", "json", "--show-mm", f"{target}: 250-300"))
    assert {name for name, fault in found["show"]["faults"].items() if fault == "short"} == short
    engine = Engine()
    assert engine.order(own, date=DAY).show == told
    with pytest.raises(SystemExit):
        order_of(file, capsys, "--show-mm", "jacket")
    assert main(["order", str(file), "--date", DAY.isoformat(), "--show-mm", "jakcet: 20-30"]) == 1
    assert "no layer target, region, group or zone 'jakcet'" in capsys.readouterr().err
    assert main(["order", str(file), "--date", DAY.isoformat(), "--show-mm", f"{target}: 30-20"]) == 1
    assert "Write the shorter one first" in capsys.readouterr().err


def test_show_lengths_are_taken_for_any_part_that_is_pulled() -> None:
    """Only names of layer targets were understood."""
    history = with_show("norwich-terrier", DAY + timedelta(weeks=6))
    own = {"body": [3, 200], "back": [190, 200], "jacket": [180, 200]}
    shows = {}
    for part in (None, *own):
        wanted = own if part is None else {part: own[part]}
        show = work_order("norwich-terrier", {**history, "dog": {**history["dog"], "show_mm": wanted}}, date=DAY).show
        assert show is not None
        shows[part] = {name for name, fault in show.faults.items() if fault == "short"}
    assert shows["back"] == {"back"}
    assert not shows["body"]
    assert {"back", "loin"} < shows["jacket"]
    of_body = Engine().regions(history, "body", profile="norwich-terrier")
    assert shows[None] == {"back"} | (shows["jacket"] - {*of_body})


def test_no_length_is_taken_for_what_nobody_pulls() -> None:
    """A Deerhound's ears alone are tidied; what is wanted of its jacket no visit can bring about."""

    def dog(**show_mm: list[int]) -> dict[str, Any]:
        return {"format": 1, "dog": {"id": "fern", "profile": "deerhound", "show_mm": show_mm}}

    with pytest.raises(InputError, match="no hair of 'jacket' is pulled") as refused:
        Engine().order(dog(jacket=[60, 100]), date=DAY)
    assert "Lengths can be wanted of ears" in str(refused.value)
    with pytest.raises(InputError, match="nothing says how long the hair is to be") as refused:
        Engine().plan(dog(), date=DAY, show=DAY + timedelta(weeks=20))
    assert not refused.value.problems[0].file, "or the groomer is sent to a file of the library"
    engine = Engine()
    words = engine.text(engine.plan(dog(ears=[5, 20]), date=DAY, show=DAY + timedelta(weeks=20)))
    assert "All regions" not in words, "of the ears"


# --- a puppy ---


def test_a_puppy_comes_back_within_a_week_or_two_and_its_owner_practises() -> None:
    """Its next visit was four weeks off, and its owner read that there had been no time."""
    puppy = {"format": 1, "dog": {"id": "mite", "born": "2026-07-20"}}
    for minutes in (10, None):
        order = work_order("norwich-terrier", puppy, date=DAY, minutes=minutes)
        assert 7 <= (order.next_visit.best - DAY).days <= 14
        assert not any("pulling" in sentence for sentence in decided(order)), "nobody asked about pulling"
        words = " ".join(owner_text(order).split())
        assert "practised standing on the table" in words
        assert "There is no time for" not in words


def test_a_puppy_that_practised_is_told_shortly_and_until_when() -> None:
    """The same box stood there every week for months."""
    engine, born = Engine(), DAY - timedelta(weeks=10)
    dog = {"format": 1, "dog": {"id": "pup", "profile": "border-terrier", "born": born.isoformat()}}
    visits: list[dict[str, Any]] = []
    boxes = []
    for week in range(3):
        order = engine.order({**dog, "visits": visits}, date=DAY + timedelta(weeks=week))
        visits.append({"visit": order.date.isoformat(), **as_planned(order)})
        boxes.append(decided(order)[0])
        assert order.minutes_planned <= 10
        assert "Getting used to the table" in owner_text(order)
    assert "rake lightly" in boxes[0]
    grown = born + timedelta(weeks=26)
    assert (
        boxes[1]
        == boxes[2]
        == (
            "Table practice again, 10 min at most: as last time, and stop while the dog still likes it. "
            f"The coat is worked from {grown:%-d %B %Y} on."
        )
    )
    assert not any(step.share for step in engine.order(dog, date=grown - timedelta(days=1)).steps)


def test_the_plan_of_a_puppy_begins_when_it_is_grown() -> None:
    """It was refused."""
    engine, born = Engine(), DAY - timedelta(weeks=10)
    dog = {"format": 1, "dog": {"id": "pup", "profile": "border-terrier", "born": born.isoformat()}}
    plan = engine.plan(dog, date=DAY)
    grown = born + timedelta(weeks=26)
    assert plan.visits[0].day == grown
    assert any(note.code == "plan.puppy" and note.params["until"] == grown for note in plan.notes)
    for options in ({"dates": [grown - timedelta(days=1)]}, {"show": grown + timedelta(days=4)}):
        with pytest.raises(InputError, match="is a puppy until"):
            engine.plan(dog, date=DAY, **options)
    later = engine.plan(dog, date=grown)
    assert later.visits[0].day == grown
    assert "plan.puppy" not in {note.code for note in later.notes}


def test_a_second_tour_over_the_same_parts_is_told_once() -> None:
    """'Top of the neck to back, upper arms top of the neck to back, upper arms' was a puppy's whole order."""
    puppy = {"format": 1, "dog": {"id": "mite", "born": "2026-07-20"}}
    order = work_order("norwich-terrier", puppy, date=DAY)
    words = where(order, pass_lines(order)[0], Detail.IN_PLACE)
    assert not re.fullmatch(r"(.+) (then [\w ]+: )?\1", words), "the tool stands at the head of the line"


# --- a vet's stop ---


def test_no_day_is_named_to_the_owner_of_a_dog_that_goes_to_the_vet() -> None:
    ill = {"format": 1, "dog": {"id": "tip"}, "visits": [{"visit": "2026-11-20", "health": ["unwell"]}]}
    words = owner_text(work_order("norwich-terrier", ill, date=DAY))
    assert "Best on" not in words
    assert "once a veterinary surgeon agrees" in words


def test_an_order_of_no_work_is_as_short_as_its_facts() -> None:
    """All parts were listed one by one, and what would be found on a best day that nobody named."""
    ill = {"format": 1, "dog": {"id": "tip"}, "visits": [{"visit": "2026-11-20", "health": ["unwell"]}]}
    order = work_order("norwich-terrier", ill, date=DAY, ahead=True)
    words = text(order)
    assert "Hands stay off the dog today." in words
    assert not any(label in words for label in order.labels.values())
    assert "best day" not in words


def test_where_a_part_is_for_the_vet_and_others_are_worked_it_is_not_said_that_the_vet_comes_first() -> None:
    sore = {
        "format": 1,
        "dog": {"id": "tip"},
        "visits": [{"visit": "2026-11-20", "seen": {"back": {"skin": "unsound"}}}],
    }
    order = work_order("norwich-terrier", sore, date=DAY)
    assert order.steps
    assert decided(order)[0].startswith("FOR THE VET TO SEE. Back")


def test_a_dog_is_lifted_down_after_an_hour_of_work_and_not_of_none() -> None:
    ill = {"format": 1, "dog": {"id": "tip"}, "visits": [{"visit": "2026-11-20", "health": ["unwell"]}]}
    assert not any(
        "Lift the dog down" in sentence for sentence in decided(work_order("norwich-terrier", ill, date=DAY))
    )
    full = work_order("norwich-terrier", {"format": 1, "dog": {"id": "tip"}}, date=DAY)
    assert any("Lift the dog down" in sentence for sentence in decided(full))


# --- a whole strip, a clipped coat ---


@pytest.fixture
def clipped(tmp_path: Path) -> Path:
    file = tmp_path / "clip.yaml"
    file.write_text(
        "format: 1\ndog: {id: clip, profile: border-terrier, born: 2021-03-01}\n"
        "arrival: {jacket: {clipped_mm: 9, clipped_weeks: 30}}\n"
    )
    return file


def test_a_coat_clipped_more_than_once_is_told_one_way_back() -> None:
    """The same sentence stood there twice, of two days."""
    visits = [
        {"visit": day, "work": {part: {"clip": 6}}} for day, part in (("2026-09-01", "jacket"), ("2026-10-15", "legs"))
    ]
    history = {"format": 1, "dog": {"id": "clip", "born": "2021-03-01"}, "visits": visits}
    order = work_order("border-terrier", history, date=DAY)
    assert sum(finding.code == "rolling-ended-clip" for finding in order.findings) > 1, "or nothing is shown"
    assert sum("brought back over two or three" in sentence for sentence in decided(order)) == 1


def test_a_clipped_coat_is_brought_back_and_not_rolled(clipped: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A third was to be pulled, and elsewhere all (two or three strips: published for the Border Terrier); the thinned third then put the
    strip off at every visit, so that it was never done."""
    clipped.write_text(clipped.read_text().replace("clipped_weeks: 30", "clipped_weeks: 8"))
    words = " ".join(order_of(clipped, capsys).replace("│", "").split())
    assert "Roll on" not in words
    assert "brought back over two or three whole strips" in words
    assert "--strip-whole" in words
    assert "Pull a" not in words, "one way is told, not two"
    assert "thinned" not in words


def test_a_coat_clipped_long_ago_is_told_one_way_back_and_of_which_year() -> None:
    """It was also told that its usual share at every visit would layer it again."""
    history = {
        "format": 1,
        "dog": {"id": "clip"},
        "visits": [{"visit": "2025-09-14", "work": {"body": {"clip": 6}}}],
    }
    order = work_order("border-terrier", history, date=date(2026, 11, 27))
    assert {"rolling-ended-gap", "rolling-ended-clip"} <= {finding.code for finding in order.findings}
    box = " ".join(decided(order))
    assert "Clipped on 14 September 2025" in box
    assert "usual share at every visit" not in box


def test_a_clipped_coat_is_not_called_back_the_next_day(clipped: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Half a year's cut hair is about to blow at any time: the owner was told 'no later than' tomorrow, after a full day's work."""
    history = {
        "format": 1,
        "dog": {"id": "clip"},
        "arrival": {"body": {"grown_weeks": 12}},
        "visits": [{"visit": "2026-01-05", "work": {"jacket": {"clip": 6}}}],
    }
    visit = work_order("dachshund-wire-haired", history, date=DAY).next_visit
    assert visit.latest is not None
    assert (visit.best - DAY).days >= 7
    stripped = " ".join(order_of(clipped, capsys, "--strip-whole", "--minutes", "60").replace("│", "").split())
    assert "Strip, " in stripped
    assert "--strip-whole" not in stripped, "it is what is done"


def test_a_whole_strip_goes_section_by_section_the_jacket_first(
    clipped: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    words = order_of(clipped, capsys, "--strip-whole", "--minutes", "60", "--format", "json")
    order = WorkOrder.from_dict(json.loads(words))
    pulled = [step.region for step in order.steps if step.share and step.bout == 1]
    assert {step.share for step in order.steps if step.share} == {1.0}
    assert {"neck-top", "neck-sides", "withers"} <= set(pulled), "from the neck on"
    assert "skull" not in pulled
    assert (order.next_visit.best - DAY).days <= 7, "the rest of it"
    assert any("further days" in sentence for sentence in decided(order))


def test_in_a_whole_strip_what_comes_easily_goes_first() -> None:
    """The sides of the chest were put off though the hand said that they came easily: hair is taken while it comes (common practice, no
    source)."""
    grown = {part: {"grown_weeks": 30} for part in ("jacket", "tail", "legs", "head", "underline")}
    dog = {"format": 1, "dog": {"id": "stag", "profile": "border-terrier", "born": "2021-05-01"}, "arrival": grown}

    def stripped(**seen: Any) -> set[str | None]:
        visit = {"visit": DAY.isoformat(), "seen": {part: {"comes": how} for part, how in seen.items()}}
        order = Engine().order({**dog, "visits": [visit]}, date=DAY, minutes=90, strip_whole=True)
        return {step.region for step in order.steps if step.share}

    assert not {"ribs", "forearms"} & stripped()
    assert "ribs" in stripped(ribs="easily")
    assert "forearms" in stripped(legs="easily")
    assert "forearms" not in stripped(legs="mixed")
    assert "back" not in stripped(back="holds")


def test_a_whole_strip_is_recorded_as_it_was_ordered(clipped: Path, capsys: pytest.CaptureFixture[str]) -> None:
    day = ["--date", DAY.isoformat()]
    assert main(["record", str(clipped), *day, "--as-planned", "--strip-whole", "--minutes", "60"]) == 0
    capsys.readouterr()
    history = read_history(clipped.read_bytes(), clipped)
    assert history.visits[-1].work["withers"].pull == 1
    assert main(["explain", str(clipped), "withers", *day, "--strip-whole"]) == 0


def test_a_puppy_practises_again_a_week_later(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Nothing was left to rake: 'rake lightly over the calm parts' stood above 'nothing is to be done today', the visit recorded
    nothing, and the puppy was due every day."""
    file, day = tmp_path / "pup.yaml", DAY
    file.write_text("format: 1\ndog: {id: pup, profile: cairn-terrier, born: 2026-09-10}\n")
    for _ in range(3):
        assert main(["order", str(file), "--date", day.isoformat()]) == 0
        words = capsys.readouterr().out
        again = "again" if day > DAY else "today"
        assert f"Table practice {again}, 10 min at most" in " ".join(words.replace("│", "").split())
        assert "Nothing is to be done" not in words
        assert main(["record", str(file), "--date", day.isoformat(), "--as-planned"]) == 0
        capsys.readouterr()
        assert main(["order", str(file), "--date", day.isoformat(), "--for", "owner"]) == 0
        assert "Getting used to the table" in capsys.readouterr().out, "it was gone once the visit was recorded"
        history = read_history(file.read_bytes(), file)
        due = Engine().due(history, date=day + timedelta(days=1))
        assert 7 <= (due.day - day).days <= 14
        day = due.day


def test_a_coat_that_was_pulled_and_not_raked_is_not_told_to_the_owner_as_left() -> None:
    """The jacket was missing from what was done, and was told as left."""
    visit = {"visit": DAY.isoformat(), "work": {"jacket": {"pull": 0.2}}}
    text = " ".join(
        owner_text(
            work_order("border-terrier", {**rolled("border-terrier", visits=1)} | {"visits": [visit]}, date=DAY)
        ).split()
    )
    assert re.search(r"Pulled by hand: [^.]*jacket", text), text
    assert not re.search(r"Left for next time: [^.]*jacket", text)


def test_the_pause_of_a_visit_little_longer_than_an_hour_is_half_way() -> None:
    """The dog was lifted down after an hour of sixty-one minutes."""
    texts = {
        minutes: [
            one.text
            for one in work_order("border-terrier", rolled("border-terrier", visits=1), date=DAY, minutes=minutes).first
        ]
        for minutes in (50, 62)
    }
    assert not any("Lift the dog down" in text for text in texts[50])
    assert any("Lift the dog down half-way" in text for text in texts[62])
