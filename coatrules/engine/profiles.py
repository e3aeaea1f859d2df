"""The profiles that an engine holds: found, read once, and looked over by their mentor."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from datetime import date as Date
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeAlias

from coatrules.engine.speaking import Speaking
from coatrules.formats.plain import checked_text
from coatrules.problems import InputError, Problem, nearest_fix
from coatrules.profile.loading import load_profile
from coatrules.profile.model import Profile
from coatrules.profile.shelves import Shelf, checked_shelves, ids

if TYPE_CHECKING:
    from coatrules.dog.history import History
    from coatrules.mentor.profile_comparison import ProfileComparison
    from coatrules.mentor.rehearsal import Rehearsal

AnyProfile: TypeAlias = Profile | Mapping[str, Any] | Path | str
"""A profile, loaded, as plain data, as a file, or by its id."""


class Profiles(Speaking):
    """Profiles by id, from shelves and the packaged library."""

    __slots__ = ("_profiles", "_shelves")

    def __init__(self, shelves: Iterable[Shelf], locale: str) -> None:
        super().__init__(locale)
        self._shelves = checked_shelves(shelves)
        self._profiles: dict[str, Profile] = {}

    def ids(self) -> list[str]:
        """Returns the ids of all profiles that can be listed; a shelf that is a function cannot say what it has."""
        return ids(self._shelves)

    def labels(self) -> dict[str, str]:
        """Returns the names by which people know the profiles that can be listed, by id; empty where a profile is broken."""
        from coatrules.profile.shelves import labels

        with self.speaking():
            return labels(self._shelves)

    def profile(self, profile: AnyProfile) -> Profile:
        """Returns a profile, complete and free of errors, with each of its regimes; raises ``InputError`` with every problem found."""
        if isinstance(profile, Profile):
            return profile
        if not isinstance(profile, str):
            return load_profile(profile, shelves=self._shelves)
        known = self._profiles.get(profile)
        if known is None:
            # Two threads may read it at once; both get the one that came first.
            known = self._profiles.setdefault(profile, load_profile(profile, shelves=self._shelves))
        return known

    def dependants(self, profile: str) -> dict[str, Path]:
        """Returns the files of the profiles that build on one, directly or not, by id: of the folders and the packaged library."""
        from coatrules.profile.graph import graph_of

        return graph_of([shelf for shelf in self._shelves if isinstance(shelf, str | Path)]).dependants(profile)

    def merged(self, profile: Mapping[str, Any] | Path | str) -> dict[str, Any]:
        """Returns a profile as plain data with all that it extends merged in, as it is written and not yet checked."""
        from coatrules.formats.unstructure import thawed
        from coatrules.profile.loading import merged_profile

        merged: dict[str, Any] = thawed(merged_profile(profile, shelves=self._shelves)[0])  # its parts are others' too
        return merged

    def where(self, profile: Mapping[str, Any] | Path | str, key: str) -> list[str]:
        """Returns the value that holds at a key (``coats.jacket.full_mm``), and every place where it was written or removed, the one
        that wins first, in words. Raises ``InputError`` for a key that there is not."""
        from coatrules.report.provenance import where

        with self.speaking():
            return list(where(profile, checked_text(key), self._shelves))

    def sources(self, profile: AnyProfile) -> str:
        """Returns what the numbers of a profile rest on, as a table in words."""
        from coatrules.report.provenance import sources

        with self.speaking():
            return sources(self.profile(profile))

    # --- for its mentor ---

    def check(self, profile: AnyProfile, *, after_a_change: bool = False, mutate: bool = False) -> list[Problem]:
        """Returns all findings on a profile: those that make it unusable, or else what its mentor should think about.
        ``after_a_change`` of what it builds on: only what that broke. ``mutate``: also which figures could change without any worked
        case noticing; their ``params["add"]`` would. That takes a minute or more."""
        from coatrules.check import broken, examine, findings
        from coatrules.check.mutation import can_be_asked, unproven

        if after_a_change and not isinstance(profile, Profile):
            return broken(profile, self._shelves)
        problems = findings(profile) if isinstance(profile, Profile) else examine(profile, self._shelves)
        if mutate and can_be_asked(problems):
            problems += unproven(self.profile(profile))
        return problems

    def check_house_rules(
        self, profiles: Iterable[str] | None = None, *, tell: Callable[[float], object] | None = None
    ) -> list[Problem]:
        """Returns what the house rules of the folders bring about in the profiles with these ids, in all over which they are laid where
        none are given: what makes one unusable, or contradicts what it says. ``tell`` is told after each what share of them is
        done."""
        from coatrules.check.house_rules import over_others
        from coatrules.profile.graph import bound

        folders = [shelf for shelf in self._shelves if isinstance(shelf, str | Path)]
        names = bound(folders, None if profiles is None else frozenset(profiles))
        return list(over_others(names, self._shelves, tell))

    def check_text(self, text: str, name: str = "") -> list[Problem]:
        """Returns all findings on a profile's text (YAML), with lines and columns; ``name`` stands for its file."""
        from coatrules.check import examine_text

        return examine_text(checked_text(text), name, self._shelves)

    def explained(self, code: str) -> list[str]:
        """Returns what a code of a finding means, in words; raises ``InputError`` for one that there is not."""
        from coatrules.check.catalogue import ERRORS, FINDINGS, explained

        with self.speaking():
            lines = explained(checked_text(code))
            if lines is None:
                fix = nearest_fix(code, (*ERRORS, *FINDINGS))
                raise InputError([Problem(code="no-such-code", params={"code": code}, fix=fix)])
            return lines

    def fixed(self, text: str, name: str = "") -> str:
        """Returns a profile's text with each slip mended that can be mended safely."""
        from coatrules.check.fixes import fixed

        return fixed(checked_text(text), name, partial(self._problems, name))

    def tidied(self, text: str, name: str = "") -> str:
        """Returns a profile's text set out as all are, with every comment; raises ``InputError`` where it does not read."""
        from coatrules.mentor.formatting import tidied

        return tidied(checked_text(text), name)

    def migrated(self, text: str, name: str = "") -> str:
        """Returns a profile's text in the newest format, with every comment; raises ``InputError`` where it does not read."""
        from coatrules.mentor.migration import migrated

        with self.speaking():
            return migrated(checked_text(text), name)

    def compare(
        self,
        old: Mapping[str, Any] | Path | str,
        new: Mapping[str, Any] | Path | str,
        *,
        dogs: Iterable[History | Mapping[str, Any]] = (),
        date: Date | None = None,
        new_in: Profiles | None = None,
    ) -> ProfileComparison:
        """Returns two versions of a profile compared by what they order, with what made each order differ: for ``dogs`` on ``date``, else
        for the worked cases of both and of their regimes. ``new_in``: where the new version, and all that it builds on, is found, if
        not here."""
        from coatrules.mentor.profile_comparison import compared_profiles, dog_occasions

        later = self if new_in is None else new_in
        versions = (old, self._shelves), (new, later._shelves)
        with self.speaking():
            return compared_profiles(*versions, dog_occasions(dogs, date))

    def rehearse(self, profile: AnyProfile, *, tell: Callable[[float], object] | None = None) -> Rehearsal:
        """Returns two years of visits of each of six dogs (slow, average and fast, on time and late): some seconds. ``tell`` is told
        after each what share of them is done."""
        from coatrules.mentor.rehearsal import actors, rehearsal, rehearse

        loaded = self.profile(profile)
        dogs, runs = actors(loaded), []
        for dog in dogs:
            runs.append(rehearse(loaded, dog))
            if tell is not None:
                tell(len(runs) / len(dogs))
        return rehearsal(loaded, runs)

    def new_profile(self, extends: AnyProfile | None = None, *, id: str = "my-profile", schema: str = "") -> str:
        """Returns the text of a profile to start from, on the points of the dog or on another profile. ``schema``: where an editor finds
        the schema, if not where it is installed. Raises ``InputError`` for a name that is no id."""
        from coatrules.mentor.starting_files import FIRST_BASE, profile_to_start_from

        with self.speaking():
            base = self.profile(FIRST_BASE if extends is None else extends)
            return profile_to_start_from(base, checked_text(id), schema)

    def _problems(self, name: str, text: str) -> list[Problem]:
        return self.check_text(text, name)
