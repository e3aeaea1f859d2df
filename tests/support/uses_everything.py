"""A program of somebody else's that uses every public name, by its types: clean under ``mypy --strict`` and strict Pyright."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from concurrent.futures import ThreadPoolExecutor
from datetime import date, timedelta

from coatrules import (
    Actor,
    Arrival,
    AtLeast,
    AtLeastLong,
    Axis,
    Binding,
    Blend,
    Breed,
    Came,
    Case,
    Change,
    ClipperOnlyZone,
    Compared,
    Comparison,
    Condition,
    Conflict,
    Cover,
    Difference,
    Dog,
    Due,
    Edition,
    Effect,
    Engine,
    Events,
    Expectation,
    ExpectedVisit,
    Explanation,
    Felt,
    Growth,
    History,
    Imported,
    InBrief,
    InputError,
    Interval,
    Intervals,
    LaterVisit,
    Layers,
    LayerTarget,
    Length,
    Look,
    Message,
    Method,
    Miss,
    NextLayer,
    NextVisit,
    Occasion,
    OfArrival,
    OfRegion,
    Outlier,
    OwnDay,
    Pace,
    Part,
    Plan,
    PlannedVisit,
    Posterior,
    Problem,
    Profile,
    ProfileComparison,
    PutOff,
    Reason,
    Region,
    RegionOutlook,
    RegionVisit,
    Rehearsal,
    Relaxation,
    Rolling,
    RollingEnd,
    Routine,
    Rule,
    RuleTrace,
    Run,
    Salon,
    Seen,
    SensitiveZone,
    ShowAhead,
    Source,
    Speed,
    Stage,
    StagedStrip,
    Station,
    Step,
    Take,
    TakeLimits,
    TargetRun,
    Timed,
    UsualVisit,
    Visit,
    Wanted,
    Work,
    WorkOrder,
    load_history,
    load_profile,
    work_order,
    work_orders,
)

DAY = date(2026, 3, 21)


def history() -> History:
    """A dog made of values instead of plain data."""
    work: Mapping[str, Work] = {"jacket": Work(card=True, pull=0.2, minutes=50)}
    seen: Mapping[str, Seen] = {"back": Seen(longest_mm=30, layers=2), "tail": Seen(longest_mm=AtLeastLong(minimum=30))}
    visits = (
        Visit(day=DAY - timedelta(weeks=6), work=work),
        Visit(day=DAY - timedelta(weeks=3), work=work, seen=seen, events=Events(season=DAY - timedelta(weeks=20))),
    )
    dog = Dog(id="tip", name="Tip", profile="griffon-bruxellois-rough", sex="female")
    return History(format=1, dog=dog, arrival={"jacket": Arrival(grown_weeks=30)}, visits=visits)


def about_profile(profile: Profile) -> Iterator[str]:
    """What a profile says, by its parts."""
    visit: UsualVisit = profile.visit
    breed: Breed | None = profile.breed
    blends: Mapping[str, Blend] = profile.blends
    edition: Edition = profile.edition
    yield f"{profile.label}: {visit.minutes:g} min every {visit.every_weeks:g} weeks, {edition.sha256[:8]}"
    yield f"{breed.fci if breed is not None else 'no breed'}"
    yield f"{len(blends)} blends"
    sources: Mapping[str, Source] = profile.sources
    coats: Mapping[str, Growth] = profile.coats
    regions: Mapping[str, Region] = profile.regions
    tender: Mapping[str, SensitiveZone] = profile.sensitive_zones
    clipped: Mapping[str, ClipperOnlyZone] = profile.clipper_only_zones
    routines: Mapping[str, Routine] = profile.routines
    stations: Mapping[str, Station] = profile.stations
    methods: Mapping[str, Method] = profile.methods
    comparisons: Mapping[str, Comparison] = profile.comparisons
    yield " ".join(
        str(len(part)) for part in (sources, coats, regions, tender, clipped, routines, stations, methods, comparisons)
    )
    targets: Mapping[str, LayerTarget] = profile.layer_targets
    for target in targets.values():
        take: Take = target.take
        cover: Cover | None = target.cover
        yield f"{target.layers} layers, {take.usual:.0%}, {cover.at_least if cover is not None else 0:.0%}"
    rules: Mapping[str, Rule] = profile.rules
    for rule in rules.values():
        effect: Effect = rule.then
        limits: TakeLimits = effect.take
        condition: Condition = rule.when
        yield f"{condition.text}: {limits.at_most} {effect.priority}"
    cases: Mapping[str, Case] = profile.cases
    for case in cases.values():
        expected: Expectation = case.expect
        next_visit: ExpectedVisit = expected.next_visit
        yield f"{case.date}: {next_visit.best}"


def about_order(order: WorkOrder) -> Iterator[str]:
    """What an order says, by its parts."""
    for step in order.steps:
        yield from _about_step(step)
    window: NextVisit = order.next_visit
    bindings: tuple[Binding, ...] = window.binding
    later: tuple[LaterVisit, ...] = window.late
    yield f"{window.best}: {[binding.why for binding in bindings]}, {[one.minutes for one in later]}"
    layers: Mapping[str, NextLayer] = order.next_layers
    yield f"{min((layer.day for layer in layers.values()), default=None)}"
    pace: Pace = order.pace
    outliers: tuple[Outlier, ...] = pace.outliers
    posterior: Posterior = pace.posterior
    axis: Axis = posterior.pace
    regions: Mapping[str, OfRegion] = posterior.regions
    arrivals: Mapping[str, OfArrival] = posterior.arrivals
    yield f"{axis.mean:.2f} of {posterior.observations:g} records, without {len(outliers)}: {len(regions)}, {len(arrivals)}"
    for record in pace.records:
        yield _about_record(record)
    before_show: ShowAhead | None = order.show
    yield f"{before_show.day if before_show is not None else 'no show'}"
    put_off: Mapping[str, PutOff] = order.deferred
    yield f"{sum(later.minutes for later in put_off.values())} minutes put off"
    speed: Speed = order.speed
    rejected: tuple[Timed, ...] = speed.rejected
    yield f"{speed.mean:.2f}, without {len(rejected)}"
    rolling: Rolling = order.rolling
    ended: tuple[RollingEnd, ...] = order.endings
    yield f"{rolling.rolls}, {[one.kind for one in ended]}"
    findings: tuple[Problem, ...] = order.findings
    cautions: tuple[Message, ...] = order.cautions
    yield " ".join([*(finding.code for finding in findings), *(caution.code for caution in cautions)])


def _about_record(record: Length | AtLeast | Layers | Felt | Came) -> str:
    match record:
        case Length() | AtLeast():
            return f"{record.region}: {record.length_mm} mm"
        case Layers():
            return f"{record.region}: {record.layers} layers"
        case Felt():
            parts: tuple[Part, ...] = record.tenth
            return f"{record.region}: {record.comes} of {len(parts)} parts"
        case Came():
            return f"{record.region}: {record.share}"


def _about_step(step: Step) -> Iterator[str]:
    reasons: tuple[Reason, ...] = step.because
    yield f"{step.task} {step.region} {step.minutes:g} min: {'; '.join(reason.text for reason in reasons)}"


def about_plans(plan: Plan, staged: StagedStrip, intervals: Intervals) -> Iterator[str]:
    """What plans say, by their parts."""
    visits: tuple[PlannedVisit, ...] = plan.visits
    for visit in visits:
        regions: Mapping[str, RegionVisit] = visit.regions
        yield f"{visit.day} {visit.minutes:g} min, {sum(region.share for region in regions.values()):.1f}"
    outlooks: Mapping[str, RegionOutlook] = plan.regions
    conflicts: tuple[Conflict, ...] = plan.clashes
    relaxations: tuple[Relaxation, ...] = plan.loosenings
    yield f"{len(outlooks)} {[one.region for one in conflicts]} {[one.kind for one in relaxations]}"
    stages: tuple[Stage, ...] = staged.stages
    tried: tuple[Interval, ...] = intervals.intervals
    yield f"{[stage.section for stage in stages]} {[one.every_weeks for one in tried]}"


def about_mentoring(engine: Engine) -> Iterator[str]:
    """What helps a mentor, by its parts."""
    comparison: ProfileComparison = engine.compare("griffon-bruxellois-rough", "points-of-the-dog")
    compared: tuple[Compared, ...] = comparison.orders
    for one in compared:
        occasion: Occasion = one.occasion
        differences: tuple[Difference, ...] = one.differences
        causes: list[Change] = [change for difference in differences for change in difference.because]
        yield f"{occasion.name}: {len(differences)} by {len(causes)}"
    rehearsal: Rehearsal = engine.rehearse("silky-jacket")
    wanted: Mapping[str, Wanted] = rehearsal.wanted
    runs: tuple[Run, ...] = rehearsal.runs
    yield f"{rehearsal.keeps_to_targets}, {[target.layers for target in wanted.values()]}"
    for run in runs:
        actor: Actor = run.actor
        targets: Mapping[str, TargetRun] = run.targets
        looks: list[Look] = [look for target in targets.values() for look in target.looks]
        yield f"{actor.dog} {actor.rhythm}: {run.visits} visits, {min(look.cover for look in looks):.2f}"


def main() -> Iterator[str]:
    """All of it, once."""
    engine = Engine(minutes=90)
    dog = history()
    profile = load_profile("griffon-bruxellois-rough")
    yield from about_profile(profile)
    order = engine.order(dog, date=DAY, ahead=True)
    yield from about_order(order)
    yield f"{WorkOrder.from_dict(order.to_dict()).to_dict() == order.to_dict()}"
    yield f"{work_order(profile, load_history(dog.to_dict()), date=DAY, minutes=90).steps == order.steps}"
    with ThreadPoolExecutor(2) as threads:
        for answer in [*work_orders([dog], profile, date=DAY), *engine.orders([dog], date=DAY, executor=threads)]:
            yield f"{answer.problems if isinstance(answer, InputError) else answer.minutes_planned}"
    explanation: Explanation = engine.explain(dog, "back", date=DAY)
    traces: tuple[RuleTrace, ...] = explanation.rules
    misses: list[Miss] = [miss for trace in traces for miss in trace.misses]
    yield f"{len(traces)} rules, {[miss.fact for miss in misses]}"
    salon = Salon(format=1, closed_weekdays=("monday",), dogs={"tip": OwnDay(weekday="friday", minutes=75)})
    due: Due = Engine(salon=salon).due(dog, date=DAY)
    brief: InBrief = due.brief
    yield f"{due.day:%A}, {brief.minutes_planned:g} of {due.order.minutes_available:g} min"
    staged = engine.staged_strip(dog, date=DAY, show=date(2026, 9, 1), profile="lakeland-terrier-staged")
    yield from about_plans(engine.plan(dog, date=DAY, visits=2), staged, engine.intervals(dog, date=DAY))
    yield from about_mentoring(engine)
    mapping = {"format": 1, "dates": "YYYY-MM-DD", "columns": {"dog": "Dog", "date": "Day", "note": "Note"}}
    imported: Imported = engine.import_sheet(b"Dog,Day,Note\nTip,2026-03-01,bathed\n", mapping)
    yield f"{imported.rows} rows, {imported.read} read"
