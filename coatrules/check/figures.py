"""Figures outside of what any source in the library supports: as a rule a slip of the pen or a wrong unit."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final, NamedTuple

from coatrules.catalogue.message import message
from coatrules.check.subject import Subject
from coatrules.formats.units import other_unit_fix
from coatrules.problems import Problem


class Supported(NamedTuple):
    """The range within which a figure lies in all sources that were found, and which they are."""

    low: float
    high: float
    unit: str
    sources: str
    """Both are codes of the catalogue."""


COAT: Final = {
    # Ten in a hundred refits of the rows of growth.csv lie beyond 2.6 (gundog) and 6.2 mm a week (longer terriers); brows and
    # silky coats, of which there is no row, down to 1.5 (of man's brow, E105). Widened by a fifth.
    "mm_per_week": Supported(1.2, 7.5, "unit.mm-a-week", "sources.fit"),
    # The fit holds as well with a lag of 1 week as of 4 (E010 to E019); six at the most with the longest of its rows.
    "lag_weeks": Supported(1, 6, "unit.weeks", "sources.breakthrough"),
    # From the shortest gundog's coat to a beard that grows a year (E024 to E040).
    "grows_weeks": Supported(4, 80, "unit.weeks", "sources.fit"),
    # The visits' rhythm wants 8 weeks, the share at rest of Schnauzers 14 (E087); nobody has measured it on a stripped dog.
    "rests_weeks": Supported(2, 60, "unit.weeks", "sources.rest"),
    # Jackets die at 51 to 127 mm (breeders' guides to the Norwich and the Wire Fox Terrier); furnishings stand longer.
    # Short hair of skull and ears: not under 15 mm (common practice, no source).
    "full_mm": Supported(15, 250, "unit.mm", "sources.length"),
    # What finger and thumb can grip, and what hides the skin: common practice, no source.
    "ready_mm": Supported(2, 30, "unit.mm", "sources.practice"),
    "cover_mm": Supported(2, 40, "unit.mm", "sources.practice"),
    "layer_gap_mm": Supported(0.5, 12, "unit.mm", "sources.practice"),
    # From one moult to the next at the longest (common practice, no source).
    "undercoat_weeks": Supported(2, 60, "unit.weeks", "sources.practice"),
}
VISIT: Final = {
    # From twice a week on a show dog (an advanced trimming page for the Lakeland Terrier) to once a year (Glen of Imaal).
    "every_weeks": Supported(0.4, 52, "unit.weeks", "sources.interval"),
}


# Of what a clipper leaves and how long a tender place is worked there is no source (common practice): a tenth and ten times of
# the profiles in the library.
CLIPPED: Final = {
    "leave_mm": Supported(0.1, 40, "unit.mm", "sources.practice"),
    "every_weeks": Supported(0.4, 60, "unit.weeks", "sources.practice"),
}
ROUTINE: Final = {"every_weeks": Supported(0.1, 60, "unit.weeks", "sources.practice")}


def unsupported(subject: Subject) -> Iterator[Problem]:
    """Figures of coats, visits, targets and zones that no source in the library supports."""
    for section, table in (("coats", COAT), ("clipper_only_zones", CLIPPED), ("routines", ROUTINE)):
        for name, part in getattr(subject.profile, section).items():
            for key, supported in table.items():
                if subject.is_own(section, name, key) and getattr(part, key) is not None:
                    yield from _outside(subject, getattr(part, key), supported, section, name, key)
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
        fix = other_unit_fix(path[-1], value, supported.low, supported.high)
        yield subject.problem("figure-unsupported", params, *path, fix=fix)
