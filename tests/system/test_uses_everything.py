"""The program that uses every public name: it names them all and runs; mypy reads it strictly, as it does all tests."""

from __future__ import annotations

import ast

import pytest

import coatrules
from tests.support import uses_everything
from tests.support.paths import ROOT

PROGRAM = ROOT / "tests" / "support" / "uses_everything.py"


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
