"""The translator's kit: ``python -m tests.languages de`` brings ``coatrules/catalogue/languages/de.po`` up to date with the
sentences there are, checks it, and compiles it. A new language is one file and no code.
"""

from __future__ import annotations

import io
import re
import sys
from collections.abc import Iterator
from pathlib import Path

from babel.messages.catalog import Catalog, Message
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po, write_po

from coatrules.catalogue.english import ENGLISH
from coatrules.catalogue.template import Plural, pieces
from coatrules.catalogue.translated import LANGUAGES, OWN
from coatrules.profile.loading import load_profile
from coatrules.profile.model import Profile
from coatrules.profile.shelves import library


def own_texts(profile: Profile) -> Iterator[str]:
    """Every text of a profile that an order or a page may show."""
    yield profile.label
    yield from (region.label for region in profile.regions.values())
    for method in profile.methods.values():
        yield from (text for text in (method.label, method.how, method.until) if text)
    for part in (profile.layer_targets, profile.sensitive_zones, profile.clipper_only_zones, profile.routines):
        yield from (one.because for one in part.values() if one.because)
    for rule in profile.rules.values():
        yield from (text for text in (rule.because, rule.then.caution, rule.then.refer) if text)


def template() -> Catalog:
    """All that there is to translate, with what fills each sentence in as a comment."""
    catalog = Catalog(project="coatrules", header_comment="# Sentences of coatrules. Licence: MIT.")
    for code, sentence in sorted(ENGLISH.sentences.items()):
        forms = (sentence.one, sentence.other) if isinstance(sentence, Plural) else (sentence,)
        places = sorted(
            {f"{name} ({kind})" if kind else name for form in forms for _, name, kind in pieces(form) if name}
        )
        catalog.add(
            forms if len(forms) == 2 else forms[0],
            context=code,
            auto_comments=[f"Filled in: {', '.join(places)}"] if places else [],
        )
    texts = {text for name in library() for text in own_texts(load_profile(name))}
    for text in sorted(texts):
        catalog.add(text, context=OWN)
    return catalog


def faults(catalog: Catalog) -> Iterator[str]:
    """Translations that would break a sentence: places that it does not have, or lost ones."""
    for message in catalog:
        if not message.id or message.context == OWN:
            continue
        forms = message.string if isinstance(message.string, tuple) else (message.string,)
        english = message.id if isinstance(message.id, tuple) else (message.id,)
        known = {piece[1:] for form in english for piece in pieces(form) if piece.name}
        for form in filter(None, forms):
            given = {piece[1:] for piece in pieces(form) if piece.name}
            if not given <= known:
                yield f"{message.context}: {given - known} is nothing that fills this sentence in"
            if known - given and not isinstance(message.id, tuple):
                yield f"{message.context}: {known - given} is missing"


def compiled(catalog: Catalog) -> bytes:
    """The catalogue as gettext reads it, the same bytes each time."""
    content = io.BytesIO()
    write_mo(content, catalog)
    return content.getvalue()


def read(file: Path) -> Catalog:
    with file.open("rb") as source:
        return read_po(source, locale=file.stem.replace("-", "_"))


def written(catalog: Catalog) -> bytes:
    content = io.BytesIO()
    write_po(content, catalog, sort_output=True, width=120, omit_header=False, include_lineno=False)
    return re.sub(
        rb'"(POT-Creation-Date|PO-Revision-Date|Generated-By|Last-Translator):[^\n]*\n', b"", content.getvalue()
    )


def update(tag: str) -> None:
    """Brings a language up to date; makes it where there is none."""
    file = LANGUAGES / f"{tag}.po"
    catalog = read(file) if file.exists() else Catalog(locale=tag.replace("-", "_"), project="coatrules")
    catalog.update(template(), no_fuzzy_matching=True)
    catalog.obsolete.clear()
    if broken := list(faults(catalog)):
        sys.exit("\n".join(broken))
    file.write_bytes(written(catalog))
    (LANGUAGES / f"{tag}.mo").write_bytes(compiled(catalog))
    messages: list[Message] = [message for message in catalog if message.id]
    translated = sum(
        bool(message.string if isinstance(message.string, str) else all(message.string)) for message in messages
    )
    print(f"{tag}: {translated} of {len(messages)} sentences translated")


if __name__ == "__main__":
    for language in sys.argv[1:] or sorted(file.stem for file in LANGUAGES.glob("*.po")):
        update(language)
