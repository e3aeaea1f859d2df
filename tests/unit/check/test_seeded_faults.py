"""Faults planted in the shipped profiles: ``check`` must find each, at the line where it was planted.

Every kind is planted in one profile; all kinds in all profiles (an hour), or every n-th pair of both, which has each kind and each
profile in it: ``python -m tests.unit.check.test_seeded_faults [n]``.
"""

from __future__ import annotations

import sys
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

import pytest
import yaml

from coatrules.check import examine
from coatrules.formats.resources import folder
from coatrules.profile.loading import load_profile
from coatrules.profile.model import Profile
from coatrules.profile.shelves import library

pytestmark = pytest.mark.slow

NAMES = sorted(name for name, file in library().items() if "\n    layers: " in file.read_text(encoding="utf-8"))
"""Profiles with a target of their own, to plant faults in."""


class Bed:
    """A profile's text to plant a fault in; ``line`` is where."""

    def __init__(self, name: str) -> None:
        self.profile: Profile = load_profile(name)
        self.lines = (folder("profiles") / f"{name}.yaml").read_text(encoding="utf-8").splitlines()
        self.line = 0

    def insert(self, section: str, entry: str) -> None:
        """Puts an entry (one line) first into a section; the section is made if it is not there."""
        at = next((n for n, line in enumerate(self.lines) if line.startswith(f"{section}:")), None)
        if at is None:
            self.lines.append(f"{section}:")
            at = len(self.lines) - 1
        assert self.lines[at].split("#")[0].strip() == f"{section}:", "sections are written in lines of their own"
        below = (line for line in self.lines[at + 1 :] if line.strip() and not line.lstrip().startswith("#"))
        entries = next(below, "")  # the new one stands as far in as those that are there
        self.lines.insert(at + 1, " " * (len(entries) - len(entries.lstrip()) or 2) + entry)
        self.line = at + 2

    def change(self, path: tuple[str, ...], new: str) -> None:
        """Writes another value at a path that the file itself has."""
        node = yaml.compose("\n".join(self.lines), Loader=yaml.SafeLoader)
        for part in path:
            assert isinstance(node, yaml.MappingNode)
            node = next(value for key, value in node.value if key.value == part)
        assert node is not None
        (row, start), (end_row, end) = ((mark.line, mark.column) for mark in (node.start_mark, node.end_mark))
        assert row == end_row
        self.lines[row] = self.lines[row][:start] + new + self.lines[row][end:]
        self.line = row + 1

    def target(self, **has: object) -> str:
        """The first layer target of the file itself that is no full strip."""
        data = yaml.safe_load("\n".join(self.lines))
        for name in data.get("layer_targets", {}):
            target = self.profile.layer_targets.get(name)
            values = data["layer_targets"][name] or {}
            if target is not None and not target.full_strip and all(key in values for key in has):
                return str(name)
        raise LookupError(f"no layer target with {', '.join(has)}")


def rule(condition: str, effect: str = "{priority: 1}", regions: str = "", more: str = "source: practice") -> str:
    where = f"regions: [{regions}], " if regions else ""
    return f"planted: {{{where}if: {condition}, then: {effect}, because: Planted., {more}}}".replace(", }", "}")


def rules(
    condition: str, effect: str = "{priority: 1}", regions: str = "", more: str = "source: practice"
) -> Callable[[Bed], None]:
    return lambda bed: bed.insert("rules", rule(condition, effect, regions, more))


def inserts(section: str, entry: str) -> Callable[[Bed], None]:
    return lambda bed: bed.insert(section, entry)


def changes(key: str, new: str, within: str = "") -> Callable[[Bed], None]:
    def plant(bed: Bed) -> None:
        keys = {within or key: True}
        path = (within, key) if within else (key,)
        bed.change(("layer_targets", bed.target(**keys), *path), new)

    return plant


def misspells(bed: Bed) -> None:
    changes("usual", "0.2", "take")(bed)
    bed.lines[bed.line - 1] = bed.lines[bed.line - 1].replace("usual", "usuall", 1)


def misspelt_section(bed: Bed) -> None:
    bed.insert("layer_tagets", "planted: 1")
    bed.line -= 1


def twice(bed: Bed) -> None:
    rules("{cover: {maximum: 0.3}}")(bed)
    rules("{cover: {maximum: 0.2}}")(bed)
    bed.line += 1


def floor_over_cap(bed: Bed) -> None:
    where = ", ".join(bed.profile.layer_targets[bed.target()].regions)
    bed.insert(
        "rules", rule("{cover: {maximum: 0.9}}", "{take: {at_most: 0.01}}", where).replace("planted", "planted-too")
    )
    bed.insert("rules", rule("{cover: {minimum: 0.6}}", "{take: {at_least: 0.02}}", where))


def floor_over_target(bed: Bed) -> None:
    where = ", ".join(bed.profile.layer_targets[bed.target()].regions)
    rules("{cover: {minimum: 0.9}}", "{take: {at_least: 0.999}}", where)(bed)


def cap_over_target(bed: Bed) -> None:
    name = bed.target()
    if bed.profile.layer_targets[name].take.at_most >= 0.99:
        raise LookupError("the target allows all")
    rules("{cover: {minimum: 0.9}}", "{take: {at_most: 0.99}}", ", ".join(bed.profile.layer_targets[name].regions))(bed)


def clipper_target(bed: Bed) -> None:
    if not bed.profile.layer_targets:
        raise LookupError("with a target a base would be none")
    bed.insert(
        "layer_targets",
        "planted: {regions: [perineum], layers: 2, take: {usual: 0.5}, source: practice}",
    )


def short_visit(bed: Bed) -> None:
    bed.change(("visit", "minutes"), "4")


def growth(key: str, value: str) -> Callable[[Bed], None]:
    def plant(bed: Bed) -> None:
        coat = next(iter(bed.profile.coats))
        coats = yaml.safe_load("\n".join(bed.lines)).get("coats", {})
        if coat in coats:
            if key in coats[coat]:
                bed.change(("coats", coat, key), value)
                return
            coat = next(name for name in bed.profile.coats if name not in coats)
        bed.insert("coats", f"{coat}: {{{key}: {value}}}")

    return plant


def case(expect: str, more: str = "date: 2026-01-05") -> Callable[[Bed], None]:
    return inserts("cases", f"planted: {{history: {{format: 1, dog: {{id: planted}}}}, {more}, expect: {expect}}}")


def unused(section: str, entry: str) -> Callable[[Bed], None]:
    def plant(bed: Bed) -> None:
        if not bed.profile.layer_targets and bed.profile.breed is None:
            raise LookupError("what a base does not use is for others")
        bed.insert(section, entry)

    return plant


def unworked(bed: Bed) -> None:
    if not bed.profile.layer_targets:
        raise LookupError("a base leaves the work to others")
    bed.insert("regions", f"planted: {LONE}")


def regime_that_is_none(bed: Bed) -> None:
    bed.lines.insert(1, "regime: petrol")
    bed.line = 2


def keys_beside_their_name(bed: Bed) -> None:
    bed.insert("rules", "because: Planted.")
    bed.insert("rules", "then: {priority: 1}")
    bed.insert("rules", "if: {cover: {maximum: 0.3}}")
    bed.insert("rules", "planted:")
    bed.line += 1


def copied(bed: Bed) -> None:
    bed.insert("rules", rule("{cover: {maximum: 0.3}}").replace("planted", "planted-too"))
    bed.insert("rules", rule("{cover: {maximum: 0.3}}"))
    bed.line += 1


def taken_out_by_a_word(bed: Bed) -> None:
    if "beard" in yaml.safe_load("\n".join(bed.lines)).get("regions", {}):
        raise LookupError("it would be there twice")
    bed.insert("regions", "beard: remove")


def in_two_zones(bed: Bed) -> None:
    zone = "{regions: [back, PART], level: low, bout_minutes: 5, rest_minutes: 2, because: Planted., source: practice}"
    bed.insert("sensitive_zones", f"planted-too: {zone.replace('PART', 'croup')}")
    bed.insert("sensitive_zones", f"planted: {zone.replace('PART', 'loin')}")
    bed.line += 1


def torn(bed: Bed) -> None:
    rules("{cover: {maximum: 0.3}")(bed)


def tab(bed: Bed) -> None:
    bed.insert("rules", "\tplanted: {if: {cover: 1}, then: {priority: 1}, because: Planted.}")


LONE = "{label: Planted, coat: jacket, anatomy: none, source: practice}"
IMPLAUSIBLE = "figures-range figure-unsupported figures-grown figures-full"
"""Outside what the profile itself says is possible, or where it says nothing what the sources do; or against another figure."""
KINDS: dict[str, tuple[str | None, Callable[[Bed], None]]] = {
    # --- what cannot be read, or is against the schema: any code, at the line ---
    "a tab": (None, tab),
    "a bracket left open": (None, torn),
    "a name twice": (None, twice),
    "a section misspelt": (None, misspelt_section),
    "a key misspelt": (None, misspells),
    "a share over one": (None, changes("usual", "20", "take")),
    "a share below nothing": (None, changes("usual", "-0.2", "take")),
    "words for a number": (None, changes("layers", "four")),
    "half a layer": (None, changes("layers", "3.5")),
    "an unknown keyword": (None, rules("{longest_mm: {min: 3}}")),
    "a rule without a reason": (
        None,
        inserts("rules", "planted: {if: {cover: 1}, then: {priority: 1}, source: practice}"),
    ),
    "a rule without effect": (None, rules("{cover: {maximum: 0.3}}", "{}")),
    "an unknown effect": (None, rules("{cover: {maximum: 0.3}}", "{stop: true}")),
    "an unknown task": (None, rules("{cover: {maximum: 0.3}}", "{leave: [plucking]}")),
    "no such day": (None, case("{refer: false}", "date: 2026-02-30")),
    # --- names that lead nowhere ---
    "an unknown region": ("unknown-name", rules("{cover: {maximum: 0.3}}", regions="bakc")),
    "an unknown fact": ("unknown-fact", rules("{longst_mm: {minimum: 3}}")),
    "an unknown method": ("unknown-name", rules("{cover: {maximum: 0.3}}", "{use: no-such-tool}")),
    "an unknown source": ("unknown-name", rules("{cover: {maximum: 0.3}}", more="source: no-such-book")),
    "an unknown coat": ("unknown-name", inserts("regions", "planted: {label: Planted, coat: jackt}")),
    "an unknown base": ("unknown-profile", lambda bed: bed.change(("extends",), "no-such-base")),
    "an id that is not the file's": ("id-not-file", lambda bed: bed.change(("id",), "planted")),
    "a group in itself": ("group-loop", inserts("groups", "planted: [planted]")),
    "a low spot above the usual": ("figures", changes("take", "{usual: 0.1, at_most: 0.2, low_spot: 0.15}")),
    # --- what loads and is hardly meant ---
    "limits that exclude each other": ("rule-never", rules("{cover: {minimum: 0.8, maximum: 0.2}}")),
    "a length no hair has": ("rule-never", rules("{outline_mm: {minimum: 310}}")),
    "a word no fact has": ("fact-value", rules("{last_reaction: stopped}")),
    "a last visit before the first": ("rule-never", rules("{weeks_since_visit: {minimum: 3}, visits: 0}")),
    "blown hair that is not through": (
        "rule-never",
        rules("{blown_share: {minimum: 0.5}, through_share: {maximum: 0.3}}"),
    ),
    "a limit that all reach": ("rule-always", rules("{cover: {minimum: 0}}")),
    "half an idle condition": ("condition-idle", rules("{last_reaction: stop, cover: {maximum: 1}}")),
    "a floor over a cap": ("rules-conflict", floor_over_cap),
    "a floor over the target": ("rules-conflict", floor_over_target),
    "a cap over the target": ("rule-idle", cap_over_target),
    "a share where only the clipper goes": (
        "rule-hidden",
        rules("{cover: {minimum: 0.9}}", "{take: {at_most: 0.1}}", "perineum"),
    ),
    "work on unsound skin": ("rule-hidden", rules("{skin: unsound}", "{add: {comb: 2}}")),
    "a rule no case fires": ("rule-untested", rules("{age_weeks: {minimum: 1000}}")),
    "numbers without a source": (
        "no-source",
        inserts("regions", "planted: {label: Planted, coat: jacket, minutes: {pull: 3}, anatomy: none}"),
    ),
    "a source for a misspelt key": ("source-key", rules("{cover: {maximum: 0.3}}", more="source: {iff: practice}")),
    "too many layers": ("target-unreachable", changes("layers", "20")),
    "more cover than stays": ("target-unreachable", changes("cover", "{at_least: 0.99}")),
    "an outline never kept": ("target-unreachable", changes("longest_mm", "[1, 3]")),
    "an outline never reached": ("target-unreachable", changes("longest_mm", "[290, 300]")),
    "a target under the clipper": ("target-on-clipper", clipper_target),
    "a region nothing is done on": ("region-unworked", unworked),
    "a visit of four minutes": ("visit-too-short", short_visit),
    "a day's growth for a week's": (IMPLAUSIBLE, growth("mm_per_week", "0.33")),
    "days for weeks": (IMPLAUSIBLE, growth("lag_weeks", "14")),
    "inches for millimetres": (IMPLAUSIBLE, growth("full_mm", "12.5")),
    "a tool that never has its turn": (
        "method-never",
        inserts("methods", "planted: {label: planted, does: pull, rank: -50, source: practice}"),
    ),
    "a tool for what never is": (
        "method-never",
        inserts(
            "methods", "planted: {label: planted, does: pull, if: {undercoat: {minimum: 2}}, rank: 9, source: practice}"
        ),
    ),
    "a zone that loosens another": (
        "floor-tender",
        inserts(
            "sensitive_zones",
            "planted: {regions: [front-toes], level: low, bout_minutes: 9, rest_minutes: 1, source: practice}",
        ),
    ),
    "a group nobody names": ("group-unused", unused("groups", "planted: [back, loin]")),
    "a source nobody names": ("source-unused", unused("sources", "planted: {common_practice: true}")),
    "a comparison nobody asks for": (
        "comparison-unused",
        unused("comparisons", "planted: {fact: cover, of: legs, to: body}"),
    ),
    "a case that fails": ("case-unmet", case("{regions: {back: {blown_share: 0.5}}}")),
    "a case that expects nothing": ("case-idle", case("{}")),
    "an expectation that cannot fail": (
        "expectation-idle",
        case("{refer: false, regions: {back: {cover: {minimum: 0}}}}"),
    ),
    "a case with an unknown region": ("unknown-name", case("{regions: {bakc: {cover: 1}}}")),
    "a case with a wrong history": (
        "unknown-part",
        inserts(
            "cases",
            "planted: {history: {format: 1, dog: {id: planted}, arrival: {bakc: {grown_weeks: 3}}}, date: 2026-01-05, "
            "expect: {refer: false}}",
        ),
    ),
    # --- slips of a hand at the keyboard ---
    "a comma for a point": (None, changes("usual", "0,2", "take")),
    "per cent": (None, changes("usual", "20%", "take")),
    "a fraction": (None, changes("usual", "1/5", "take")),
    "a range with a dash": (None, changes("longest_mm", "40–60")),
    "a range in words": (None, changes("longest_mm", "40 to 60 mm")),
    "a unit behind a number": (None, changes("layers", "4 layers")),
    "centimetres": (None, growth("ready_mm", "0.8 cm")),
    "centimetres for millimetres": ("figure-unsupported", growth("ready_mm", "0.8")),
    "days behind a number": (None, growth("rests_weeks", "70 days")),
    "a sign for at most": ("fact-value", rules("{age_weeks: < 26}")),
    "a sign for more than": (None, rules("{age_weeks: > 26}")),
    "a range in a condition": (None, rules("{age_weeks: {maximum: 26-40}}")),
    "an odd space behind a colon": (None, rules("{cover:\u00a0{maximum: 0.3}}")),
    "curled quotes": (
        "curled-quotes",
        inserts("rules", "planted: {if: {cover: 1}, then: {priority: 1}, because: “Planted”, source: practice}"),
    ),
    "a comment within brackets": (
        None,
        inserts("rules", "planted: {if: {cover: 1}, then: {priority: 1}, because: No # 3 it is, source: practice}"),
    ),
    "a dash that is part of a name": (None, rules("{cover: {maximum: 0.3}}", regions="-back")),
    "yes for true": (None, case("{refer: yes}")),
    "no value": (None, rules("{cover: {maximum: 0.3}}", "{priority: }")),
    "a list of facts": (None, rules("[cover, layers]")),
    "a list as a test": (None, rules("{last_reaction: [calm, stop]}")),
    "a capital": (None, inserts("groups", "Planted: [back]")),
    "a day the other way round": (None, case("{refer: false}", "date: 21.03.2026")),
    # --- more names and figures ---
    "an unknown group member": ("unknown-name", inserts("groups", "planted: [back, lion]")),
    "an unknown rule in a case": ("unknown-name", case("{rules: [no-such-rule]}")),
    "a refer for the whole dog that is none": (
        "whole-dog",
        rules("{cover: {maximum: 0.3}}", "{whole_dog: true, priority: 1}"),
    ),
    "an alternative that never is": (
        "alternative-never",
        rules("{anyOf: [{longest_mm: {minimum: 299}}, {cover: {maximum: 0.3}}]}"),
    ),
    "a visit longer than a day": ("floor-day", lambda bed: bed.change(("visit", "minutes"), "200")),
    "a coat spelt as none": ("schema-new-entry", inserts("coats", "jackett: {cover_mm: 9}")),
    "a removed name that is none": ("no-value", inserts("groups", "furnishings-of-hea: null")),
    "a case before its visit": (
        "visit-after-case",
        inserts(
            "cases",
            "planted: {history: {format: 1, dog: {id: planted}, visits: [{visit: 2026-02-01, work: {back: {pull: 0.2}}}]}, "
            "date: 2026-01-05, expect: {refer: false}}",
        ),
    ),
    "a comparison of words": ("fact-not-a-number", inserts("comparisons", "planted: {fact: skin, of: back, to: loin}")),
    # --- what somebody writes who does so once a year ---
    "a month by name": ("fact-value", rules("{month: June}")),
    "a season by another name": ("fact-value", rules("{time_of_year: fall}")),
    "a bitch": ("fact-value", rules("{sex: bitch}")),
    "bounds the wrong way round": ("rule-never", rules("{longest_mm: {minimum: 60, maximum: 15}}")),
    "an age in months": ("unknown-fact", rules("{age_months: {minimum: 6}}")),
    "a fact in words": ("unknown-fact", rules("{weeks since visit: {minimum: 5}}")),
    "lengths the wrong way round": (None, changes("longest_mm", "[60, 15]")),
    "names in a sentence": (None, inserts("groups", "planted: back and loin")),
    "names in braces": ("no-value", inserts("groups", "planted: {back, loin}")),
    "a share without its key": (None, changes("take", "0.2")),
    "a share in words": (None, changes("take", "a fifth")),
    "no space behind a colon": (None, rules("{cover:{maximum: 0.3}}")),
    "an equals sign": (None, inserts("coats", "planted: mm_per_week = 4")),
    "a month for an interval": (None, lambda bed: bed.change(("visit", "every_weeks"), "monthly")),
    "a day with its month by name": (None, case("{refer: false}", "date: 5 March 2026")),
    "an outcome without its key": (None, case("{regions: {back: worked}}")),
    "an outcome that is none": ("fact-value", case("{regions: {back: {outcome: done}}}")),
    "a source in words": (None, rules("{cover: {maximum: 0.3}}", more="source: our breed standard")),
    "a base by its label": ("unknown-profile", lambda bed: bed.change(("extends",), "Points of the Dog")),
    "two bases": ("extends", lambda bed: bed.change(("extends",), "[points-of-the-dog, terrier]")),
    "a base that is itself": ("extends-itself", lambda bed: bed.change(("extends",), bed.profile.id)),
    "a regime that is none": ("unknown-regime", regime_that_is_none),
    "an entry's keys beside its name": ("schema-misplaced", keys_beside_their_name),
    "a section within another": ("schema-unknown-key", inserts("regimes", "planted: {extends: border-terrier}")),
    "a rule copied and not changed": ("rules-same", copied),
    "an acceptance without why": ("no-value", inserts("accept", "region-unworked:")),
    "an acceptance of what is none": ("accept-never", inserts("accept", "region-unwork: We know.")),
    "a region taken out by a word": (None, taken_out_by_a_word),
    "a region in two zones": ("overlap", in_two_zones),
    "an apostrophe within single quotes": (
        "yaml-apostrophe",
        inserts("regions", "planted: {label: 'The dog's back', coat: jacket, anatomy: none, source: practice}"),
    ),
    "a tab behind a value": ("tab", inserts("groups", "planted: [back, loin]\t# ours")),
    "a visit in days": ("figure-unsupported", lambda bed: bed.change(("visit", "every_weeks"), "0.1")),
}


class Found(NamedTuple):
    """Whether a fault was found at its line, and whether what is told first is told of that line."""

    there: bool
    first: bool


def is_found(name: str, kind: str, directory: Path) -> Found | None:
    """What became of a fault; None where the profile has no soil for it."""
    code, plant = KINDS[kind]
    bed = Bed(name)
    try:
        plant(bed)
    except (LookupError, StopIteration, AssertionError):
        return None
    file = directory / f"{name}.yaml"
    file.write_text("\n".join(bed.lines) + "\n", encoding="utf-8")
    problems = examine(file, [file.parent])
    file.unlink()  # or it would be found beside the next one, as what that extends
    hit = [problem for problem in problems if problem.file == str(file) and problem.line == bed.line]
    there = any(code is None or problem.code in code.split() for problem in hit) and all(
        problem.hint or code is None for problem in hit
    )
    return Found(there, bool(problems) and (problems[0].file, problems[0].line) == (str(file), bed.line))


def planted(number: int, kind: str, directory: Path) -> tuple[str, Found]:
    """A kind planted in one profile, another for each kind, the first from there on that has the soil for it."""
    for name in (*NAMES[number * 7 % len(NAMES) :], *NAMES):
        if (found := is_found(name, kind, directory)) is not None:
            return name, found
    raise LookupError(kind)


def test_there_are_kinds_enough() -> None:
    assert len(KINDS) >= 95
    assert len(NAMES) >= 1


def test_97_percent_of_the_faults_planted_are_found_at_their_line_and_told_first(tmp_path: Path) -> None:
    results = {kind: planted(number, kind, tmp_path) for number, kind in enumerate(KINDS)}
    missed = [(kind, name) for kind, (name, found) in results.items() if not found.there]
    late = [(kind, name) for kind, (name, found) in results.items() if found.there and not found.first]
    assert len(missed) <= 0.03 * len(results), missed
    assert len(late) <= 0.05 * len(results), late


@pytest.mark.parametrize("name", NAMES[:1])
def test_nothing_is_found_where_nothing_was_planted(name: str, tmp_path: Path) -> None:
    file = tmp_path / f"{name}.yaml"
    file.write_text("\n".join(Bed(name).lines) + "\n", encoding="utf-8")
    assert not examine(file, [file.parent])


def sweep(every: int) -> None:
    """All kinds in the profiles of the library, or every so manieth pair of both: then each kind in another part of the profiles."""
    names = sorted(library())
    pairs = [(name, kind) for n, name in enumerate(names) for m, kind in enumerate(KINDS) if (n + m) % every == 0]
    planted, there, first = 0, 0, 0
    with tempfile.TemporaryDirectory() as directory:
        for name, kind in pairs:
            if (found := is_found(name, kind, Path(directory))) is None:
                continue
            planted, there, first = planted + 1, there + found.there, first + found.first
            if not (found.there and found.first):
                print("late:" if found.there else "missed:", name, kind, flush=True)
    print(f"{planted} planted: {there / planted:.1%} found at their line, {first / planted:.1%} told first")


if __name__ == "__main__":
    sweep(int(sys.argv[1]) if len(sys.argv) > 1 else 1)
