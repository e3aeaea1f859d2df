"""Work on record against the floor: asked back before it is written, and named at its line where it stands."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any

import pytest

from coatrules import InputError, load_history, load_profile, work_order
from coatrules.cli import main
from coatrules.dog.against_floor import against_floor
from coatrules.formats.documents import without_file
from coatrules.problems import Problem
from coatrules.profile.compiled import compile_profile
from coatrules.recording.append import append_visit

COMPILED = compile_profile(load_profile("griffon-bruxellois-rough"))
DOG = "format: 1\ndog: {id: pip, profile: griffon-bruxellois-rough}\n"


def told(*visits: dict[str, Any], **dog: Any) -> list[Problem]:
    history = load_history({"format": 1, "dog": {"id": "pip", **dog}, "visits": list(visits)})
    return list(against_floor(COMPILED, history, date(2027, 1, 1)))


def whats(*visits: dict[str, Any], **dog: Any) -> list[str]:
    return [problem.params["what"].code for problem in told(*visits, **dog)]


PULL = {"pull": 0.2}


@pytest.mark.parametrize("work", [{"perineum": PULL}, {"genitals": {"card": True}}, {"round-the-anus": PULL}])
def test_pulling_where_hair_is_only_cut_is_noticed(work: dict[str, Any]) -> None:
    """It passed without a word."""
    known = {name: done for name, done in work.items() if name in COMPILED.names}
    assert known
    assert whats({"visit": "2026-03-01", "work": known}) == ["against.only-cut"]


def test_a_part_that_holds_more_than_such_places_was_worked_where_it_may_be() -> None:
    whole = next(name for name, regions in COMPILED.names.items() if {"ears-inside", "ears-outside"} <= set(regions))
    assert whats({"visit": "2026-03-01", "work": {whole: PULL}}) == []


def test_hand_work_on_skin_that_is_not_sound_is_noticed_until_it_is_sound() -> None:
    unsound = {"visit": "2026-03-01", "seen": {"loin": {"skin": "unsound"}}}
    work = {"visit": "2026-03-08", "work": {"body": PULL}}
    (problem,) = told(unsound, work)
    assert problem.params["what"].params == {"regions": ("Loin",), "day": date(2026, 3, 1)}
    assert problem.path == ("visits", 1, "work", "body")
    assert whats({**unsound, "work": {"loin": PULL}}) == ["against.unsound"], "seen before the work of the day"
    assert whats(unsound, {**work, "seen": {"loin": {"skin": "sound"}}}) == []
    assert whats(unsound, {"visit": "2026-03-08", "work": {"loin": {"comb": True}}}) == []


@pytest.mark.parametrize(("day", "noticed"), [("2026-03-01", False), ("2026-03-21", True), ("2026-03-22", False)])
def test_hand_work_where_the_dog_said_stop_is_noticed_before_its_day(day: str, noticed: bool) -> None:
    stop, tenth = {"visit": "2026-03-01", "reactions": {"belly": "stop"}}, {"pull": 0.1}
    visits = (
        [{**stop, "work": {"belly": tenth}}]
        if day == "2026-03-01"
        else [stop, {"visit": day, "work": {"belly": tenth}}]
    )
    assert whats(*visits) == (["against.stop"] if noticed else [])


def test_only_what_is_recorded_lifts_a_stop() -> None:
    stop = {"visit": "2026-03-01", "reactions": {"belly": "stop"}}
    between = {"visit": "2026-03-04", "work": {"belly": {"comb": True}}}
    again = {"visit": "2026-03-08", "work": {"belly": PULL}}
    assert whats(stop, between, again) == ["against.stop"]
    assert whats(stop, {**between, "reactions": {"belly": "calm"}}, again) == []


def test_hand_work_on_a_dog_that_hands_are_to_stay_off_is_noticed() -> None:
    nursing = {"visit": "2026-03-01", "health": ["nursing"]}
    assert whats(nursing, {"visit": "2026-03-08", "work": {"back": PULL}}) == ["against.health"]
    assert whats(nursing, {"visit": "2026-03-08", "work": {"back": PULL}, "health": []}) == []
    assert (
        whats({"visit": "2026-03-01", "health": ["spot-on-treatment"]}, {"visit": "2026-03-04", "work": {"back": PULL}})
        == []
    )


def test_more_than_a_puppy_bears_is_noticed() -> None:
    half_an_hour = {"visit": "2026-03-01", "work": {"body": {"card": True, "minutes": 30}}}
    assert whats(half_an_hour, born="2026-01-01") == ["against.puppy"]
    assert whats({"visit": "2026-03-01", "minutes": 30, "work": {"back": {"card": True}}}, born="2026-01-01") == [
        "against.puppy"
    ], "the whole visit took so long"
    twice = {"visit": "2026-03-01", "minutes": 6, "work": {"back": {"card": True}}}
    assert whats(twice, {**twice, "work": {"ribs": {"card": True}}}, born="2026-01-01") == ["against.puppy"]
    assert whats(half_an_hour, born="2025-01-01") == []
    ten = {"visit": "2026-03-01", "work": {"body": {"card": True, "minutes": 10}}}
    assert whats(ten, born="2026-01-01") == []
    stripped = whats({"visit": "2026-03-01", "work": {"jacket": {"pull": 1}}}, born="2026-01-01")
    assert stripped == ["against.puppy-pulled", "against.puppy"]


@pytest.mark.parametrize(
    ("work", "what"),
    [
        ({"belly": {"card": True}}, ["against.puppy-tender"]),
        ({"skull": {"card": True}}, ["against.puppy-tender"]),
        ({"back": {"pull": 0.1}}, ["against.puppy-pulled"]),
        ({"back": {"card": True}}, []),
        ({"forefeet": {"scissor": True}, "toes": {"comb": True}}, []),
    ],
)
def test_what_a_puppy_is_not_asked_to_bear_is_noticed(work: dict[str, Any], what: list[str]) -> None:
    assert whats({"visit": "2026-03-01", "minutes": 3, "work": work}, born="2026-01-04") == what


def test_work_beside_skin_that_is_not_sound_is_noticed() -> None:
    unsound = {"visit": "2026-03-01", "seen": {"loin": {"skin": "unsound"}}}
    (problem,) = told(unsound, {"visit": "2026-03-08", "work": {"croup": PULL}})
    assert problem.params["what"].code == "against.beside"
    assert problem.params["what"].params == {"regions": ("Croup",), "unsound": ("Loin",)}
    assert whats(unsound, {"visit": "2026-03-08", "work": {"croup": {"clip": 9}, "hocks": PULL}}) == []


def test_what_a_group_and_a_part_of_it_say_together_is_read_together() -> None:
    """What the part says alone hid what the group says of it."""
    unsound = {"visit": "2026-03-01", "seen": {"body": {"skin": "unsound"}, "loin": {"layers": 2}}}
    assert whats(unsound, {"visit": "2026-03-08", "work": {"loin": PULL}}) == ["against.unsound"]
    loin = {"visit": "2026-03-01", "seen": {"loin": {"skin": "unsound"}}}
    both = {"visit": "2026-03-08", "work": {"body": PULL, "loin": {"comb": True}}}
    assert "against.unsound" in whats(loin, both)
    assert "against.unsound" not in whats(loin, {**both, "work": {"body": PULL, "loin": {"pull": 0}}})


def test_of_two_parts_of_one_size_the_worse_counts() -> None:
    """The first in the alphabet had the last word."""
    profile = {"format": 1, "id": "own", "label": "Own", "extends": "griffon-bruxellois-rough"}
    compiled = compile_profile(load_profile({**profile, "groups": {"another": ["belly"], "zone-of-it": ["belly"]}}))

    def told_of(part: str, **first: Any) -> list[str]:
        visits = [{"visit": "2026-03-01", **first}, {"visit": "2026-03-08", "work": {part: PULL}}]
        history = load_history({"format": 1, "dog": {"id": "pip"}, "visits": visits})
        order = work_order(compiled.profile, {**history.to_dict(), "visits": visits[:1]}, date=date(2026, 3, 8))
        assert "belly" in order.not_to_be_touched
        return [problem.params["what"].code for problem in against_floor(compiled, history, date(2027, 1, 1))]

    for other in ("another", "zone-of-it"):
        assert told_of(other, reactions={other: "calm", "belly": "stop"}) == ["against.stop"]
        assert told_of(other, reactions={other: "stop", "belly": "calm"}) == ["against.stop"]
        assert told_of(other, seen={other: {"skin": "sound"}, "belly": {"skin": "unsound"}}) == ["against.unsound"]
        assert told_of(other, seen={other: {"skin": "unsound"}, "belly": {"skin": "sound"}}) == ["against.unsound"]


def test_after_its_rest_a_place_that_was_refused_gives_a_tenth_until_it_is_borne() -> None:
    stop, third = {"visit": "2026-03-01", "reactions": {"belly": "stop"}}, {"belly": {"pull": 0.3}}
    assert whats(stop, {"visit": "2026-03-22", "work": third}) == ["against.stop-share"]
    assert whats(stop, {"visit": "2026-03-22", "work": {"belly": {"pull": 0.1}}}) == []
    tried = {"visit": "2026-03-22", "work": {"belly": {"pull": 0.1}}}
    assert whats(stop, tried, {"visit": "2026-04-12", "work": third}) == []
    combed = {"visit": "2026-03-22", "work": {"belly": {"comb": True}}}
    assert whats(stop, combed, {"visit": "2026-04-12", "work": third}) == ["against.stop-share"]


def test_cutting_where_hands_and_tools_stay_off_is_noticed() -> None:
    unwell = {"visit": "2026-03-01", "health": ["unwell"]}
    clipped = {"visit": "2026-03-08", "work": {"perineum": {"clip": 3}}}
    assert whats(unwell, clipped) == ["against.health"]
    assert whats({**unwell, "health": ["nursing"]}, clipped) == []
    assert whats({"visit": "2026-03-01", "seen": {"perineum": {"skin": "unsound"}}}, clipped) == ["against.unsound"]
    assert whats({"visit": "2026-03-01", "reactions": {"perineum": "stop"}}, clipped) == ["against.stop"]


def test_longer_on_the_table_than_a_day_allows_is_noticed() -> None:
    """452 minutes on one day passed without a word."""
    assert whats({"visit": "2026-03-01", "minutes": 452, "work": {"back": PULL}}) == ["against.day"]
    assert whats({"visit": "2026-03-01", "minutes": 180, "work": {"back": PULL}}) == []


def test_an_order_names_such_work_at_its_line(tmp_path: Path) -> None:
    file = tmp_path / "pip.yaml"
    file.write_text(DOG + "---\nvisit: 2026-03-01\nwork:\n  perineum: {pull: 0.2}\n")
    order = work_order("griffon-bruxellois-rough", load_history(file), date=date(2026, 3, 22))
    (problem,) = [one for one in order.findings if one.code == "recorded-against-floor"]
    assert (problem.line, problem.severity) == (6, "warning")
    assert "only ever cut (round the anus)" in problem.message
    before = work_order("griffon-bruxellois-rough", load_history(file), date=date(2026, 2, 22))
    assert "recorded-against-floor" not in {one.code for one in before.findings}


def test_such_work_is_asked_back_and_written_down_with_a_note_only(tmp_path: Path) -> None:
    file = tmp_path / "pip.yaml"
    file.write_text(DOG)
    visit: dict[str, Any] = {"visit": "2026-03-01", "work": {"perineum": {"pull": 0.2}}}

    def refused(**how: Any) -> list[str]:
        with pytest.raises(InputError) as error:
            append_visit(file, without_file(visit), compiled=COMPILED, **how)
        assert file.read_text() == DOG
        return [problem.code for problem in error.value.problems]

    assert refused() == ["against-floor"]
    assert refused(anyway=True) == ["anyway-without-note"]
    visit["note"] = "The owner had done it at home."
    assert refused() == ["against-floor"]
    assert len(append_visit(file, without_file(visit), compiled=COMPILED, anyway=True).visits) == 1


def test_the_command_asks_back(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "pip.yaml"
    file.write_text(DOG)
    words = ["record", str(file), "--date", "2026-03-01", "--did", "perineum=0.2"]
    for more in ([], ["--dry-run"], ["--anyway"], ["--note", "By the owner."]):
        assert main([*words, *more]) != 0
        assert file.read_text() == DOG
    assert "--anyway" in capsys.readouterr().err
    assert main([*words, "--anyway", "--note", "By the owner."]) == 0
    assert "pull: 0.2" in file.read_text()
