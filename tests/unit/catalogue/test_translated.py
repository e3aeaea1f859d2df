"""A language beside English: a test language with every letter changed and a third longer shows that no sentence of an order lies
outside the catalogue, and that values, plurals and dates are the language's own.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest

from coatrules import load_history, load_profile, work_order
from coatrules.catalogue.english import AREAS, ENGLISH
from coatrules.catalogue.message import message
from coatrules.catalogue.speaking import say, speaking
from coatrules.catalogue.template import pieces
from coatrules.catalogue.translated import LANGUAGES, Translated, languages
from tests.languages import faults, read, template, written
from tests.support.paths import EXAMPLES

ACCENTS = str.maketrans("aeiouyAEIOUYcnsz", "àéîöüýÀÉÎÖÜÝçñšž")


def strange(sentence: str) -> str:
    """The sentence with its letters changed and a third longer, its places kept."""
    shown = "".join(
        piece.text.translate(ACCENTS).replace("{", "{{").replace("}", "}}")
        + (f"{{{piece.name}{':' if piece.kind else ''}{piece.kind}}}" if piece.name else "")
        for piece in pieces(sentence)
    )
    return f"{shown}{'~' * (len(sentence) // 3)}"


@pytest.fixture(scope="module")
def pseudo(tmp_path_factory: pytest.TempPathFactory) -> Translated:
    folder = tmp_path_factory.mktemp("languages")
    catalog = template()
    catalog.locale = "fr"  # whose dates and decimal marks are not English
    for entry in catalog:
        if entry.id:
            own = entry.context == "own"
            change = (lambda words: words.translate(ACCENTS)) if own else strange
            many = isinstance(entry.id, tuple)
            forms = (entry.id[0], *[entry.id[1]] * (catalog.num_plurals - 1)) if many else (entry.id,)
            entry.string = tuple(map(change, forms)) if many else change(entry.id)
    catalog.fuzzy = False
    assert list(faults(catalog)) == []
    (folder / "fr.po").write_bytes(written(catalog))
    return Translated("fr", folder)


def english_words(shown: str) -> Iterator[str]:
    """Words of English that the test language can never hold: those with a plain vowel in small letters."""
    yield from re.findall(r"\b[a-z]*[aeiou][a-z]{2,}\b", shown)


def test_no_sentence_of_an_order_lies_outside_the_catalogue(pseudo: Translated) -> None:
    order = work_order(
        load_profile("griffon-bruxellois-rough"), load_history(EXAMPLES / "salon" / "pip.yaml"), date=date(2026, 3, 21)
    )
    with speaking(pseudo):
        texts = [reason.text for step in order.steps for reason in step.because]
        texts += [str(one) for one in (*order.cautions, *order.refer, *order.first)]
        texts += [part for problem in order.findings for part in (problem.message, problem.hint)]
    left = {word for shown in texts for word in english_words(shown)} - {"mars", "lundi", "samedi", "janvier"}
    assert left <= {"date", "skin", "sound", "health", "arrival"}  # keys of the formats, in quotes


def test_values_are_shown_as_the_language_shows_them(pseudo: Translated) -> None:
    with speaking(pseudo):
        assert say.amount("day", date(2026, 3, 21)) == "samedi 21 mars 2026"
        assert say.amount("number", 1234.5) == "1\u202f234,5"
        assert say.amount("list", ("a", "b", "c")) == "a, b et c"
        assert say.amount("weeks", 2.5).startswith("2,5 ")
        assert say.amount("share", 0.2).startswith("à fîfth")
    assert say.amount("share", 0.2) == "a fifth"


def test_a_part_of_a_unit_has_the_form_that_its_language_gives_it(pseudo: Translated) -> None:
    # Unicode CLDR, language plural rules: in French 0 to below 2 is one, so 1.5 too.
    assert pseudo.sentence("amount.weeks.weeks", {"weeks": 1.5}).startswith("1,5 wéék~")
    assert pseudo.sentence("amount.weeks.weeks", {"weeks": 2.5}).startswith("2,5 wéékš~")


def test_the_language_holds_for_a_message_within_a_message(pseudo: Translated) -> None:
    outer = message("arrival-not-recorded", regions=(message("some-parts", some=3, of=43),))
    with speaking(pseudo):
        assert "3 öf 43 pàrtš" in outer.text
    assert "3 of 43 parts" in outer.text


def test_what_is_not_translated_is_said_in_english(tmp_path: Path) -> None:
    catalog = template()
    catalog.locale = "de"
    (tmp_path / "de.po").write_bytes(written(catalog))
    with speaking(Translated("de", tmp_path)):
        assert say("coat.carded-first") == ENGLISH.sentence("coat.carded-first", {})
        assert say.own("A text of somebody's own") == "A text of somebody's own"


def test_no_code_is_in_two_areas() -> None:
    from importlib import import_module

    codes = [code for area in AREAS for code in import_module(f"coatrules.catalogue.english.{area}").SENTENCES]
    assert len(codes) == len(set(codes))


@pytest.mark.parametrize("tag", [tag for tag in languages() if tag != "en"])
def test_every_language_is_up_to_date_and_whole(tag: str) -> None:
    file = LANGUAGES / f"{tag}.po"
    catalog = read(file)
    assert list(faults(catalog)) == []
    codes = {(entry.context, str(entry.id)) for entry in catalog if entry.id}
    assert codes == {(entry.context, str(entry.id)) for entry in template() if entry.id}, (
        "run: python -m tests.languages"
    )
