"""A web service that never blocks its event loop: POST a dog's history as JSON, get its work order as JSON.

    uvicorn web_service:app
    POST /order?date=2026-03-21&profile=griffon-bruxellois-rough

An order takes up to some tenths of a second of the processor, in which an event loop could answer nobody: it is worked out in a thread.
Few threads at a time, for they share one interpreter; for more, start more processes. What is wrong with an input is answered as
data with a code, by schemas/problems.schema.json. Needs Starlette besides.
"""

import json
from datetime import date

from anyio import CapacityLimiter, to_thread
from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import JSONResponse
from starlette.routing import Route

from coatrules import Engine, InputError

LARGEST = 1_000_000  # bytes
engine = Engine()  # one for all threads: it keeps nothing but the profiles it has read
threads = CapacityLimiter(2)


async def order(request: Request) -> JSONResponse:
    """The order of one dog."""
    body = b""
    async for chunk in request.stream():
        body += chunk
        if len(body) > LARGEST:
            return refused(413, "too-large")
    try:
        day = date.fromisoformat(request.query_params["date"])  # the salon's day: it knows its time zone
        dog = json.loads(body)
    except (KeyError, ValueError, RecursionError):
        return refused(400, "bad-request")
    profile = request.query_params.get("profile")
    status, answer = await to_thread.run_sync(answered, dog, day, profile, limiter=threads)
    return JSONResponse(answer, status, {"x-content-type-options": "nosniff"})


def answered(dog, day: date, profile: str | None):
    """Status and answer; runs in a thread."""
    try:
        return 200, engine.data(engine.order(dog, date=day, profile=profile))
    except InputError as error:
        return 422, engine.data(error)


def refused(status: int, code: str) -> JSONResponse:
    """What is not a matter of dogs, in the same form."""
    problem = {"code": code, "severity": "error", "message": code.replace("-", " "), "hint": "", "path": []}
    return JSONResponse({"problems": [problem]}, status)


app = Starlette(routes=[Route("/order", order, methods=["POST"])])
