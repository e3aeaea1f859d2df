"""Findings on a profile that loads: what its mentor should think about. One module a subject, each check a generator."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from contextlib import suppress
from pathlib import Path
from typing import Any, Final

from attrs import evolve
from yaml import YAMLError

from coatrules.catalogue.message import message
from coatrules.check import (
    blends,
    breed,
    cases,
    fact_values,
    figures,
    methods,
    names,
    older_format,
    places,
    regions,
    rules,
    sources,
    steady_state,
    unused,
)
from coatrules.check.acceptance import accepted
from coatrules.check.catalogue import ERRORS
from coatrules.check.subject import Subject
from coatrules.check.typing_slips import slips
from coatrules.disk import read
from coatrules.formats.paths import value_at
from coatrules.problems import InputError, Problem
from coatrules.profile.blame import caused, written_in_regime
from coatrules.profile.examination import Examination, examined, examined_text
from coatrules.profile.loading import chain_of, checked_profile, merged_chain, regime_of
from coatrules.profile.model import Profile
from coatrules.profile.shelves import Shelf
from coatrules.profile.targets import chosen, conditional
from coatrules.read_only import ReadOnly
from coatrules.reading import MAX_BYTES, Document

Check = Callable[[Subject], Iterator[Problem]]

CHECKS: Final[tuple[Check, ...]] = (
    names.id_and_file,
    names.own_head,
    names.listed_twice,
    fact_values.never_had,
    places.unknown_places,
    figures.unsupported,
    older_format.blown_before_grown,
    sources.unsourced_numbers,
    sources.misnamed_keys,
    unused.unused,
    regions.unworked,
    regions.hidden_parts,
    regions.loosening_zones,
    regions.minutes,
    regions.visit_too_short,
    steady_state.unreachable_targets,
    blends.blends,
    methods.never_chosen,
    methods.without_method,
    rules.rules,
    rules.same,
    rules.conflicts,
    breed.contradicted,
    cases.worked_cases,
)


LOCAL: Final = frozenset(
    (
        fact_values.never_had,
        figures.unsupported,
        sources.unsourced_numbers,
        sources.misnamed_keys,
        steady_state.unreachable_targets,
        rules.rules,
    )
)
"""Checks that look at one part at a time: what is wrong with another part does not mislead them."""


def examine(source: str | Path | Mapping[str, Any] | Document, shelves: Iterable[Shelf] = ()) -> list[Problem]:
    """Returns all problems and findings of a profile, given as ``load_profile`` takes it, in the order of its file."""
    if not isinstance(source, Path) or source.suffix.lower() == ".json":
        return _shown(lambda: examined(source, shelves=shelves))
    try:
        content = read(source, MAX_BYTES)
    except InputError as error:
        return list(error.problems)
    return examine_text(content, str(source), shelves)


def examine_text(text: str | bytes, file: str, shelves: Iterable[Shelf] = ()) -> list[Problem]:
    """Returns all problems and findings of the profile that a text in YAML holds; ``file``: what it is called."""
    problems = _shown(lambda: examined_text(text, file, shelves=shelves))
    with suppress(UnicodeDecodeError, YAMLError):  # then there are problems enough
        placed = {(one.line, one.column) for one in problems}
        others = slips(text.decode() if isinstance(text, bytes) else text, file)
        problems += [one for one in others if (one.line, one.column) not in placed]
    return _sorted(problems)


def broken(source: str | Path | Mapping[str, Any], shelves: Iterable[Shelf] = ()) -> list[Problem]:
    """Returns what a change of a profile broke in one that builds on it: what makes that unusable, or cases that no longer come out."""

    def unmet(profile: Profile) -> list[Problem]:
        ran = (one for subject in _subjects(profile) for one in _findings(subject, (cases.worked_cases,)))
        return [one for one in ran if one.code in ("case-unmet", *ERRORS)]

    return _of_sound(source, shelves, unmet)


def _of_sound(
    source: str | Path | Mapping[str, Any], shelves: Iterable[Shelf], find: Callable[[Profile], list[Problem]]
) -> list[Problem]:
    """Returns what is found on a profile, or all that makes it unusable."""
    try:
        examination = examined(source, shelves=shelves)
    except InputError as error:
        return list(error.problems)
    if examination.problems or not examination.sound:
        return _sorted(examination.problems)
    return find(examination.sound[0].profile)


WIDE: Final = frozenset(
    (
        regions.visit_too_short,
        steady_state.unreachable_targets,
        blends.blends,
        rules.conflicts,
        breed.contradicted,
    )
)
"""Checks of what house rules may bring about in one profile and not in another. That one of their rules never holds there is no fault."""


def laid_over(name: str, shelves: Iterable[Shelf] = ()) -> list[Problem]:
    """Returns what house rules bring about in the profile with this id, over which they are laid: what makes it unusable, or
    contradicts what it says, but for what is so without them."""
    shelves = tuple(shelves)

    def brought_about(profile: Profile) -> list[Problem]:
        without = _subjects(checked_profile(*merged_chain(chain_of(name, shelves=shelves))))
        usual = {(one.code, one.params) for subject in without for check in WIDE for one in check(subject)}
        found = _of_all(_subjects(profile), lambda subject: _findings(subject, WIDE))
        return _sorted(one for one in found if (one.code, one.params) not in usual)

    return _of_sound(name, shelves, brought_about)


def _shown(examination_of: Callable[[], Examination]) -> list[Problem]:
    try:
        examination = examination_of()
    except InputError as error:
        return list(error.problems)
    if examination.sound and not examination.problems:
        return findings(examination.sound[0].profile)
    problems = [*examination.problems]
    for sound in examination.sound:
        subject = Subject(sound.profile, None if sound.state.regime is None else examination.sound[0].profile)
        local = _findings(subject, LOCAL, sound.state.profile)
        theirs = (one for one in local if not sound.is_repaired(one.path) and not sound.may_be_of_ours(one))
        shown = [sound.state.as_written(one) for one in theirs]
        problems = [*_beside(problems, shown)]
    return _sorted(problems)


def _beside(problems: Sequence[Problem], others: Iterable[Problem]) -> Iterator[Problem]:
    """The problems, with those of a regime that are not theirs too: it has no line of what it takes over."""
    placed = {_mark(problem) for problem in problems}
    same = {(problem.code, problem.params) for problem in problems}
    yield from problems
    for one in others:
        if _mark(one) not in placed and (one.code, one.params) not in same:
            yield one


def _mark(problem: Problem) -> tuple[object, ...]:
    """What two problems have in common that are one: their place, and the statement that they are about."""
    return problem.code, problem.file, problem.line, problem.column, problem.params.get("statement")


def findings(profile: Profile) -> list[Problem]:
    """Returns all findings on a profile that is sound, in the order of its file. Each stands at the profile's own line that causes
    it; what the profile takes over unchanged is left to the one that it builds on."""
    subjects = _subjects(profile)
    slips = _of_all(subjects, lambda subject: _findings(subject, {fact_values.never_had}))
    if slips:  # what they keep from holding is of their making
        return _sorted([*_beside(slips, _of_all(subjects, lambda subject: _findings(subject, LOCAL)))])
    return _sorted(accepted(profile, _of_all(subjects, _whole)))


def _subjects(profile: Profile) -> list[Subject]:
    """A profile, and each of its regimes with the worked cases of dogs in it that the profile has for all."""
    subjects = [Subject(profile)]
    for name, regime in profile.regimes.items():
        of_dogs = {
            key: case for key, case in profile.cases.items() if value_at(case.history, ("dog", "regime")) == name
        }
        subjects.append(Subject(evolve(regime, cases=ReadOnly({**of_dogs, **regime.cases})), whole=profile))
    return subjects


def _of_all(subjects: Sequence[Subject], found: Callable[[Subject], Iterable[Problem]]) -> list[Problem]:
    problems: list[Problem] = []
    for subject in subjects:
        problems = [*_beside(problems, found(subject))]
    return problems


def _whole(subject: Subject) -> Iterator[Problem]:
    """All findings on a profile or on one of its regimes, but for those that the regime accepts for itself."""
    found = list(_findings(subject, CHECKS))
    for target in conditional(subject.profile):
        found += _unreachable(subject, target)
    yield from accepted(subject.profile, found) if subject.whole is not None and subject.is_own("accept") else found


def _unreachable(subject: Subject, target: str) -> Iterator[Problem]:
    """What is out of reach of a target that holds at times, when it does."""
    held, again = frozenset([target]), _made_again(subject)
    variant = Subject(chosen(subject.profile, held), subject.whole)
    reached = _findings(variant, {steady_state.unreachable_targets}, lambda chain: chosen(again(chain), held))
    return (one for one in reached if target in one.path)


LAST: Final = ("no-cases", "case-unmet", "rule-untested", "target-untested")
"""What may be a consequence of any other finding, so that it comes after them."""


def _sorted(problems: Iterable[Problem]) -> list[Problem]:
    return sorted(problems, key=lambda one: (one.file, one.code in LAST, one.line, one.column))


MadeAgain = Callable[[Sequence[Document]], Profile]
"""Returns the profile of a chain of documents; raises ``InputError`` where it is not sound."""


def _made_again(subject: Subject) -> MadeAgain:
    """Returns what makes a profile, or a regime of it, of its files."""
    name = subject.profile.regime
    if subject.whole is None or name is None:
        return lambda chain: checked_profile(*merged_chain(chain))
    return lambda chain: regime_of(chain, name)


def _findings(subject: Subject, checks: Collection[Check], again: MadeAgain | None = None) -> Iterator[Problem]:
    """What some checks find, at the lines of the subject's own file. ``again``: how the subject is made of its files, if not as
    ``_made_again`` says."""
    chain, again = subject.chain, again or _made_again(subject)
    for check in CHECKS:
        if check not in checks:
            continue
        taken_over: dict[tuple[object, ...], list[Problem]] = {}
        found = _remembered(check, again)
        for problem in check(subject):
            if problem.file == subject.file or len(chain) < 2:
                yield _in_its_regime(problem, subject)
            elif (placed := caused(problem, chain, found)) is not None:
                taken_over.setdefault((placed.code, placed.params.get("statement"), *placed.path), []).append(placed)
        for first, *others in taken_over.values():
            names = tuple(dict.fromkeys(name for one in others if (name := one.params.get("target")) is not None))
            names = tuple(name for name in names if name != first.params.get("target"))
            why = first.params.get("why")
            yield (
                first
                if not names
                else evolve(
                    first, params={**first.params, "why": message("unreachable.and-others", why=why, targets=names)}
                )
            )


def _in_its_regime(problem: Problem, subject: Subject) -> Problem:
    if subject.whole is None or subject.profile.regime is None:
        return problem
    return written_in_regime(problem, subject.profile.regime, subject.chain[0])


def _remembered(check: Check, again: MadeAgain) -> Callable[[Sequence[Document]], Sequence[Problem]]:
    """Returns what finds the problems of a chain, each chain once: one line may cause many, and each asks without which lines it is
    not there."""
    known: dict[str, Sequence[Problem]] = {}

    def found(chain: Sequence[Document]) -> Sequence[Problem]:
        key = repr(chain[0].data)  # only the profile's own file is ever another
        if key not in known:
            known[key] = tuple(_of_chain(check, again, chain))
        return known[key]

    return found


def _of_chain(check: Check, again: MadeAgain, chain: Sequence[Document]) -> Iterator[Problem]:
    """What a check finds on a profile given by its documents; nothing where that is not sound."""
    try:
        profile = again(chain)
    except InputError:
        return
    yield from check(Subject(profile))
