"""Rehearsals, comparisons and the layout of files."""

from typing import Final

from coatrules.catalogue.template import Plural

SENTENCES: Final[dict[str, str | Plural]] = {}
