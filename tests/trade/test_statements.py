"""What standards and clubs say of each breed, put to its profiles (``profiles/evidence/statements.csv``)."""

from __future__ import annotations

import pytest

from tests.trade.asked import against, kept, kept_by_orders, put_to

HELD = (
    "american-cocker-spaniel",
    "basset-fauve-de-bretagne",
    "belgian-shepherd-laekenois",
    "black-russian-terrier",
    "bosnian-broken-haired-hound",
    "bouvier-des-ardennes",
    "bouvier-des-flandres",
    "briquet-griffon-vendeen",
    "clumber-spaniel",
    "english-cocker-spaniel",
    "english-setter",
    "english-springer-spaniel",
    "field-spaniel",
    "galgo-espanol-rough",
    "german-hunting-terrier",
    "german-rough-haired-pointer",
    "gordon-setter",
    "grand-basset-griffon-vendeen",
    "grand-griffon-vendeen",
    "griffon-bleu-de-gascogne",
    "griffon-fauve-de-bretagne",
    "griffon-nivernais",
    "ibizan-podenco-rough",
    "irish-red-and-white-setter",
    "irish-red-setter",
    "istrian-wire-haired-hound",
    "italian-rough-haired-segugio",
    "jack-russell-terrier-broken",
    "jack-russell-terrier-rough",
    "kromfohrlander-rough",
    "parson-russell-terrier-rough",
    "portuguese-podengo-wire",
    "pudelpointer",
    "pumi",
    "slovakian-rough-haired-pointer",
    "styrian-coarse-haired-hound",
    "sussex-spaniel",
    "welsh-springer-spaniel",
)


@pytest.mark.parametrize("name", HELD)
def test_a_profile_is_true_to_what_is_said_of_its_breed(name: str) -> None:
    dog = kept(name)
    wrong = {row["id"]: f"{row['text']} Not so: {found}" for row in put_to(name) if (found := against(row, dog))}
    assert wrong == {}


@pytest.mark.slow
@pytest.mark.parametrize("name", HELD[::4])
def test_two_years_of_orders_are_true_to_it_too(name: str) -> None:
    dog = kept_by_orders(name)
    wrong = {row["id"]: f"{row['text']} Not so: {found}" for row in put_to(name) if (found := against(row, dog))}
    assert wrong == {}
