"""The examples of embedding, run as they stand: a service, a nightly batch, Parquet, a store of profiles, a pipe, a notebook."""

from __future__ import annotations

import asyncio
import json
import os
import runpy
import sqlite3
import subprocess
import sys
import threading
from datetime import date
from pathlib import Path
from typing import Any

import pyarrow as pa
import pyarrow.parquet as pq
import pytest
from jsonschema import Draft202012Validator

from coatrules import Engine, InputError, WorkOrder, load_profile, work_orders
from coatrules.formats.resources import schema
from tests.benchmarks.generate import dog
from tests.support.paths import EXAMPLES, ROOT

QUERY = "date=2026-03-21&profile=griffon-bruxellois-rough"


async def posted(app: Any, body: bytes, *, path: str = "/order", query: str = QUERY) -> Any:
    """Status and answer of one request, sent in two pieces, by the ASGI specification 3.0."""
    pieces: list[dict[str, Any]] = [
        {"type": "http.request", "body": body[:10], "more_body": True},
        {"type": "http.request", "body": body[10:]},
    ]
    sent: list[dict[str, Any]] = []

    async def receive() -> dict[str, Any]:
        return pieces.pop(0)

    async def send(message: dict[str, Any]) -> None:
        sent.append(message)

    scope = {
        "type": "http",
        "method": "POST",
        "path": path,
        "query_string": query.encode(),
        "headers": [(b"host", b"salon.example")],
    }
    await app(scope, receive, send)
    start, *bodies = sent
    content = b"".join(piece.get("body", b"") for piece in bodies)
    return start["status"], json.loads(content) if b"application/json" in dict(start["headers"]).values() else None


def post(app: Any, body: bytes, **more: str) -> Any:
    return asyncio.run(posted(app, body, **more))


@pytest.fixture
def service() -> Any:
    return runpy.run_path(str(EXAMPLES / "web_service.py"))["app"]


def test_the_web_service_answers_and_refuses(service: Any) -> None:
    status, answer = post(service, json.dumps(dog(1)).encode())
    assert status == 200
    assert answer["dog"]["id"] == "dog-1"
    assert answer["steps"]
    status, answer = post(service, json.dumps({**dog(1), "visit": []}).encode())
    assert status == 422
    assert answer["problems"][0]["path"] == ["visit"]
    assert answer["problems"][0]["code"]
    query = "date=2026-03-21&profile=none-such"
    status, answer = post(service, json.dumps(dog(1)).encode(), query=query)
    assert (status, answer["problems"][0]["code"]) == (422, "unknown-profile")
    for body in (b"{", b"[]", b"[" * 100_000, b"\xff" * 20, b"1", b'{"\\ud800": {"\\ud800": NaN}}'):
        assert post(service, body)[0] in (400, 422)
    assert post(service, json.dumps(dog(1)).encode(), query="")[0] == 400
    assert post(service, b" " * 1_000_100)[0] == 413
    assert post(service, b"{}", path="/")[0] == 404


def test_the_web_service_never_blocks_its_event_loop() -> None:
    """While an order is worked out the loop goes on: here nothing but the loop lets it be finished."""
    names = runpy.run_path(str(EXAMPLES / "web_service.py"))
    begun, may_end = threading.Event(), threading.Event()
    in_time: list[bool] = []
    answered = names["answered"]

    def held_up(*given: Any) -> Any:
        begun.set()
        in_time.append(may_end.wait(20))
        return answered(*given)

    names["order"].__globals__["answered"] = held_up

    async def let_it_end() -> None:
        while not begun.is_set():
            await asyncio.sleep(0.001)
        may_end.set()

    async def all_calls() -> list[tuple[int, Any]]:
        calls = [posted(names["app"], json.dumps(dog(number)).encode()) for number in range(3)]
        *answers, _ = await asyncio.gather(*calls, let_it_end())
        return answers

    assert [status for status, _ in asyncio.run(all_calls())] == [200] * 3
    assert in_time == [True] * 3


@pytest.mark.parametrize("said", ["a file's name", ["a list"], 3, None])
def test_what_is_handed_over_never_opens_a_file(said: object, service: Any, tmp_path: Path) -> None:
    """JSON may also be a text, and a text is the name of some file of the host."""
    if isinstance(said, str):
        secret = tmp_path / "secret.yaml"
        secret.write_text(json.dumps(dog(1)), encoding="utf-8")
        said = str(secret)
    assert post(service, json.dumps(said).encode().rjust(11))[0] == 422
    handed: Any = said
    profile, day = load_profile("griffon-bruxellois-rough"), date(2026, 3, 21)
    refused, answered = work_orders([handed, dog(1)], profile, date=day)
    assert isinstance(refused, InputError)
    assert isinstance(answered, WorkOrder)


def run(*words: str | Path, **more: Any) -> subprocess.CompletedProcess[str]:
    """Runs an example as a program of its own, on the sources beside it."""
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    command = [sys.executable, "-W", "error", *map(str, words)]
    return subprocess.run(command, capture_output=True, text=True, check=True, env=environment, **more)


def at_home(number: int) -> dict[str, Any]:
    """A dog that names its profile."""
    data = dog(number)
    return {**data, "dog": {**data["dog"], "profile": "griffon-bruxellois-rough"}}


def test_no_bad_row_stops_the_nightly_batch(tmp_path: Path) -> None:
    book = tmp_path / "book.db"
    rows = [
        ("a", json.dumps(at_home(1))),
        ("b", '{"format": 1}'),
        ("c", "{no json"),
        ("d", None),
        ("e", json.dumps(at_home(2))),
        ("f", '{"\\ud800": 1}'),
        (None, "[]"),
        ("c", "3"),  # its id is another row's too
    ]
    with sqlite3.connect(book) as database:
        database.execute("CREATE TABLE dogs (id TEXT, history TEXT)")
        database.executemany("INSERT INTO dogs VALUES (?, ?)", rows)
        database.execute("INSERT INTO dogs VALUES ('g', CAST(x'7bff' AS TEXT))")  # text that is none
    assert run(EXAMPLES / "nightly_batch.py", book, "2026-03-21").stdout == "9 dogs, 7 with problems\n"
    with sqlite3.connect(book) as database:
        found = database.execute("SELECT dog, content, problems FROM orders ORDER BY row").fetchall()
        assert [content is None for _, content, _ in found] == [False, True, True, True, False, True, True, True, True]
        assert all(json.loads(problems)[0]["code"] for _, content, problems in found if content is None)
        assert json.loads(found[0][1]) == Engine().order(at_home(1), date=date(2026, 3, 21)).to_dict()
        database.execute("DELETE FROM orders WHERE dog = 'e'")  # as after a night cut short
        database.execute("UPDATE orders SET minutes = 0 WHERE dog = 'a'")
    assert run(EXAMPLES / "nightly_batch.py", book, "2026-03-21").stdout == "9 dogs, 7 with problems\n"
    with sqlite3.connect(book) as database:
        minutes = dict(database.execute("SELECT dog, minutes FROM orders WHERE problems IS NULL").fetchall())
    assert minutes["a"] == 0  # not worked again
    assert minutes["e"] > 0


def test_a_folder_of_parquet_becomes_a_folder_of_parquet(tmp_path: Path) -> None:
    histories, orders = tmp_path / "histories", tmp_path / "orders"
    histories.mkdir()
    told: dict[str, list[str | None]] = {
        "a": [json.dumps(at_home(1)), "{no json", json.dumps(at_home(2))],
        "b": [json.dumps(at_home(3)), None, "[]", "3", "[" * 100_000],
        "empty": [],
    }
    for name, rows in told.items():
        more = [f"row {n}" for n in range(len(rows))]  # a host's own column
        table = pa.table({"id": more, "history": pa.array(rows, pa.string())})
        pq.write_table(table, histories / f"{name}.parquet", row_group_size=2)
    words = (EXAMPLES / "parquet_batch.py", histories, "2026-03-21", orders)
    (histories / "0-broken.parquet").write_bytes(b"no Parquet")
    pq.write_table(pa.table({"id": ["a"]}), histories / "1-other.parquet")
    with pytest.raises(subprocess.CalledProcessError) as caught:  # once all others are worked
        run(*words)
    assert [line.split(":")[0] for line in caught.value.stderr.splitlines()] == ["0-broken.parquet", "1-other.parquet"]
    assert {file.name for file in orders.glob("*.parquet")} == {f"{name}.parquet" for name in told}
    for file in histories.glob("?-*"):
        file.unlink()
    assert not list(orders.glob("*.part"))
    found = {name: pq.read_table(orders / f"{name}.parquet").to_pylist() for name in told}
    assert [[row["dog"] for row in rows] for rows in found.values()] == [["dog-1", "dog-2"], ["dog-3"], []]
    aside = {name: pq.read_table(orders / "set-aside" / f"{name}.parquet").to_pylist() for name in told}
    assert [[row["row"] for row in rows] for rows in aside.values()] == [[1], [1, 2, 3, 4], []]
    assert all(json.loads(row["problems"])[0]["code"] for rows in aside.values() for row in rows)
    assert aside["a"][0]["history"] == "{no json"
    alone = Engine().order(at_home(3), date=date(2026, 3, 21))
    assert json.loads(found["b"][0]["order"]) == alone.to_dict()
    assert found["b"][0]["come_by"] == alone.next_visit.latest

    kept = (orders / "b.parquet").stat().st_mtime_ns
    (orders / "a.parquet").rename(orders / "a.parquet.part")  # as after a night cut short
    run(*words)
    assert pq.read_table(orders / "a.parquet").to_pylist() == found["a"]
    assert (orders / "b.parquet").stat().st_mtime_ns == kept


def test_profiles_may_come_from_a_database(tmp_path: Path) -> None:
    assert run(EXAMPLES / "profile_store.py", cwd=tmp_path).stdout.startswith("House griffon: ")
    store = runpy.run_path(str(EXAMPLES / "profile_store.py"))["Store"](tmp_path / "profiles.db")
    assert store("none-such") is None
    assert Engine(shelves=[store]).profile("house-griffon").visit.minutes == 75


def test_any_language_may_ask_through_a_pipe() -> None:
    day = "2026-03-21"
    requests: list[Any] = [
        {"id": 1, "do": "order", "dog": at_home(1), "date": day},
        {"id": "two", "do": "due", "dog": dog(2), "date": day, "profile": "wire-terrier"},
        {"id": 3, "do": "check", "profile": {"format": 1, "id": "mine"}},
        {"id": 4, "do": "order", "dog": {"format": 1}, "date": day},
        {"id": 5, "do": "order"},
        [],
    ]
    lines = [*map(json.dumps, requests), "\udcff"]  # a byte that no UTF-8 has, and after it
    lines.append(json.dumps({"id": 8, "do": "order", "dog": {"\ud800": float("nan")}, "date": day}))
    done = run(EXAMPLES / "json_lines.py", input="\n".join(lines) + "\n", errors="surrogateescape")
    answers = [json.loads(line) for line in done.stdout.splitlines()]
    assert [answer["id"] for answer in answers] == [1, "two", 3, 4, 5, None, None, 8]
    assert answers[0]["result"] == Engine().order(at_home(1), date=date(2026, 3, 21)).to_dict()
    assert answers[1]["result"]["day"] >= day
    assert answers[2]["result"][0]["code"]
    for answer in answers[3:]:
        Draft202012Validator(schema("problems")).validate({"problems": answer["problems"]})
        assert answer["problems"][0]["code"]
    assert done.stderr == ""


def test_every_cell_of_the_notebook_runs() -> None:
    notebook = json.loads((EXAMPLES / "notebook.ipynb").read_text(encoding="utf-8"))
    names: dict[str, Any] = {}
    for cell in notebook["cells"]:
        if cell["cell_type"] == "code":
            assert not cell["outputs"]
            exec("".join(cell["source"]), names)
    assert names["order"].steps
    assert names["later"]
