"""The visit asked for in a terminal: as planned, except what? Each answer is kept as it is given; a wrong one is asked again."""

from __future__ import annotations

import os
import re
import sys
from argparse import Namespace
from collections.abc import Callable, Mapping
from contextlib import suppress
from datetime import date
from functools import partial
from pathlib import Path
from typing import Any, TypeVar, get_args

from coatrules.catalogue.message import message
from coatrules.catalogue.speaking import say
from coatrules.catalogue.spellings import either, typed_as
from coatrules.disk import remove, write
from coatrules.dog.history import Health
from coatrules.dog.loading import visit_of
from coatrules.formats.documents import read_one, without_file
from coatrules.formats.values import Reaction
from coatrules.problems import InputError, visible
from coatrules.profile.compiled import CompiledProfile
from coatrules.recording.draft import Draft
from coatrules.recording.entry import check_minutes
from coatrules.recording.parts import parts_shown
from coatrules.recording.text import visit_text
from coatrules.recording.typed import NotUnderstood, healths_typed, keys_shown, minutes, seen_words

T = TypeVar("T")
Prompt = Callable[[str], str]
"""Shows a question and returns the answer; raises ``EOFError`` or ``KeyboardInterrupt`` where none comes any more."""


def ask(draft: Draft, compiled: CompiledProfile, prompt: Prompt | None = None) -> bool:
    """Asks what went otherwise than in the draft, which holds the visit as planned, and changes it answer by answer.

    Returns whether anything was answered.
    """
    prompt = prompt or input
    answered, question = False, "prompt.except"
    while (line := prompt(say(question)).strip()) and not (answered and typed_as(line, "typed.nothing-else")):
        if typed_as(line, "typed.help"):
            _tell("prompt.parts", parts=tuple(parts_shown(compiled).values()))
            reactions = keys_shown("typed.reaction", get_args(Reaction))
            _tell("prompt.words", work=message("record.work"), reactions=reactions, seen=seen_words())
        elif typed_as(line, "typed.undo"):
            _tell("prompt.undone" if draft.undo() else "prompt.nothing-to-undo")
        elif _take(draft, line):
            answered, question = True, "prompt.else"
    if not answered:
        return False
    visit = draft.visit
    if "minutes" not in visit:
        taken = _answer(prompt, say("prompt.took"), partial(_minutes, visit, compiled))
        if taken is not None:
            visit["minutes"] = taken
    names = keys_shown("typed.health", get_args(Health))
    while health := _answer(prompt, say("prompt.health", names=names), healths_typed):
        visit["health"] = [*dict.fromkeys([*visit.get("health", []), *health])]
    if note := _answer(prompt, say("prompt.note"), _note):
        visit["note"] = " ".join([*filter(None, [visit.get("note")]), note])
    return True


def _take(draft: Draft, line: str) -> bool:
    """Takes what a line says; returns whether any of it was understood."""
    taken, understood, wrong = draft.take(line)
    for how in understood:
        print(visible(how.text), file=sys.stderr)
    for error in wrong:
        print(visible(str(error)), file=sys.stderr)
    return taken


def _minutes(visit: Mapping[str, Any], compiled: CompiledProfile, text: str) -> float:
    if "=" in text:
        raise NotUnderstood("typed.whole-minutes", text=text)
    taken = minutes(text)
    check_minutes({**visit, "minutes": taken}, compiled)
    return taken


def _answer(prompt: Prompt, question: str, parse: Callable[[str], T]) -> T | None:
    """Returns the answer to one question, asked again until it is understood; None for an empty one."""
    while answer := prompt(question).strip():
        try:
            return parse(answer)
        except (NotUnderstood, InputError) as error:
            print(error, file=sys.stderr)
    return None


def _note(text: str) -> str:
    words = re.sub(rf"^(?:{either('typed.note')})\s*:\s*", "", text, flags=re.IGNORECASE)
    without_file({"note": words})  # what no file can hold is refused while it can still be said otherwise
    return words


def _tell(code: str, **params: Any) -> None:
    print(say(code, params), file=sys.stderr)


# -- what was answered before the end -----------------------------------------------------------------------------------


def draft_file(dog: Path, day: date) -> Path:
    """Returns the file beside the history that keeps what was answered of a visit not yet recorded."""
    return dog.with_name(f"{dog.name}.{day.isoformat()}.draft")


def keep_draft(dog: Path, day: date, visit: dict[str, Any]) -> None:
    """Writes what was answered so far beside the history, and says so."""
    file = draft_file(dog, day)
    write(file, visit_text(visit).encode(), own=True)
    _tell("prompt.draft-kept", file=file)


def drop_draft(dog: Path, day: date) -> None:
    """Removes the draft of a visit that is recorded now."""
    with suppress(OSError):
        remove(draft_file(dog, day))


def offered_draft(args: Namespace, day: date, prompt: Prompt | None = None) -> dict[str, Any] | None:
    """Returns the draft of this day's visit where there is one that is wanted."""
    file = draft_file(args.dog, day)
    for other in sorted(args.dog.parent.glob(f"{args.dog.name}.*.draft")):
        if other != file:
            _tell("prompt.draft-of-another-day", file=other)
    if not os.path.isfile(file):
        return None
    document = read_one(file, "not-one-visit")
    visit_of(document)  # somebody may have changed it
    visit: dict[str, Any] = document.data
    print(visit_text(visit), end="", file=sys.stderr)
    return None if typed_as((prompt or input)(say("prompt.draft", day=day)), "typed.no") else visit
