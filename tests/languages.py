"""The translator's kit: ``python -m tests.languages de`` brings ``coatrules/catalogue/languages/de.po`` up to date with the
sentences there are, checks it, and compiles it. A new language is one file and no code.
"""

from __future__ import annotations

import csv
import io
import re
import sys
from collections.abc import Iterator, Mapping
from functools import cache, partial
from pathlib import Path
from typing import Any

from babel.messages.catalog import Catalog, Message
from babel.messages.pofile import read_po, write_po

from coatrules.catalogue.compiling import compiled
from coatrules.catalogue.english import ENGLISH
from coatrules.catalogue.template import Plural, pieces
from coatrules.catalogue.translated import LANGUAGES, OWN
from coatrules.formats.resources import schema
from coatrules.profile.compiled import hands_of, means_of
from coatrules.profile.loading import load_profile
from coatrules.profile.model import Profile
from coatrules.profile.shelves import library

HEADER = """\
# Sentences of coatrules. Licence: MIT.
# Not yet read by a groomer whose language this is. README.md beside this file says how to correct a term."""


WRITTEN_BY_PEOPLE = ("history", "profile", "import", "salon")
"""The schemas of files that people write by hand."""


def own_texts(profile: Profile) -> Iterator[str]:
    """Every text of a profile that an order or a page may show."""
    yield profile.label
    yield from (region.label for region in profile.regions.values())
    zones = (*profile.sensitive_zones, *profile.clipper_only_zones)
    yield from (name.replace("-", " ") for name in (*profile.groups, *profile.layer_targets, *zones))
    yield from (name.replace("_", " ") for name in profile.comparisons)
    for worn in profile.regimes.values():
        yield from own_texts(worn)
    for hands in (hands_of(profile.methods, name) for name in profile.methods):
        for means in (means_of(hands), *hands):
            yield from (means.how, means.tools)
    for part in (profile.layer_targets, profile.sensitive_zones, profile.clipper_only_zones, profile.routines):
        yield from (one.because for one in part.values() if one.because)
    for rule in profile.rules.values():
        yield from (text for text in (rule.because, rule.then.caution, rule.then.refer) if text)


def words_of_facts() -> Iterator[str]:
    """What a picture says of a fact: its name, and values that are words."""
    for fact in schema("facts")["properties"].values():
        yield fact["title"]
        yield from (value.replace("-", " ") for value in fact.get("enum", ()))


def meanings(part: Any) -> Iterator[str]:
    """What a schema of a file that people write says of its values: a problem quotes it."""
    for key, inner in part.items() if isinstance(part, dict) else enumerate(part) if isinstance(part, list) else ():
        if key == "description" and isinstance(inner, str):
            yield inner
        else:
            yield from meanings(inner)


def template() -> Catalog:
    """All that there is to translate, with what fills each sentence in as a comment."""
    catalog = Catalog(project="coatrules", header_comment=HEADER)
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
    for text in shipped_texts():
        catalog.add(text, context=OWN)
    return catalog


@cache
def shipped_texts() -> tuple[str, ...]:
    """The texts of all shipped profiles, of the facts, and of the schemas of what people write."""
    texts = {text for name in library() for text in own_texts(load_profile(name))} | set(words_of_facts())
    texts |= {text for name in WRITTEN_BY_PEOPLE for text in meanings(schema(name))}
    return tuple(sorted(texts))


def faults(catalog: Catalog) -> Iterator[str]:
    """Translations that would break a sentence: places that it does not have, or lost ones."""
    for message in catalog:
        if not message.id or message.context == OWN or message.fuzzy:
            continue
        forms = forms_of(message)
        known = {piece[1:] for form in english_of(message) for piece in pieces(form) if piece.name}
        for form in filter(None, forms):
            given = {piece[1:] for piece in pieces(form) if piece.name}
            if not given <= known:
                yield f"{message.context}: {given - known} is nothing that fills this sentence in"
            if known - given and not isinstance(message.id, tuple):
                yield f"{message.context}: {known - given} is missing"


def trade_terms(tag: str) -> dict[str, str]:
    """The trade's words of a language by the English, in small letters; alternatives parted by semicolons."""
    with (LANGUAGES / "terms.csv").open(encoding="utf-8") as file:
        rows = [row for row in csv.DictReader(file) if row.get(tag)]
    # What stands in brackets tells words apart ("stop (between the eyes)"), but says of a verb only how.
    return {
        _plain(english) if english.strip().startswith("to ") else english.strip().casefold(): row[tag]
        for row in reversed(rows)
        for english in row["en"].split(";")
    }


def begun(catalog: Catalog, tag: str) -> Catalog:
    """A new language with what the terms alone can say: labels, headings, single words."""
    terms = trade_terms(tag)
    for message in catalog:
        if isinstance(message.id, str) and message.id and (term := terms.get(_english_term(message))):
            first = re.sub(r"\(.*?\)", "", term.split(";")[0]).strip()
            message.string = first[:1].upper() + first[1:] if message.id[:1].isupper() else first
    return catalog


def term_faults(catalog: Catalog, tag: str) -> Iterator[str]:
    """Translations that the trade would put otherwise: of what is one term, by ``terms.csv``, and with words of ``avoid.csv``."""
    terms = trade_terms(tag)
    with (LANGUAGES / "avoid.csv").open(encoding="utf-8") as file:
        avoided = {re.compile(row["avoid"]): row["say"] for row in csv.DictReader(file) if row["language"] == tag}
    for message in catalog:
        if not message.id or message.fuzzy:
            continue
        for form in map(partial(_shown, code_of(message)), filter(None, forms_of(message))):
            for word, better in avoided.items():
                if word.search(form):
                    yield f"{message.context}: {form!r} has a word to avoid: {word.pattern} (say: {better or 'something else'})"
        said = [_plain(form) for form in forms_of(message)[0].split("|")]
        wanted = terms.get(_english_term(message))
        if not said[0] or not wanted or _HEADS.fullmatch(code_of(message)):
            continue
        if not any(one in term or term in one for term in map(_plain, wanted.split(";")) for one in said):
            yield f"{message.context}: {message.string!r} is not the trade's word: {wanted}"


def _shown(code: str, form: str) -> str:
    """What people read of a translation: of the ways in which a word may be typed the first, of other words for parts none."""
    return "" if code == "typed.other-words" else form.partition("|")[0] if code.startswith("typed.") else form


def _english_term(message: Message) -> str:
    english, code = english_of(message)[0].casefold(), code_of(message)
    first = english.partition("|")[0] if code.startswith("typed.") else english
    return f"to {first}" if code.startswith(("task.", "typed.task.")) else first


def _plain(text: str) -> str:
    """A term without what is said of it in brackets, and without marks."""
    return " ".join(re.sub(r"[,.:]", " ", re.sub(r"\(.*?\)", "", text)).casefold().split())


HEADS: Mapping[str, int] = {"later": 14, "due": 16, "rehearsal.column-": 11, "plan.column-": 12, "page": 11}
"""The most letters of a column's head: more, and a table is wider than its page or terminal."""
_HEADS = re.compile(
    r"(later)\.(?:comes|cover|longest|blown|minutes)|(due)\.(?:due|dog|work|why|window|binds|no-window)"
    r"|(rehearsal\.column-|plan\.column-)\w+|(page)\.(?:done|number|where|what|with|min|time-head|why|otherwise)"
)


def width_faults(catalog: Catalog) -> Iterator[str]:
    """Heads of columns that are too wide."""
    for message in catalog:
        if message.id and not message.fuzzy and (matched := _HEADS.fullmatch(code_of(message))):
            most = HEADS[next(filter(None, matched.groups()))]
            if len(forms_of(message)[0]) > most:
                yield f"{message.context}: {message.string!r} has more than {most} letters"


def read(file: Path) -> Catalog:
    with file.open("rb") as source:
        return read_po(source, locale=file.stem.replace("-", "_"))


def written(catalog: Catalog) -> bytes:
    content = io.BytesIO()
    write_po(content, catalog, sort_output=True, width=120, omit_header=False, include_lineno=False)
    return re.sub(
        rb'"(POT-Creation-Date|PO-Revision-Date|Generated-By|Last-Translator|Language-Team|Report-Msgid-Bugs-To|Project-Id-Version):[^\n]*\n',
        b"",
        content.getvalue(),
    )


def brought_up(catalog: Catalog) -> Catalog:
    """The sentences there are, with the translations of a catalogue. Where the English was changed, the old translation stays for
    the translator to see, marked as fuzzy, which nobody is shown."""
    new = template()
    new.locale, new.header_comment, new.fuzzy = catalog.locale, catalog.header_comment, False
    by_code = {message.context: message for message in catalog if message.id and message.context != OWN}
    for message in new:
        if not message.id:
            continue
        old = catalog.get(message.id, message.context) or by_code.get(message.context)
        if old is None or isinstance(old.id, tuple) != isinstance(message.id, tuple):
            continue
        message.string, message.user_comments = old.string, old.user_comments
        changed = old.id != message.id
        if any(forms_of(old)) and (changed or old.fuzzy):
            message.flags.add("fuzzy")
            message.previous_id = [*english_of(old)] if changed else old.previous_id
    return new


def code_of(message: Message) -> str:
    """The code of a sentence, which is the context of its entry."""
    return message.context or ""


def english_of(message: Message) -> tuple[str, ...]:
    """The English of an entry: one sentence, or of a plural both."""
    return (message.id,) if isinstance(message.id, str) else tuple(message.id)


UNBROKEN: Mapping[str, re.Pattern[str]] = {"fr": re.compile(r" (?=[:;!?»](?!\w))|(?<=«) ")}
"""Where a language has spaces that must not break: French before : ; ! ? and within « », as its printers have it."""


def unbroken(catalog: Catalog, tag: str) -> Catalog:
    """The catalogue with such spaces in their places, however they were typed."""
    if (places := UNBROKEN.get(tag)) is not None:
        for message in filter(lambda one: one.id, catalog):
            forms = tuple(places.sub("\u00a0", form) for form in forms_of(message))
            message.string = forms if isinstance(message.id, tuple) else forms[0]
    return catalog


def forms_of(message: Message) -> tuple[str, ...]:
    """The forms of a translation: one, or of a plural as many as the language has."""
    return tuple(message.string or ()) if isinstance(message.id, tuple) else (str(message.string or ""),)


def update(tag: str) -> None:
    """Brings a language up to date; makes it where there is none."""
    file = LANGUAGES / f"{tag}.po"
    new = Catalog(locale=tag.replace("-", "_"), header_comment=HEADER)
    catalog = brought_up(read(file)) if file.exists() else begun(brought_up(new), tag)
    catalog = unbroken(catalog, tag)
    if broken := [*faults(catalog), *term_faults(catalog, tag), *width_faults(catalog)]:
        sys.exit("\n".join(broken))
    file.write_bytes(written(catalog))
    file.with_suffix(".mo").write_bytes(compiled(file.read_bytes(), file.stem))
    messages = [message for message in catalog if message.id]
    translated = sum(all(forms_of(message)) and not message.fuzzy for message in messages)
    print(f"{tag}: {translated} of {len(messages)} sentences translated")


if __name__ == "__main__":
    for language in sys.argv[1:] or sorted(file.stem for file in LANGUAGES.glob("*.po")):
        update(language)
