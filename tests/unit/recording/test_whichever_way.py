"""The same facts whichever way a visit is told: in one line, answer by answer, as a file, or as rows of a sheet."""

from __future__ import annotations

import csv
from copy import deepcopy
from datetime import timedelta
from io import StringIO
from random import Random
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from coatrules.cli.dialog import ask
from coatrules.dog.loading import history_of, load_history
from coatrules.dog.state import state_on
from coatrules.order.engine import order
from coatrules.profile.compiled import compile_profile
from coatrules.profile.loading import load_profile
from coatrules.reading import read_yaml
from coatrules.recording.answered import Answered
from coatrules.recording.answers import apply, left, react_typed, see_typed, take_items, take_line, take_minutes
from coatrules.recording.draft import Draft
from coatrules.recording.entry import as_planned, note_asked
from coatrules.recording.importing import import_rows
from coatrules.recording.lines import items
from coatrules.recording.sheets import load_mapping
from coatrules.recording.text import visit_text
from tests.support.five_parts import DAY

BREED = "norwich-terrier"
COMPILED = compile_profile(load_profile(BREED))
PARTS = ("back", "loin", "ribs", "skull", "beard", "tail-top", "throat")
SHARES = {"1/5": 0.2, "a quarter": 0.25, "20%": 0.2, "one in eight": 0.125, "half": 0.5}
REACTIONS = ("calm", "unsettled", "stop")
WORDS = st.tuples(st.sampled_from(sorted(SHARES)), st.sampled_from([None, *REACTIONS]), st.booleans())


def history(visit: dict[str, Any]) -> Any:
    who = {"id": "pip", "name": "Pip", "profile": BREED}
    return load_history({"format": 1, "dog": who, "visits": [{"visit": DAY.isoformat(), **visit}]})


@settings(max_examples=10)
@given(st.dictionaries(st.sampled_from(PARTS), WORDS, min_size=1, max_size=5))
def test_a_visit_is_the_same_however_it_is_told(told: dict[str, tuple[str, str | None, bool]]) -> None:
    work: dict[str, Any] = {}
    reactions: dict[str, str] = {}
    sentences, rows = [], ["day,dog,part,task,share,bore"]
    for part, (share, bore, raked) in told.items():
        work[part] = {"pull": SHARES[share]} | ({"card": True} if raked else {})
        reactions |= {} if bore is None else {part: bore}
        words = [f"{part.replace('-', ' ')} {share}", *(["raked"] if raked else []), *([bore] if bore else [])]
        sentences.append(" ".join(words) if len(words) < 3 else ", ".join(words))
        rows.append(f"{DAY.isoformat()},Pip,{part},{'card+pull' if raked else 'pull'},{share},{bore or ''}")
    as_a_file = history({"work": work, **({"reactions": reactions} if reactions else {})})

    in_one_line: dict[str, Any] = {}
    take_line(in_one_line, "; ".join(sentences), COMPILED)
    assert history(in_one_line) == as_a_file

    by_answers: dict[str, Any] = {}
    for sentence in sentences:
        for item in items(sentence, COMPILED):
            apply(by_answers, item, COMPILED)
    assert history(by_answers) == as_a_file

    columns = {name: name for name in ("dog", "part", "task", "share")} | {"date": "day", "reaction": "bore"}
    mapping = load_mapping({"format": 1, "profile": BREED, "columns": columns})
    found = import_rows("\n".join(rows).encode(), "book.csv", mapping, lambda _: COMPILED)
    assert found.problems == ()
    assert load_history(found.histories["pip"]) == as_a_file


GROUPS = ("jacket", "legs")
EXCEPTIONS = ("back", "ribs", "neck", "hocks", "forelegs", "beard")
LEFT = "left"
HOW = st.tuples(st.sampled_from(sorted(SHARES)), st.booleans())


@settings(max_examples=10)
@given(
    st.dictionaries(st.sampled_from(GROUPS), HOW, min_size=1),
    st.dictionaries(st.sampled_from(EXCEPTIONS), st.one_of(HOW, st.just(LEFT)), min_size=1, max_size=4),
    st.randoms(use_true_random=False),
)
def test_a_group_and_its_exceptions_are_the_same_however_they_are_told(
    groups: dict[str, tuple[str, bool]], exceptions: dict[str, tuple[str, bool] | str], random: Random
) -> None:
    """In a file by hand the smaller part wins; so it does in a line, in options and in the dialog, in any order."""
    work: dict[str, Any] = {}
    sentences = []
    for part, how in {**groups, **exceptions}.items():
        if isinstance(how, str):
            work[part] = {"pull": 0, "card": False}
            sentences.append(random.choice([f"{part} left", f"no {part}"]))
            continue
        share, raked = how
        work[part] = {"pull": SHARES[share]} | ({"card": True} if raked else {})
        sentences.append(f"{part} {share}{', raked' if raked else ''}")
    put_off = [part for part, how in exceptions.items() if how == LEFT]
    as_a_file = history({"work": work, **({"put_off": put_off} if put_off else {})})

    by_answers = Draft({"visit": DAY.isoformat()}, lambda _: {}, COMPILED)
    lines = iter(["not as planned", *sentences, "", "", "", ""])
    assert ask(by_answers, COMPILED, lambda _: next(lines))
    random.shuffle(sentences)
    in_one_line: dict[str, Any] = {}
    take_line(in_one_line, "; ".join(sentences), COMPILED)
    by_options: dict[str, Any] = {}
    take_items(by_options, [item for text in sentences for item in items(text, COMPILED)], COMPILED)

    on = DAY + timedelta(weeks=4)
    expected = state_on(COMPILED, as_a_file, on)
    for visit in (by_answers.visit, in_one_line, by_options):
        typed = history({key: value for key, value in visit.items() if key != "visit"})
        assert set(typed.visits[0].put_off) == set(put_off)
        found = state_on(COMPILED, typed, on)
        for region in COMPILED.regions:
            one, other = found.regions[region], expected.regions[region]
            assert (one.coat.cohorts, one.last, one.put_off) == (other.coat.cohorts, other.last, other.put_off), region


SEEN: dict[str, dict[str, Any]] = {
    "comes easily": {"comes": "easily"},
    "comes mixed": {"comes": "mixed"},
    "holds": {"comes": "holds"},
    "soft": {"texture": "soft"},
    "woolly": {"texture": "woolly"},
    "sound": {"skin": "sound"},
    "see-through": {"see_through": True},
    "undercoat none": {"undercoat": "none"},
    "undercoat some": {"undercoat": "some"},
    "undercoat full": {"undercoat": "full"},
    "14,5 mm": {"longest_mm": 14.5},
    "60 mm or more": {"longest_mm": {"minimum": 60}},
    "3 layers": {"layers": 3},
}
WORK: dict[str, dict[str, Any]] = {
    "a fifth": {"pull": 0.2},
    "1/8": {"pull": 0.125},
    "raked": {"card": True},
    "not raked": {"card": False},
    "combed": {"comb": True},
    "scissored": {"scissor": True},
    "scissored 12 mm": {"scissor": 12},
    "clipped to 6 mm": {"clip": 6},
    "clip:1": {"clip": 1},
    "12 min": {"minutes": 12},
    "half an hour": {"minutes": 30},
}
ANSWERS = st.one_of(
    st.just((LEFT, None, None)),
    st.tuples(
        st.none() | st.sampled_from(sorted(WORK)),
        st.none() | st.sampled_from(sorted(SEEN)),
        st.none() | st.sampled_from(REACTIONS),
    ).filter(any),
)
"""Of a part: what was done there, what was seen, and how the dog took it."""
WHOLE = {"took 5 h": 300, "4 h 30": 270, "280 min": 280}


IN_A_SHEET = [done for done, work in WORK.items() if "minutes" not in work and work != {"card": False}]


def planned(seen: Any) -> dict[str, Any]:
    before: dict[str, Any] = {"visits": [{"visit": DAY.isoformat(), "seen": seen}]} if seen else {}
    dog = load_history({"format": 1, "dog": {"id": "pip", "profile": BREED}, **before})
    return as_planned(order(COMPILED, dog, DAY))


@settings(max_examples=10)
@given(
    st.dictionaries(st.sampled_from(PARTS), ANSWERS, min_size=1, max_size=5),
    st.none() | st.sampled_from(sorted(WHOLE)),
    st.none() | st.just("ate well; slept"),
    st.booleans(),
)
def test_every_kind_of_answer_is_the_same_however_it_is_told(
    answers: dict[str, tuple[str | None, ...]], took: str | None, note: str | None, from_plan: bool
) -> None:
    """By hand, in one line, line by line, by options, and of what a sheet holds as its rows; with a plan, and without one."""
    seen = {part: SEEN[words] for part, (_, words, _) in answers.items() if words}
    plan = planned if from_plan else lambda _: {}
    asked = plan(seen)
    by_hand: dict[str, Any] = {"visit": DAY.isoformat(), **deepcopy(asked)}
    work, put_off = by_hand.setdefault("work", {}), by_hand.setdefault("put_off", [])
    sentences = []
    for part, (done, words, bore) in answers.items():
        sentences += [f"{part} {one}" for one in (done, words, bore) if one]
        if done == LEFT:
            work.pop(part, None)
        if done is not None:
            by_hand["put_off"] = put_off = [name for name in put_off if name != part] + [part] * (done == LEFT)
        if done in WORK:
            work[part] = work.get(part, {}) | WORK[done]
            before = asked.get("work", {}).get(part, {}).get("pull")
            if before is not None and work[part].get("pull", before) != before:
                work[part]["asked"] = before
    by_hand["seen"] = seen
    by_hand["reactions"] = {part: bore for part, (_, _, bore) in answers.items() if bore}
    by_hand |= ({"minutes": WHOLE[took]} if took else {}) | ({"note": note} if note else {})
    text = "format: 1\ndog: {id: pip, name: Pip, profile: " + BREED + "}\n---\n" + visit_text(by_hand)
    expected = history_of(read_yaml(text.encode(), "pip.yaml"))
    whole = [one for one in (took, note and f"note: {note}") if one]

    def same(visit: dict[str, Any]) -> None:
        note_asked(visit, asked)
        assert history({key: value for key, value in visit.items() if key != "visit"}) == expected

    in_one_line = deepcopy(asked)
    take_line(in_one_line, "; ".join([*sentences, *whole]), COMPILED)
    same(in_one_line)
    if not any("minutes" in work.get(part, {}) for part in answers):  # they might be the visit's
        without_commas = deepcopy(asked)
        take_line(without_commas, "; ".join([" ".join(sentences), *whole]), COMPILED)
        same(without_commas)

    lines = iter([*sentences, *whole, "nothing", *[""] * (3 if took is None else 2)])
    draft = Draft({"visit": DAY.isoformat()}, plan, COMPILED)
    assert ask(draft, COMPILED, lambda _: next(lines))
    same(draft.visit)

    options, earlier = deepcopy(asked), Answered()
    for part, (done, words, bore) in answers.items():
        if done == LEFT:
            take_items(options, [left(part, COMPILED)], COMPILED, earlier)
        elif done is not None:
            take_items(options, items(f"{part}={done}", COMPILED), COMPILED, earlier)
        if words:
            see_typed(options, f"{part}: {words}", COMPILED, earlier)
        if bore:
            react_typed(options, f"{part}={bore}", COMPILED, earlier)
    if took:
        take_minutes(options, took.removeprefix("took "), COMPILED, earlier)
    same(options | ({"note": note} if note else {}))

    rows = [("day", "dog", "part", "task", "share", "mm", "min", "bore", "seen", "note")]
    for part, (done, words, bore) in answers.items():
        if done in WORK and done not in IN_A_SHEET:
            return
        told = dict(WORK.get(done or "", {}))
        share, length = told.pop("pull", ""), next((how for how in told.values() if how is not True), "")
        task = "left" if done == LEFT else "pull" if share else next(iter(told), "")
        rows.append(
            (DAY.isoformat(), "Pip", part, task, str(share), str(length), "", bore or "", words or "", note or "")
        )
    if from_plan or took:
        return  # a sheet has no order before it, and the minutes of parts only
    out = StringIO()
    csv.writer(out).writerows(rows)
    columns = {name: name for name in ("dog", "part", "task", "share", "seen", "note")}
    columns |= {"date": "day", "leave_mm": "mm", "minutes": "min", "reaction": "bore"}
    mapping = load_mapping({"format": 1, "profile": BREED, "columns": columns})
    found = import_rows(out.getvalue().encode(), "book.csv", mapping, lambda _: COMPILED)
    assert found.problems == ()
    assert load_history(found.histories["pip"]) == expected
