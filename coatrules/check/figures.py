"""Figures outside of what any source in the library supports: as a rule a slip of the pen or a wrong unit."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final, NamedTuple

from coatrules.catalogue.message import message
from coatrules.check.subject import Subject
from coatrules.problems import Problem


class Supported(NamedTuple):
    """The range within which a figure lies in all sources that were found, and which they are."""

    low: float
    high: float
    unit: str
    sources: str
    """Both are codes of the catalogue."""


COAT: Final = {
    # A place left at 20 and 40 mm by the breed standard after the 12 weeks of a rolled coat grows 1.7 to 3.3 mm a week; an
    # inch in 8 to 10 weeks, begun two weeks late, is 3.0 to 4.3. Derived from both; widened by a tenth either way.
    "mm_per_week": Supported(1.5, 4.8, "unit.mm-a-week", "sources.growth"),
    # Recovery to be seen at four weeks (North of England Irish Terrier Club, 2023); blown to new coat six to eight weeks in
    # a single-coated dog. Hair pulled ripe can show sooner: two weeks (from memory).
    "breakthrough_weeks": Supported(2, 8, "unit.weeks", "sources.breakthrough"),
    # 16 to 18 weeks for an ordinary coat to come back, about 18 months for the longest (vige.vet): nothing is dead sooner
    # than half of the one, or stands later than twice the other.
    "blown_weeks": Supported(8, 156, "unit.weeks", "sources.blown"),
    # Jackets die at 51 to 127 mm (breeders' guides to the Norwich and the Wire Fox Terrier); furnishings stand longer.
    # Short hair of skull and ears: not under 15 mm (common practice, no source).
    "full_mm": Supported(15, 250, "unit.mm", "sources.length"),
}
VISIT: Final = {
    # From twice a week on a show dog (an advanced trimming page for the Lakeland Terrier) to once a year (Glen of Imaal).
    "every_weeks": Supported(0.4, 52, "unit.weeks", "sources.interval"),
}


def unsupported(subject: Subject) -> Iterator[Problem]:
    """Figures of coats and visits that no source in the library supports."""
    for name, coat in subject.profile.coats.items():
        for key, supported in COAT.items():
            if subject.is_own("coats", name, key):
                yield from _outside(subject, getattr(coat, key), supported, "coats", name, key)
    for key, supported in VISIT.items():
        if subject.is_own("visit", key):
            yield from _outside(subject, getattr(subject.profile.visit, key), supported, "visit", key)


def _outside(subject: Subject, value: float, supported: Supported, *path: str) -> Iterator[Problem]:
    if not supported.low <= value <= supported.high:
        params = {
            "key": path[-1],
            "value": value,
            "low": supported.low,
            "high": supported.high,
            "unit": message(supported.unit),
            "sources": message(supported.sources),
        }
        yield subject.problem("figure-unsupported", params, *path)
