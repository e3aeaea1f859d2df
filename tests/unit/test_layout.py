"""Which package may import which: the way of the data, held both ways, so that a permission no longer used is a failure too."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

from tests.support.paths import ROOT

PACKAGE = ROOT / "coatrules"
MAY_IMPORT = {
    "read_only": "",
    "catalogue": "read_only",
    "problems": "catalogue read_only",
    "disk": "catalogue problems",
    "extras": "problems",
    "reading": "catalogue problems read_only",
    "conditions": "catalogue problems",
    "formats": "catalogue conditions disk problems read_only reading",
    "coat": "formats read_only",
    "learning": "coat read_only",
    "profile": "catalogue coat conditions disk formats problems read_only reading",
    "dog": "catalogue coat disk formats learning problems profile read_only reading",
    "order": "catalogue coat conditions dog formats learning problems profile read_only",
    "recording": "catalogue disk dog formats order problems profile read_only reading",
    "plan": "book catalogue coat dog extras formats order problems profile read_only recording",
    "book": "catalogue disk dog formats order problems profile read_only reading",
    "check": "catalogue coat conditions disk dog formats learning order problems profile read_only reading",
    "mentor": "catalogue coat dog formats learning order problems profile read_only reading recording",
    "editor": "catalogue check extras formats problems profile reading",
    "report": "book catalogue check coat conditions disk dog extras formats learning mentor order plan problems profile reading recording",
    "engine": "book catalogue check dog extras formats mentor order plan problems profile recording report",
    "cli": "book catalogue disk dog engine extras formats order problems profile reading recording",
    "": "book catalogue coat conditions dog engine formats learning mentor order plan problems profile recording report",
    "__main__": "cli",
}
"""By package or module; the root itself is the empty name."""


def imported(file: Path) -> set[str]:
    """The packages of coatrules that a file imports, wherever in it; its own is left out."""
    own = room(file)
    names = {
        name
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8")))
        for name in (
            [node.module or ""]
            if isinstance(node, ast.ImportFrom)
            else [alias.name for alias in node.names]
            if isinstance(node, ast.Import)
            else []
        )
    }
    return {name.split(".")[1] for name in names if name.startswith("coatrules.")} - {own}


def room(file: Path) -> str:
    inside = file.relative_to(PACKAGE)
    return inside.parts[0] if len(inside.parts) > 1 else inside.stem.removesuffix("__init__")


def rooms() -> dict[str, list[Path]]:
    files: dict[str, list[Path]] = {}
    for file in sorted(PACKAGE.rglob("*.py")):
        files.setdefault(room(file), []).append(file)
    return files


def test_the_table_names_every_package() -> None:
    assert rooms().keys() == MAY_IMPORT.keys()


@pytest.mark.parametrize("name", MAY_IMPORT)
def test_a_package_imports_what_its_line_says(name: str) -> None:
    assert set().union(*map(imported, rooms()[name])) == set(MAY_IMPORT[name].split())


OF_FILES = {
    *("book.checkpoint", "book.entries", "book.fleet", "book.verification", "dog.frames", "dog.loading"),
    *("formats.documents", "formats.resources", "order.salon", "profile.graph"),
    *("recording.append", "recording.folders", "recording.sheets", "recording.visits"),
}
"""What works on files: books, histories, folders of profiles, sheets."""
TYPED = {
    *("dog.history", "formats.validation", "formats.values", "profile.compiled"),
    *(
        "recording.answered",
        "recording.answers",
        "recording.draft",
        "recording.entry",
        "recording.lines",
        "recording.parts",
        "recording.text",
        "recording.typed",
    ),
}
"""What understands the words that people type, and puts a visit together of them."""


def test_the_command_line_is_made_of_the_public_object() -> None:
    # It went past it, and what it could do another program could not.
    of_the_root = {"catalogue", "disk", "engine", "extras", "problems", "reading"}
    files = [file for file in (PACKAGE / "cli").glob("*.py") if file.stem != "__init__"]
    modules = {
        node.module or ""
        for file in files
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8")))
        if isinstance(node, ast.ImportFrom)
    }
    found = {name.removeprefix("coatrules.") for name in modules if name.startswith("coatrules.")}
    beyond = {name for name in found if name.partition(".")[0] not in of_the_root | {"cli"}}
    assert {"recording.typed" if name == "recording" else name for name in beyond} == OF_FILES | TYPED


def test_no_package_leads_back_to_itself() -> None:
    left = {name: set(may.split()) for name, may in MAY_IMPORT.items()}
    while free := [name for name, may in left.items() if not may & left.keys()]:
        for name in free:
            del left[name]
    assert not left
