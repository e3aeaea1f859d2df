"""What is to be done in each region today: how much, which tasks, how pressing, with what, and why."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import date

from coatrules.catalogue.message import Message, authors, message
from coatrules.coat.queue import WHOLE
from coatrules.dog.equivalence import once_per_class
from coatrules.dog.safety import HEALTH, STOP_RESTS_DAYS, Stage, strictest
from coatrules.dog.state import DogState
from coatrules.formats.values import TaskKind
from coatrules.order.blending import blended
from coatrules.order.clipped_coat import let_grow
from coatrules.order.facts import RegionFacts, number
from coatrules.order.priority import overgrown, priority_parts
from coatrules.order.reasons import Reason
from coatrules.order.region_today import RegionToday
from coatrules.order.share import LEAST_SHARE, because_share, share
from coatrules.order.verdicts import Task, Verdict
from coatrules.profile.compiled import CompiledProfile, Means
from coatrules.profile.floor import may_use
from coatrules.profile.model import Rule

CARD_FROM = 0.5
"""Undercoat half back is carded (common practice, no source)."""
TASK_ORDER: tuple[TaskKind, ...] = ("card", "pull", "clip", "scissor", "comb")


def decide(
    compiled: CompiledProfile, state: DogState, facts: Mapping[str, RegionFacts], stage: Stage = "grown"
) -> tuple[dict[str, Verdict], list[Message]]:
    """The verdict on every region, and what to tell the owner to ask a veterinary surgeon about the whole dog.

    ``facts`` are those of the state: regions that are alike in it share a verdict.
    """
    whole_dog = [*_unsound(compiled, state), *(HEALTH[name].says for name in state.health)]
    stops = strictest(state.health)

    def firing(name: str) -> list[tuple[str, Rule]]:
        region = compiled.regions[name]
        return [region.rules[i] for i in region.firing_rules(facts[name])]

    fired = once_per_class(state.class_keys, firing)
    growing = let_grow(compiled, state)
    for rules in fired.values():
        for _, rule in rules:
            if rule.then.whole_dog and rule.then.refer is not None:
                stops = "all"
                if (says := authors("profile.refer", rule.then.refer)) not in whole_dog:
                    whole_dog.append(says)

    def verdict(name: str) -> Verdict:
        met = facts[name]
        found = [
            (rule.then, Reason(rule=rule_id, facts=rule.when.met(met), own=rule.because))
            for rule_id, rule in fired[name]
        ]
        today = RegionToday(compiled, compiled.regions[name], state, met, found, stops, stage, growing.get(name))
        return _Decision(today).verdict()

    verdicts = once_per_class(state.class_keys, verdict)
    return blended(compiled, state, verdicts, stage), whole_dog


def _unsound(compiled: CompiledProfile, state: DogState) -> Iterator[Message]:
    """Where the skin is not sound, since when, and what lifts that."""
    by_day: dict[int, list[str]] = {}
    for name, own in state.regions.items():
        if own.skin == "unsound" and own.skin_day is not None:
            by_day.setdefault(own.skin_day, []).append(compiled.regions[name].region.label)
    for day, labels in sorted(by_day.items()):
        yield message("skin.unsound", regions=tuple(labels), day=date.fromordinal(day))


class _Decision:
    """The decision on one region, worked out step by step."""

    def __init__(self, today: RegionToday) -> None:
        self.today = today
        self.used = [effect.use for effect, _ in today.acting if effect.use is not None]
        self.left_out = {task for effect, _ in today.acting for task in effect.leave}
        self.conflicts: list[Reason] = []
        self.idle: list[Reason] = []

    def verdict(self) -> Verdict:
        refer = [authors("profile.refer", e.refer) for e, _ in self.today.acting if e.refer and not e.whole_dog]
        cautions = tuple(
            dict.fromkeys(authors("profile.caution", e.caution) for e, _ in self.today.acting if e.caution)
        )
        fired = tuple([reason.rule for _, reason in self.today.fired])
        forbidden: Reason | None = None
        if self.today.stops == "all":
            forbidden = Reason(rule="coat.health")
        elif self.today.own.skin == "unsound":
            forbidden = Reason(rule="floor.unsound", facts=self._since(self.today.own.skin_day))
        elif refer:
            forbidden = Reason(rule="coat.refer")
        elif (until := self._rests_until()) is not None:
            forbidden = Reason(rule="floor.stop", facts={**self._since(self.today.own.stop_day), "until": until})
        if forbidden is not None:
            because = (forbidden, *self.today.because_of(lambda effect: effect.refer))
            return Verdict(
                "forbid",
                because=because,
                cautions=cautions,
                refer=tuple(dict.fromkeys(refer)),
                fired=fired,
            )
        tasks = self._tasks()
        if not tasks:
            hand_off = self.today.stops == "hand" and self.today.region.hand is not None
            return Verdict(
                "forbid" if hand_off else "leave",
                because=tuple(self.idle),
                cautions=cautions,
                conflicts=tuple(self.conflicts),
                fired=fired,
            )
        parts = priority_parts(self.today, tasks)
        return Verdict(
            "work",
            tasks=tuple(tasks),
            priority=min(100.0, max(0.0, round(sum(parts.values()), 1))),
            priority_parts=parts,
            overgrown_weeks=overgrown(self.today),
            because=(
                *(r for r in self.idle if r.rule not in _OBVIOUS),
                *(reason for effect, reason in self.today.fired if effect.priority or effect.caution or effect.use),
            ),
            cautions=cautions,
            conflicts=tuple(self.conflicts),
            fired=fired,
        )

    def _tasks(self) -> list[Task]:
        made: dict[TaskKind, Task] = {}
        pull = self._pull()
        card = self._card(pull)
        for task in (card, pull, self._clip()):
            if task is not None:
                made[task.kind] = task
        for task in self._routines():
            made.setdefault(task.kind, task)
        for effect, reason in self.today.acting:
            for kind, minutes in effect.add.items():
                if kind not in made and self._allowed(kind):
                    leave = (
                        self.today.region.clipper_only.leave_mm
                        if kind == "clip" and self.today.region.clipper_only
                        else None
                    )
                    made[kind] = self._task(kind, minutes, (reason,), leave_mm=leave)
        return [made[kind] for kind in TASK_ORDER if kind in made]

    def _allowed(self, kind: TaskKind) -> bool:
        """Whether neither a rule nor the floor stands against a kind of task here."""
        if kind in self.left_out or (self.today.stage != "grown" and not self._practised(kind)):
            return False
        if kind != "card":
            return True
        return (
            self.today.stops is None
            and not self.today.beside
            and self.today.region.clipper_only is None
            and self.today.region.place is not None
        )

    def _practised(self, kind: TaskKind) -> bool:
        """Whether a puppy, or a dog new to the table, is asked to bear a kind of task here: only on calm parts, nothing on the
        head and feet; a puppy coat is pulled from the age at which it comes out."""
        return self.today.is_calm and (
            kind in ("card", "comb") or (kind == "pull" and self.today.stage == "first-coat")
        )

    def _rests_until(self) -> date | None:
        """The day from which a place where the dog said stop may be tried again, if that is still to come."""
        if self.today.own.stop_day is None:
            return None
        until = self.today.own.stop_day + STOP_RESTS_DAYS
        return date.fromordinal(until) if self.today.day < until else None

    @staticmethod
    def _since(day: int | None) -> dict[str, object]:
        return {} if day is None else {"day": date.fromordinal(day)}

    def _pull(self) -> Task | None:
        if self.today.region.clipper_only is not None:
            leave = self.today.region.clipper_only.leave_mm
            self.idle.append(
                Reason(
                    rule="coat.clipper-only",
                    facts={"leave_mm": leave},
                    own=self.today.region.clipper_only.because or "",
                )
            )
            return None
        if self.today.region.target is None:
            self.idle.append(Reason(rule="coat.no-target"))
            return None
        if self.today.stops is not None:
            self.idle.append(Reason(rule="coat.health"))
            return None
        if self.today.region.place is None:
            self.idle.append(Reason(rule="floor.unknown-place"))
            return None
        if self.today.beside:
            self.idle.append(Reason(rule="floor.beside-unsound", facts={"regions": self.today.beside}))
            return None
        if self.today.stage != "grown" and not self._practised("pull"):
            self.idle.append(Reason(rule="floor.practice"))
            return None
        if "pull" in self.left_out:
            self.idle.append(Reason(rule="coat.left"))
            self.idle.extend(self.today.because_of(lambda effect: "pull" in effect.leave))
            return None
        if self.today.grows_until is not None and self.today.facts.get("comes") != "easily":
            self.idle.append(Reason(rule="coat.grows-out", facts={"day": date.fromordinal(self.today.grows_until)}))
            return None
        mass, because, conflicts = share(self.today, self.today.region.target)
        self.conflicts += conflicts
        if mass < LEAST_SHARE * WHOLE:
            self.idle.extend([*because, *self._nothing_more(mass, because)])
            return None
        minutes = self.today.region.region.minutes.get("pull", 0.0) * mass / WHOLE
        return self._task("pull", minutes, tuple(because), mass=mass)

    def _nothing_more(self, mass: int, because: Sequence[Reason]) -> Iterator[Reason]:
        """Yields why nothing is pulled where so little is asked for; nothing where the last reason says it."""
        last = because[-1].rule
        if last == "coat.pulled-lately":
            yield Reason(rule="coat.visit-done", facts={"day": because[-1].facts["day"]})
        elif self.today.facts["ready_share"] == 0:
            yield Reason(rule="coat.nothing-ready")
        elif last != "coat.held-lately":
            yield because_share("coat.too-little", mass)

    def _card(self, pull: Task | None) -> Task | None:
        minutes = self.today.region.region.minutes.get("card")
        undercoat = self.today.facts.get("undercoat")
        if minutes is None or undercoat is None or not self._allowed("card"):
            return None
        practice = self.today.stage == "practice"  # the dog gets used to the rake, whatever is left to rake
        if number(undercoat) < CARD_FROM and not practice:
            return None
        target = self.today.region.target
        stripped_today = target is not None and target.full_strip and pull is not None
        if self.today.facts.get("see_through") and target is not None and not stripped_today:
            self.idle.append(Reason(rule="coat.not-carded", facts={"cover": self.today.facts["cover"]}))
            return None
        because = [Reason(rule="coat.undercoat", facts={"undercoat": undercoat})]
        if pull is not None:
            because.append(Reason(rule="coat.carded-first"))
        raked = max(number(undercoat), CARD_FROM) if practice else number(undercoat)
        return self._task("card", minutes * raked, tuple(because))

    def _clip(self) -> Task | None:
        zone = self.today.region.clipper_only
        if zone is None or not self._allowed("clip"):
            return None
        due = self._due(zone.every_weeks, "clip")
        if due is None:
            return None
        if number(self.today.facts["longest_mm"]) <= zone.leave_mm:
            self.idle.append(Reason(rule="coat.short-enough", facts={"leave_mm": zone.leave_mm}))
            return None
        place = self.today.region.place
        if place is not None and place.cut is not None and place.cut.by_name and self._means("clip") is None:
            self.idle.append(Reason(rule="floor.no-tool"))
            return None
        because = (
            due,
            Reason(rule="coat.clipper-only", facts={"leave_mm": zone.leave_mm}, own=zone.because or ""),
        )
        return self._task("clip", self.today.region.region.minutes.get("clip", 0.0), because, leave_mm=zone.leave_mm)

    def _routines(self) -> list[Task]:
        tasks = []
        for _, routine in self.today.region.routines:
            if not self._allowed(routine.task):
                continue
            due = self._due(routine.every_weeks, routine.task)
            if due is not None:
                because = (
                    (due, Reason(rule="coat.calendar", facts=due.facts, own=routine.because))
                    if routine.because
                    else (due,)
                )
                tasks.append(self._task(routine.task, routine.minutes, because))
        return tasks

    def _due(self, every_weeks: float, kind: TaskKind) -> Reason | None:
        """The reason to do calendar work today: the due day is nearer to today than to the next ordinary visit. What is due oftener than
        that is not done again until half its time, or half a visit, is over."""
        last = self.today.own.last.get(kind)
        if last is None:
            return Reason(rule="coat.calendar-first", facts={"every_weeks": every_weeks})
        since = (self.today.day - last) / 7
        visit_weeks = self.today.compiled.profile.visit.every_weeks
        if since < max(every_weeks - visit_weeks / 2, min(every_weeks, visit_weeks) / 2):
            left = round((every_weeks - since) * 7)
            self.idle.append(Reason(rule="coat.not-due", facts={"days": left}))
            return None
        return Reason(rule="coat.calendar", facts={"every_weeks": every_weeks, "weeks_since": since})

    def _task(
        self,
        kind: TaskKind,
        minutes: float,
        because: tuple[Reason, ...],
        *,
        mass: int = 0,
        leave_mm: float | None = None,
    ) -> Task:
        minutes /= self.today.speed
        return Task(kind, minutes, mass, leave_mm, self._means(kind), because)

    def _means(self, kind: TaskKind) -> Means | None:
        """The hand or tool for a task: what a rule names, or the first that fits the hair."""
        methods, own = self.today.compiled.profile.methods, self.today.region.methods.get(kind, ())
        here = {name for name, _ in own}
        wanted = [use for use in self.used if methods[use].does == kind]
        name = min(
            (use for use in wanted if may_use(methods[use], self.today.region.place, named=use in here)), default=None
        )
        if name is None:
            name = next((name for name, method in own if method.when.holds(self.today.facts)), None)
        return None if name is None else self.today.compiled.means[name]


_OBVIOUS = ("coat.no-target", "coat.clipper-only")
"""Reasons for not pulling that go without saying where other work is done."""
