"""How long a mentor waits in an editor, on the largest profile: as ratios to what was asked for.

A ratio of 1 is the limit: 150 ms for completion and hover after a keystroke, a second for the findings. The keystroke changes the
text, so that all is merged anew; the protocol's part of it is measured with it, in a process of its own.
"""

from __future__ import annotations

from time import perf_counter
from typing import Any

from coatrules.formats.resources import folder
from tests.system.test_editor_protocol import Client

KEYSTROKE_SECONDS = 0.150
FINDINGS_SECONDS = 1.0


def measure(rounds: int = 5) -> list[tuple[str, float, float]]:
    """(name, ratio of the best times to the limit, target: the ratio may be at most this)."""
    file = max(folder("profiles").glob("*.yaml"), key=lambda path: path.stat().st_size)
    text, uri = file.read_text(encoding="utf-8"), file.as_uri()
    client = Client()
    client.ask("initialize", {"processId": None, "rootUri": None, "capabilities": {}})
    client.notify("initialized", {})
    client.notify(
        "textDocument/didOpen", {"textDocument": {"uri": uri, "languageId": "yaml", "version": 0, "text": text}}
    )
    client.diagnostics(uri, 0)
    best = dict.fromkeys(("completion", "hover", "findings"), float("inf"))
    version = 0
    for _ in range(rounds):
        for method in ("completion", "hover"):
            version += 1
            start = perf_counter()
            _typed(client, uri, version, text + f"# {version}\n  ")
            client.ask(f"textDocument/{method}", {"textDocument": {"uri": uri}, "position": _within(text)})
            best[method] = min(best[method], perf_counter() - start)
        version += 1
        start = perf_counter()
        _typed(client, uri, version, text + f"# {version}\n")
        client.diagnostics(uri, version)
        best["findings"] = min(best["findings"], perf_counter() - start)
    client.close()
    return [
        ("completion after a keystroke / 150 ms", best["completion"] / KEYSTROKE_SECONDS, 1.0),
        ("hover after a keystroke / 150 ms", best["hover"] / KEYSTROKE_SECONDS, 1.0),
        ("findings of a changed text / 1 s", best["findings"] / FINDINGS_SECONDS, 1.0),
    ]


def _typed(client: Client, uri: str, version: int, text: str) -> None:
    document: dict[str, Any] = {"uri": uri, "version": version}
    client.notify("textDocument/didChange", {"textDocument": document, "contentChanges": [{"text": text}]})


def _within(text: str) -> dict[str, int]:
    """A place far down, so that much is looked at before it: the last key of two spaces."""
    lines = text.split("\n")
    line = max(index for index, content in enumerate(lines) if content.startswith("  ") and content[2:3].isalpha())
    return {"line": line, "character": 3}


if __name__ == "__main__":
    for name, ratio, target in measure():
        print(f"{name}: {ratio:.2f} (at most {target})")
