"""Programs that use every public name and every method of an engine: they run; mypy reads them strictly, as it does all tests."""

from __future__ import annotations

import ast

import pytest

import coatrules
from tests.support import uses_every_method, uses_everything
from tests.support.paths import EXAMPLES, ROOT

PROGRAM = ROOT / "tests" / "support" / "uses_everything.py"
METHODS = PROGRAM.with_name("uses_every_method.py")


def test_it_names_every_public_name() -> None:
    tree = ast.parse(PROGRAM.read_text(encoding="utf-8"))
    imported = {alias.name for node in tree.body if isinstance(node, ast.ImportFrom) for alias in node.names}
    used = {node.id for node in ast.walk(tree) if isinstance(node, ast.Name)}
    assert set(coatrules.__all__) <= imported & used


@pytest.mark.slow
def test_it_runs() -> None:
    said = list(uses_everything.main())
    assert "True" in said
    assert "False" not in said
    assert said[-1] == "1 rows, 1 read"


def test_it_calls_every_method_of_an_engine() -> None:
    tree = ast.parse(METHODS.read_text(encoding="utf-8"))
    called = {
        node.func.attr for node in ast.walk(tree) if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute)
    }
    methods = {
        name for name in dir(coatrules.Engine) if not name.startswith("_") and callable(getattr(coatrules.Engine, name))
    }
    assert methods <= called


@pytest.mark.slow
def test_every_method_does_what_it_says() -> None:
    sheet = EXAMPLES / "import" / "old-book.csv"
    said = list(uses_every_method.main(sheet, sheet.with_name("mapping.yaml")))
    assert said[-1] == "import 2 ()"
