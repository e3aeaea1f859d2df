"""Half a page for the owner: what is done, what is left and why, care at home, when to come back, when to call a vet."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping

from attrs import frozen

from coatrules.catalogue.english.amounts import day_words, share_words
from coatrules.order.reasons import Reason
from coatrules.order.work_order import WorkOrder
from coatrules.report.rows import joined
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
STAGES = ("stage", "stages")
"""How groups are called that only say which regions are stripped together before a show."""
EXPECTED = {"coat.no-target", "coat.not-due", "coat.clipper-only", "coat.short-enough"}
"""Reasons that an owner need not hear: nothing is due there."""


def note(order: WorkOrder) -> Note:
    """What to tell the owner about this order's work."""
    paragraphs = [Paragraph("What is done on this visit", tuple(_done(order)))]
    if order.refer or order.not_to_be_touched:
        paragraphs.insert(0, Paragraph("Please ask a veterinary surgeon", tuple(_refer(order))))
    if left := tuple(_left(order)):
        paragraphs.append(Paragraph("What is left, and why", left))
    paragraphs += [
        Paragraph("At home", tuple(_home(order))),
        Paragraph("When to come back", tuple(_back(order))),
        Paragraph("When to call a vet", _VET),
    ]
    return Note(
        f"For the owner of {order.dog_name}", f"{order.profile_label} · {day_words(order.date)}", tuple(paragraphs)
    )


_VET = (
    # Common practice, no source. What is seen is named, never a cause: that is for a veterinary surgeon.
    "Call one if the skin is broken, hot, swollen, weeping or still red the next day, or if there are lumps or grazes.",
    "Call one too if the dog scratches, licks or shakes itself and will not stop, or if it is dull or will not eat.",
    "A veterinary surgeon's advice comes before anything on this sheet.",
)


def _done(order: WorkOrder) -> Iterator[str]:
    worked: dict[str, list[str]] = {}
    shares: list[float] = []
    for step in order.steps:
        if step.region is not None and step.bout == 1:
            worked.setdefault(step.task, []).append(step.region)
            if step.share:
                shares.append(step.share)
    if not worked:
        yield "No work is done on this visit."
    if "card" in worked:
        yield f"The loose undercoat is combed out: {parts_words(order, worked['card'])}."
    if "pull" in worked:
        low, high = share_words(min(shares)), share_words(max(shares))
        share = low if low == high else f"from {low} to {high}"
        yield (
            f"The longest, ripest hair is pulled by hand: {parts_words(order, worked['pull'])}. "
            f"Of each part {share} goes; the rest stays on, so that the coat renews itself bit by bit."
        )
    for task, sentence in (
        ("clip", "Clipped short, where hair is never pulled"),
        ("scissor", "Tidied with scissors"),
        ("comb", "Combed through"),
    ):
        if task in worked:
            yield f"{sentence}: {parts_words(order, worked[task])}."


def _refer(order: WorkOrder) -> Iterator[str]:
    yield from map(str, order.refer)
    for why, regions in _by_reason(order.not_to_be_touched).items():
        yield f"{_capitalised(parts_words(order, regions))}: {why}"


def _left(order: WorkOrder) -> Iterator[str]:
    if order.deferred:
        yield f"There is no time for: {parts_words(order, order.deferred)}. That comes first next time."
    by_reason = sorted(_by_reason(order.left_alone).items(), key=lambda pair: -len(pair[1]))
    for why, regions in by_reason[:MOST]:
        yield f"{_capitalised(parts_words(order, regions))}: {why}"
    if rest := [region for _, regions in by_reason[MOST:] for region in regions]:
        yield f"Also left, for reasons we can tell you: {parts_words(order, rest)}."


def _by_reason(aside: Mapping[str, tuple[Reason, ...]]) -> dict[str, list[str]]:
    """Groups regions by the reason an owner is given; those left out where nothing is due."""
    by_reason: dict[str, list[str]] = {}
    for region, reasons in aside.items():
        if notable := [reason for reason in reasons if reason.rule not in EXPECTED]:
            by_reason.setdefault(_main_reason(notable), []).append(region)
    return by_reason


def _main_reason(reasons: list[Reason]) -> str:
    """Returns the reason an owner understands best: a rule's own sentence, or else the last word."""
    written = [reason for reason in reasons if reason.own]
    return (written or reasons)[-1].text


def _home(order: WorkOrder) -> Iterator[str]:
    pulled = {step.region: step.share for step in order.steps if step.share and step.region is not None}
    if pulled:
        # Common practice, no source (practice of the trade: one to two days).
        yield "For one to two days keep the dog out of strong sun and use no harsh shampoo."
    if any(_cover_after(order, region, share) < BARE for region, share in pulled.items()):
        # "Miniature Schnauzer stripping guide", 2000: bare skin burns in sun and chills in cold; no lotions on it.
        yield "Where the skin shows: shade in the sun, a light coat in the cold, and nothing rubbed on."
        # Common practice, no source.
        yield "In hard frost let the dog out for short spells only."
    # The same guide, on watching the skin.
    yield "Look at the skin every few days: it should not itch and have no grazes."
    # A groomer's page of questions and answers: a dirty coat is easier to grip, and so quicker done.
    yield "Please do not bathe the dog in the days before its visit: an unwashed coat is easier to grip and sooner done."


def _cover_after(order: WorkOrder, region: str, share: float) -> float:
    """The cover once the share is gone: what is long enough to pull hides the skin in full."""
    cover = order.all_facts[region].get("cover")
    return (cover if isinstance(cover, int | float) else 1.0) - share


def _back(order: WorkOrder) -> Iterator[str]:
    visit = order.next_visit
    yield f"Best on {day_words(visit.best)}."
    bounds = {binding.bound for binding in visit.binding}
    if visit.latest is not None and not visit.clash:
        since = f"Any day from {day_words(visit.earliest)} to" if "earliest" in bounds else "No later than"
        yield f"{since} {day_words(visit.latest)}{' is good' if 'earliest' in bounds else ''}."
    if order.minutes_planned:
        yield "Coming regularly keeps the visits short and easy for the dog."


def parts_words(order: WorkOrder, regions: Collection[str]) -> str:
    """Regions in few words: a group's name where all of it is meant or all but a few, and else the regions' own."""
    asked_for, left = set(regions), set(regions)
    groups: dict[str, set[str]] = {}
    for region, facts in order.all_facts.items():
        group_names = facts.get("groups")
        for group in group_names if isinstance(group_names, tuple | list) else ():
            groups.setdefault(str(group), set()).add(region)
    labels = {region: label.lower() for region, label in order.labels.items()}
    walk_order = list(order.labels).index
    entries: list[tuple[str, str]] = []  # the first region of each, to keep the dog's order, and its words
    for group, members in sorted(groups.items(), key=lambda pair: (-len(pair[1]), pair[0])):
        words, included, without = group.replace("-", " "), members & asked_for, members - asked_for
        if words in labels.values() or words.split()[0] in STAGES or not included <= left:
            continue  # it would be taken for a region, is no part of a dog, or a larger group has said some of it
        if without:
            if len(included) < SEVERAL or len(without) * SEVERAL > len(members):
                continue
            words += f" (but not {joined(labels[region] for region in sorted(without, key=walk_order))})"
        elif len(members) < 2 or (len(members) == 2 and not all(words in labels[region] for region in members)):
            continue  # two parts are as soon said by their own names, unless those only repeat the group's
        entries.append((min(included, key=walk_order), words))
        left -= included
    entries += [(region, order.labels[region]) for region in left]
    words = joined(words for _, words in sorted(entries, key=lambda pair: walk_order(pair[0])))
    return words[:1].lower() + words[1:]


def _capitalised(text: str) -> str:
    return text[:1].upper() + text[1:]


def owner_text(order: WorkOrder, width: int = 88) -> str:
    """The note as plain text."""
    owner_note = note(order)
    lines = [owner_note.title, owner_note.subtitle]
    for paragraph in owner_note.paragraphs:
        lines += ["", paragraph.title]
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
