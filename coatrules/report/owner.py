"""Half a page for the owner: what is done, what is left and why, care at home, when to come back, when to call a vet."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping

from attrs import frozen

from coatrules.catalogue.speaking import say
from coatrules.dog.strippable import NEARLY_ALL
from coatrules.order.reasons import VET_FIRST, Reason
from coatrules.order.work_order import WorkOrder
from coatrules.report.groups import group_words, groups_of, says_all
from coatrules.report.passes import told_as_one
from coatrules.report.rows import joined, label
from coatrules.report.safe_text import plain
from coatrules.report.text import wrapped


@frozen
class Paragraph:
    """One paragraph of the note: a heading and sentences."""

    title: str
    lines: tuple[str, ...]


@frozen
class Note:
    """The whole note."""

    title: str
    subtitle: str
    paragraphs: tuple[Paragraph, ...]


BARE = 0.4
"""Cover below which the skin is treated as bare (common practice, no source)."""
MOST = 4
"""Reasons for leaving something that fit on half a page."""
SEVERAL = 4
"""A group is named where so many of its regions are meant and at most one in so many of them is not."""
EXPECTED = {"coat.no-target", "coat.not-due", "coat.clipper-only", "coat.short-enough"}
"""Reasons that an owner need not hear: nothing is due there."""


def note(order: WorkOrder) -> Note:
    """What to tell the owner about this order's work."""
    practised = any(
        message.code == "first.hygiene" for message in order.first
    )  # also once all of its time is on record
    paragraphs = [Paragraph(say("owner.done"), tuple(_done(order)))]
    if refer := tuple(_refer(order)):
        paragraphs.insert(0, Paragraph(say("owner.refer"), refer))
    if practised:
        paragraphs.insert(0, Paragraph(say("owner.practice"), (say("owner.practice-why"), say("owner.practice-home"))))
    elif left := tuple(_left(order)):
        paragraphs.append(Paragraph(say("owner.left"), left))
    if ways := tuple(_ways(order)):
        paragraphs.append(Paragraph(say("owner.way"), ways))
    paragraphs += [
        Paragraph(say("owner.home"), tuple(_home(order))),
        Paragraph(say("owner.back"), tuple(_back(order))),
        Paragraph(say("owner.vet"), tuple(map(say, _VET))),
    ]
    subtitle = say("owner.subtitle", profile=say.own(order.profile_label), day=order.date)
    return Note(say("owner.title", dog=order.dog_name), subtitle, tuple(paragraphs))


# Common practice, no source. What is seen is named, never a cause: that is for a veterinary surgeon.
_VET = ("owner.vet-skin", "owner.vet-dog", "owner.vet-first")


PRACTICE = ("first.practice", "first.practice-again", "first.first-coat")
"""Codes of what an order says first of a dog that gets used to the table."""


def strips_whole(order: WorkOrder) -> bool:
    """Whether any part is stripped out whole."""
    return any(step.share and step.share >= NEARLY_ALL for step in order.steps)


def _ways(order: WorkOrder) -> Iterator[str]:
    """What the owner must know of a coat that is not simply rolled on."""
    if strips_whole(order):
        yield say("owner.strip")
    if any(finding.code in ("rolling-ended-clip", "clip-stripped", "clip-thinned") for finding in order.findings):
        yield say("owner.clipped")
    if order.show is not None:
        yield say("owner.show", day=order.show.day)


def _done(order: WorkOrder) -> Iterator[str]:
    worked: dict[str, list[str]] = {}
    shares: list[float] = []
    for step in () if recorded(order) else order.steps:  # else what is still planned is not done
        if step.region is not None and step.bout == 1:
            worked.setdefault(step.task, []).append(step.region)
            if step.share:
                shares.append(step.share)
    for region in order.labels:
        for task in _tasks_today(order, region):
            worked.setdefault(task, []).append(region)
    if not worked:
        yield say("owner.no-work")
    for task in ("card", "pull", "clip", "scissor", "comb"):
        if task not in worked:
            continue
        parts = parts_words(order, worked[task])
        if task != "pull":
            yield say(f"owner.{task}", parts=parts)
            continue
        if not shares:  # how much was pulled is for the record, which the order does not repeat
            yield say("owner.pulled", parts=parts)
            continue
        least, most = min(shares), max(shares)
        if least >= NEARLY_ALL:
            yield say("owner.pull-whole", parts=parts)
            continue
        if say.amount("share", least) == say.amount("share", most):
            yield say("owner.pull", parts=parts, share=least)
        else:
            yield say("owner.pull-range", parts=parts, least=least, most=most)


def recorded(order: WorkOrder) -> bool:
    """Whether the day's work is on record."""
    return any(_worked_today(order, region) for region in order.labels)


WORKED_TODAY = ("coat.worked-today", "coat.rest-of-today")
"""Codes of reasons that say what is on record for today."""


def _worked_today(order: WorkOrder, region: str) -> Reason | None:
    """The reason that says that work in a region is on record for today, if it has one."""
    aside = order.not_worked(region)
    reasons = [
        *(aside[1] if aside else ()),
        *(one for step in order.steps if step.region == region for one in step.because),
    ]
    return next((reason for reason in reasons if reason.rule in WORKED_TODAY), None)


def _tasks_today(order: WorkOrder, region: str) -> tuple[str, ...]:
    """What is on record as done in a region today."""
    reason = _worked_today(order, region)
    tasks = reason.facts["tasks"] if reason else ()
    assert isinstance(tasks, tuple)
    return tuple(map(str, tasks))


def _refer(order: WorkOrder) -> Iterator[str]:
    known = {f"floor.{message.code.removeprefix('skin.')}" for message in order.refer}
    for message in order.refer:
        code = f"owner.{message.code}"
        yield say(code, message.params) if say.knows(code) else message.text
    for why, regions in _by_reason(_hands_off(order, vet_first=True)).items():
        repeats = all(order.not_to_be_touched[name][0].rule in known for name in regions)
        if repeats or (order.refer and len(regions) == len(order.labels)):
            continue
        yield say("owner.part-why", parts=_capitalised(parts_words(order, regions)), why=why)


def _hands_off(order: WorkOrder, *, vet_first: bool) -> dict[str, tuple[Reason, ...]]:
    """What is not touched until a veterinary surgeon has seen it, or else what only rests because the dog said stop."""
    return {
        region: because
        for region, because in order.not_to_be_touched.items()
        if (because[0].rule in VET_FIRST) == vet_first
    }


def _left(order: WorkOrder) -> Iterator[str]:
    worked = {step.region: None for step in order.steps if step.region is not None}
    on_record = recorded(order)
    waits = {region: None for region in order.deferred if on_record or region not in worked}
    if on_record:
        waits |= worked
    waits = {region: None for region in waits if "pull" not in _tasks_today(order, region)}  # there the rest is small
    if waits:
        # Of what is on record nobody said why the rest waits.
        yield say("owner.next-time" if on_record else "owner.no-time", parts=parts_words(order, waits))
    for why, regions in _by_reason(_hands_off(order, vet_first=False)).items():
        yield say("owner.part-why", parts=_capitalised(parts_words(order, regions)), why=why)
    left = {region: reasons for region, reasons in order.left_alone.items() if not _worked_today(order, region)}
    by_reason = sorted(_by_reason(left).items(), key=lambda pair: -len(pair[1]))
    for why, regions in by_reason[:MOST]:
        yield say("owner.part-why", parts=_capitalised(parts_words(order, regions)), why=why)
    if rest := [region for _, regions in by_reason[MOST:] for region in regions]:
        yield say("owner.more-left", parts=parts_words(order, rest))


def _by_reason(aside: Mapping[str, tuple[Reason, ...]]) -> dict[str, list[str]]:
    """Groups regions by the reason an owner is given; those left out where nothing is due."""
    by_reason: dict[str, list[str]] = {}
    for region, reasons in aside.items():
        if notable := [reason for reason in reasons if reason.rule not in (*EXPECTED, *WORKED_TODAY)]:
            by_reason.setdefault(_main_reason(notable), []).append(region)
    return by_reason


def _main_reason(reasons: list[Reason]) -> str:
    """Returns the reason an owner understands best: a rule's own sentence, or else the last word."""
    written = [reason for reason in reasons if reason.own]
    return (written or reasons)[-1].text


def _home(order: WorkOrder) -> Iterator[str]:
    pulled = {step.region: step.share for step in order.steps if step.share and step.region is not None}
    if pulled or any("pull" in _tasks_today(order, region) for region in order.labels):
        # Common practice, no source (practice of the trade: one to two days).
        yield say("owner.sun")
    if any(_cover_after(order, region, share) < BARE for region, share in pulled.items()):
        # "Miniature Schnauzer stripping guide", 2000: bare skin burns in sun and chills in cold; no lotions on it.
        yield say("owner.bare")
        # Common practice, no source.
        yield say("owner.frost")
    # The same guide, on watching the skin.
    yield say("owner.watch-skin")
    # A groomer's page of questions and answers: a dirty coat is easier to grip, and so quicker done.
    yield say("owner.no-bath")


def _cover_after(order: WorkOrder, region: str, share: float) -> float:
    """The cover once the share is gone: what is long enough to pull hides the skin in full."""
    cover = order.all_facts[region].get("cover")
    return (cover if isinstance(cover, int | float) else 1.0) - share


def _back(order: WorkOrder) -> Iterator[str]:
    visit = order.next_visit
    if visit.hold is not None:
        yield say("owner.hold")
        return
    if visit.day == visit.latest and not visit.clash:
        yield say("owner.best-latest", day=visit.day)
        yield say("owner.regularly")
        return
    yield say("owner.best", day=visit.day)
    bounds = {binding.bound for binding in visit.binding}
    if visit.latest is not None and not visit.clash:
        code = "owner.from-to" if "earliest" in bounds or not bounds else "owner.latest"
        yield say(code, first=visit.earliest, last=visit.latest)
    if order.minutes_planned:
        yield say("owner.regularly")


def parts_words(
    order: WorkOrder, regions: Collection[str], shares: Mapping[str, float] | None = None, *, most: int | None = None
) -> str:
    """Regions in few words: a group's name where all of it is meant or all but a few, and else the regions' own. With ``shares``,
    those of the regions' own share are as good as meant within a group, and the few are told apart: worked less, more, not at all.
    Of more than ``most`` names the rest is counted."""
    asked_for, left = set(regions), set(regions)
    authors = {region: text.lower() for region, text in order.labels.items()}
    walk_order = list(order.labels).index
    # The first region of each, to keep the dog's order, its words, and of how many regions they tell.
    entries: list[tuple[int, str, int]] = []
    groups = groups_of(order).members.values()
    shares = shares or {}
    usual = next((shares[name] for name in regions if name in shares), 0.0)
    as_usual = {name for name, share in shares.items() if told_as_one(share, usual)}
    for group, members in groups_of(order).members.items():
        included, without = members & asked_for, members - asked_for - as_usual
        if not included or not included <= left:
            continue  # a larger group has said some of it
        words = group_words(group)
        if without:
            if len(included) < SEVERAL or len(without) * SEVERAL > len(members) or members - without in groups:
                continue
            but = _exceptions(order, {name: shares.get(name) for name in sorted(without, key=walk_order)}, usual)
            words = say("owner.except", group=words, but=tuple(but))
        elif not says_all(group, [authors[region] for region in members]):
            continue
        entries.append((min(map(walk_order, included)), words, len(included)))
        left -= included
    entries += [(walk_order(region), label(order, region), 1) for region in left]
    entries.sort()
    # One more is as soon named as counted.
    named = entries if most is None or len(entries) <= most + 1 else entries[:most]
    text = say.amount("lower", joined(words for _, words, _ in named))
    more = sum(count for *_, count in entries[len(named) :])
    return say("owner.parts-more", parts=text, more=more) if more else text


def _exceptions(order: WorkOrder, shares: Mapping[str, float | None], usual: float) -> Iterator[str]:
    """Yields what is not as in the rest of a group: less of it, more of it, none."""
    otherwise: dict[str, list[str]] = {}
    for name, share in shares.items():
        how = "not" if share is None else "less" if share < usual else "more"
        otherwise.setdefault(how, []).append(say.amount("lower", order.labels[name]))
    for how in sorted(otherwise):
        yield say(f"owner.except-{how}", parts=tuple(otherwise[how]))


def _capitalised(text: str) -> str:
    return text[:1].upper() + text[1:]


def owner_text(order: WorkOrder, width: int = 88) -> str:
    """The note as plain text."""
    owner_note = note(order)
    lines = [*wrapped(plain(owner_note.title), width, ""), *wrapped(plain(owner_note.subtitle), width, "")]
    for paragraph in owner_note.paragraphs:
        lines += ["", *wrapped(paragraph.title, width, "")]
        for sentence in paragraph.lines:
            lines += wrapped(plain(sentence), width, "  - ")
    return "\n".join(map(plain, lines)) + "\n"


def owner_markdown(order: WorkOrder) -> str:
    """The note as CommonMark."""
    from coatrules.report.markdown import escaped

    owner_note = note(order)
    lines = [f"# {escaped(owner_note.title)}", "", escaped(owner_note.subtitle)]
    for paragraph in owner_note.paragraphs:
        lines += ["", f"## {paragraph.title}", "", *(f"- {escaped(sentence)}" for sentence in paragraph.lines)]
    return "\n".join(lines) + "\n"


def owner_page(order: WorkOrder) -> str:
    """The note as one self-contained HTML page; raises ``InputError`` without the extra 'report'."""
    from coatrules.report.page import filled

    return filled("owner.html.jinja", note=note(order))
