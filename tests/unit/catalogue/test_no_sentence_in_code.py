"""No sentence stands in code: whatever a person reads has a code in the catalogue. Looked for in the source; nothing is run."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator

from tests.support.paths import ROOT

PACKAGE = ROOT / "coatrules"
SENTENCE = re.compile(r"[A-Za-z]{2,}[,;:]? [a-z]{2,}[,;:]? [a-z]{2,}|^[A-Z][a-z]+ [a-z]+[.!?]$")
"""Three words of a sentence, or two that end as one does."""
NO_SENTENCES = {
    "cli/complaints.py": "what argparse says, as patterns",
    "conditions/compiling.py": "source that is compiled",
    "dog/frames.py": "the mark behind a visit in a file, which is read again",
    "profile/floor.py": "names of regions",
    "reading/yaml_text.py": "what the YAML library says, as patterns",
    "report/chart.py": "what matplotlib warns of, as a pattern",
}
"""Texts that only look so, by the module that they stand in."""


def looks_like_sentences(source: str) -> Iterator[str]:
    """The texts of a module that a person might read; not its docstrings, nor what programmers are told (``raise``)."""
    tree = ast.parse(source)
    told = {id(inner) for node in ast.walk(tree) if isinstance(node, ast.Raise) for inner in ast.walk(node)}
    told |= {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr)}
    texts = (node for node in ast.walk(tree) if isinstance(node, ast.Constant) and id(node) not in told)
    yield from (node.value for node in texts if isinstance(node.value, str) and SENTENCE.search(node.value))


def test_no_sentence_stands_in_code() -> None:
    found = {
        file.relative_to(PACKAGE).as_posix(): texts
        for file in sorted(PACKAGE.rglob("*.py"))
        if not file.is_relative_to(PACKAGE / "catalogue" / "english")
        and (texts := list(looks_like_sentences(file.read_text(encoding="utf-8"))))
    }
    assert {name: texts for name, texts in found.items() if name not in NO_SENTENCES} == {}
    assert found.keys() == NO_SENTENCES.keys()


def test_it_finds_what_stands_in_code() -> None:
    for line in (
        'print("the dog is not here")',
        'print(f"{dog} must come back soon")',
        'out = "No dogs."',
        'problem = {"message": "the request is bad"}',
        'write("Wait here!" if late else "")',
    ):
        assert list(looks_like_sentences(line)), line
    for line in ('"""A docstring of a module."""', 'raise ValueError("this is for programmers")', 'say("order.time")'):
        assert not list(looks_like_sentences(line)), line
