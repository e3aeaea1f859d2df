"""The examples of embedding, run as they stand: a web service, a nightly batch, a folder of Parquet, a notebook."""

from __future__ import annotations

import asyncio
import json
import runpy
import subprocess
import sys
from datetime import date
from pathlib import Path
from typing import Any

import pyarrow as pa
import pyarrow.parquet as pq
import pytest

from coatrules import InputError, WorkOrder, load_profile, work_orders
from tests.benchmarks.generate import dog
from tests.support.paths import EXAMPLES


def post(
    app: Any, body: bytes, *, path: str = "/order", query: str = "date=2026-03-21&profile=griffon-bruxellois-rough"
) -> Any:
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

    scope = {"type": "http", "method": "POST", "path": path, "query_string": query.encode()}
    asyncio.run(app(scope, receive, send))
    start, body_sent = sent
    assert dict(start["headers"])[b"content-type"] == b"application/json"
    return start["status"], json.loads(body_sent["body"])


def test_the_web_service_answers_and_refuses() -> None:
    app = runpy.run_path(str(EXAMPLES / "web_service.py"))["app"]
    status, answer = post(app, json.dumps(dog(1)).encode())
    assert status == 200
    assert answer["dog"]["id"] == "dog-1"
    assert answer["steps"]
    status, answer = post(app, json.dumps({**dog(1), "visit": []}).encode())
    assert status == 422
    assert "visits" in answer["problems"][0]
    assert post(app, json.dumps(dog(1)).encode(), query="date=2026-03-21&profile=none-such")[0] == 422
    for body in (b"{", b"[]", b"[" * 100_000, b"\xff" * 20, b"1"):
        assert post(app, body)[0] in (400, 422)
    assert post(app, json.dumps(dog(1)).encode(), query="")[0] == 400
    assert post(app, b" " * 1_000_100)[0] == 413
    assert post(app, b"{}", path="/")[0] == 404


@pytest.mark.parametrize("said", ["a file's name", ["a list"], 3, None])
def test_what_is_handed_over_never_opens_a_file(said: object, tmp_path: Path) -> None:
    """JSON may also be a text, and a text is the name of some file of the host."""
    if isinstance(said, str):
        secret = tmp_path / "secret.yaml"
        secret.write_text(json.dumps(dog(1)), encoding="utf-8")
        said = str(secret)
    app = runpy.run_path(str(EXAMPLES / "web_service.py"))["app"]
    assert post(app, json.dumps(said).encode().rjust(11))[0] == 422
    handed: Any = said
    profile, day = load_profile("griffon-bruxellois-rough"), date(2026, 3, 21)
    refused, answered = work_orders([handed, dog(1)], profile, date=day)
    assert isinstance(refused, InputError)
    assert isinstance(answered, WorkOrder)


def test_the_nightly_batch_tells_who_is_due_and_what_is_wrong(tmp_path: Path) -> None:
    book = tmp_path / "book.jsonl"
    book.write_text("\n".join(json.dumps(one) for one in (dog(1), {"format": 1}, dog(2))), encoding="utf-8")
    command = [sys.executable, str(EXAMPLES / "nightly_batch.py"), str(book), "2026-03-21"]
    done = subprocess.run(command, capture_output=True, text=True, check=True)
    assert "line 2" in done.stderr
    assert "line 1" not in done.stderr
    assert {line.split(":")[0] for line in done.stdout.splitlines()} <= {"Dog 1", "Dog 2"}


def test_a_folder_of_parquet_becomes_a_folder_of_parquet(tmp_path: Path) -> None:
    histories, orders = tmp_path / "histories", tmp_path / "orders"
    histories.mkdir()
    told: dict[str, list[str | None]] = {
        "a": [json.dumps(dog(1)), "{no json", json.dumps(dog(2))],
        "b": [json.dumps(dog(3)), None, "[]", "3", "[" * 100_000],
        "empty": [],
    }
    for name, rows in told.items():
        more = [f"row {n}" for n in range(len(rows))]  # a host's own column
        table = pa.table({"id": more, "history": pa.array(rows, pa.string())})
        pq.write_table(table, histories / f"{name}.parquet", row_group_size=2)
    command = [sys.executable, str(EXAMPLES / "parquet_batch.py"), str(histories), "2026-03-21", str(orders)]
    subprocess.run(command, capture_output=True, text=True, check=True)
    assert {file.name for file in orders.iterdir()} == {f"{name}.parquet" for name in told}
    found = {name: pq.read_table(orders / f"{name}.parquet").to_pylist() for name in told}
    assert [[row["dog"] for row in rows] for rows in found.values()] == [
        ["dog-1", None, "dog-2"],
        ["dog-3", *[None] * 4],
        [],
    ]
    assert all(bool(row["problems"]) is (row["dog"] is None) for rows in found.values() for row in rows)
    profile, day = load_profile("griffon-bruxellois-rough"), date(2026, 3, 21)
    (alone,) = work_orders([dog(3)], profile, date=day)
    assert isinstance(alone, WorkOrder)
    assert json.loads(found["b"][0]["order"]) == alone.to_dict()
    assert found["b"][0]["come_by"] == alone.next_visit.latest

    kept = (orders / "b.parquet").stat().st_mtime_ns
    (orders / "a.parquet").rename(orders / "a.part")  # as after a night cut short
    subprocess.run(command, capture_output=True, text=True, check=True)
    assert pq.read_table(orders / "a.parquet").to_pylist() == found["a"]
    assert (orders / "b.parquet").stat().st_mtime_ns == kept


def test_every_cell_of_the_notebook_runs() -> None:
    notebook = json.loads((EXAMPLES / "notebook.ipynb").read_text(encoding="utf-8"))
    names: dict[str, Any] = {}
    for cell in notebook["cells"]:
        if cell["cell_type"] == "code":
            assert not cell["outputs"]
            exec("".join(cell["source"]), names)
    assert names["order"].steps
    assert names["later"]
