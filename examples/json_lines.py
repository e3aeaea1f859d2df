"""For software in any other language: one process, requests in, answers out, a line of JSON each. ``python json_lines.py``

    {"id": 1, "do": "order", "dog": {...}, "date": "2026-03-21"}
    {"id": 2, "do": "due", "dog": {...}, "date": "2026-03-21", "profile": "wire-terrier"}
    {"id": 3, "do": "check", "profile": {...}}

Start it once and keep its standard input and output open. An answer has the ``id`` of its request, and ``result`` or ``problems``. For a
whole book at once there is ``coatrules fleet``, which takes and gives JSON Lines too.
"""

import json
import sys
from datetime import date

from coatrules import Engine, InputError

engine = Engine()


def answer(line):
    request = {}
    try:
        request = json.loads(line)
        return {"id": request["id"], "result": engine.data(result(request))}
    except InputError as error:
        return {"id": request["id"], **engine.data(error)}
    except (KeyError, TypeError, ValueError, RecursionError) as error:
        number = request.get("id") if isinstance(request, dict) else None
        message = f"a request needs 'id', 'do' and what that needs: {error!r}"
        problem = {"code": "bad-request", "severity": "error", "message": message, "hint": "", "path": []}
        return {"id": number, "problems": [problem]}


def result(request):
    if request["do"] == "check":
        return engine.check(request["profile"])
    more = {"date": date.fromisoformat(request["date"]), "profile": request.get("profile")}
    if request["do"] == "due":
        return engine.due(request["dog"], **more)
    if request["do"] == "order":
        return engine.order(request["dog"], **more)
    raise ValueError(request["do"])


for line in sys.stdin.buffer:  # bytes: a line in another encoding is one bad request, and not the last
    print(json.dumps(answer(line)), flush=True)  # ASCII alone: no encoding can be guessed wrong
