"""The visit asked for in a terminal: as planned, except what? Each answer is kept as it is given; a wrong one is asked again."""

from __future__ import annotations

import os
import sys
from argparse import Namespace
from collections.abc import Callable
from contextlib import suppress
from datetime import date
from pathlib import Path
from typing import Any, TypeVar, get_args

from coatrules.catalogue.message import message
from coatrules.catalogue.speaking import say
from coatrules.disk import remove, write
from coatrules.dog.history import Health
from coatrules.dog.loading import visit_of
from coatrules.formats.documents import read_one, without_file
from coatrules.formats.values import Reaction
from coatrules.problems import InputError
from coatrules.profile.compiled import CompiledProfile
from coatrules.recording.answered import Answered
from coatrules.recording.answers import apply, items, keep_apart, larger_first
from coatrules.recording.parts import parts_shown
from coatrules.recording.spellings import typed_as
from coatrules.recording.text import visit_text
from coatrules.recording.typed import NotUnderstood, health_typed, keys_shown, minutes, seen_words

T = TypeVar("T")
Prompt = Callable[[str], str]
"""Shows a question and returns the answer; raises ``EOFError`` or ``KeyboardInterrupt`` where none comes any more."""


def ask(visit: dict[str, Any], compiled: CompiledProfile, prompt: Prompt | None = None) -> bool:
    """Asks what went otherwise than in ``visit``, which is plain data of the visit as planned, and changes it answer by answer.

    Returns whether anything was answered.
    """
    prompt = prompt or input
    reactions = keys_shown("typed.reaction", get_args(Reaction))
    _tell("prompt.parts", parts=tuple(parts_shown(compiled).values()))
    _tell("prompt.words", work=message("record.work"), reactions=reactions, seen=seen_words())
    answered, question = False, "prompt.except"
    while line := prompt(say(question)).strip():
        answered |= _take(visit, line, compiled)
        question = "prompt.else"
    if not answered:
        return False
    if "minutes" not in visit:
        taken = _answer(prompt, say("prompt.took"), minutes)
        if taken is not None:
            visit["minutes"] = taken[1]
    while health := _answer(
        prompt, say("prompt.health", names=keys_shown("typed.health", get_args(Health))), health_typed
    ):
        visit.setdefault("health", []).append(health)
    if note := _answer(prompt, say("prompt.note"), _note):
        visit["note"] = " ".join([*filter(None, [visit.get("note")]), note])
    return True


def _take(visit: dict[str, Any], line: str, compiled: CompiledProfile) -> bool:
    """Takes what a line says; returns whether any of it was understood."""
    if typed_as(line, "typed.yes"):
        return True
    if typed_as(line, "typed.not-planned"):
        for key in ("work", "put_off"):
            visit.pop(key, None)
        return True
    understood, earlier = False, Answered()
    for item in larger_first(items(line, compiled), compiled):
        try:
            keep_apart(earlier, item, compiled)
            for how in apply(visit, item, compiled):
                print(how.text, file=sys.stderr)
            understood = True
        except (NotUnderstood, InputError) as error:
            print(error, file=sys.stderr)
    return understood


def _answer(prompt: Prompt, question: str, parse: Callable[[str], T]) -> T | None:
    """Returns the answer to one question, asked again until it is understood; None for an empty one."""
    while answer := prompt(question).strip():
        try:
            return parse(answer)
        except (NotUnderstood, InputError) as error:
            print(error, file=sys.stderr)
    return None


def _note(text: str) -> str:
    without_file({"note": text})  # what no file can hold is refused while it can still be said otherwise
    return text


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
