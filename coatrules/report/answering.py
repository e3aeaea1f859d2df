"""What the short sheet answers to what is on record for its own day: work that is done already, and hair that a hand felt to hold."""

from __future__ import annotations

from collections.abc import Iterator

from coatrules.catalogue.speaking import say
from coatrules.order.work_order import WorkOrder
from coatrules.report.owner import parts_words, recorded

HOLDS = {"coat.holds": "sheet.holds", "coat.holds-all": "sheet.holds-all"}
"""Codes of reasons that say that hair was felt to hold, and the sentences of the sheet."""


def worked_today(order: WorkOrder) -> Iterator[str]:
    """Yields that the dog was worked today, where it was."""
    if recorded(order):
        yield say("sheet.worked-today" if order.steps else "sheet.all-worked-today")


def pulled_before(order: WorkOrder) -> Iterator[str]:
    """Yields that the share of this visit was pulled some days ago, where no more of the coat is due."""
    done = {
        region: because[-1].facts["day"]
        for region, because in order.left_alone.items()
        if because and because[-1].rule == "coat.visit-done"
    }
    if not done or recorded(order):
        return
    last = max(done.values(), key=str)
    if any(step.share for step in order.steps):
        yield say("sheet.visit-rest", day=last)
    else:
        yield say("sheet.visit-done", day=last)


def felt_today(order: WorkOrder) -> Iterator[str]:
    """Yields where hair was felt to hold today and what is done there."""
    reasons = {region: list(because) for region, because in order.left_alone.items()}
    for step in order.steps:
        if step.region is not None:
            reasons.setdefault(step.region, []).extend(step.because)
    for rule, sentence in HOLDS.items():
        holds = [region for region, because in reasons.items() if any(reason.rule == rule for reason in because)]
        if holds:
            yield say(sentence, parts=parts_words(order, holds))
