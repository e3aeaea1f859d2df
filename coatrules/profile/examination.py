"""All that is wrong with a profile, in one go, each at the author's own line that caused it.

Loading ends at the first stage that finds something: a number out of range hides a name that leads nowhere. Here what is wrong is
set right as it might have been meant, and the profile is read again until it is sound; what is found on the way at a place that was
set right is left out, for it is of our making.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import suppress
from pathlib import Path as FilePath
from typing import Any, Final, NamedTuple

from coatrules.formats.documents import Origin, read_partly
from coatrules.formats.paths import value_at
from coatrules.problems import InputError, Path, Problem
from coatrules.profile.blame import blamed, still_named
from coatrules.profile.loading import chain_of, chain_under_house_rules, in_regimes, only_document
from coatrules.profile.model import Profile
from coatrules.profile.regimes import layers, regimes
from coatrules.profile.set_right import SetRight, meant_name
from coatrules.profile.shelves import Shelf
from coatrules.reading import Document, read_yaml_partly
from coatrules.reading.source import NO_KEY

ROUNDS: Final = 8
"""How often a profile is read again."""
MOST_REPAIRED: Final = 60
"""Problems beyond which a profile is not read again: more would bury the first."""
_KEPT: Final = "duplicate-key"
"""Of two equal keys the last is read: what is wrong there is not of our making."""


class Sound(NamedTuple):
    """A profile that is sound, once set right (``state``) where it was wrong."""

    profile: Profile
    state: SetRight

    def is_repaired(self, path: Path) -> bool:
        """Whether a path leads to, or through, something that was set right; a whole entry is not what one of its keys is."""
        if self.state.regime is not None and path[:2] == ("regimes", self.state.regime):
            path = path[2:]
        wrong = [value.path for value in (*self.state.values, *self.state.regime_values)]
        wrong += [meant for meant, written in self.state.keys if len(meant) > 2 and meant[-1] != written[-1]]
        set_in = [meant[:-1] for meant, written in self.state.keys if meant[:-2] == written[:-1]]
        return path in set_in or any(
            _is_within(path, one) or (len(path) > 2 and _is_within(one, path)) for one in wrong
        )

    def may_be_of_ours(self, problem: Problem) -> bool:
        """Whether a problem may come of what was put in or left out: a target is out of reach by its own figures, by the visit's and by
        its coat's, and one that is not at fault itself by regions that fall to it from another."""
        names = {*problem.path, problem.params.get("target")}
        return problem.code == "target-unreachable" and any(
            (_moves_regions(one.path) and problem.path[0] != "layer_targets")
            or one.path[0] in ("coats", "visit")
            or not names.isdisjoint(one.path[1:2])
            for one in (*self.state.values, *self.state.regime_values)
        )


def _moves_regions(path: Path) -> bool:
    """Whether what is at a path decides which regions a layer target has."""
    is_target = path[0] == "layer_targets" and (len(path) == 2 or "regions" in path)
    return is_target or path[0] in ("groups", "regions")


class Examination(NamedTuple):
    """All problems of a profile, and what it is: itself first, where it can be set right, then each of its regimes that can."""

    problems: tuple[Problem, ...]
    sound: tuple[Sound, ...] = ()


class _Found(NamedTuple):
    """A problem, and the profile as far as it had been set right when that was found."""

    problem: Problem
    state: SetRight


def _is_within(path: Path, around: Path) -> bool:
    return path[: len(around)] == around


def _is_beside(path: Path, others: Iterable[Path], whole: bool = False) -> bool:
    """Whether a path leads through one of some others, or to what is around one; that not where the ``whole`` there is meant."""
    return any(_is_within(path, other) or (_is_within(other, path) and not whole) for other in others)


def _is_of_floor(problem: Problem) -> bool:
    return problem.code in ("floor-only-cut", "floor-tender")


def examined_text(text: str | bytes, file: str, *, shelves: Iterable[Shelf] = ()) -> Examination:
    """Returns all problems of the profile that a text holds, as ``examined`` does."""
    documents, problems = read_yaml_partly(text, file)
    return _examined(only_document(documents, file), problems, tuple(shelves))


def examined(source: str | FilePath | Mapping[str, Any] | Document, *, shelves: Iterable[Shelf] = ()) -> Examination:
    """Returns all problems of a profile, given as ``load_profile`` takes it, house rules and all; raises ``InputError`` where one ends the
    search."""
    if not isinstance(source, FilePath):
        return _examined(source, (), tuple(shelves))
    documents, problems = read_partly(source)
    return _examined(only_document(documents, str(source)), problems, tuple(shelves))


def _examined(
    source: str | Mapping[str, Any] | Document, known: Sequence[Problem], shelves: Sequence[Shelf]
) -> Examination:
    try:
        chain = chain_under_house_rules(source, shelves=shelves)
        layers(reversed(chain))
    except InputError as error:
        known = [*known, *error.problems]
        if not isinstance(source, Document):
            raise InputError(known) from error
        own = _with_base_as_meant(source, error.problems[0])
        if own.data.get("extends") is None:
            return Examination(tuple(_once([*known, *_by_itself(own)])))
        chain = chain_of(own, shelves=shelves)
    return _all_in_one_go(SetRight(chain), known)


def _with_base_as_meant(document: Document, problem: Problem) -> Document:
    """The profile on the base, or in the regime, that a problem's fix is to use, else on none."""
    is_own = problem.file == document.file and problem.path in (("extends",), ("regime",))
    key, meant = (problem.path[0], meant_name(problem)) if is_own else ("extends", "")
    kept = {name: value for name, value in document.data.items() if name != key}
    return document._replace(data={**kept, key: meant} if meant else kept)


def _by_itself(document: Document) -> list[Problem]:
    """What the schema finds wrong with a profile whatever it builds on; nothing of one in an older format."""
    if document.data.get("format") == 1:
        return []
    from coatrules.formats.schema_faults import LACKING, explain

    problems = explain("profile", document.data, Origin((((), document),)))
    return [problem for problem in problems if problem.code not in (*LACKING, "unknown-fact")]  # it may have both


def _all_in_one_go(state: SetRight, known: Sequence[Problem]) -> Examination:
    unread = [one.path for one in known if one.path and one.code != _KEPT]

    def hidden(path: Path) -> bool:
        return _is_beside(path, unread) or (bool(known) and NO_KEY in path)

    found, itself = _until_sound(state, hidden)
    if itself is not None and not found:
        with suppress(InputError):  # told below, with all that is wrong in each regime
            return Examination(tuple(known), (Sound(in_regimes(itself.profile), itself.state),))
    sound = [] if itself is None else [itself]
    if itself is not None:
        for name in regimes(layers(reversed(itself.state.chain))):
            more, in_regime = _until_sound(itself.state._replace(regime=name), hidden)
            found += more
            sound += [] if in_regime is None else [in_regime]
    problems = [one.problem for one in found]
    placed = [_placed(one) for one in found]
    return Examination(tuple(_once([*known, *still_named(placed, problems)])), tuple(sound))


def _until_sound(state: SetRight, hidden: Callable[[Path], bool]) -> tuple[list[_Found], Sound | None]:
    """What is found while a profile is set right, round by round, and what it is then. ``hidden``: whether nothing can be told of
    a path."""
    found: list[_Found] = []
    for _ in range(ROUNDS):
        try:
            return found, Sound(state.profile(), state)
        except InputError as error:
            last, written = state, state.written()
            repaired = [value.path for value in last.repaired]
            found += [
                _Found(problem, last)
                for problem in error.problems
                if not _is_beside(problem.path, repaired, _is_of_floor(problem))
                and not hidden(problem.path)
                and not _is_of_ours(problem, written, last)
            ]
            if len(found) <= MOST_REPAIRED:
                state = _set_right(state, error.problems)
            if state == last:
                break
    return found, None


def _set_right(state: SetRight, problems: Sequence[Problem]) -> SetRight:
    """A profile with what is wrong in it set right, the outermost first."""
    before = [value.path for value in state.repaired]
    done: list[Path] = []
    for problem in sorted(problems, key=_outermost_first):
        path = _place_to_repair(problem)
        path = path if path not in before else path[:2]
        if not path or any(_is_within(path, one) for one in done) or path in before:
            continue
        done.append(path)
        outer, meant = value_at(state.merged()[0], path[:-1]), meant_name(problem)
        taken = problem.key and isinstance(outer, list | tuple) and meant in outer
        state = state.with_keys(problem) or state.with_value(path, "" if taken or path != problem.path else meant)
    return state


def _outermost_first(problem: Problem) -> tuple[int, int]:
    last = problem.path[-1] if problem.path else 0
    return len(problem.path), -last if isinstance(
        last, int
    ) else 0  # of a list from its end, or what follows would move


def _is_of_ours(problem: Problem, written: Any, state: SetRight) -> bool:
    """Whether a problem may have come by what was set right: a name, or a zone of the floor, that is only not there because it was
    left out here; figures that contradict one that was put in."""
    if not state.repaired:
        return False
    if problem.code.startswith("figures"):
        return any(one.path[:2] == problem.path[:2] for one in state.repaired)
    if problem.code == "overlap":
        zones = [(problem.path[0], problem.params[key]) for key in ("one", "two")]
        return any(value.path[:2] in zones for value in state.repaired)
    if _is_of_floor(problem):
        return _is_floor_of_ours(problem, state)
    match problem.code:
        case "unknown-fact":
            name, sections = problem.params["fact"], ["comparisons"]
        case "unknown-name":
            kinds = problem.params["what"].code.removeprefix("kind.").split("-or-")
            name, sections = problem.params["name"], [f"{kind}s" for kind in kinds]
        case _:
            return False
    return any(name in written[section] for section in sections if isinstance(written.get(section), Mapping))


def _is_floor_of_ours(problem: Problem, state: SetRight) -> bool:
    """Whether the floor may hold where the profile is as it was meant: a zone's own figures, or its removal, count as they stand; which
    regions a zone or a group has may be what was set right."""
    if problem.path[0] != "regions":
        return any(_is_within(one.path, problem.path) and "regions" not in one.path for one in state.repaired)
    zones = "clipper_only_zones" if problem.code == "floor-only-cut" else "sensitive_zones"
    return any(not one.meant and one.path[0] in (zones, "groups", "regions") for one in state.repaired)


def _place_to_repair(problem: Problem) -> Path:
    """What to set right: figures that contradict each other all at once, a key that is missing where it should be."""
    if problem.code.startswith("figures"):
        return problem.path[:2]
    return (*problem.path, problem.params["key"]) if problem.code == "schema-missing-key" else problem.path


def _placed(found: _Found) -> Problem:
    """The problem at the line of the profile's own that causes it, with the path that is written there."""
    problem, state = found

    def problems(chain: Sequence[Document]) -> Iterator[Problem]:
        try:
            state.profile(chain)
        except InputError as error:
            yield from error.problems

    own = state.chain[0].file
    return state.as_written(blamed(problem, state.chain, problems) if problem.file != own else problem)


def _once(problems: Iterable[Problem]) -> Iterator[Problem]:
    """Problems, of several that one line causes in the profiles below it only the first."""
    seen = set()
    for problem in problems:
        key = (problem.code, problem.file, problem.line, problem.column, problem.path, problem.message)
        if key not in seen:
            seen.add(key)
            yield problem
