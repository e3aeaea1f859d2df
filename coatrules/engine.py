"""One object for other people's software: a set of profiles, a language and a salon's settings; its methods are the product.

Plain data or loaded values go in, frozen values come out; ``data`` and ``text`` turn any of them into plain data or words. It
reads no clock and no file but the profiles of its shelves, keeps nothing of any dog, may serve any number of threads, and
goes to another process with the profiles it has read, so that everywhere the same edition answers.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from contextlib import AbstractContextManager
from datetime import date as Date
from typing import TYPE_CHECKING, Any, Literal, Self, TypeAlias

from attrs import evolve

from coatrules.catalogue.speaking import Catalogue, speaking
from coatrules.dog.history import History
from coatrules.dog.loading import given_history
from coatrules.dog.regime import in_regime, worked_by
from coatrules.extras import require_extra
from coatrules.order.arguments import checked_day, usable_minutes
from coatrules.problems import InputError, Problem
from coatrules.profile.loading import load_profile, no_profile
from coatrules.profile.model import Profile
from coatrules.profile.shelves import Shelf, checked_shelves, ids

if TYPE_CHECKING:
    from concurrent.futures import Executor

    from coatrules.book.due import Due
    from coatrules.mentor.comparison import Compared
    from coatrules.mentor.rehearsal import Run
    from coatrules.order.explanation import Explanation
    from coatrules.order.salon import Salon
    from coatrules.order.work_order import WorkOrder
    from coatrules.plan.results import Intervals, Plan, StagedStrip
    from coatrules.recording.importing import Imported

AnyHistory: TypeAlias = History | Mapping[str, Any]
"""A dog's history, loaded or as plain data."""
AnyProfile: TypeAlias = Profile | Mapping[str, Any] | str
"""A profile, loaded, as plain data, or by its id."""


class Engine:
    """A set of profiles, a language, and what a salon keeps the same for all its dogs.

    ``shelves``: where profiles are found before the packaged library: folders, mappings from id to plain data, functions from
    id to plain data. A profile is read once, when it is first asked for. ``locale``: the language tag in which ``text`` and
    ``data`` speak. ``minutes``: the time of a visit where neither a call nor the profile's usual visit should decide. ``salon``:
    closed days, and what is usual for each dog, by ``schemas/salon.schema.json``; its minutes come before ``minutes``.
    Raises ``InputError`` with every problem found: a language without a catalogue, a folder that is not there, a salon's data.
    """

    __slots__ = ("_catalogue", "_profiles", "_shelves", "locale", "minutes", "salon")

    def __init__(
        self,
        *,
        shelves: Iterable[Shelf] = (),
        locale: str = "en",
        minutes: float | None = None,
        salon: Salon | Mapping[str, Any] | None = None,
    ) -> None:
        self._shelves = checked_shelves(shelves)
        self._profiles: dict[str, Profile] = {}
        self._catalogue = _catalogue(locale)
        self.locale = locale
        self.minutes = None if minutes is None else usable_minutes(minutes)
        self.salon = None if salon is None else _salon(salon)

    def __getstate__(self) -> tuple[Any, ...]:
        return self._shelves, dict(self._profiles), self.locale, self.minutes, self.salon

    def __setstate__(self, state: tuple[Any, ...]) -> None:
        self._shelves, self._profiles, self.locale, self.minutes, self.salon = state
        self._catalogue = _catalogue(self.locale)

    def with_locale(self, locale: str) -> Self:
        """Returns the same set of profiles, the ones already read among them, speaking another language."""
        other = type(self)(shelves=self._shelves, locale=locale, minutes=self.minutes, salon=self.salon)
        other._profiles = self._profiles
        return other

    # --- profiles ---

    def ids(self) -> list[str]:
        """Returns the ids of all profiles that can be listed; a shelf that is a function cannot say what it has."""
        return ids(self._shelves)

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

    def check(self, profile: AnyProfile) -> list[Problem]:
        """Returns all findings on a profile: those that make it unusable, or else what its mentor should think about."""
        from coatrules.check import examine, findings

        return findings(profile) if isinstance(profile, Profile) else examine(profile, self._shelves)

    def compare(self, old: Mapping[str, Any] | str, new: Mapping[str, Any] | str) -> list[Compared]:
        """Returns the worked cases of two versions of a profile under both, with what made each differ."""
        from coatrules.mentor.comparison import case_occasions, changes, compare
        from coatrules.profile.loading import merged_profile

        merged = [merged_profile(version, shelves=self._shelves) for version in (old, new)]
        occasions = case_occasions(*(load_profile(version, shelves=self._shelves) for version in (old, new)))
        return compare(merged[0], merged[1], occasions, changes(merged[0], merged[1]))

    def rehearse(self, profile: AnyProfile) -> list[Run]:
        """Returns two years of visits of each of six dogs (slow, average and fast, on time and late): some seconds."""
        from coatrules.mentor.rehearsal import actors, rehearse

        loaded = self.profile(profile)
        return [rehearse(loaded, actor) for actor in actors(loaded)]

    # --- one dog ---

    def history(self, dog: AnyHistory) -> History:
        """Returns a dog's history from plain data; raises ``InputError`` with every problem found."""
        return given_history(dog)

    def order(
        self,
        dog: AnyHistory,
        *,
        date: Date,
        minutes: float | None = None,
        profile: AnyProfile | None = None,
        regime: str | None = None,
        ahead: bool = False,
    ) -> WorkOrder:
        """Returns the day's work order. ``profile``: where the history names none, or instead of it; ``regime`` likewise.
        ``ahead``: also what a later visit would find, which takes as long again. With a salon the next visit has its open day.
        Raises ``InputError``."""
        from coatrules.order.engine import order
        from coatrules.profile.compiled import compile_profile

        history = in_regime(given_history(dog), regime)
        compiled = compile_profile(self._profile_of(history, profile, date))
        found = order(compiled, history, date, self._minutes(history, minutes), ahead=ahead)
        return found if self.salon is None else self.salon.with_open_day(found)

    def orders(
        self,
        dogs: Iterable[AnyHistory],
        *,
        date: Date,
        minutes: float | None = None,
        profile: AnyProfile | None = None,
        executor: Executor | None = None,
    ) -> Iterator[WorkOrder | InputError]:
        """Yields the work order of every dog, in their order; where there can be none, the ``InputError`` itself. ``executor``: where
        to work (threads, processes, a cluster); here and one by one if none is given."""
        from coatrules.book.fleet import work_orders

        chosen: Profile | Mapping[str, Profile]
        chosen = self.profile(profile) if profile is not None else _Read(self)
        salon = self.salon
        if minutes is None and salon is not None and salon.minutes is None:
            salon = evolve(salon, minutes=self.minutes)
        elif minutes is None:
            minutes = self.minutes if salon is None else None
        return work_orders(dogs, chosen, date=date, minutes=minutes, salon=salon, executor=executor)

    def explain(
        self,
        dog: AnyHistory,
        region: str,
        *,
        date: Date,
        minutes: float | None = None,
        profile: AnyProfile | None = None,
        regime: str | None = None,
    ) -> Explanation:
        """Returns what was decided in one region and why: every rule that held there and every one that did not."""
        from coatrules.order.explanation import explain

        history = in_regime(given_history(dog), regime)
        loaded = self._profile_of(history, profile, date)
        return explain(loaded, history, region, date=date, minutes=self._minutes(history, minutes))

    def due(self, dog: AnyHistory, *, date: Date, profile: AnyProfile | None = None, regime: str | None = None) -> Due:
        """Returns when a dog must come back, asked on ``date``, and what that visit will hold; with a salon on which open day. Raises
        ``InputError``."""
        from coatrules.book.due import due
        from coatrules.profile.compiled import compile_profile

        history = in_regime(given_history(dog), regime)
        return due(compile_profile(self._profile_of(history, profile, date)), history, date, self.salon, self.minutes)

    def plan(
        self,
        dog: AnyHistory,
        *,
        date: Date,
        show: Date | None = None,
        visits: int | None = None,
        every_weeks: float | None = None,
        minutes: float | None = None,
        profile: AnyProfile | None = None,
        regime: str | None = None,
    ) -> Plan:
        """Returns the visits ahead, towards a show day if there is one. Needs the extra ``plan``."""
        from coatrules.plan import plan_ahead

        history = in_regime(given_history(dog), regime)
        return plan_ahead(
            self._profile_of(history, profile, date),
            history,
            date=date,
            show=show,
            visits=visits,
            every_weeks=every_weeks,
            minutes=self._minutes(history, minutes),
        )

    def intervals(
        self,
        dog: AnyHistory,
        *,
        date: Date,
        minutes: float | None = None,
        profile: AnyProfile | None = None,
        regime: str | None = None,
    ) -> Intervals:
        """Returns intervals of two to eight weeks side by side, and the longest that keeps every target. Needs the extra ``plan``."""
        from coatrules.plan import compare_intervals

        history = in_regime(given_history(dog), regime)
        return compare_intervals(
            self._profile_of(history, profile, date), history, date=date, minutes=self._minutes(history, minutes)
        )

    def staged_strip(
        self, dog: AnyHistory, *, date: Date, show: Date, profile: AnyProfile | None = None, regime: str | None = None
    ) -> StagedStrip:
        """Returns the days on which each section is stripped for a show."""
        from coatrules.plan import staged_strip

        history = in_regime(given_history(dog), regime)
        return staged_strip(self._profile_of(history, profile, date), history, date=date, show=show)

    # --- what was done ---

    def as_planned(self, order: WorkOrder) -> dict[str, Any]:
        """Returns the visit, as plain data, at which all of an order was done; change in it what went otherwise."""
        from coatrules.recording.entry import as_planned

        return as_planned(order)

    def with_visit(
        self,
        dog: AnyHistory,
        visit: Mapping[str, Any],
        *,
        again: bool = False,
        anyway: bool = False,
        profile: AnyProfile | None = None,
    ) -> History:
        """Returns the history with a visit, as plain data, at its end. A second visit with work on one day is refused unless
        ``again``, work against the floor unless ``anyway`` and its note says what happened. Raises ``InputError`` with every
        problem found."""
        from coatrules.formats.documents import without_file
        from coatrules.profile.compiled import compile_profile
        from coatrules.recording.append import ask_back, with_visit

        history = given_history(dog)
        compiled = compile_profile(self._profile_of(history, profile, None))
        new = with_visit(history, without_file(visit), compiled, again=again)
        ask_back(compiled, new, anyway=anyway)
        return new

    def corrected_visit(
        self, dog: AnyHistory, visit: Mapping[str, Any], *, anyway: bool = False, profile: AnyProfile | None = None
    ) -> History:
        """Returns the history in which ``visit``, as plain data, replaces all that was recorded of its day; ``anyway`` as for
        ``with_visit``. What was written stays in the history and no longer counts. Raises ``InputError``, also where nothing was
        recorded of that day."""
        entry = (
            {**visit, "corrects": True} if isinstance(visit, Mapping) else visit
        )  # what is no visit is refused as one
        return self.with_visit(dog, entry, anyway=anyway, profile=profile)

    def withdraw_visit(
        self, dog: AnyHistory, date: Date, *, note: str | None = None, profile: AnyProfile | None = None
    ) -> History:
        """Returns the history in which nothing counts that was recorded of ``date``; ``note`` says why. What was written stays in the
        history. Raises ``InputError``, also where nothing was recorded of that day."""
        entry = {"visit": checked_day(date).isoformat(), "withdrawn": True} | ({} if note is None else {"note": note})
        return self.with_visit(dog, entry, profile=profile)

    def import_sheet(self, content: bytes, mapping: Mapping[str, Any], *, name: str = "") -> Imported:
        """Returns the histories that a spreadsheet's export (CSV) holds, by a mapping of its columns; ``name`` in messages."""
        from coatrules.formats.documents import Origin, without_file
        from coatrules.formats.validation import structured
        from coatrules.profile.compiled import compile_profile
        from coatrules.recording.importing import import_rows
        from coatrules.recording.sheets import SheetMapping

        sheet = structured(mapping, SheetMapping, "import", Origin((((), without_file(mapping)),)))
        if sheet.profile is not None:
            self.profile(sheet.profile)  # a wrong one is one problem, not one a row
        return import_rows(content, name, sheet, lambda profile: compile_profile(self.profile(profile)))

    # --- for people and programs ---

    def speaking(self) -> AbstractContextManager[None]:
        """Within it everything that is put into words (``str`` of an order, of a problem) is put into this engine's language."""
        return speaking(self._catalogue)

    def text(self, result: Any, width: int = 88) -> str:
        """Returns an order, a plan, a due dog, an explanation or problems in words, as for a terminal of ``width`` characters."""
        from coatrules.report.shown import text

        with self.speaking():
            return text(result, width)

    def data(self, result: Any) -> Any:
        """Returns any result as plain data, ready for JSON, its sentences in this engine's language."""
        from coatrules.report.shown import data

        with self.speaking():
            return data(result)

    def page(self, order: WorkOrder, *, audience: Literal["table", "owner"] = "table", steps: bool = False) -> str:
        """Returns an order as a printable HTML page: one sheet for the table (with ``steps`` every step and its reasons on further
        sheets), or half a page for the owner. Needs the extra ``report``."""
        from coatrules.report.owner import owner_page
        from coatrules.report.page import page

        with self.speaking():
            return owner_page(order) if audience == "owner" else page(order, steps=steps)

    def picture(self, order: WorkOrder, *, form: Literal["svg", "png"] = "svg", fact: str | None = None) -> bytes:
        """Returns the dog's body with the day's work on it, or with a fact of each region. Needs the extra ``report``."""
        from coatrules.report.body import body_chart

        with self.speaking():
            return body_chart(order, form, fact)

    def calendar(self, results: Iterable[WorkOrder | Due | Plan | StagedStrip], *, date: Date) -> str:
        """Returns the visits ahead as an iCalendar file (RFC 5545), asked on ``date``. Needs the extra ``calendar``."""
        from coatrules.report.shown import calendar

        with self.speaking():
            return calendar(results, checked_day(date))

    # --- inside ---

    def _minutes(self, history: History, minutes: float | None) -> float | None:
        usual = self.salon.minutes_for(history.dog.id) if self.salon is not None and minutes is None else minutes
        return self.minutes if usual is None else usual

    def _profile_of(self, history: History, profile: AnyProfile | None, date: Date | None) -> Profile:
        day = None if date is None else checked_day(date)
        return worked_by(self._profile_for(history, profile), history, day)

    def _profile_for(self, history: History, profile: AnyProfile | None) -> Profile:
        if profile is not None:
            return self.profile(profile)
        if history.dog.profile is None:
            raise InputError([history.origin.problem_at(("dog",), "no-profile")])
        try:
            return self.profile(history.dog.profile)
        except InputError as error:
            if [problem.code for problem in error.problems] == ["unknown-profile"]:
                path = ("dog", "profile")
                raise no_profile(history.dog.profile, self._shelves, history.origin, path) from error
            raise


class _Read(Mapping[str, Profile]):
    """The profiles of an engine by id, read when they are first asked for."""

    def __init__(self, engine: Engine) -> None:
        self._engine = engine

    def __getitem__(self, name: str) -> Profile:
        try:
            return self._engine.profile(name)
        except InputError as error:
            if [problem.code for problem in error.problems] == ["unknown-profile"]:
                raise KeyError(name) from error
            raise

    def __iter__(self) -> Iterator[str]:
        return iter(self._engine.ids())

    def __len__(self) -> int:
        return len(self._engine.ids())


def _salon(salon: Salon | Mapping[str, Any]) -> Salon:
    from coatrules.order.salon import given_salon

    return given_salon(salon)


def _catalogue(locale: str) -> Catalogue:
    """The catalogue of a language; raises ``InputError`` where there is none."""
    from coatrules.catalogue.languages import catalogue

    if locale.split("-")[0].lower() != "en":
        require_extra("languages", "babel")
    try:
        return catalogue(locale)
    except KeyError as error:
        known = tuple(error.args[1])
        raise InputError([Problem(code="no-language", params={"locale": locale, "known": known})]) from error
