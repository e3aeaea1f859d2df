"""A language beside English: a test language with every letter changed and a third longer shows that no sentence of an order lies
outside the catalogue, and that values, plurals and dates are the language's own.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest
from babel.dates import get_day_names, get_month_names
from babel.messages.catalog import Catalog

from coatrules import load_history, load_profile, work_order
from coatrules.book.due import due
from coatrules.catalogue.english import AREAS, ENGLISH
from coatrules.catalogue.languages import catalogue
from coatrules.catalogue.message import message
from coatrules.catalogue.speaking import called, say, speaking
from coatrules.catalogue.template import pieces
from coatrules.catalogue.translated import LANGUAGES, Translated, languages
from coatrules.formats.resources import schema
from coatrules.order.explanation import explain
from coatrules.plan.ahead import plan_ahead
from coatrules.profile.compiled import compile_profile
from coatrules.report.due import reasons, table
from coatrules.report.explanation import text as explanation_text
from coatrules.report.owner import owner_page, owner_text
from coatrules.report.page import page
from coatrules.report.plan import text as plan_text
from coatrules.report.sheet import sheet
from coatrules.report.text import text as steps
from tests.languages import brought_up, english_of, faults, read, template, term_faults, unbroken, width_faults, written
from tests.support.paths import EXAMPLES

ACCENTS = str.maketrans("aeiouyAEIOUYcnsz", "àéîöüýÀÉÎÖÜÝçñšž")


DAY = date(2026, 3, 21)
UNWELL = {"format": 1, "dog": {"id": "7"}, "visits": [{"visit": "2026-03-10", "health": ["unwell"]}]}
PROFILE = load_profile("griffon-bruxellois-rough")
DATES = get_month_names(locale="fr"), get_month_names("abbreviated", locale="fr"), get_day_names(locale="fr")
NOT_TRANSLATED = {
    *(word for names in DATES for name in names.values() for word in re.findall(r"\w+", name)),
    # Keys and ids of the files, which stay as they are, and what publications are called.
    *re.findall(
        r"[a-z]+", " ".join([*schema("facts")["properties"], *PROFILE.rules, *PROFILE.regions, *PROFILE.groups])
    ),
    *re.findall(r"[a-z]+", " ".join(str(source) for source in PROFILE.sources.values())),
    *(
        "health",
        "arrival",
        "skin",
        "sound",
        "calm",
        "stop",
        "none",
        "why",
        "steps",
        "order",
        "explain",
        "male",
        "female",
    ),
}


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
            one, *several = english_of(entry)
            forms = [change(one), *[change(words) for words in several] * (catalog.num_plurals - 1)]
            entry.string = tuple(forms) if several else forms[0]
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


@pytest.fixture(scope="module")
def shown(pseudo: Translated) -> dict[str, str]:
    """What people are shown on one day of a salon, in the test language."""
    profile, history = PROFILE, load_history(EXAMPLES / "salon" / "pip.yaml")
    order = work_order(profile, history, date=DAY, ahead=True)
    ill = work_order(profile, load_history(UNWELL), date=DAY)
    puppy = work_order(profile, load_history({"format": 1, "dog": {"id": "6", "born": "2026-01-10"}}), date=DAY)
    dues = [due(compile_profile(profile), history, DAY)]
    with speaking(pseudo):
        return {
            **{f"sheet {number}": sheet(one) for number, one in enumerate((order, ill, puppy))},
            **{f"steps {number}": steps(one) for number, one in enumerate((order, ill, puppy))},
            **{f"owner {number}": owner_text(one) for number, one in enumerate((order, ill, puppy))},
            "page": visible(page(order)),
            "owner's page": visible(owner_page(order)),
            "table": table(dues),
            "why": reasons(dues),
            "explanation": explanation_text(explain(profile, history, "back", date=DAY)),
            "plan": plan_text(plan_ahead(profile, history, date=DAY, visits=2)),
        }


def visible(html: str) -> str:
    """What a page shows."""
    return re.sub(r"<[^>]+>", " ", re.sub(r"<(style|script).*?</\1>", " ", html, flags=re.DOTALL))


def test_nothing_that_people_are_shown_lies_outside_the_catalogue(shown: dict[str, str]) -> None:
    found = {name: {*english_words(text)} - NOT_TRANSLATED for name, text in shown.items()}
    assert {name: words for name, words in found.items() if words} == {}


def test_a_language_a_third_longer_breaks_no_layout(shown: dict[str, str]) -> None:
    for name, text in shown.items():
        if "page" not in name:
            most = 80 if name.startswith("sheet") else 100 if name in ("table", "why") else 88
            assert [line for line in text.splitlines() if len(line) > most] == [], name


def test_values_are_shown_as_the_language_shows_them(pseudo: Translated) -> None:
    with speaking(pseudo):
        assert say.amount("day", date(2026, 3, 21)) == "samedi 21 mars 2026"
        assert say.amount("number", 1234.5) == "1\u202f234,5"
        assert say.amount("list", ("a", "b", "c")) == "a, b et c"
        assert say.amount("number", 2.5).startswith("2,5")
        assert say.amount("share", 0.2).startswith("à fîfth")
    assert say.amount("share", 0.2) == "a fifth"


@pytest.mark.parametrize("tag", ["en", "de", "fr"])
def test_figures_for_a_file_are_shown_as_files_have_them(tag: str) -> None:
    with speaking(ENGLISH if tag == "en" else Translated(tag)):
        assert say("want.at-most", value=0.5).endswith("0.5")
        assert "0.205" in say("schema-too-high.fix-percent", share=0.205, percent=20.5)


def test_a_part_of_a_unit_has_the_form_that_its_language_gives_it(pseudo: Translated) -> None:
    # Unicode CLDR, language plural rules: in French 0 to below 2 is one, so 1.5 too.
    assert pseudo.sentence("amount.weeks.weeks", {"weeks": 1.5}).startswith("1½ wéék~")
    assert pseudo.sentence("amount.weeks.weeks", {"weeks": 2.5}).startswith("2½ wéékš~")


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
    assert [*faults(catalog), *term_faults(catalog, tag), *width_faults(catalog)] == []
    codes = {(entry.context, str(entry.id)) for entry in catalog if entry.id}
    assert codes == {(entry.context, str(entry.id)) for entry in template() if entry.id}, (
        "run: python -m tests.languages"
    )


def german(**translations: str) -> Catalog:
    """A catalogue that has only these translations, by their codes."""
    catalog = template()
    catalog.locale = "de"
    for entry in catalog:
        if entry.context in translations:
            entry.string = translations[entry.context]
    return catalog


def test_the_kit_finds_what_a_translator_slips_on() -> None:
    """The trade's words by terms.csv, whose columns say how surely each is known."""
    assert list(faults(german(**{"report.task": "{where}: {what:share}"}))) != []
    assert list(faults(german(**{"report.task": "{where}"}))) != []
    assert len(list(term_faults(german(**{"task.clip": "schneiden"}), "de"))) == 1
    assert len(list(term_faults(german(**{"coat.left": "Heute nicht rupfen."}), "de"))) == 1
    assert list(term_faults(german(**{"task.clip": "scheren"}), "de")) == []
    assert len(list(width_faults(german(**{"page.min": "Minutenangabe"})))) == 1


def test_a_sentence_whose_english_changed_is_said_in_english_until_it_is_looked_at(tmp_path: Path) -> None:
    catalog = german(**{"coat.left": "Eine Regel lässt dies heute aus."})
    old = catalog.get("A rule leaves this out today.", "coat.left")
    assert old is not None
    catalog.delete(old.id, "coat.left")
    catalog.add("A rule left this out.", old.string, context="coat.left")
    new = brought_up(catalog)
    new.fuzzy = False
    (entry,) = [entry for entry in new if entry.context == "coat.left"]
    assert entry.fuzzy
    assert entry.string == old.string
    (tmp_path / "de.po").write_bytes(written(new))
    with speaking(Translated("de", tmp_path)):
        assert say("coat.left") == ENGLISH.sentence("coat.left", {})


@pytest.mark.parametrize(
    ("tag", "kind", "value", "shown"),
    [
        # French: 1er, no other day; a no-break space before ; : ! ? (Lexique des règles typographiques, Imprimerie nationale,
        # from memory).
        ("fr", "date", date(2026, 3, 1), "1er mars 2026"),
        ("fr", "day", date(2026, 3, 1), "dimanche 1er mars 2026"),
        ("fr", "short", date(2026, 3, 1), "1er mars"),
        ("fr", "date", date(2026, 3, 11), "11 mars 2026"),
        ("fr", "clauses", ("a", "b"), "a\u00a0; b"),
        ("fr", "names", ("Ears, outside", "Back"), "Oreilles, face externe\u00a0; dos"),
        ("de", "date", date(2026, 3, 1), "1. März 2026"),
        ("de", "clauses", ("a", "b"), "a; b"),
        ("de", "names", ("Tail, underside", "Back"), "Rute, Unterseite; Rücken"),
        ("de", "share", 0.5, "die Hälfte"),
        ("de", "written", 0.65, "0.65"),
        ("de", "value", 0.65, "0,65"),
    ],
)
def test_values_as_a_language_writes_them(tag: str, kind: str, value: object, shown: str) -> None:
    with speaking(Translated(tag)):
        assert say.amount(kind, value) == shown


def test_french_spaces_do_not_break_however_they_were_typed() -> None:
    catalog = template()
    catalog.locale = "fr"
    for entry in catalog:
        if entry.context == "due.overdue-short":
            entry.string = ("« a » : b ; c", "{days} d !")
    (entry,) = [entry for entry in unbroken(catalog, "fr") if entry.context == "due.overdue-short"]
    assert entry.string == ("«\u00a0a\u00a0»\u00a0: b\u00a0; c", "{days} d\u00a0!")


def test_a_shortened_word_ends_a_sentence_with_one_full_stop() -> None:
    # Duden, Punkt (D 103): a full stop of an abbreviation is also that of the sentence; from memory.
    with speaking(Translated("de")):
        assert say("sheet.next", best=date(2026, 4, 11)).endswith(" 11. Apr.")
        assert say("first.stop", regions=("Back",), until=date(2026, 4, 11)).endswith("2026.")


def test_a_sentence_of_several_is_known_before_it_is_filled_in() -> None:
    with speaking(Translated("de")):
        assert say.template("due.overdue") == "{days} Tage überfällig."
    assert say.template("due.overdue") == "Overdue by {days} days."


def test_a_page_says_in_which_direction_it_is_written(tmp_path: Path) -> None:
    """HTML Living Standard, the dir attribute; Unicode CLDR: Hebrew is written from the right to the left."""
    catalog = template()
    catalog.locale = "he"
    (tmp_path / "he.po").write_bytes(written(catalog))
    order = work_order(PROFILE, load_history(UNWELL), date=DAY)
    with speaking(Translated("he", tmp_path)):
        assert '<html lang="he" dir="rtl">' in owner_page(order)
    assert '<html lang="en" dir="ltr">' in owner_page(order)


def test_a_key_is_called_as_the_language_calls_it_or_by_itself() -> None:
    with speaking(Translated("de")):
        assert (called("jacket"), called("tail-top", "Tail, top and sides")) == ("Rumpfhaar", "Rute, oben und seitlich")
        assert called("my-own-zone") == "my-own-zone"
    assert called("short-hair") == "short-hair"


@pytest.mark.parametrize("tag", ["en", "de", "fr"])
def test_several_places_within_a_sentence_are_a_list(tag: str) -> None:
    """What the dog had refused was shown as a program's own list, brackets and all."""
    with speaking(catalogue(tag)):
        shown = say("first.stop", regions=("Back", "Loin"), until=date(2026, 4, 11))
        assert "(" not in shown
        assert say.amount("lower", "Back") in shown
        assert say.amount("lower", ("Back", "Loin")) in shown
