"""The language server as a process, spoken to as an editor does: JSON-RPC 2.0 in messages with a length before them.

Source: Language Server Protocol 3.17, "Base Protocol". The client is written here, so that no library is on both sides.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from queue import Queue
from threading import Thread
from typing import Any

import pytest

from tests.support.paths import ROOT

pytest.importorskip("pygls")

SOUND = """\
format: 1
id: child
label: Child – “Brüssel” 🐕
extends: points-of-the-dog
layer_targets:
  body: {regions: [jackt], layers: 4, take: {usual: 0.2}}
"""


class Client:
    """Speaks to one server."""

    def __init__(self) -> None:
        environment = os.environ | {"PYTHONPATH": os.pathsep.join([str(ROOT), os.environ.get("PYTHONPATH", "")])}
        self.process = subprocess.Popen(
            [sys.executable, "-m", "coatrules.editor"],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            env=environment,
        )
        self.messages: Queue[dict[str, Any]] = Queue()
        self.notes: list[dict[str, Any]] = []
        self.asked = 0
        self.reader = Thread(target=self._read, daemon=True)
        self.reader.start()

    def _read(self) -> None:
        assert self.process.stdout is not None
        while line := self.process.stdout.readline():
            length = int(line.split(b":")[1])
            while self.process.stdout.readline().strip():
                pass
            self.messages.put(json.loads(self.process.stdout.read(length)))

    def send(self, **message: Any) -> None:
        assert self.process.stdin is not None
        body = json.dumps({"jsonrpc": "2.0", **message}).encode()
        self.process.stdin.write(b"Content-Length: %d\r\n\r\n%s" % (len(body), body))
        self.process.stdin.flush()

    def notify(self, method: str, params: Any) -> None:
        self.send(method=method, params=params)

    def ask(self, method: str, params: Any) -> Any:
        self.asked += 1
        self.send(id=self.asked, method=method, params=params)
        answer = self.wait(lambda message: message.get("id") == self.asked and "method" not in message)
        assert "error" not in answer, answer
        return answer["result"]

    def wait(self, wanted: Callable[[dict[str, Any]], bool]) -> dict[str, Any]:
        while True:
            message = self.messages.get(timeout=60)
            if wanted(message):
                return message
            self.notes.append(message)

    def diagnostics(self, uri: str, version: int) -> list[dict[str, Any]]:
        """What is found of a version of a text, once it is."""

        def this(message: dict[str, Any]) -> bool:
            params = message.get("params", {})
            is_it = message.get("method") == "textDocument/publishDiagnostics"
            return bool(is_it and params["uri"] == uri and params.get("version") == version)

        found: list[dict[str, Any]] = self.wait(this)["params"]["diagnostics"]
        return found

    def close(self) -> int:
        self.ask("shutdown", None)
        self.notify("exit", None)
        self.reader.join(timeout=30)
        code = self.process.wait(timeout=30)
        for stream in (self.process.stdin, self.process.stdout):
            assert stream is not None
            stream.close()
        return code


@pytest.fixture
def client() -> Iterator[Client]:
    one = Client()
    yield one
    if one.process.poll() is None:
        one.process.kill()
        one.process.wait()
        for stream in (one.process.stdin, one.process.stdout):
            assert stream is not None
            stream.close()


def position(text: str, word: str) -> dict[str, int]:
    """Where a word begins, in the protocol's units: of UTF-16."""
    before = text[: text.index(word)]
    line = before.rsplit("\n", 1)[-1]
    return {"line": before.count("\n"), "character": len(line.encode("utf-16-le")) // 2}


def test_an_editors_session(client: Client, tmp_path: Path) -> None:
    file = tmp_path / "child.yaml"
    file.write_text(SOUND, encoding="utf-8")
    uri = file.as_uri()
    document = {"uri": uri}
    able = client.ask("initialize", {"processId": None, "rootUri": tmp_path.as_uri(), "capabilities": {}})[
        "capabilities"
    ]
    assert able["hoverProvider"]
    assert able["definitionProvider"]
    assert able["completionProvider"]
    assert able["codeActionProvider"]["codeActionKinds"] == ["quickfix"]
    client.notify("initialized", {})

    # Opened: the problems of check, with codes and places.
    client.notify(
        "textDocument/didOpen", {"textDocument": {**document, "languageId": "yaml", "version": 1, "text": SOUND}}
    )
    unknown = next(one for one in client.diagnostics(uri, 1) if one["code"].startswith("unknown"))
    assert unknown["source"] == "coatrules"
    assert unknown["severity"] == 1
    assert unknown["range"]["start"] == position(SOUND, "jackt")
    assert unknown["range"]["end"]["character"] == position(SOUND, "jackt")["character"] + len("jackt")

    # Its fix, applied.
    asked = {"textDocument": document, "range": unknown["range"], "context": {"diagnostics": [unknown]}}
    (action,) = client.ask("textDocument/codeAction", asked)
    assert action["kind"] == "quickfix"
    (edit,) = action["edit"]["changes"][uri]
    assert edit["newText"] == "jacket"
    assert edit["range"] == unknown["range"]

    # Changed, and broken, without being saved: what is on the disk does not count.
    change = {"range": unknown["range"], "text": "jacket"}
    client.notify("textDocument/didChange", {"textDocument": {**document, "version": 2}, "contentChanges": [change]})
    fixed = SOUND.replace("jackt", "jacket")
    assert not [found for found in client.diagnostics(uri, 2) if found["severity"] == 1]
    broken = fixed + "sensitive_zones:\n  throat: {lev"
    client.notify(
        "textDocument/didChange", {"textDocument": {**document, "version": 3}, "contentChanges": [{"text": broken}]}
    )
    (syntax,) = client.diagnostics(uri, 3)
    assert syntax["severity"] == 1
    assert file.read_text(encoding="utf-8") == SOUND

    # Completion and hover in the broken text.
    end = {"line": broken.count("\n"), "character": len("  throat: {lev")}
    offered = client.ask("textDocument/completion", {"textDocument": document, "position": end})["items"]
    assert [item["label"] for item in offered] == ["level"]
    assert offered[0]["textEdit"]["newText"] == "level: "
    zones = client.ask(
        "textDocument/completion", {"textDocument": document, "position": {**end, "character": len("  th")}}
    )["items"]
    assert "throat" in [item["label"] for item in zones]
    shown = client.ask("textDocument/hover", {"textDocument": document, "position": position(broken, "throat")})
    assert "points-of-the-dog.yaml" in shown["contents"]["value"]

    # Where a name was set, and a word behind characters of two units.
    place = client.ask("textDocument/definition", {"textDocument": document, "position": position(broken, "jacket")})
    assert place["uri"].endswith("/points-of-the-dog.yaml")
    label = client.ask("textDocument/hover", {"textDocument": document, "position": position(broken, "label")})
    assert "as people read it" in label["contents"]["value"]

    # Saved whole, then closed: nothing is left over.
    client.notify(
        "textDocument/didChange", {"textDocument": {**document, "version": 4}, "contentChanges": [{"text": fixed}]}
    )
    client.notify("textDocument/didSave", {"textDocument": document})
    assert not [found for found in client.diagnostics(uri, 4) if found["severity"] == 1]
    client.notify("textDocument/didClose", {"textDocument": document})
    assert client.close() == 0


BASE = """\
format: 2
id: base
label: Base
extends: points-of-the-dog
groups: {barrel: [back, ribs]}
"""
CHILD = """\
format: 2
id: child
label: Child
extends: base
visit: {every_weeks: 3, minutes: 90}
rules:
  mine: {regions: [barrel, chest], if: {cover: {maximum: 0.2}}, then: {priority: 1}, because: So., source: practice}
"""


def test_an_open_base_holds_before_the_one_that_is_saved(client: Client, tmp_path: Path) -> None:
    """What was typed into a base and not yet saved did not reach the profiles that build on it."""
    base, child = ((tmp_path / f"{name}.yaml") for name in ("base", "child"))
    base.write_text(BASE, encoding="utf-8")
    client.ask("initialize", {"processId": None, "rootUri": tmp_path.as_uri(), "capabilities": {}})
    client.notify("initialized", {})

    def types(file: Path, version: int, text: str) -> None:
        document = {"uri": file.as_uri(), "version": version}
        if version == 1:
            client.notify("textDocument/didOpen", {"textDocument": {**document, "languageId": "yaml", "text": text}})
        else:
            client.notify("textDocument/didChange", {"textDocument": document, "contentChanges": [{"text": text}]})

    def at(word: str) -> dict[str, Any]:
        return {"textDocument": {"uri": child.as_uri()}, "position": position(CHILD, word)}

    def unknown() -> list[str]:
        return [one["message"] for one in client.diagnostics(child.as_uri(), 1) if one["code"] == "unknown-name"]

    types(child, 1, CHILD)
    (message,) = unknown()
    assert "'chest'" in message

    # A group more in the open base: the child is checked anew, and finds it.
    types(base, 1, BASE)
    assert len(unknown()) == 1
    typed = BASE.replace("barrel: [back, ribs]", "chest: [brisket], barrel: [back, ribs]")
    types(base, 2, "# ours\n" + typed)
    assert unknown() == []
    offered = client.ask("textDocument/completion", at("chest"))["items"]
    assert "chest" in [item["label"] for item in offered]
    place = client.ask("textDocument/definition", at("chest"))
    assert (place["uri"], place["range"]["start"]["line"]) == (base.as_uri(), 5)
    assert "base.yaml, line 6" in client.ask("textDocument/hover", at("barrel"))["contents"]["value"]
    assert base.read_text(encoding="utf-8") == BASE

    # A broken base is told where it is extended; closed unsaved, it is again as it was saved.
    types(base, 3, typed + "sources: {")
    (broken,) = client.diagnostics(child.as_uri(), 1)
    assert broken["range"]["start"]["line"] == 3
    assert broken["relatedInformation"][0]["location"]["uri"] == base.as_uri()
    client.notify("textDocument/didClose", {"textDocument": {"uri": base.as_uri()}})
    assert len(unknown()) == 1
    assert client.close() == 0


def test_other_files_are_left_in_peace(client: Client, tmp_path: Path) -> None:
    uri = (tmp_path / "pip.yaml").as_uri()
    history = "format: 1\ndog: {id: pip}\n---\nvisit: nonsense\n"
    client.ask("initialize", {"processId": None, "rootUri": None, "capabilities": {}})
    client.notify("initialized", {})
    opened = {"uri": uri, "languageId": "yaml", "version": 1, "text": history}
    client.notify("textDocument/didOpen", {"textDocument": opened})
    assert client.diagnostics(uri, 1) == []
    here = {"textDocument": {"uri": uri}, "position": {"line": 1, "character": 1}}
    assert client.ask("textDocument/hover", here) is None
    assert client.ask("textDocument/definition", here) is None
    assert client.ask("textDocument/completion", here)["items"] == []
    assert client.close() == 0
