"""What ``argparse`` complains of, in the words of each of its versions (CPython 3.11 to 3.14), said by the catalogue."""

from __future__ import annotations

import pytest

from coatrules.catalogue.languages import catalogue
from coatrules.catalogue.speaking import speaking
from coatrules.cli.complaints import spoken


@pytest.mark.parametrize(
    ("complaint", "said"),
    [
        ("unrecognized arguments: --hurry x", "unbekannte Argumente: --hurry x"),
        ("argument --date: expected one argument", "Argument --date: ein Wert erwartet"),
        ("argument --dates: expected at least one argument", "Argument --dates: mindestens ein Wert erwartet"),
        ("argument --x: expected 2 arguments", "Argument --x: erwartete Werte: 2"),
        ("argument --a/-b: not allowed with argument --c", "Argument --a/-b: geht nicht zusammen mit --c"),
        ("the following arguments are required: HUND", "es fehlen: HUND"),
        ("one of the arguments --a --b is required", "eines davon ist nötig: --a --b"),
        (
            "ambiguous option: --pro could match --profile, --profiles",
            "Option mehrdeutig: --pro; gemeint sein kann --profile, --profiles",
        ),
        ("argument --visits: invalid int value: 'many'", "Argument --visits: Wert ungültig: 'many'"),
        (
            "argument x: invalid choice: 'b' (choose from 'a', 'c')",
            "Argument x: nicht vorgesehen: 'b' (möglich: 'a', 'c')",
        ),
        ("argument x: invalid choice: 'b' (choose from a, c)", "Argument x: nicht vorgesehen: 'b' (möglich: a, c)"),
        (
            "argument x: invalid choice: 'b', maybe you meant 'a'? (choose from a, c)",
            "Argument x: nicht vorgesehen: 'b' (möglich: a, c)",
        ),
        ("argument --steps: ignored explicit argument 'yes'", "Argument --steps: verlangt keinen Wert: 'yes'"),
        ("ein eigener Satz", "ein eigener Satz"),
    ],
)
def test_a_complaint_in_german(complaint: str, said: str) -> None:
    with speaking(catalogue("de")):
        assert spoken(complaint).text == said
