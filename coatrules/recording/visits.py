"""A visit at the end of a history in memory, checked as it will be when it is written down; what goes against the floor is asked back."""

from __future__ import annotations

from attrs import evolve

from coatrules.dog.against_floor import against_floor
from coatrules.dog.history import History
from coatrules.dog.loading import visit_of
from coatrules.dog.state import unknown_names
from coatrules.formats.documents import Origin
from coatrules.problems import InputError
from coatrules.profile.compiled import CompiledProfile
from coatrules.reading import Document


def with_visit(
    old: History, document: Document, compiled: CompiledProfile | None = None, *, again: bool = False
) -> History:
    """Returns the history with a visit at its end, checked as ``append_visit`` does but for the floor; nothing is written.

    A visit that corrects or withdraws one must have one of its day to do so.
    """
    path = ("visits", len(old.visits))
    origin = Origin(((path, document), *old.origin.parts))
    visit = visit_of(document, path)
    new = evolve(old, visits=(*old.visits, visit), origin=origin)
    if compiled is not None and (problems := list(unknown_names(compiled, new))):
        raise InputError(problems)
    if old.dog.born is not None and old.dog.born > visit.day and not visit.withdrawn:
        params = {"born": old.dog.born, "visit": visit.day}
        raise InputError([origin.problem_at((*path, "visit"), "born-after-visit", params)])
    same_day = [(index, earlier) for index, earlier in old.counting() if earlier.day == visit.day]
    if visit.corrects or visit.withdrawn:
        if not same_day:
            problem = origin.problem_at((*path, "visit"), "nothing-to-correct", {"day": visit.day})
            file, _, _ = origin.place(("dog",))
            raise InputError([problem if problem.file else evolve(problem, file=file)])
    elif not again and visit.work:
        for index in (index for index, earlier in same_day if earlier.work):
            problem = origin.problem_at((*path, "visit"), "twice", {"day": visit.day.isoformat()})
            file, line, column = origin.place(("visits", index, "visit"))  # of what stands there already
            raise InputError([problem if problem.file else evolve(problem, file=file, line=line, column=column)])
    return new


def ask_back(compiled: CompiledProfile, new: History, *, anyway: bool = False) -> None:
    """Raises ``InputError`` where the work of the last visit goes against the floor; with ``anyway`` only if no note says what
    happened."""
    visit = new.visits[-1]
    against = list(against_floor(compiled, new, visit.day, len(new.visits) - 1))
    if anyway and visit.note is None:
        against = [evolve(problem, code="anyway-without-note", severity="error") for problem in against[:1]]
    elif anyway:
        return
    if against:
        raise InputError(
            evolve(problem, code=problem.code.removeprefix("recorded-"), severity="error") for problem in against
        )
