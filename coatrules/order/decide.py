"""What is to be done in each region today: how much, which tasks, how pressing, with what, and why."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from datetime import date

from coatrules.catalogue.message import Message, authors, message
from coatrules.coat.measures import cover_limit, mass_longer
from coatrules.coat.queue import WHOLE, mass_of
from coatrules.coat.ripening import HORIZON_DAYS, days_until_ripe
from coatrules.dog.equivalence import once_per_class
from coatrules.dog.safety import HEALTH, PUPPY_MINUTES, STOP_RESTS_DAYS, STOP_SHARE, Stage, strictest
from coatrules.dog.state import DogState, RegionState
from coatrules.formats.values import TaskKind
from coatrules.order.blending import blended
from coatrules.order.facts import RegionFacts, number
from coatrules.order.reasons import Reason
from coatrules.order.verdicts import Task, Verdict
from coatrules.profile.compiled import CompiledProfile, CompiledRegion, Means
from coatrules.profile.floor import HANDLED_ONLY, may_use
from coatrules.profile.model import Effect, LayerTarget, Rule

LEAST_SHARE = 0.03
"""Below this a pull is not worth the dog's time (DEVELOPERS.md, "How much")."""
NEARLY_ALL = 0.6
"""From this share on, an ask is of nearly everything: growing hair would be stripped with it. No source."""
RIPE_FROM, HALF_RIPE = 0.1, 0.5
"""Ripe share of the coat from which nearly everything may be asked for, and from which it comes well. Who strips a terrier every
13 weeks takes it at about 0.1 (growth.csv, E048, E051)."""
SOFT_CLIPS = 2
"""Clips not yet stripped out from which a coat is soft: three or four kill the wire (growth.csv, E097)."""
SOFT_SHARE = 0.4
"""The most that is asked of a soft coat that is stripped whole, and of ripe hair only, until a hand has felt that it comes: three
visits take the clipped hair out (common practice, no source)."""
CARD_FROM = 0.5
"""Undercoat half back is carded (common practice, no source)."""
BASE: Mapping[TaskKind, int] = {"clip": 60, "pull": 50, "card": 40, "scissor": 35, "comb": 30}
"""Priority before anything is overdue: hygiene first, finish last (common practice, no source)."""
STOP_SINKS = 40.0
"""By so much a place where the dog said stop comes after the others: the first to be put off."""
TASK_ORDER: tuple[TaskKind, ...] = ("card", "pull", "clip", "scissor", "comb")


def asks_nearly_all(target: LayerTarget, mass: int) -> bool:
    """Whether so much is an ask of nearly everything, with which growing hair would be stripped."""
    return mass >= NEARLY_ALL * WHOLE or (target.full_strip and mass >= max(mass_of(target.take.usual), 1))


def of_growing_hair(target: LayerTarget, mass: int) -> int:
    """What is left of an ask of nearly everything where too little of the coat is ripe."""
    usual = mass_of(target.take.usual)
    return min(mass, usual) if usual < NEARLY_ALL * WHOLE else 0


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
        return _Region(compiled, compiled.regions[name], state, met, found, stops, stage).verdict()

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


class _Region:
    """The decision on one region, worked out step by step."""

    def __init__(
        self,
        compiled: CompiledProfile,
        region: CompiledRegion,
        state: DogState,
        facts: RegionFacts,
        fired: list[tuple[Effect, Reason]],
        stops: str | None,
        stage: Stage,
    ) -> None:
        self.compiled, self.region, self.facts, self.stops, self.stage = compiled, region, facts, stops, stage
        self.beside = tuple(compiled.regions[name].region.label for name in state.margins.get(region.id, ()))
        self.day, self.first_visit, self.born = state.day, state.first_visit, state.born
        self.own: RegionState = state.regions[region.id]
        self.pace, self.speed = state.pace.of(region.id), state.speed.of(region.id)
        self.fired = fired
        self.acting = [(effect, reason) for effect, reason in fired if effect.acts]
        self.used = [effect.use for effect, _ in self.acting if effect.use is not None]
        self.left_out = {task for effect, _ in self.acting for task in effect.leave}
        self.conflicts: list[Reason] = []
        self.idle: list[Reason] = []

    def verdict(self) -> Verdict:
        refer = [authors("profile.refer", e.refer) for e, _ in self.acting if e.refer and not e.whole_dog]
        cautions = tuple(dict.fromkeys(authors("profile.caution", e.caution) for e, _ in self.acting if e.caution))
        fired = tuple([reason.rule for _, reason in self.fired])
        forbidden: Reason | None = None
        if self.stops == "all":
            forbidden = Reason(rule="coat.health")
        elif self.own.skin == "unsound":
            forbidden = Reason(rule="floor.unsound", facts=self._since(self.own.skin_day))
        elif refer:
            forbidden = Reason(rule="coat.refer")
        elif (until := self._rests_until()) is not None:
            forbidden = Reason(rule="floor.stop", facts={**self._since(self.own.stop_day), "until": until})
        if forbidden is not None:
            because = (forbidden, *self._of(lambda effect: effect.refer))
            return Verdict(
                "forbid",
                because=because,
                cautions=cautions,
                refer=tuple(dict.fromkeys(refer)),
                fired=fired,
            )
        tasks = self._tasks()
        if not tasks:
            hand_off = self.stops == "hand" and self.region.hand is not None
            return Verdict(
                "forbid" if hand_off else "leave",
                because=tuple(self.idle),
                cautions=cautions,
                conflicts=tuple(self.conflicts),
                fired=fired,
            )
        parts = self._priority(tasks)
        return Verdict(
            "work",
            tasks=tuple(tasks),
            priority=min(100.0, max(0.0, round(sum(parts.values()), 1))),
            priority_parts=parts,
            overgrown_weeks=self._overgrown(),
            because=(
                *(r for r in self.idle if r.rule not in _OBVIOUS),
                *(reason for effect, reason in self.fired if effect.priority or effect.caution or effect.use),
            ),
            cautions=cautions,
            conflicts=tuple(self.conflicts),
            fired=fired,
        )

    # --- which tasks ---

    def _tasks(self) -> list[Task]:
        made: dict[TaskKind, Task] = {}
        pull = self._pull()
        card = self._card(pull)
        for task in (card, pull, self._clip()):
            if task is not None:
                made[task.kind] = task
        for task in self._routines():
            made.setdefault(task.kind, task)
        for effect, reason in self.acting:
            for kind, minutes in effect.add.items():
                if kind not in made and self._allowed(kind):
                    leave = self.region.clipper_only.leave_mm if kind == "clip" and self.region.clipper_only else None
                    made[kind] = self._task(kind, minutes, (reason,), leave_mm=leave)
        return [made[kind] for kind in TASK_ORDER if kind in made]

    def _allowed(self, kind: TaskKind) -> bool:
        """Whether neither a rule nor the floor stands against a kind of task here."""
        if kind in self.left_out or (self.stage != "grown" and not self._practised(kind)):
            return False
        if kind != "card":
            return True
        return (
            self.stops is None
            and not self.beside
            and self.region.clipper_only is None
            and self.region.place is not None
        )

    def _practised(self, kind: TaskKind) -> bool:
        """Whether a puppy, or a dog new to the table, is asked to bear a kind of task here: only on calm parts, nothing on the
        head and feet; a puppy coat is pulled from the age at which it comes out."""
        return self._is_calm() and (kind in ("card", "comb") or (kind == "pull" and self.stage == "first-coat"))

    def _is_calm(self) -> bool:
        return self.facts["sensitivity"] == "none" and self.region.id not in HANDLED_ONLY

    def _rests_until(self) -> date | None:
        """The day from which a place where the dog said stop may be tried again, if that is still to come."""
        if self.own.stop_day is None:
            return None
        until = self.own.stop_day + STOP_RESTS_DAYS
        return date.fromordinal(until) if self.day < until else None

    @staticmethod
    def _since(day: int | None) -> dict[str, object]:
        return {} if day is None else {"day": date.fromordinal(day)}

    def _pull(self) -> Task | None:
        if self.region.clipper_only is not None:
            leave = self.region.clipper_only.leave_mm
            self.idle.append(
                Reason(rule="coat.clipper-only", facts={"leave_mm": leave}, own=self.region.clipper_only.because or "")
            )
            return None
        if self.region.target is None:
            self.idle.append(Reason(rule="coat.no-target"))
            return None
        if self.stops is not None:
            self.idle.append(Reason(rule="coat.health"))
            return None
        if self.region.place is None:
            self.idle.append(Reason(rule="floor.unknown-place"))
            return None
        if self.beside:
            self.idle.append(Reason(rule="floor.beside-unsound", facts={"regions": self.beside}))
            return None
        if self.stage != "grown" and not self._practised("pull"):
            self.idle.append(Reason(rule="floor.practice"))
            return None
        if "pull" in self.left_out:
            self.idle.append(Reason(rule="coat.left"))
            self.idle.extend(self._of(lambda effect: "pull" in effect.leave))
            return None
        mass, because = self._share()
        if mass < LEAST_SHARE * WHOLE:
            nothing = (
                Reason(rule="coat.nothing-ready") if self.facts["ready_share"] == 0 else _share("coat.too-little", mass)
            )
            self.idle.extend([*because, nothing])
            return None
        minutes = self.region.region.minutes.get("pull", 0.0) * mass / WHOLE
        return self._task("pull", minutes, tuple(because), mass=mass)

    def _share(self) -> tuple[int, list[Reason]]:
        """How much to take, in parts per million, and why: DEVELOPERS.md, "How much"."""
        assert self.region.target is not None
        target = self.region.target
        coat, growth = self.own.coat, self.own.growth
        mass = mass_of(target.take.usual)
        because = [_share("coat.usual", mass)]

        first = self._first_coat()
        if first:
            mass = first
            because = [_share("coat.first-coat", mass)]

        longest = target.longest_mm[1] if target.longest_mm is not None else float("inf")
        overgrown = mass_longer(coat, growth, self.pace, self.day, longest)
        if overgrown > mass:
            mass = overgrown
            because.append(_share("coat.overgrown", mass))

        floors = [effect.take.at_least for effect, _ in self.acting if effect.take.at_least is not None]
        caps = [effect.take.at_most for effect, _ in self.acting if effect.take.at_most is not None]
        if self.own.last_reaction == "stop":
            caps.append(STOP_SHARE)
        usual_most = 1.0 if first else target.take.at_most  # a share of the coat that rolls, not of the one before it
        floor, cap = mass_of(max(floors, default=0.0)), mass_of(min([*caps, usual_most]))
        if floor > cap:
            self.conflicts.append(
                Reason(rule="coat.conflict", facts={"at_least": floor / WHOLE, "at_most": cap / WHOLE})
            )
        if floor > mass:
            mass = floor
            because.extend(
                [
                    _share("coat.floor", mass),
                    *self._of(lambda e: e.take.at_least is not None and mass_of(e.take.at_least) == floor),
                ]
            )
        if cap < mass:
            mass = cap
            because.extend(
                [
                    _share("coat.cap", mass),
                    *self._of(lambda e: e.take.at_most is not None and mass_of(e.take.at_most) == cap),
                ]
            )

        # A puppy coat comes out whole: what follows has not come through yet.
        if target.cover is not None and not target.full_strip and not first:
            limit = cover_limit(coat, growth, self.pace, self.day, target.cover.at_least)
            if self.own.seen is not None and self.own.seen.see_through:
                limit = 0
                because.append(Reason(rule="coat.seen-through"))
            low = mass_of(target.take.low_spot)
            if mass > max(limit, low):
                mass = max(limit, low)
                because.append(_share("coat.cover" if limit > low else "coat.low-spot", mass))

        if not first:  # a puppy coat is at rest as a whole
            mass = self._ripe_enough(mass, because)
        ready = round(number(self.facts["ready_share"]) * WHOLE)
        if mass > ready:
            mass = ready
            if mass:
                because.append(_share("coat.not-ready", mass))
        return mass, because

    def _first_coat(self) -> int:
        """How much of the coat the puppy was born with comes out today: all of it, as far as the time reaches.

        What is left of it on calm parts when the puppy is grown comes out so too; elsewhere it goes as any other coat.
        """
        oldest, due, age = self.own.coat.cohorts[0], self.compiled.first_coat_weeks, self.facts.get("age_weeks")
        if oldest.day != self.born or due is None or age is None or number(age) < due or not self._is_calm():
            return 0
        minutes = self.region.region.minutes.get("pull", 0.0) / self.speed
        there_is = number(self.facts["minutes"])
        if self.stage == "first-coat":
            there_is = min(there_is, PUPPY_MINUTES)
        fits = WHOLE if minutes <= there_is else int(WHOLE * there_is / minutes)
        return min(oldest.mass, fits)

    def _ripe_enough(self, mass: int, because: list[Reason]) -> int:
        """How much of an ask of nearly everything remains: hair that still grows is not stripped with it.

        What the hand felt today outranks the computed share. A rolled coat never waits: its usual share is asked whatever.
        """
        assert self.region.target is not None
        comes = self.facts.get("comes")
        if not asks_nearly_all(self.region.target, mass):
            if comes == "holds" and mass:
                because.append(Reason(rule="coat.holds"))
            return mass
        if comes == "easily":
            return mass
        fallback = of_growing_hair(self.region.target, mass)
        ripe = number(self.facts["ripe_share"])
        if comes == "holds":
            because.append(Reason(rule="coat.holds-all"))
            return fallback
        if self.own.clips >= SOFT_CLIPS:
            because.append(Reason(rule="coat.soft", facts={"clips": self.own.clips, "share": SOFT_SHARE}))
            return fallback or min(mass, mass_of(SOFT_SHARE), mass_of(ripe))
        if ripe < RIPE_FROM and comes != "mixed":
            because.append(self._unripe("coat.unripe", round(RIPE_FROM * WHOLE)))
            return fallback
        if ripe < HALF_RIPE:
            because.append(self._unripe("coat.better-later", round(HALF_RIPE * WHOLE)))
        return mass

    def _unripe(self, rule: str, mass: int) -> Reason:
        """The reason that names the first day on which so much is ripe."""
        own = self.own
        days = days_until_ripe(own.coat.cohorts, own.growth, self.pace, self.day, mass)
        day = date.fromordinal(self.day + (HORIZON_DAYS if days is None else days))
        return Reason(rule=rule, facts={"ripe_share": self.facts["ripe_share"], "day": day})

    def _card(self, pull: Task | None) -> Task | None:
        minutes = self.region.region.minutes.get("card")
        undercoat = self.facts.get("undercoat")
        if minutes is None or undercoat is None or not self._allowed("card"):
            return None
        if number(undercoat) < CARD_FROM:
            return None
        if self.facts.get("see_through") and self.region.target is not None and not self.region.target.full_strip:
            self.idle.append(Reason(rule="coat.not-carded", facts={"cover": self.facts["cover"]}))
            return None
        because = [Reason(rule="coat.undercoat", facts={"undercoat": undercoat})]
        if pull is not None:
            because.append(Reason(rule="coat.carded-first"))
        return self._task("card", minutes * number(undercoat), tuple(because))

    def _clip(self) -> Task | None:
        zone = self.region.clipper_only
        if zone is None or not self._allowed("clip"):
            return None
        due = self._due(zone.every_weeks, "clip")
        if due is None:
            return None
        if number(self.facts["longest_mm"]) <= zone.leave_mm:
            self.idle.append(Reason(rule="coat.short-enough", facts={"leave_mm": zone.leave_mm}))
            return None
        place = self.region.place
        if place is not None and place.cut is not None and place.cut.by_name and self._means("clip") is None:
            self.idle.append(Reason(rule="floor.no-tool"))
            return None
        because = (
            due,
            Reason(rule="coat.clipper-only", facts={"leave_mm": zone.leave_mm}, own=zone.because or ""),
        )
        return self._task("clip", self.region.region.minutes.get("clip", 0.0), because, leave_mm=zone.leave_mm)

    def _routines(self) -> list[Task]:
        tasks = []
        for _, routine in self.region.routines:
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
        """The reason to do calendar work today: the due day is nearer to today than to the next ordinary visit."""
        last = self.own.last.get(kind)
        if last is None:
            return Reason(rule="coat.calendar-first", facts={"every_weeks": every_weeks})
        since = (self.day - last) / 7
        if since + self.compiled.profile.visit.every_weeks / 2 < every_weeks:
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
        minutes /= self.speed
        return Task(kind, minutes, mass, leave_mm, self._means(kind), because)

    def _means(self, kind: TaskKind) -> Means | None:
        """The hand or tool for a task: what a rule names, or the first that fits the hair."""
        methods, own = self.compiled.profile.methods, self.region.methods.get(kind, ())
        here = {name for name, _ in own}
        wanted = [use for use in self.used if methods[use].does == kind]
        name = min((use for use in wanted if may_use(methods[use], self.region.place, named=use in here)), default=None)
        if name is None:
            name = next((name for name, method in own if method.when.holds(self.facts)), None)
        return None if name is None else self.compiled.means[name]

    # --- how pressing ---

    def _priority(self, tasks: list[Task]) -> dict[str, float]:
        main = max(tasks, key=lambda task: BASE[task.kind])
        overdue = max(self._overdue(task) for task in tasks)
        parts = {
            "base": float(BASE[main.kind]),
            "overdue": round(min(30.0, 6.0 * overdue), 1),
            # What the dog refused has not waited: put off again and again, it would come first on the day with least time.
            "put_off": 0.0 if self.own.last_reaction == "stop" else min(30.0, 10.0 * self.own.put_off),
            "stop": -STOP_SINKS if self.own.last_reaction == "stop" else 0.0,
            "rules": float(sum([effect.priority for effect, _ in self.fired])),
        }
        return {name: value for name, value in parts.items() if value}

    def _overdue(self, task: Task) -> float:
        """Weeks by which a task is late."""
        last = self.own.last.get(task.kind)
        if last is None and task.kind == "pull":  # never pulled: it has waited since the dog first came
            last = self.first_visit
        if last is None:
            return 0.0
        every = self.compiled.profile.visit.every_weeks
        if task.kind == "card":
            every = self.region.growth.undercoat_weeks or every
        elif task.kind == "clip" and self.region.clipper_only is not None:
            every = self.region.clipper_only.every_weeks
        else:
            every = next((r.every_weeks for _, r in self.region.routines if r.task == task.kind), every)
        return max(0.0, (self.day - last) / 7 - every)

    def _overgrown(self) -> float:
        """Weeks since when the oldest hair is longer than wanted, or blown; 0 where no hand work is wanted."""
        if self.region.hand is None:
            return 0.0
        growth, longest = self.own.growth, self.region.hand.longest_mm
        blown = number(self.facts["oldest_weeks"]) - growth.blown_weeks / self.pace
        if longest is None:
            return max(0.0, blown)
        too_long = (number(self.facts["longest_mm"]) - longest[1]) / growth.mm_per_week / self.pace
        return max(0.0, blown, too_long)

    def _of(self, chosen: Callable[[Effect], object]) -> list[Reason]:
        """The reasons of the rules whose effect, more than a matter of priority, is chosen."""
        return [reason for effect, reason in self.acting if chosen(effect)]


_OBVIOUS = ("coat.no-target", "coat.clipper-only")
"""Reasons for not pulling that go without saying where other work is done."""


def _share(rule: str, mass: int) -> Reason:
    return Reason(rule=rule, facts={"share": mass / WHOLE})
