"""One object for other people's software: a set of profiles, a language and a salon's settings; its methods are the product.

Plain data or loaded values go in, frozen values come out; ``data`` and ``text`` turn any of them into plain data or words. It
reads no clock and no file but the profiles it is asked for, keeps nothing of any dog, may serve any number of threads, and
goes to another process with the profiles it has read, so that everywhere the same edition answers.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import suppress
from datetime import date as Date
from pathlib import Path
from typing import TYPE_CHECKING, Any, Self, TypeAlias

from attrs import evolve

from coatrules.dog.history import History
from coatrules.dog.loading import given_history
from coatrules.dog.regime import in_regime, worked_by
from coatrules.engine.profiles import AnyProfile, Profiles
from coatrules.engine.speaking import Form, catalogue_of, one_of
from coatrules.formats.plain import checked_text
from coatrules.order.arguments import checked_day, usable_minutes
from coatrules.problems import InputError
from coatrules.profile.loading import no_profile
from coatrules.profile.model import Profile
from coatrules.profile.shelves import Shelf

if TYPE_CHECKING:
    from concurrent.futures import Executor

    from coatrules.book.due import Due
    from coatrules.order.explanation import Explanation
    from coatrules.order.salon import Salon
    from coatrules.order.work_order import WorkOrder
    from coatrules.plan.results import Intervals, Plan, StagedStrip
    from coatrules.profile.compiled import CompiledProfile
    from coatrules.recording.importing import Imported

AnyHistory: TypeAlias = History | Mapping[str, Any]
"""A dog's history, loaded or as plain data."""


class Engine(Profiles):
    """A set of profiles, a language, and what a salon keeps the same for all its dogs.

    ``shelves``: where profiles are found before the packaged library: folders, mappings from id to plain data, functions from
    id to plain data. A profile is read once, when it is first asked for. ``locale``: the language tag in which ``text`` and
    ``data`` speak. ``minutes``: the time of a visit where neither a call nor the profile's usual visit should decide. ``salon``:
    closed days, and what is usual for each dog, by ``schemas/salon.schema.json``; its minutes come before ``minutes``.
    Raises ``InputError`` with every problem found: a language without a catalogue, a folder that is not there, a salon's data.
    """

    __slots__ = ("minutes", "salon")

    def __init__(
        self,
        *,
        shelves: Iterable[Shelf] = (),
        locale: str = "en",
        minutes: float | None = None,
        salon: Salon | Mapping[str, Any] | None = None,
    ) -> None:
        super().__init__(shelves, locale)
        self.minutes = None if minutes is None else usable_minutes(minutes)
        self.salon = None if salon is None else _salon(salon)

    def __getstate__(self) -> tuple[Any, ...]:
        return self._shelves, dict(self._profiles), self.locale, self.minutes, self.salon

    def __setstate__(self, state: tuple[Any, ...]) -> None:
        self._shelves, self._profiles, self.locale, self.minutes, self.salon = state
        self._catalogue = catalogue_of(self.locale)

    def with_locale(self, locale: str) -> Self:
        """Returns the same set of profiles, the ones already read among them, speaking another language."""
        other = type(self)(shelves=self._shelves, locale=locale, minutes=self.minutes, salon=self.salon)
        other._profiles = self._profiles
        return other

    # --- one dog ---

    def history(
        self,
        dog: AnyHistory,
        *,
        regime: str | None = None,
        show_mm: Mapping[str, Sequence[float]] | None = None,
    ) -> History:
        """Returns a dog's history from plain data; raises ``InputError`` with every problem found. ``regime``: the dog as kept in that
        one; ``show_mm``: also with these lengths (shortest and longest hair, mm, by layer target or part) wanted on a show day."""
        from coatrules.dog.show_lengths import wanted_lengths

        return wanted_lengths(in_regime(given_history(dog), regime), show_mm or {})

    def profile_of(
        self,
        dog: AnyHistory,
        *,
        date: Date | None = None,
        profile: AnyProfile | None = None,
        strip_whole: bool = False,
    ) -> Profile:
        """Returns the profile that a dog is worked by: in its regime, with its own show lengths, and with the targets that hold for it
        on ``date`` (those that always hold where there is none). ``strip_whole``: stripped out whole, but for a clipped coat that must
        be let grow first. Raises ``InputError``."""
        history = given_history(dog)
        worked = worked_by(self._profile_for(history, profile), history, None if date is None else checked_day(date))
        if not strip_whole:
            return worked
        if date is None:
            from coatrules.profile.whole_strip import whole_strip

            return whole_strip(worked)
        from coatrules.order.clipped_coat import strip_asked

        return strip_asked(worked, history, date)

    def order(
        self,
        dog: AnyHistory,
        *,
        date: Date,
        minutes: float | None = None,
        profile: AnyProfile | None = None,
        regime: str | None = None,
        strip_whole: bool = False,
        ahead: bool = False,
    ) -> WorkOrder:
        """Returns the day's work order. ``profile``: where the history names none, or instead of it; ``regime`` likewise.
        ``strip_whole``: the whole coat comes out, instead of being rolled, if it can be. ``ahead``: also what a later visit would find,
        and on how many dogs like this one the coat will be right for a show ahead, which takes as long again or longer. With a salon
        the next visit has its open day. Raises ``InputError``."""
        from coatrules.order.engine import order
        from coatrules.profile.compiled import compile_profile

        history = in_regime(given_history(dog), regime)
        compiled = compile_profile(self.profile_of(history, date=date, profile=profile, strip_whole=strip_whole))
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
        strip_whole: bool = False,
    ) -> Explanation:
        """Returns what was decided in one region and why: every rule that held there and every one that did not. ``regions`` says which
        regions a group or a zone stands for."""
        from coatrules.order.explanation import explain

        history = in_regime(given_history(dog), regime)
        loaded = self.profile_of(history, date=date, profile=profile, strip_whole=strip_whole)
        return explain(loaded, history, checked_text(region), date=date, minutes=self._minutes(history, minutes))

    def regions(self, dog: AnyHistory, part: str, *, profile: AnyProfile | None = None) -> tuple[str, ...]:
        """Returns the ids of the regions that a region, a group or a zone of the dog's profile stands for, in the order of the walk over
        the dog; raises ``InputError`` for what is none. It may be called by its id, or as people call it in this engine's language.
        Of several, separated by commas, each region comes once, in the order named."""
        from coatrules.profile.compiled import compile_profile
        from coatrules.recording.parts import names_whole

        compiled = compile_profile(self.profile_of(dog, profile=profile))
        with self.speaking():
            listed = names_whole(checked_text(part), compiled)
        parts = [one for one in listed.split(",") if one.strip()] or [part]
        return tuple(dict.fromkeys(region for one in parts for region in self._regions(compiled, one)))

    def _regions(self, compiled: CompiledProfile, part: str) -> tuple[str, ...]:
        from coatrules.order.explanation import regions_named
        from coatrules.recording.parts import part_named

        try:
            return regions_named(compiled, part.strip())
        except InputError:
            with suppress(InputError), self.speaking():
                return regions_named(compiled, part_named(compiled, part))
            raise

    def coat_picture(
        self,
        dog: AnyHistory,
        region: str,
        *,
        date: Date,
        form: Form = "svg",
        minutes: float | None = None,
        profile: AnyProfile | None = None,
        regime: str | None = None,
    ) -> bytes:
        """Returns a picture of one region's coat through time, up to ``date`` and beyond. Needs the extra ``report``."""
        from coatrules.profile.compiled import compile_profile
        from coatrules.report.timeline import coat_chart

        history = in_regime(given_history(dog), regime)
        compiled = compile_profile(self.profile_of(history, date=date, profile=profile))
        region, form = checked_text(region), one_of(form, Form)
        with self.speaking():
            return coat_chart(compiled, history, checked_day(date), region, form, self._minutes(history, minutes))

    def due(self, dog: AnyHistory, *, date: Date, profile: AnyProfile | None = None, regime: str | None = None) -> Due:
        """Returns when a dog must come back, asked on ``date``, and what that visit will hold; with a salon on which open day. Raises
        ``InputError``."""
        from coatrules.book.due import due
        from coatrules.profile.compiled import compile_profile

        history = in_regime(given_history(dog), regime)
        return due(
            compile_profile(self.profile_of(history, date=date, profile=profile)),
            history,
            date,
            self.salon,
            self.minutes,
        )

    def dues(
        self, dogs: Iterable[AnyHistory], *, date: Date, profile: AnyProfile | None = None
    ) -> Iterator[Due | InputError]:
        """Yields when each of many dogs must come back, in their order; where that cannot be said, the ``InputError`` itself.
        ``sorted(..., key=lambda due: due.rank)`` puts the soonest first."""
        for dog in dogs:
            try:
                yield self.due(dog, date=date, profile=profile)
            except InputError as error:
                yield error

    def plan(
        self,
        dog: AnyHistory,
        *,
        date: Date,
        show: Date | None = None,
        visits: int | None = None,
        every_weeks: float | None = None,
        dates: Iterable[Date] | None = None,
        minutes: float | None = None,
        sure: bool = False,
        profile: AnyProfile | None = None,
        regime: str | None = None,
        strip_whole: bool = False,
    ) -> Plan:
        """Returns the visits ahead, on given ``dates`` or an even row of them, towards a show day if there is one; ``sure``: also on
        how many dogs like this one the days and the show come out right. With a salon an even row is of its open days. Needs the extra
        ``plan``, but for ``strip_whole``: the coat is stripped out whole, again and again, and each visit is as soon as the one before
        it says."""
        from coatrules.plan import plan_ahead

        history = in_regime(given_history(dog), regime)
        if strip_whole:
            from coatrules.plan.strips import plan_strips

            loaded = self.profile_of(history, date=date, profile=profile)
            return plan_strips(
                loaded, history, date=date, visits=visits, minutes=self._minutes(history, minutes), salon=self.salon
            )
        return plan_ahead(
            self._profile_for(history, profile),  # with all of its targets: others hold on the days to come
            history,
            date=date,
            show=show,
            visits=visits,
            every_weeks=every_weeks,
            dates=dates,
            minutes=self._minutes(history, minutes),
            sure=sure,
            salon=self.salon,
        )

    def intervals(
        self,
        dog: AnyHistory,
        *,
        date: Date,
        weeks: Iterable[float] | None = None,
        minutes: float | None = None,
        profile: AnyProfile | None = None,
        regime: str | None = None,
    ) -> Intervals:
        """Returns intervals of so many ``weeks`` (two to eight where nothing is said) side by side, and the longest that keeps every
        target. Needs the extra ``plan``."""
        from coatrules.plan import compare_intervals
        from coatrules.plan.intervals import TWO_TO_EIGHT

        history = in_regime(given_history(dog), regime)
        return compare_intervals(
            self._profile_for(history, profile),
            history,
            date=date,
            weeks=TWO_TO_EIGHT if weeks is None else weeks,
            minutes=self._minutes(history, minutes),
        )

    def show_day(self, dog: AnyHistory, *, date: Date) -> Date | None:
        """Returns the next show on record, that of ``date`` itself too; None where there is none."""
        return given_history(dog).show_after(checked_day(date))

    def staged_strip(
        self, dog: AnyHistory, *, date: Date, show: Date, profile: AnyProfile | None = None, regime: str | None = None
    ) -> StagedStrip:
        """Returns the days on which each section is stripped for a ``show``; with a salon open ones, where they suit."""
        from coatrules.plan import staged_strip

        history = in_regime(given_history(dog), regime)
        return staged_strip(self._profile_for(history, profile), history, date=date, show=show, salon=self.salon)

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
        from coatrules.recording.visits import ask_back, with_visit

        history = given_history(dog)
        compiled = compile_profile(self.profile_of(history, profile=profile))
        document = without_file(visit, ("visits", len(history.visits)))
        new = with_visit(history, document, compiled, again=again)
        ask_back(compiled, new, anyway=anyway)
        return new

    def with_seen(
        self,
        dog: AnyHistory,
        seen: Mapping[str, Mapping[str, Any]] | str,
        *,
        date: Date,
        profile: AnyProfile | None = None,
    ) -> History:
        """Returns the history as if this had been seen on ``date``, before any work: by part, as in a visit's ``seen``, or in words as
        people type them ("throat: holds; loin: sore"). A part may be called by its id, or as people call it in this engine's
        language. Raises ``InputError``."""
        from coatrules.formats.documents import without_file
        from coatrules.profile.compiled import compile_profile
        from coatrules.recording.answers import see, see_typed
        from coatrules.recording.typed import SeenEntry
        from coatrules.recording.visits import with_visit

        history = given_history(dog)
        compiled = compile_profile(self.profile_of(history, date=date, profile=profile))
        place = ("visits", len(history.visits))
        visit: dict[str, Any] = {"visit": checked_day(date).isoformat()}
        with self.speaking():
            if isinstance(seen, str):
                see_typed(visit, seen, compiled)
            elif isinstance(seen, Mapping) and all(isinstance(words, Mapping) for words in seen.values()):
                by_part = without_file(seen, (*place, "seen")).data
                entries = [
                    SeenEntry(part, key, value, str(value)) for part in by_part for key, value in by_part[part].items()
                ]
                see(visit, entries, compiled)
            else:
                visit["seen"] = seen  # refused below
        return with_visit(history, without_file(visit, place), compiled)

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

    def import_sheet(self, content: bytes, mapping: Mapping[str, Any] | Path, *, name: str = "") -> Imported:
        """Returns the histories that a spreadsheet's export (CSV) holds, by a mapping of its columns (plain data, or a
        file); ``name`` stands for the sheet in messages. Raises ``InputError`` where the sheet as a whole cannot be read."""
        from coatrules.profile.compiled import compile_profile
        from coatrules.recording.importing import import_rows
        from coatrules.recording.sheets import load_mapping

        sheet = load_mapping(mapping)
        if sheet.profile is not None:
            self.profile(sheet.profile)  # a wrong one is one problem, not one a row
        return import_rows(content, name, sheet, lambda profile: compile_profile(self.profile(profile)))

    # --- files to start from ---

    def new_history(
        self, profile: AnyProfile | None = None, *, date: Date, id: str | int = "my-dog", name: str = ""
    ) -> str:
        """Returns the text of a dog's history to start from, without a visit; its examples are of ``date``. Without a name the dog is
        called by its id."""
        from coatrules.mentor.starting_files import USUAL_PROFILE, history_to_start_from

        with self.speaking():
            return history_to_start_from(self.profile(profile or USUAL_PROFILE), id, name, checked_day(date))

    def new_case(
        self, dog: AnyHistory, *, date: Date, minutes: float | None = None, profile: AnyProfile | None = None
    ) -> str:
        """Returns the text of a worked case for a profile: a dog's history, and what its order of ``date`` says now."""
        from coatrules.check.case_from_history import case_text
        from coatrules.mentor.formatting import tidied

        history, day = given_history(dog), checked_day(date)
        asked = None if minutes is None else usable_minutes(minutes)
        return tidied(case_text(self.profile_of(history, date=day, profile=profile), history, day, asked))

    # --- inside ---

    def _minutes(self, history: History, minutes: float | None) -> float | None:
        usual = self.salon.minutes_for(history.dog.id) if self.salon is not None and minutes is None else minutes
        return self.minutes if usual is None else usual

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
