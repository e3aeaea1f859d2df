"""Writes a visit down so that nothing is ever lost: checked before, locked, added at the end, flushed, read again.

A YAML history only grows: what stands in it is never written again. Room for the new visit is taken first with blank lines,
which mean nothing in YAML, and the visit is then written over them in one go; so a full disk or a crash at any moment
leaves a file that reads. A JSON history is written anew beside the old file, which it then replaces in one step.
"""

from __future__ import annotations

import json
from pathlib import Path

from coatrules.catalogue.message import Message, message
from coatrules.disk import changing
from coatrules.dog.frames import framed
from coatrules.dog.history import History, Visit
from coatrules.dog.loading import history_of, read_history
from coatrules.formats.documents import without_file
from coatrules.problems import InputError, Problem
from coatrules.profile.compiled import CompiledProfile
from coatrules.reading import MAX_BYTES, Document, read_json, read_yaml
from coatrules.recording.text import visit_data, visit_text
from coatrules.recording.visits import ask_back, with_visit


def append_visit(
    file: Path,
    visit: Visit | Document,
    *,
    compiled: CompiledProfile | None = None,
    again: bool = False,
    anyway: bool = False,
) -> History:
    """Adds a visit to the history in ``file`` and returns the whole; on return it is safely on the disk.

    ``visit`` is a ``Visit``, or plain data that remembers where it was written. With ``compiled`` names that the profile does
    not have are refused, and work against the floor unless ``anyway`` and the visit has a note. Work on a day that has work
    on record already is refused unless ``again``. Raises ``InputError`` with every problem found, and then nothing was written.
    """
    document = visit if isinstance(visit, Document) else without_file(visit_data(visit))
    if file.suffix.lower() not in (".yaml", ".yml", ".json"):
        raise InputError([Problem(code="not-a-history", file=str(file))])
    with changing(file, MAX_BYTES, code="cannot-record") as change:
        old = read_history(change.content, file)
        new = with_visit(old, document, compiled, again=again)
        if compiled is not None:
            ask_back(compiled, new, anyway=anyway)
        if file.suffix.lower() == ".json":
            change.replace(_json_with(change.content, file, new.visits[-1]))
        else:
            change.extend(_addition(change.content, file, old, new.visits[-1]))
    return new


def _addition(content: bytes, file: Path, old: History, visit: Visit) -> bytes:
    """What to add to a YAML history for a visit."""
    text = framed(visit_text(visit_data(visit)))
    if content and not content.endswith(b"\n"):
        text = "\n" + text
        old = read_history(content + b"\n", file)  # the line break belongs to a text that was left open at the end
    addition = (text.replace("\n", "\r\n") if b"\r\n" in content else text).encode()
    _reads_back(content + addition, file, (*old.visits, visit))
    return addition


def _reads_back(content: bytes, file: Path, visits: tuple[Visit, ...]) -> None:
    """Text that the reader would refuse, or take for something else, must never reach the file."""
    reason = message("not-read-back")
    try:
        if history_of(read_yaml(content, str(file))).visits == visits:
            return
    except InputError as error:
        reason = Message(code=error.problems[0].code, params=error.problems[0].params)
    raise InputError([Problem(code="visit-unwritable", params={"reason": reason}, file=str(file))])


def _json_with(content: bytes, file: Path, visit: Visit) -> bytes:
    data = read_json(content, str(file)).data
    data = {**data, "visits": [*data.get("visits", ()), visit_data(visit)]}
    return (json.dumps(data, indent=2, ensure_ascii=False) + "\n").encode()
