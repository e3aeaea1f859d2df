"""The owner's half page: plain words, the right care, and nothing that only a groomer needs."""

from __future__ import annotations

import re
from datetime import date
from typing import Any

import pytest
from attrs import evolve
from hypothesis import given, settings
from hypothesis import strategies as st

from coatrules import WorkOrder, load_history, load_profile, work_order
from coatrules.catalogue.message import authors
from coatrules.catalogue.speaking import say
from coatrules.cli import main
from coatrules.order.reasons import Reason
from coatrules.profile.compiled import compile_profile
from coatrules.report.markdown import markdown
from coatrules.report.owner import MOST, Note, note, owner_markdown, owner_text, parts_words
from coatrules.report.safe_text import plain
from coatrules.report.text import text
from tests.support.paths import GOLDEN

PROFILE = load_profile(GOLDEN / "plain-terrier.yaml")
HISTORY = load_history(GOLDEN / "tansy.yaml")
DAY = date(2026, 3, 9)
ORDER = work_order(PROFILE, HISTORY, date=DAY, minutes=15)
GRIFFON = work_order("griffon-bruxellois-rough", load_history({"format": 1, "dog": {"id": "moss"}}), date=DAY)
GROUPS = {
    name: region.groups for name, region in compile_profile(load_profile("griffon-bruxellois-rough")).regions.items()
}
STEERING = re.compile("[\x00-\x09\x0b-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069]")


def order_of(visits: list[dict[str, Any]], arrival: dict[str, Any] | None = None) -> WorkOrder:
    history = {"format": 1, "dog": {"id": "reed", "name": "Reed"}, "visits": visits}
    return work_order(PROFILE, load_history(history | ({"arrival": arrival} if arrival else {})), date=DAY)


def sentences(owner_note: Note, title: str) -> str:
    return " ".join(line for paragraph in owner_note.paragraphs if paragraph.title == title for line in paragraph.lines)


def test_the_note_has_its_parts_in_order() -> None:
    titles = [paragraph.title for paragraph in note(ORDER).paragraphs]
    assert titles == [
        "Please ask a veterinary surgeon",
        "What is done on this visit",
        "What is left, and why",
        "At home",
        "When to come back",
        "When to call a vet",
    ]
    assert all(paragraph.lines for paragraph in note(ORDER).paragraphs)


def test_half_a_page_is_enough_for_the_longest_order() -> None:
    # A4 at 12 points holds about 60 lines of 88 characters, a printer's rule of thumb: common practice, no source.
    assert len(owner_text(GRIFFON).splitlines()) <= 45
    assert len(owner_text(ORDER).splitlines()) <= 45


def test_what_is_done_is_what_the_order_does() -> None:
    done = sentences(note(ORDER), "What is done on this visit")
    for task, words in (
        ("card", "undercoat"),
        ("pull", "pulled by hand"),
        ("clip", "Clipped short"),
        ("comb", "Combed"),
    ):
        assert (words in done) == any(step.task == task for step in ORDER.steps)
    assert "from a seventh to a quarter goes" in done


def test_what_is_on_record_for_the_day_is_done_and_not_left() -> None:
    """It said that no work is done on this visit, and listed what had been worked as left."""
    day = date(2026, 3, 9)
    visit = {"visit": "2026-03-09", "work": {"jacket": {"card": True, "pull": 0.2}, "feet": {"scissor": True}}}
    after = note(work_order("norwich-terrier", {"format": 1, "dog": {"id": "tip"}, "visits": [visit]}, date=day))
    done, left = sentences(after, "What is done on this visit"), sentences(after, "What is left, and why")
    assert "undercoat" in done
    assert "jacket" in done
    assert "No work" not in done
    assert "Worked today" not in left


def test_what_was_put_off_on_record_is_left_and_not_done() -> None:
    """The owner was told of toes that were left, and of their share as of all; and why, which nobody had said: "no time"."""
    day = date(2026, 3, 9)
    visit = {"visit": "2026-03-09", "work": {"body": {"card": True, "pull": 0.25}}, "put_off": ["toes"]}
    after = note(work_order("norwich-terrier", {"format": 1, "dog": {"id": "tip"}, "visits": [visit]}, date=day))
    done, left = sentences(after, "What is done on this visit"), sentences(after, "What is left, and why")
    assert "Pulled by hand: body" in done
    assert "toes" not in done.lower()
    assert re.search(r"Left for next time: [^.]*feet", left), "which hold them"
    assert "no time" not in left
    assert "one to two days" in sentences(after, "At home"), "as after any pulling"


def test_what_is_left_has_the_rule_s_own_reason() -> None:
    left = sentences(note(ORDER), "What is left, and why")
    assert "Beard: The beard is grown for now." in left
    assert "ruff" not in left.lower(), "where nothing is due nothing is said"
    short = work_order(
        "griffon-bruxellois-rough", load_history({"format": 1, "dog": {"id": "moss"}}), date=DAY, minutes=20
    )
    words = sentences(note(short), "What is left, and why").split("There is no time for: ")[1].split(".")[0]
    assert short.deferred
    worked = {step.region for step in short.steps}
    assert words == str(parts_words(short, [region for region in short.deferred if region not in worked]))


def test_unsound_skin_is_for_a_veterinary_surgeon_and_comes_first() -> None:
    first = note(ORDER).paragraphs[0]
    assert any(line.startswith("Sides of the chest: the skin was not sound") for line in first.lines)


def test_care_follows_what_was_done() -> None:
    # "Keep out of strong sun and off harsh shampoos for one to two days": common practice, no source.
    assert "one to two days" in sentences(note(ORDER), "At home")
    unwell = order_of([{"visit": "2026-03-09", "health": ["unwell"]}])
    assert "one to two days" not in sentences(note(unwell), "At home")
    assert sentences(note(unwell), "What is done on this visit") == "No work is done on this visit."
    # "Do not bathe before the visit": a groomer's page of questions and answers.
    assert all("do not bathe" in sentences(note(order), "At home") for order in (ORDER, unwell))


def test_bare_skin_gets_shade_and_nothing_rubbed_on() -> None:
    # "Miniature Schnauzer stripping guide", 2000: bare skin burns in sun and chills in cold; no lotions on it.
    bare = order_of([{"visit": "2026-02-16", "work": {"body": {"pull": 0.75}}}])
    assert any(step.share for step in bare.steps if step.region == "back")
    assert "shade in the sun, a light coat in the cold, and nothing rubbed on" in sentences(note(bare), "At home")
    covered = order_of([], {"body": {"grown_weeks": 20}, "legs": {"grown_weeks": 20}})
    assert "nothing rubbed on" not in sentences(note(covered), "At home")


def test_when_to_come_back_is_the_order_s_window() -> None:
    for order in (ORDER, GRIFFON):
        visit, back = order.next_visit, sentences(note(order), "When to come back")
        assert f"Best on {say.amount('day', visit.best)}" in back
        bound = {binding.bound for binding in visit.binding}
        if visit.latest is not None and not visit.clash:
            assert say.amount("day", visit.latest) in back
            assert (say.amount("day", visit.earliest) in back) or "earliest" not in bound
    never = evolve(ORDER, next_visit=evolve(ORDER.next_visit, latest=None, binding=()))
    assert "Any day" not in sentences(note(never), "When to come back")
    assert "No later" not in sentences(note(never), "When to come back")


def test_a_last_day_is_told_once() -> None:
    """'Best on Sunday. No later than Sunday.' was printed."""
    last = evolve(ORDER, next_visit=evolve(ORDER.next_visit, latest=ORDER.next_visit.day, clash=False))
    back = sentences(note(last), "When to come back")
    assert back.count(say.amount("day", last.next_visit.day)) == 1
    assert "and no later" in back


def test_an_owner_is_not_told_how_to_record_and_not_part_by_part_what_holds_for_the_dog() -> None:
    visit = {"visit": "2026-03-09", "health": ["unwell"], "seen": {"ribs": {"skin": "unsound"}}}
    lines = note(order_of([visit])).paragraphs[0].lines
    assert not any("sound skin" in line or "Hands stay off the dog today" in line for line in lines)
    assert any("Nobody works there until a veterinary surgeon has seen it" in line for line in lines)


PHRASE = re.compile(r"(?P<name>[^(;]+?)(?: \(but not (?P<without>[^)]+)\))?")


def split(words: str, meanings: dict[str, set[str]]) -> list[str]:
    """Names in a row, as a reader parts them: at semicolons where there are some, and else at commas; not in brackets."""
    phrases = re.split(r"; (?![^(]*\))", words)
    return phrases if len(phrases) > 1 or words in meanings else re.split(r", (?![^(]*\))", words)


def read(words: str) -> list[set[str]]:
    """The regions that each piece of the words means, as an owner with the list of parts at hand would read it."""
    meanings: dict[str, set[str]] = {}
    for region, groups in GROUPS.items():
        for group in groups:
            meanings.setdefault(group.replace("-", " "), set()).add(region)
    meanings |= {label.lower(): {region} for region, label in GRIFFON.labels.items()}
    region_sets = []
    for phrase in split(words.lower(), meanings):
        matched = PHRASE.fullmatch(phrase)
        assert matched is not None, phrase
        without = matched["without"]
        out = [meanings[name] for name in split(without, meanings)] if without else []
        region_sets.append(meanings[matched["name"]].difference(*out))
    return region_sets


@given(st.sets(st.sampled_from(sorted(GRIFFON.labels)), min_size=1), st.booleans())
def test_parts_are_said_once_and_all_of_them(regions: set[str], others: bool) -> None:
    if others:  # nearly all of the dog, which few sets drawn at random are
        regions = set(GRIFFON.labels) - set(sorted(regions)[:5])
    region_sets = read(parts_words(GRIFFON, regions))
    assert set().union(*region_sets) == regions
    assert sum(map(len, region_sets)) == len(regions)


def members(*groups: str) -> set[str]:
    return {region for region, region_groups in GROUPS.items() if not set(groups).isdisjoint(region_groups)}


def test_no_day_is_named_before_a_veterinary_surgeon_has_seen_the_dog() -> None:
    ill = work_order(
        "griffon-bruxellois-rough",
        load_history({"format": 1, "dog": {"id": "moss"}, "visits": [{"visit": "2026-03-07", "health": ["unwell"]}]}),
        date=DAY,
    )
    back = sentences(note(ill), "When to come back")
    assert back == say("owner.hold")
    assert "2026" not in back


@pytest.mark.parametrize(
    ("regions", "words"),
    [
        (members("jacket"), "jacket"),
        (members("jacket") - {"flanks"}, "jacket (but not flanks)"),
        (members("head") - {"beard", "ears-outside"}, "head (but not ears, outside; beard)"),
        (members("jacket") - {"flanks"} | {"throat"}, "jacket (but not flanks), throat"),
        (members("toes"), "toes"),  # "Toes of the forefeet" and "Toes of the hind feet" only repeat it
        (members("creases"), "armpits, groin"),  # which an owner knows better than "creases"
        (members("furnishings-of-head") - {"beard"}, "eyebrows, cheeks, moustache"),  # as short as the group less one
        (members("legs"), "legs"),
    ],
)
def test_a_group_is_named_where_that_is_plainer(regions: set[str], words: str) -> None:
    assert parts_words(GRIFFON, regions) == words


def test_no_group_of_a_show_s_stages_is_named_to_an_owner() -> None:
    dog = load_history({"format": 1, "dog": {"id": "moss"}})
    note_text = owner_text(work_order("lakeland-terrier-staged", dog, date=DAY))
    assert not re.search(r"\bstages?\b", note_text.split("What is done")[1])


def test_a_group_that_is_called_like_a_region_is_not_named() -> None:
    labels = {**GRIFFON.labels, "skull": "Head"}
    words = parts_words(evolve(GRIFFON, labels=labels), members("head"))
    assert words.startswith("head, ears, outside") or words.startswith("head; ears, outside")


@settings(max_examples=60)
@given(st.text(min_size=1))
def test_no_text_steers_a_terminal(name: str) -> None:
    order = evolve(ORDER, dog_name=name, profile_label=name, labels=dict.fromkeys(ORDER.labels, name))
    order = evolve(order, refer=(authors("refer", name),))
    for shown in (text(order), owner_text(order), owner_markdown(order), markdown(order)):
        assert not STEERING.search(shown)
        shown.encode()
    assert owner_text(order).split()[: 4 + len(plain(name).split())] == f"For the owner of {plain(name)}".split()


def test_no_text_becomes_markup_in_markdown() -> None:
    order = evolve(ORDER, dog_name="<b>*x*</b> [a](b) &amp; `c`")
    first = owner_markdown(order).splitlines()[0]
    assert (
        first == r"# For the owner of \<b\>\*x\*\</b\> \[a\](b) \&amp; \`c\`"
    )  # CommonMark 0.31, 2.4: backslash escapes


@pytest.mark.parametrize(
    ("form", "first"), [("text", "For the owner of Tansy"), ("markdown", "# For the owner of Tansy")]
)
def test_the_command_writes_the_note(form: str, first: str, capsys: pytest.CaptureFixture[str]) -> None:
    line = ["order", str(GOLDEN / "tansy.yaml"), "--profiles", str(GOLDEN), "--date", "2026-03-09", "--for", "owner"]
    assert main([*line, "--format", form]) == 0
    assert capsys.readouterr().out.splitlines()[0] == first


@pytest.mark.parametrize("form", ["json", "calendar"])
def test_a_form_that_no_owner_reads_is_a_wrong_command_line(form: str, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as ended:
        main(["order", str(GOLDEN / "tansy.yaml"), "--for", "owner", "--format", form])
    assert ended.value.code == 2
    assert "text, markdown or a page" in "".join(capsys.readouterr())  # JSON where JSON was asked for


def test_many_reasons_are_cut_short_without_losing_a_part() -> None:
    names = [name for name in ORDER.labels if name != "ruff"][:6]
    reasons = {name: (Reason(rule="rule", own=f"Because of {name}."),) for name in names}
    left = sentences(note(evolve(ORDER, left_alone=reasons, deferred={})), "What is left, and why")
    assert left.count("Because of") == MOST
    assert all(ORDER.labels[name].lower() in left.lower() for name in names)


def test_a_place_that_only_rests_sends_nobody_to_a_vet() -> None:
    """Where the dog had said stop the owner was asked to see a veterinary surgeon, and told when we try again."""
    work = {"work": {"body": {"pull": 0.2}}, "reactions": {"back": "stop"}}
    order = order_of([{"visit": "2026-03-02", **work}])
    assert order.not_to_be_touched
    assert sentences(note(order), "Please ask a veterinary surgeon") == ""
    assert "tried again from" in sentences(note(order), "What is left, and why")
    sore = order_of([{"visit": "2026-03-02", **work, "seen": {"back": {"skin": "unsound"}}}])
    assert "not sound" in sentences(note(sore), "Please ask a veterinary surgeon")
