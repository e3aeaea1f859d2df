"""The embedder's guide: its lines run, its reference and its page of codes are fresh, what it names is there."""

from __future__ import annotations

import re

import coatrules
from tests.generated_reference import CODES, GUIDE, codes, guide
from tests.support.paths import EXAMPLES, ROOT

TEXT = GUIDE.read_text(encoding="utf-8")
BY_HAND = TEXT.split("<!-- ")[0]


def test_its_lines_run() -> None:
    names: dict[str, object] = {}
    blocks = re.findall(r"```python\n(.*?)```", BY_HAND, re.DOTALL)
    assert len(blocks) >= 5
    for block in blocks:
        exec(block, names)  # the guide's own lines, one after the other
    history = names["history"]
    assert isinstance(history, coatrules.History)
    assert len(history.visits) == 4
    assert len(history.counting()) == 1


def test_the_reference_is_fresh() -> None:
    assert guide() == TEXT, "run: python -m tests.generated_reference"


def test_the_codes_are_fresh() -> None:
    assert codes() == CODES.read_text(encoding="utf-8"), "run: python -m tests.generated_reference"


def test_every_public_name_has_an_entry() -> None:
    entries = set(re.findall(r"^#{3,4} ([\w.]+)$", TEXT, re.MULTILINE))
    methods = {f"Engine.{name}" for name in vars(coatrules.Engine) if not name.startswith("_")} - {
        "Engine.locale",
        "Engine.minutes",
        "Engine.salon",
    }
    assert set(coatrules.__all__) | methods <= entries


def test_every_example_is_named_and_every_name_is_an_example() -> None:
    named = set(re.findall(r"^\| `([\w.]+)` \|", BY_HAND, re.MULTILINE))
    there = {file.name for file in EXAMPLES.iterdir() if file.is_file()} - {"README.md"}
    assert named == there


def test_readme_has_no_link_that_a_page_of_packages_cannot_follow() -> None:
    # The README is shown on pages that do not have the files beside it.
    links = re.findall(r"\]\(([^)]+)\)", (ROOT / "README.md").read_text(encoding="utf-8"))
    assert [link for link in links if not link.startswith("https://")] == []
