"""Whether a file holds the answers to a book: one for each dog, in the book's order, each profile in one edition."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from attrs import frozen

from coatrules.book.entries import opened_book
from coatrules.disk import lines
from coatrules.problems import MAX_PROBLEMS, Problem
from coatrules.reading import MAX_BYTES

LONGEST_ANSWER = 16_000_000


@frozen
class Verified:
    """What was found in the answers to a book."""

    dogs: int
    refused: int
    problems: tuple[Problem, ...]


def verify(out: Path, book: Path) -> Verified:
    """Compares the answers in ``out`` with the lines of ``book``; raises ``InputError`` where one of them cannot be read."""
    found = _Found(str(out))
    with opened_book(book) as asked, opened_book(out) as answered:
        answers = lines(answered, out, LONGEST_ANSWER)
        for number, (line, _) in enumerate(lines(asked, book, MAX_BYTES), 1):
            if not line.strip():
                continue
            answer = next(answers, None)
            if answer is None:
                found.report("answer-missing", {"line": number})
                break
            found.compare(number, line, answer[0])
            if len(found.problems) >= MAX_PROBLEMS:
                break
        else:
            if next(answers, None) is not None:
                found.report("answers-left")
    return Verified(found.dogs, found.refused, tuple(found.problems))


class _Found:
    def __init__(self, file: str) -> None:
        self.file = file
        self.dogs = self.refused = 0
        self.editions: dict[str, str] = {}
        self.problems: list[Problem] = []

    def report(self, code: str, params: dict[str, Any] | None = None) -> None:
        self.problems.append(Problem(code=code, params=params or {}, file=self.file, line=self.dogs or 1))

    def compare(self, number: int, line: bytes, text: bytes) -> None:
        self.dogs += 1
        answer, history = _parsed(text), _parsed(line)
        if not text.endswith(b"\n") or not isinstance(answer, dict):
            self.report("answer-broken", {"line": number})
        elif "problems" in answer:
            self.refused += 1
            if answer.get("line") != number:
                self.report("answer-of-another", {"line": number})
        elif not isinstance(history, dict) or _id(history) != _id(answer):
            self.report("answer-of-another", {"line": number})
        else:
            profile = answer.get("profile")
            which = profile if isinstance(profile, dict) else {}
            name, edition = which.get("id"), which.get("sha256")
            if self.editions.setdefault(f"{name}/{which.get('regime')}", str(edition)) != str(edition):
                self.report("answers-mixed", {"profile": str(name)})


def _id(data: dict[str, Any]) -> Any:
    dog = data.get("dog")
    return dog.get("id") if isinstance(dog, dict) else None


def _parsed(text: bytes) -> Any:
    try:
        return json.loads(text)
    except (ValueError, RecursionError):
        return None
