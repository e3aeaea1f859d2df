"""The tables in ``profiles/evidence``: well formed, sourced, and where sources contradict each other, ruled by one of them.

Nothing of coatrules is used. Region ids are those of ``profiles/points-of-the-dog.yaml``, read as plain YAML.
"""

from __future__ import annotations

import csv
import re
from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from functools import cache
from itertools import combinations
from pathlib import Path

import pytest
import yaml

PROFILES = Path(__file__).resolve().parents[2] / "profiles"
TABLES = PROFILES / "evidence"

Line = dict[str, str]


@cache
def table(name: str) -> tuple[Line, ...]:
    with (TABLES / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        return tuple(csv.DictReader(file))


GROWTH = table("growth")
STATEMENTS = table("statements")
BREEDS = {line["breed"]: line for line in table("breeds")}

GROWTH_ENUMS = {
    "kind": {
        "terrier",
        "skirted",
        "companion",
        "gundog",
        "schnauzer",
        "smooth",
        "long-rough",
        "general",
        "other-species",
    },
    "treatment": {"strip", "pluck", "clip", "none"},
    "unit": {
        "weeks",
        "weeks_of_age",
        "mm",
        "mm_per_week",
        "percent",
        "full_strips",
        "clippings",
        "pullings",
        "",
    },
    "at_unit": {"mm", "share", ""},
    "used": {"fit", "bound"},
    "strength": {"standard", "club", "page", "measured", "memory"},
    "seen": {"page", "record", "memory"},
}
ASKED = {"length", "relation", "pulled", "cut", "untouched", "rhythm", "puppy", "none"}
ENUMS = {
    "regime": {"", "show", "pet", "staged"},
    "kind": {"length", "relation", "state", "permission", "rhythm", "puppy"},
    "asked_as": ASKED,
    "relation": {"", "shorter", "longer", "equal", "not-shorter", "not-longer"},
    "weeks_of": {
        "",
        "visit",
        "strip",
        "before-show",
        "after-strip",
        "after-body",
        "grip",
        "showable",
        "fluff-out",
        "first-strip",
        "age",
    },
    "about": {"yes", "no"},
    "force": {"says", "implied", "may"},
    "strength": {"standard", "club", "page", "memory"},
    "seen": {"yes", "no"},
    "again": {"yes", "no"},
}
TASKS = {"pull", "card", "clip", "scissor", "comb"}
RANK = {"standard": 0, "club": 1, "page": 2, "memory": 3}
# Figures in their units, with room to spare: the longest coat of a standard is 15 cm, the slowest coat is complete after four years.
BOUNDS = {"mm": (1.0, 200.0), "weeks": (0.25, 210.0)}


def figure(text: str) -> float | None:
    return float(text) if text else None


def at_fault(lines: Iterable[Line], check: Callable[[Line], None]) -> dict[str, str]:
    """Returns the rows that a check objects to, by id, with its first words."""
    found = {}
    for line in lines:
        try:
            check(line)
        except (AssertionError, ValueError, KeyError) as error:
            found[line["id"]] = f"{type(error).__name__} {error}"[:200]
    return found


# ---- regions


@cache
def groups() -> dict[str, frozenset[str]]:
    """Every region and group of the base, with the regions it holds."""
    base = yaml.load((PROFILES / "points-of-the-dog.yaml").read_bytes(), yaml.CSafeLoader)
    known = {region: frozenset({region}) for region in base["regions"]}

    def holds(name: str) -> frozenset[str]:
        if name not in known:
            known[name] = frozenset().union(*map(holds, base["groups"][name]))
        return known[name]

    for group in base["groups"]:
        holds(group)
    return known


def regions(text: str) -> frozenset[str]:
    return frozenset().union(*(groups()[name] for name in text.split("+"))) if text else frozenset()


def test_regions_are_named_as_profiles_name_them() -> None:
    def check(line: Line) -> None:
        assert set(filter(None, line["region"].split("+"))) <= groups().keys()
        than = line.get("than", "")
        assert set(filter(None, than.split("+"))) <= groups().keys()
        assert not regions(line["region"]) & regions(than)

    assert at_fault([*GROWTH, *STATEMENTS], check) == {}


# ---- every row


def test_a_row_is_a_line() -> None:
    # check takes only the lines of one breed apart (coatrules/check/statements.py).
    for name in ("breeds", "statements"):
        lines = (TABLES / f"{name}.csv").read_text(encoding="utf-8").splitlines()
        assert len(lines) == len(table(name)) + 1
    rows = (TABLES / "statements.csv").read_text(encoding="utf-8").splitlines()[1:]
    assert [line.split(",")[1] for line in rows] == [line["breed"] for line in STATEMENTS]


def test_ids_are_unique() -> None:
    for rows, pattern in ((GROWTH, r"E\d{3}"), (STATEMENTS, r"ST\d{3}")):
        assert [name for name, count in Counter(line["id"] for line in rows).items() if count > 1] == []
        assert all(re.fullmatch(pattern, line["id"]) for line in rows)
    assert [line["id"] for line in GROWTH] == [f"E{number:03}" for number in range(1, len(GROWTH) + 1)]


def test_a_row_on_growth_is_well_formed() -> None:
    def check(line: Line) -> None:
        assert {column: line[column] for column in GROWTH_ENUMS if line[column] not in GROWTH_ENUMS[column]} == {}
        assert re.fullmatch(r"[a-z0-9]+(_[a-z0-9]+)*", line["what"])
        assert line["breed"]
        for low, high, unit in (("low", "high", "unit"), ("at_low", "at_high", "at_unit")):
            first, last = figure(line[low]), figure(line[high])
            assert (first is None) == (last is None) == (line[unit] == "")
            if first is not None and last is not None:
                assert first <= last
                least, most = BOUNDS.get(line[unit].split("_")[0], (0.0, 100.0))
                if line[unit] == "mm_per_week":
                    least, most = 0.0, 20.0  # a mouse's whisker grows 7 mm a week
                assert least <= first
                assert last <= most
        if line["used"] == "fit":
            assert line["low"]
            assert line["kind"] not in ("smooth", "other-species", "long-rough")
            assert line["seen"] != "memory"

    assert at_fault(GROWTH, check) == {}


def test_a_statement_is_well_formed() -> None:
    def check(line: Line) -> None:
        assert {column: line[column] for column in ENUMS if line[column] not in ENUMS[column]} == {}
        assert set(filter(None, line["task"].split("+"))) <= TASKS
        for unit in ("mm", "weeks"):
            first, last = figure(line[f"low_{unit}"]), figure(line[f"high_{unit}"])
            least, most = BOUNDS[unit]
            assert all(least <= value <= most for value in (first, last) if value is not None)
            if first is not None and last is not None:
                assert first <= last
        ratio = figure(line["ratio"])
        assert ratio is None or 0 < ratio < 4
        assert line["text"][0].isupper()
        assert line["text"].endswith(".")
        assert len(line["text"]) <= 200, "a statement, not a page"

    assert at_fault(STATEMENTS, check) == {}


NEEDS = {
    "length": {"region"},
    "relation": {"region", "relation", "than"},
    "pulled": {"region", "task"},
    "cut": {"region", "task"},
    "untouched": {"region", "task"},
    "rhythm": {"weeks_of", "high_weeks"},
    "puppy": {"weeks_of", "low_weeks", "high_weeks"},
    "none": set(),
}
MAY_TOO = {
    "length": {"low_mm", "high_mm"},
    "relation": {"ratio"},
    "rhythm": {"region", "low_weeks", "task"},
    "puppy": {"region"},
    "none": {"region", "low_mm", "high_mm", "low_weeks", "high_weeks", "weeks_of"},
}


def test_a_statement_has_what_its_way_of_asking_needs() -> None:
    def check(line: Line) -> None:
        asked = line["asked_as"]
        said = {
            column
            for column in (
                *("region", "relation", "than", "ratio", "task", "weeks_of"),
                *("low_mm", "high_mm", "low_weeks", "high_weeks"),
            )
            if line[column]
        }
        assert said >= NEEDS[asked]
        assert said <= NEEDS[asked] | MAY_TOO.get(asked, set())
        match asked:
            case "length":
                assert line["high_mm"]
            case "pulled":
                assert line["task"] == "pull"
            case "cut":
                assert set(line["task"].split("+")) <= {"clip", "scissor"}
            case "rhythm":
                assert line["weeks_of"] in {"visit", "strip", "before-show", "after-strip", "after-body", "grip"}
            case "puppy":
                assert line["weeks_of"] in {"fluff-out", "first-strip"}

    assert at_fault(STATEMENTS, check) == {}


def test_every_row_names_its_source() -> None:
    def check(line: Line) -> None:
        assert line["title"]
        assert line["publisher"]
        assert line["year"] == "" or 1870 <= int(line["year"]) <= 2026
        assert not re.search(r"https?:|www\.", "".join(line.values())), "a title and a publisher, no address"
        if "again" in line and line["again"] == "yes":
            assert line["seen"] == "yes", "what was read again was seen"
        if line["strength"] == "memory":
            assert line["seen"] in ("no", "memory")

    assert at_fault([*GROWTH, *STATEMENTS], check) == {}


def test_most_statements_were_seen() -> None:
    # Share of pages seen, and of those read again when the table was made. Neither may fall.
    seen = sum(line["seen"] == "yes" for line in STATEMENTS)
    again = sum(line["again"] == "yes" for line in STATEMENTS)
    assert seen / len(STATEMENTS) >= 0.95
    assert again / len(STATEMENTS) >= 0.79


def test_no_statement_is_made_twice_by_one_source() -> None:
    columns = [column for column in STATEMENTS[0] if column not in ("id", "text", "page", "again", "seen")]
    made = Counter(tuple(line[column] for column in columns) for line in STATEMENTS if line["asked_as"] != "none")
    assert [one for one, count in made.items() if count > 1] == []


def test_the_guide_counts_the_rows_and_names_the_columns() -> None:
    guide = (TABLES / "README.md").read_text(encoding="utf-8")
    for name in ("growth", "statements", "breeds"):
        (count,) = re.findall(rf"^\| `{name}\.csv` .* (\d+) \|$", guide, re.MULTILINE)
        assert int(count) == len(table(name))
    for line in (GROWTH[0], STATEMENTS[0]):
        assert [column for column in line if f"`{column}`" not in guide] == []
    assert [asked for asked in ASKED if f"| `{asked}` |" not in guide] == []
    (cited,) = re.findall(r"^  (st\d{3}): (\{.*\})$", guide, re.MULTILINE)
    line = next(line for line in STATEMENTS if line["id"].lower() == cited[0])
    named = yaml.safe_load(cited[1])
    assert (named["title"], named["publisher"], str(named["year"])) == (line["title"], line["publisher"], line["year"])


# ---- breeds


def test_breeds_have_one_identifier_each() -> None:
    # Vertebrate Breed Ontology (Monarch Initiative, CC BY 4.0), with FCI numbers as its cross-references.
    assert list(BREEDS) == sorted(BREEDS)
    for line in BREEDS.values():
        assert re.fullmatch(r"VBO:\d{7}", line["vbo"])
        assert 1 <= int(line["fci"]) <= 400
        assert line["name"]
        assert all(re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*", profile) for profile in line["profiles"].split("+"))
    for one, other in combinations(BREEDS.values(), 2):
        assert (one["fci"] == other["fci"]) == (one["vbo"] == other["vbo"])
        assert not set(one["profiles"].split("+")) & set(other["profiles"].split("+"))


def test_a_statement_is_of_a_breed_in_the_table() -> None:
    def check(line: Line) -> None:
        breed = BREEDS[line["breed"]]
        assert (line["fci"], line["vbo"]) == (breed["fci"], breed["vbo"])

    assert at_fault(STATEMENTS, check) == {}


def test_every_breed_has_statements() -> None:
    assert {line["breed"] for line in STATEMENTS} == BREEDS.keys()


def test_profiles_carry_the_breeds_identifiers() -> None:
    found = {}
    for file in PROFILES.glob("*.yaml"):
        profile = yaml.load(file.read_bytes(), yaml.CSafeLoader)
        if breed := profile.get("breed"):
            found[profile["id"]] = (str(breed["fci"]), breed["vbo"])
    listed = {name: (one["fci"], one["vbo"]) for one in BREEDS.values() for name in one["profiles"].split("+")}
    assert {name: listed.get(name) for name in found} == found


# ---- which source rules


def rank(line: Line) -> tuple[int, int]:
    """Lower rules: what is said before what was read into it, then a standard before a club, a club before a page."""
    return (line["force"] != "says", RANK[line["strength"]])


def test_a_row_yields_to_one_that_rules() -> None:
    def check(line: Line) -> None:
        (ruling,) = (other for other in STATEMENTS if other["id"] == line["yields_to"])
        assert ruling["breed"] == line["breed"]
        assert ruling["yields_to"] == ""
        assert rank(ruling) <= rank(line)

    assert at_fault([line for line in STATEMENTS if line["yields_to"]], check) == {}


def spans(line: Line, unit: str) -> tuple[float, float]:
    """Lower and upper end of a row's figures; a tenth either way where the figure is rounded."""
    slack = 0.1 if line["about"] == "yes" else 0.0
    low, high = figure(line[f"low_{unit}"]) or 0.0, figure(line[f"high_{unit}"])
    assert high is not None
    return low * (1 - slack), high * (1 + slack)


def apart(one: Line, other: Line, unit: str) -> bool:
    (low, high), (least, most) = spans(one, unit), spans(other, unit)
    return high < least or most < low


OPPOSED = {
    frozenset(pair)
    for pair in (
        ("shorter", "longer"),
        ("shorter", "equal"),
        ("longer", "equal"),
        ("shorter", "not-shorter"),
        ("longer", "not-longer"),
    )
}
TURNED = {
    "shorter": "longer",
    "longer": "shorter",
    "equal": "equal",
    "not-shorter": "not-longer",
    "not-longer": "not-shorter",
}


def order(line: Line) -> Iterator[tuple[frozenset[str], frozenset[str], str]]:
    yield regions(line["region"]), regions(line["than"]), line["relation"]
    yield regions(line["than"]), regions(line["region"]), TURNED[line["relation"]]


def contradict(one: Line, other: Line) -> bool:
    """Tells whether no dog can meet both rows: figures apart, relations opposed, a place pulled that is not to be pulled."""
    match one["asked_as"], other["asked_as"]:
        case "length", "length":
            return bool(regions(one["region"]) & regions(other["region"])) and apart(one, other, "mm")
        case "rhythm", "rhythm":
            same = one["weeks_of"] == other["weeks_of"] and one["task"] == other["task"]
            places = regions(one["region"]) & regions(other["region"]) or not (one["region"] or other["region"])
            return same and bool(places) and apart(one, other, "weeks")
        case "puppy", "puppy":
            return one["weeks_of"] == other["weeks_of"] and apart(one, other, "weeks")
        case "relation", "relation":
            return any(
                here & there and than & that and frozenset((relation, opposite)) in OPPOSED
                for here, than, relation in order(one)
                for there, that, opposite in order(other)
            )
        case ("pulled" | "cut", "untouched") | ("untouched", "pulled" | "cut"):
            tasks = set(one["task"].split("+")) & set(other["task"].split("+"))
            return bool(tasks and regions(one["region"]) & regions(other["region"]))
    return False


def test_where_sources_contradict_each_other_one_rules() -> None:
    ruled = [line for line in STATEMENTS if not line["yields_to"] and line["force"] != "may"]
    found = [
        (one["id"], other["id"])
        for one, other in combinations(ruled, 2)
        if one["breed"] == other["breed"]
        and (one["regime"] == other["regime"] or "" in (one["regime"], other["regime"]))
        and contradict(one, other)
    ]
    assert found == []


def test_a_contradiction_is_noticed() -> None:
    base = {"region": "skull", "than": "back", "asked_as": "relation", "relation": "shorter"}
    assert contradict(base, base | {"relation": "longer"})
    assert contradict(base, base | {"region": "back", "than": "skull"})
    assert contradict(base, base | {"region": "head", "relation": "equal"})
    assert not contradict(base, base | {"than": "neck", "relation": "longer"})
    assert not contradict(base, base | {"relation": "not-longer"})
    length = {"region": "back", "asked_as": "length", "low_mm": "20", "high_mm": "30", "about": "no"}
    assert contradict(length, length | {"low_mm": "31", "high_mm": "40"})
    assert not contradict(length, length | {"low_mm": "31", "high_mm": "31", "about": "yes"})
    pulled = {"region": "legs", "asked_as": "pulled", "task": "pull"}
    assert contradict(pulled, {"region": "forearms", "asked_as": "untouched", "task": "pull+clip"})
    assert not contradict(pulled, {"region": "forearms", "asked_as": "untouched", "task": "clip"})


# ---- a few rows typed from the standards again, so that a slip in the table shows


@pytest.mark.parametrize(
    ("breed", "region", "low", "high"),
    [
        (
            "wire-fox-terrier",
            "shoulders",
            "20",
            "20",
        ),  # FCI 169, 2009: 2 cm on shoulder to 4 cm on withers, back, ribs and quarters
        ("wire-fox-terrier", "withers", "40", "40"),
        ("west-highland-white-terrier", "back", "50", "50"),  # FCI 85, 2011: about 5 cm
        ("australian-terrier", "back", "60", "60"),  # FCI 8, 2012: approximately 6 cm
        ("dandie-dinmont-terrier", "forearms", "50", "50"),  # FCI 168, 2017: feather about 5 cm long
        ("irish-terrier", "cheeks", "7.5", "7.5"),  # FCI 139, 2001: about three quarters of a centimetre
        ("dutch-smoushond", "back", "40", "70"),  # FCI 308, 2012: approx. 4 to 7 cm
        ("german-wirehaired-pointer", "back", "20", "40"),  # FCI 98, 2002: approximately 2 to 4 cm
        ("hungarian-wire-haired-vizsla", "beard", "20", "30"),  # FCI 239, 2000: not too long (2-3 cm)
        ("cesky-fousek", "forechest", "50", "70"),  # FCI 245, 2013: guard hair 5 to 7 cm
        ("otterhound", "back", "40", "80"),  # FCI 294, 2011: long, 4 to 8 cm
        ("deerhound", "neck-top", "80", "100"),  # FCI 164, 2012: about 8 to 10 cm
        ("berger-picard", "tail-top", "50", "60"),  # FCI 176, 2010: 5 to 6 cm over the entire body including the tail
        ("pumi", "tail-under", "70", "120"),  # FCI 56, 2000: 7 to 12 cm
        ("istrian-wire-haired-hound", "ribs", "50", "80"),  # FCI 152, 2015: about 5 to 8 cm
    ],
)
def test_lengths_are_those_of_the_standards(breed: str, region: str, low: str, high: str) -> None:
    found = [
        (line["low_mm"], line["high_mm"])
        for line in STATEMENTS
        if line["breed"] == breed and line["asked_as"] == "length" and region in regions(line["region"])
    ]
    assert any((figure(first), figure(last)) == (float(low), float(high)) for first, last in found), found


def test_the_lakeland_is_stripped_in_the_clubs_stages() -> None:
    # United States Lakeland Terrier Club, Staging methods of stripping: from a line behind the foreleg to the base of the tail first.
    stages = {
        region: spans(line, "weeks")
        for line in STATEMENTS
        if line["breed"] == "lakeland-terrier" and line["weeks_of"] == "before-show"
        for region in regions(line["region"])
    }
    assert stages["croup"] == stages["withers"] == stages["ribs"] == (8, 10)
    assert stages["neck-top"] == (6, 8.5)
    assert stages["shoulders"] == stages["throat"] == stages["forechest"] == (4, 5)
    assert stages["tail-top"][0] == pytest.approx(5.4)
    assert stages["skull"][1] == pytest.approx(4.4)
