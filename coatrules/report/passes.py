"""The work pass by pass, as the short sheet and the printed page show it: one line a pass, with what interrupts it in its place."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from enum import IntEnum
from itertools import accumulate, groupby, product
from typing import NamedTuple

from coatrules.catalogue.amounts import half_up
from coatrules.catalogue.speaking import say
from coatrules.order.work_order import Step, WorkOrder
from coatrules.report.groups import group_words, groups_of
from coatrules.report.rows import label, spread

MOST_LINES = 12
"""So many lines of work a master takes in at a glance."""
SHARES_APART = 1.15
"""So many times apart shares are still told as one: no eye sees the difference (common practice, no source)."""
LEAST_FROM_TO = 3
"""From so many parts on those that follow each other are told by the first and the last."""
MOST_TOOLS = 2
"""So many tools of a pass over calm parts are named; of one over tender places alone, whose tools change with each, one."""


class Stretch(NamedTuple):
    """Parts worked one after the other with the same thing in the hand. ``tender``: they interrupt the pass round them."""

    regions: tuple[str, ...]
    tool: str
    task: str
    tender: bool
    steps: tuple[Step, ...]

    @property
    def minutes(self) -> float:
        """How long it takes."""
        return sum(step.minutes for step in self.steps)


class PassLine(NamedTuple):
    """One pass: its number, what is in the hand, the share or length, and its stretches. ``spread``: give or take so many minutes;
    ``whole_minutes`` are as they are told beside it, and add up to the whole day's."""

    number: int
    tool: str
    amount: str
    stretches: tuple[Stretch, ...]
    minutes: float
    spread: float
    whole_minutes: int

    @property
    def time(self) -> str:
        """How long it takes, give or take."""
        return say("sheet.minutes", minutes=self.whole_minutes or 0.5, spread=self.spread)

    @property
    def steps(self) -> tuple[Step, ...]:
        """All its steps."""
        return tuple(step for stretch in self.stretches for step in stretch.steps)

    @property
    def why(self) -> dict[str, tuple[str, ...]]:
        """Its reasons in sentences, each with the regions that have it."""
        found: dict[str, dict[str, None]] = {}
        for step in self.steps:
            for reason in step.because if step.region is not None else ():
                found.setdefault(reason.text, {})[step.region or ""] = None
        return {reason: tuple(regions) for reason, regions in found.items()}


def pass_lines(order: WorkOrder) -> list[PassLine]:
    """Returns the passes of an order, at most ``MOST_LINES``: where there are more, the shortest join the one before them."""
    groups = [list(steps) for _, steps in groupby(order.steps, key=lambda step: step.pass_number)]
    while len(groups) > MOST_LINES:
        at = min(range(1, len(groups)), key=lambda index: sum(step.minutes for step in groups[index]))
        groups[at - 1 : at + 1] = [groups[at - 1] + groups[at]]
    ends = [half_up(minutes) for minutes in accumulate(sum(step.minutes for step in steps) for steps in groups)]
    return [
        _line(order, number, steps, end - start)
        for number, (steps, start, end) in enumerate(zip(groups, [0, *ends], ends, strict=False), 1)
    ]


def _line(order: WorkOrder, number: int, steps: Sequence[Step], whole_minutes: int) -> PassLine:
    stretches = tuple(_stretches(order, steps))
    main = _main(stretches)
    minutes = sum(step.minutes for step in steps)
    tools = list(dict.fromkeys(one.tool for one in main if one.tool))
    tasks = list(dict.fromkeys(one.task for one in main))
    return PassLine(
        number,
        _in_hand(tools, tasks, MOST_TOOLS if any(not one.tender for one in main) else 1),
        _amount([step for one in main for step in one.steps]),
        stretches,
        minutes,
        spread(order, minutes),
        whole_minutes,
    )


def _main(stretches: Sequence[Stretch]) -> list[Stretch]:
    """What a pass is about: its calm parts, or of one without any what comes first."""
    worked = [one for one in stretches if one.regions]
    if calm := [one for one in worked if not one.tender]:
        return calm
    return [one for one in worked if one.task == worked[0].task] or list(stretches)


def _stretches(order: WorkOrder, steps: Sequence[Step]) -> Iterator[Stretch]:
    def key(step: Step) -> tuple[object, ...]:
        return step.region is None, _tender(order, step), step.tools, step.task

    for (rests, tender, tool, task), together in groupby(steps, key=key):
        members = tuple(together)
        regions = () if rests else tuple(dict.fromkeys(step.region for step in members if step.region is not None))
        yield Stretch(regions, str(tool), str(task), bool(tender), members)


def _tender(order: WorkOrder, step: Step) -> bool:
    return step.region is not None and order.all_facts[step.region]["sensitivity"] != "none"


def _in_hand(tools: Sequence[str], tasks: Sequence[str], most: int) -> str:
    """The names of tools without what is said of them after a comma; of more than so many what is done with them."""
    names = tuple(dict.fromkeys(map(_name, tools)))
    words = say.amount("series", names if 0 < len(names) <= most else [say(f"task.{task}") for task in tasks])
    return words[:1].upper() + words[1:]


def _name(tool: str) -> str:
    return say.own(tool).split(",")[0]


def _amount(steps: Sequence[Step], *, bare: bool = False) -> str:
    """The share, or from the largest to the smallest; of clipping the length left, ``bare`` without its unit."""
    minutes: dict[float, float] = {}  # by the share
    for step in steps:
        if step.share:
            minutes[step.share] = minutes.get(step.share, 0.0) + step.minutes
    if minutes:
        least, most = min(minutes), max(minutes)
        if told_as_one(least, most):
            return say.amount("fraction", max(minutes, key=minutes.__getitem__))
        return say("sheet.shares", most=most, least=least)
    lengths = sorted({step.leave_mm for step in steps if step.leave_mm is not None})
    if not lengths:
        return ""
    if len(lengths) == 1:
        return say.amount("number" if bare else "mm", lengths[0])
    return say("sheet.lengths", least=lengths[0], most=lengths[-1])


def told_as_one(share: float, other: float) -> bool:
    """Returns whether two shares are told as one."""
    apart = max(share, other) <= min(share, other) * SHARES_APART
    return apart or say.amount("fraction", share) == say.amount("fraction", other)


class Detail(IntEnum):
    """How much is told of a pass: on one line at any cost; its tender places counted; by name those where something else is done
    than the pass is about; all by name; and all in their place, with their shares."""

    ONE_LINE = 0
    COUNTED = 1
    OTHERS_NAMED = 2
    NAMED = 3
    IN_PLACE = 4


def details(passes: Sequence[PassLine], lines: Callable[[PassLine, Detail], int], most: int) -> list[Detail]:
    """Returns for each pass how much of it is told so that all take at most ``most`` lines; ``lines`` says how many a pass takes."""
    chosen = [Detail.COUNTED] * len(passes)
    taken = [lines(one, Detail.COUNTED) for one in passes]
    if sum(taken) > most:
        chosen, taken = [Detail.ONE_LINE] * len(passes), [1] * len(passes)
    # Passes of tender places alone would say nothing else, so they come one step sooner; of the others the first is first.
    alone = [all(one.tender for one in each.stretches) for each in passes]
    steps = sorted(
        product(list(Detail)[1:], range(len(passes))), key=lambda step: (step[0] - alone[step[1]], not alone[step[1]])
    )
    for detail, at in steps:
        fuller = lines(passes[at], detail)
        if chosen[at] < detail and sum(taken) - taken[at] + fuller <= most:
            chosen[at], taken[at] = detail, fuller
    return chosen


def where(order: WorkOrder, one: PassLine, detail: Detail) -> str:
    """Returns the parts of a pass in order, interruptions between ‹ ›, in their place or after the calm parts."""
    if detail < Detail.IN_PLACE:  # where they come between is for the steps
        calm = [stretch for stretch in one.stretches if not stretch.tender and stretch.regions]
        tender = [stretch for stretch in one.stretches if stretch.tender]
        names = [parts(order, _merged(order, calm))] if calm else []
        return " ".join([*names, *([f"‹{tender_parts(order, one, tender, detail)}›"] if tender else [])])
    first, *others = _tours(one.stretches)
    words = _in_place(order, one, first)
    for tour in others:
        if _calm(tour) != _calm(first):
            words.append(say("sheet.then", tool=_tool(tour), parts=" ".join(_in_place(order, one, tour))))
        # All tools of a pass stand at its head, so the same way again is told only where something else interrupts it.
        elif new := [stretch for stretch in tour if stretch.tender and not _worked_before(stretch, first)]:
            between = f"‹{tender_parts(order, one, new, detail)}›"
            words.append(say("sheet.then-alike", tool=_tool(tour), tender=between))
    return " ".join(words)


def _tours(stretches: Sequence[Stretch]) -> list[list[Stretch]]:
    """The ways over the dog, one for each tool that works calm parts, in turn; what interrupts goes with the tool before it."""
    tours: list[list[Stretch]] = [[]]
    for stretch in stretches:
        if (held := _held(stretch)) is not None and _tool(tours[-1]) not in ("", held):
            tours.append([])
        tours[-1].append(stretch)
    return tours


def _tool(tour: Sequence[Stretch]) -> str:
    """What is in the hand on a way over the dog; nothing where it works no calm part."""
    return next(filter(None, map(_held, tour)), "")


def _calm(tour: Sequence[Stretch]) -> set[str]:
    return {name for stretch in tour if not stretch.tender for name in stretch.regions}


def _worked_before(stretch: Stretch, tour: Sequence[Stretch]) -> bool:
    """Whether the same is done on the same tender parts on that way over the dog."""
    return any(
        other.tender and other.task == stretch.task and set(other.regions) >= set(stretch.regions) for other in tour
    )


def _in_place(order: WorkOrder, one: PassLine, tour: Sequence[Stretch]) -> list[str]:
    """The parts of one way over the dog, what interrupts it in its place."""
    words: list[str] = []
    for (tender, tool), together in groupby(tour, key=lambda stretch: (stretch.tender, _held(stretch))):
        stretches = list(together)
        if tender:
            words.append(f"‹{tender_parts(order, one, stretches, Detail.IN_PLACE)}›")
        elif tool is None:
            words.append(say("sheet.rest", minutes=sum(stretch.minutes for stretch in stretches)))
        else:
            words.append(parts(order, _merged(order, stretches)))
    return words


def _held(stretch: Stretch) -> str | None:
    """What is in the hand through calm parts; None while the dog rests."""
    return None if stretch.tender or not stretch.regions else _name(stretch.tool)


def _merged(order: WorkOrder, stretches: Sequence[Stretch]) -> Stretch:
    """All of them as one, along the walk, which takes the fewest words."""
    worked = {name for one in stretches for name in one.regions}
    regions = tuple(name for name in order.all_facts if name in worked)
    return stretches[0]._replace(regions=regions, steps=tuple(step for one in stretches for step in one.steps))


def parts(order: WorkOrder, stretch: Stretch) -> str:
    """Returns the parts of a stretch: those that follow each other on the walk by the first and the last of them, whole groups by
    their name."""
    # What is tender in between is no gap: it interrupts, and is told in its place.
    walk = [name for name, facts in order.all_facts.items() if stretch.tender or facts["sensitivity"] == "none"]
    names = _names(order, stretch.regions, walk)
    return say.amount("clauses" if any("," in name for name in names) else "series", names)


def _names(order: WorkOrder, regions: Sequence[str], walk: Sequence[str]) -> list[str]:
    """As few names as say all regions in their order, and the shortest of these: a region's own, a whole group's, or the first
    and the last of three and more that follow each other on the walk."""
    own = [_low(order, name) for name in regions]
    if len(regions) < 2:
        return own
    groups = groups_of(order)
    place = {name: index for index, name in enumerate(walk)}
    best: list[tuple[int, int, list[str]]] = [(0, 0, [])]
    ends = [len(regions)]  # where a run from first to last may end: before a gap or a group
    for at in reversed(range(len(regions))):
        if at + 1 < len(regions) and place.get(regions[at], -2) + 1 != place.get(regions[at + 1]):
            ends = [at + 1]
        whole = [(end, group_words(group)) for group, end in groups.beginning(regions, at)]
        runs = [(end, _from_to(own[at], own[end - 1])) for end in ends if end - at >= LEAST_FROM_TO]
        options = []
        for end, name in ((at + 1, own[at]), *whole, *runs):
            names, length, rest = best[len(regions) - end]
            options.append((names + 1, length + len(name), [name, *rest]))
        best.append(min(options))
        if whole:
            ends.append(at)
    return best[-1][2]


def _from_to(first: str, last: str) -> str:
    """A run of parts by its ends, without what is said of these after a comma."""
    return say("sheet.from-to", first=first.split(",")[0], last=last.split(",")[0])


def _low(order: WorkOrder, region: str) -> str:
    return say.amount("lower", label(order, region))


def tender_parts(order: WorkOrder, of_pass: PassLine, stretches: Sequence[Stretch], detail: Detail) -> str:
    """Returns what interrupts a pass: what the pass is about first; what else is done there is said once, before all that it is done
    to. The length that is left is told wherever a part is named."""
    if detail <= Detail.COUNTED:
        return say("sheet.tender-places", places=len(_regions(stretches)))
    main = {one.task for one in _main(of_pass.stretches)}
    clauses = []
    for task in sorted(dict.fromkeys(one.task for one in stretches), key=lambda task: task not in main):
        those = [one for one in stretches if one.task == task]
        named = _regions(those)
        if detail <= Detail.OTHERS_NAMED and task in main:
            of_task = [say("sheet.tender-places", places=len(named))]
        elif detail == Detail.IN_PLACE or task == "clip":
            of_task = _amounts_told(order, of_pass, those)
        else:
            of_task = [_in_a_row(order, named)]
        if task not in main:
            of_task[0] = say("sheet.tender-other", task=say(f"task.{task}"), parts=of_task[0])
        clauses += of_task
    return say.amount("clauses", clauses)


def _regions(stretches: Sequence[Stretch]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(name for one in stretches for name in one.regions))


def _in_a_row(order: WorkOrder, regions: Sequence[str]) -> str:
    # Of many in a row a comma would part one into two.
    return say.amount("series", [name.replace(",", "") for name in _names(order, regions, ())])


def _amounts_told(order: WorkOrder, of_pass: PassLine, stretches: Sequence[Stretch]) -> list[str]:
    """Parts in their order with what is done to them, neighbours alike together; nothing of it where the head of the line says it."""
    main = [step for one in _main(of_pass.stretches) for step in one.steps]
    bare = any(step.leave_mm is not None for step in main)  # its head has the unit
    usual = {step.share or 0.0 for step in main}

    def amount(of_region: tuple[Stretch, str]) -> str:
        stretch, region = of_region
        first = [step for step in stretch.steps if step.region == region and step.bout == 1]
        if not first:
            return say("sheet.again")
        shares = usual | {step.share or 0.0 for step in first}
        told_before = all(shares) and told_as_one(min(shares), max(shares))
        return "" if told_before or _amount(first) == of_pass.amount else _amount(first, bare=bare)

    clauses = []
    first_times = {region: one for one in reversed(stretches) for region in one.regions}  # each is told once here
    in_order = [(one, region) for one in stretches for region in one.regions if first_times[region] is one]
    for words, together in groupby(in_order, key=amount):
        names = _in_a_row(order, tuple(dict.fromkeys(region for _, region in together)))
        clauses.append(say("sheet.tender", parts=names, amount=words) if words else names)
    return clauses


def planned_regions(order: WorkOrder) -> dict[str, float]:
    """Returns the share that is pulled of each region that is worked by hand today."""
    return {step.region: step.share for step in order.steps if step.region is not None and step.share}
