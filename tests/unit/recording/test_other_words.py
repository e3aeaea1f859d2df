"""Words that groomers have for parts of a dog: each is known, or the answer names the parts that it may mean.

What a word means is common practice, no source, where the breed clubs' guides do not say it.
"""

from __future__ import annotations

from functools import cache

import pytest

from coatrules.catalogue.languages import catalogue
from coatrules.catalogue.speaking import speaking
from coatrules.catalogue.spellings import spellings
from coatrules.problems import InputError
from coatrules.profile.compiled import CompiledProfile, compile_profile
from coatrules.profile.loading import load_profile
from coatrules.recording.parts import Parts, part_named

LANGUAGES = ("en", "de", "fr")


@cache
def dog(profile: str) -> CompiledProfile:
    return compile_profile(load_profile(profile))


@pytest.mark.parametrize(
    ("language", "profile", "text", "part"),
    [
        ("en", "border-terrier", "chin", "beard"),
        ("en", "border-terrier", "bib", "forechest"),
        ("en", "border-terrier", "rump", "croup"),
        ("en", "border-terrier", "pin bones", "buttocks"),
        ("en", "deerhound", "Topknot", "skull"),
        ("en", "scottish-terrier", "skirt", "skirt"),
        ("en", "norwich-terrier", "ruff", "ruff"),
        ("en", "english-cocker-spaniel", "feathers", "feathering"),
        ("de", "dachshund-wire-haired", "Kinn", "beard"),
        ("de", "dachshund-wire-haired", "Beine", "legs"),
        ("de", "dachshund-wire-haired", "Po", "round-the-anus"),
        ("de", "english-cocker-spaniel", "Fahnen", "feathering"),
        ("fr", "griffon-bruxellois-rough", "menton", "beard"),
        ("fr", "griffon-bruxellois-rough", "cou", "neck"),
        ("fr", "griffon-bruxellois-rough", "nuque", "neck-top"),
    ],
)
def test_a_groomers_word_is_known(language: str, profile: str, text: str, part: str) -> None:
    with speaking(catalogue(language)):
        assert part_named(dog(profile), text) == part


@pytest.mark.parametrize(
    ("language", "profile", "text", "answer"),
    [
        ("en", "english-cocker-spaniel", "beard", "Use muzzle or cheeks."),
        ("en", "english-cocker-spaniel", "chin", "Use muzzle or cheeks."),
        ("en", "border-terrier", "whiskers", "Use beard or moustache."),
        ("en", "border-terrier", "chest", "Use forechest, brisket or ribs."),
        ("en", "border-terrier", "trousers", "Use buttocks or thighs."),
        ("en", "border-terrier", "socks", "Use feet or legs."),
        ("en", "border-terrier", "saddle", "Use back or jacket."),
        ("en", "border-terrier", "furnishings", "Use furnishings-of-head or legs."),
        ("en", "border-terrier", "skirt", "Use underline or flanks."),
        ("en", "border-terrier", "feathering", "Use legs, tail or underline."),
        ("de", "border-terrier", "Brust", "Vorbrust, Unterbrust oder Brustkorbseiten verwenden."),
        ("de", "english-cocker-spaniel", "Bart", "Nasenrücken oder Backen verwenden."),
        ("fr", "border-terrier", "culotte", "Utiliser Fesses ou Cuisses, face externe."),
    ],
)
def test_a_word_for_several_parts_or_none_here_names_those_it_may_mean(
    language: str, profile: str, text: str, answer: str
) -> None:
    with speaking(catalogue(language)), pytest.raises(InputError) as caught:
        part_named(dog(profile), text)
    with speaking(catalogue(language)):
        assert str(caught.value.problems[0].fix) == answer


@pytest.mark.parametrize("text", ["dewlap", "rudder", "hub"])
def test_an_unlike_word_is_no_slip(text: str) -> None:
    with pytest.raises(InputError) as caught:
        part_named(dog("english-cocker-spaniel"), text)
    assert str(caught.value.problems[0].fix).startswith("Use one of these: ")


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_other_word_leads_to_a_part_of_a_terrier_and_of_a_spaniel(language: str) -> None:
    with speaking(catalogue(language)):
        words = [other.partition("=")[0] for other in spellings("typed.other-words")]
        for profile in ("border-terrier", "english-cocker-spaniel"):
            parts = Parts(dog(profile))
            assert [word for word in words if not parts.meant(word)] == []
