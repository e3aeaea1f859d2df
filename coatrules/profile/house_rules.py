"""House rules: one profile of a salon, laid over all others whose ids it names by a pattern."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from fnmatch import fnmatchcase
from pathlib import Path
from typing import Final

from coatrules.formats.documents import as_document
from coatrules.profile.merging import NOT_INHERITED, is_extra
from coatrules.profile.shelves import Shelf, found_on
from coatrules.reading import Document

HOUSE_RULES: Final = "house-rules"
"""The id under which a shelf has them."""
NOT_LAID_OVER: Final = frozenset({"format", "id", "label", "about", "extends", "regime", "regimes", *NOT_INHERITED})
"""What house rules say of themselves alone."""


def house_rules(name: str, shelves: Sequence[Shelf], read: Callable[[Path], Document]) -> Iterator[Document]:
    """Yields what the house rules of the shelves lay over the profile with this id, those of the first shelf first. ``read``: reads
    a profile's file."""
    for shelf in shelves:
        source = found_on(shelf, HOUSE_RULES) if name != HOUSE_RULES else None
        if source is None:
            continue
        document = read(source) if isinstance(source, Path) else as_document(source)
        patterns = document.data.get("over")
        if isinstance(patterns, list | tuple) and any(fnmatchcase(name, str(pattern)) for pattern in patterns):
            own = {key: value for key, value in document.data.items() if key not in NOT_LAID_OVER and not is_extra(key)}
            yield Document(own, document.places, document.file)
