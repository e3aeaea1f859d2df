"""A web service in plain ASGI, for any server of that kind: POST a dog's history as JSON, get its work order as JSON.

POST /order?date=2026-03-21&profile=griffon-bruxellois-rough
"""

import json
from datetime import date
from functools import lru_cache
from urllib.parse import parse_qs

from coatrules import InputError, load_profile, work_order

LARGEST = 1_000_000  # bytes
profile_named = lru_cache(maxsize=64)(load_profile)  # compiled once, shared by all threads


async def app(scope, receive, send):
    if scope["type"] != "http":
        return
    status, answer = await answered(scope, receive)
    headers = [(b"content-type", b"application/json"), (b"x-content-type-options", b"nosniff")]
    await send({"type": "http.response.start", "status": status, "headers": headers})
    await send({"type": "http.response.body", "body": json.dumps(answer, ensure_ascii=False).encode()})


async def answered(scope, receive):
    if scope["method"] != "POST" or scope["path"] != "/order":
        return 404, {"problems": ["POST a history to /order"]}
    body, more = b"", True
    while more:
        message = await receive()
        body, more = body + message.get("body", b""), message.get("more_body", False)
        if len(body) > LARGEST:
            return 413, {"problems": ["this history is too large"]}
    asked = parse_qs(scope["query_string"].decode("ascii", "replace"))
    try:
        day = date.fromisoformat(asked["date"][0])
        order = work_order(profile_named(asked["profile"][0]), json.loads(body), date=day)
    except InputError as error:
        return 422, {"problems": [str(problem) for problem in error.problems]}
    except (KeyError, ValueError, RecursionError, AttributeError, TypeError):
        return 400, {"problems": ["expected a date, a profile and a history in JSON"]}
    return 200, order.to_dict()
