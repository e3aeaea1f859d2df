"""The catalogue of a language by its tag: English, or one of the files here."""

from __future__ import annotations

from functools import cache

from coatrules.catalogue.english import ENGLISH
from coatrules.catalogue.language import Language


@cache
def catalogue(locale: str) -> Language:
    """Returns the catalogue of a language tag, of the nearest wider one where there is none (``de`` for ``de-AT``).

    Raises ``KeyError`` with the tag and the tags there are.
    """
    if locale.split("-")[0].lower() == "en":
        return ENGLISH
    from coatrules.catalogue.translated import Translated, languages

    known = languages()
    wider = locale
    while wider not in known and "-" in wider:
        wider = wider.rpartition("-")[0]
    if wider not in known:
        raise KeyError(locale, known)
    return Translated(wider)
