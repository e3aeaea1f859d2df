"""Calls every method of an engine, as a program that embeds it may: read by strict type checkers, and run."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from pathlib import Path

from coatrules import Engine, History, InputError, Problem, WorkOrder

DAY = date(2026, 3, 21)
SHOW = date(2026, 9, 1)
DOG = {
    "format": 1,
    "dog": {"id": "tip", "profile": "silky-jacket"},
    "visits": [{"visit": "2026-02-28", "work": {"body": {"card": True, "pull": 0.2}}}],
}
HOUSE = {"format": 2, "id": "house", "label": "House", "extends": "silky-jacket", "visit": {"minutes": 45}}
TEXT = "format: 2\nid: mine\nlabel: Mine\nextends: silky-jacket\n"


def main(sheet: Path, mapping: Path) -> Iterator[str]:
    """Yields the name of each part of the engine that does what it says."""
    engine = Engine(shelves=[{"house": HOUSE}], minutes=60)
    yield from profiles(engine)
    history = engine.history(DOG)
    order = engine.order(history, date=DAY)
    yield from one_dog(engine, history, order)
    yield from told(engine, order)
    imported = engine.import_sheet(sheet.read_bytes(), mapping)
    yield f"import {len(imported.histories)} {imported.problems}"


def profiles(engine: Engine) -> Iterator[str]:
    assert "house" in engine.ids()
    assert engine.labels()["house"] == engine.profile("house").label
    assert engine.dependants("silky-jacket")
    assert engine.merged("house")["visit"]["minutes"] == 45
    assert engine.where("house", "visit.minutes")
    assert engine.sources("house")
    yield "found"
    problems: list[Problem] = engine.check("house")
    assert not engine.check_house_rules(["house"])
    assert engine.findings(problems, form="json") != engine.findings(problems)
    (first, *_) = engine.check_text(TEXT + "visit: 3\n", "mine.yaml")
    assert engine.explained(first.code)
    assert engine.fixed(TEXT) == engine.tidied(TEXT) == engine.migrated(TEXT) == TEXT
    assert "extends: house" in engine.new_profile("house")
    compared = engine.compare("silky-jacket", "house", dogs=[DOG], date=DAY)
    shares: list[float] = []
    rehearsal = engine.rehearse("house", tell=shares.append)
    yield f"minded {len(compared.orders)} {len(rehearsal.runs)} {shares[-1]:g}"


def one_dog(engine: Engine, history: History, order: WorkOrder) -> Iterator[str]:
    assert engine.profile_of(history, date=DAY).id == order.profile_id
    (again, refused) = engine.orders([history, {}], date=DAY)
    assert again == order
    assert isinstance(refused, InputError)
    region = engine.regions(history, "body")[0]
    assert engine.explain(history, region, date=DAY).region == region
    (due,) = engine.dues([history], date=DAY)
    assert not isinstance(due, InputError)
    assert engine.text(due) == engine.text(engine.due(history, date=DAY))
    assert engine.due_rows([due])
    assert engine.due_sheet([due])
    yield "asked"
    plan = engine.plan(history, date=DAY, visits=2)
    intervals = engine.intervals(history, date=DAY, weeks=[4])
    stages = engine.staged_strip(history, date=DAY, show=SHOW, profile="lakeland-terrier-staged").stages
    yield f"ahead {len(plan.visits)} {len(intervals.intervals)} {len(stages) > 0} {engine.show_day(history, date=DAY)}"
    seen = engine.with_seen(history, {region: {"comes": "easily"}}, date=DAY)
    done = engine.with_visit(seen, {"visit": DAY.isoformat(), **engine.as_planned(order)})
    mended = engine.corrected_visit(done, {"visit": DAY.isoformat(), "note": "bathed"})
    taken_back = engine.withdraw_visit(mended, DAY, note="another dog")
    yield f"recorded {len(taken_back.visits) - len(history.visits)}"
    assert "cases" in engine.new_case(history, date=DAY)
    assert "house" in engine.new_history("house", date=DAY)
    pictures = [
        engine.coat_picture(history, region, date=DAY),
        engine.book_picture([due], date=DAY),
        engine.picture(order),
    ]
    yield f"drawn {all(picture.startswith(b'<?xml') for picture in pictures)}"


def told(engine: Engine, order: WorkOrder) -> Iterator[str]:
    german = engine.with_locale("de")
    with german.speaking():
        assert str(order) != engine.text(order)
    assert engine.reasons(order, "1") != german.reasons(order, "1")
    assert engine.markdown(order, audience="owner") != engine.markdown(order)
    assert engine.page(order) != engine.page(order, steps=True)
    assert engine.calendar([order], date=DAY).startswith("BEGIN:VCALENDAR")
    yield f"told {engine.data(order) == order.to_dict()}"
