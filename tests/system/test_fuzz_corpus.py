"""Every input that a fuzzer was given to start from, or has ever broken a target with, holds now (``tests/fuzz``)."""

from __future__ import annotations

from pathlib import Path
from random import Random

import pytest

from coatrules.dog.loading import load_history
from coatrules.problems import InputError
from coatrules.profile.loading import load_profile
from tests.fuzz.__main__ import CORPUS, WATCHED
from tests.fuzz.targets import TARGETS, VISITS, Choices, damaged
from tests.support.book import PROFILE

pytestmark = pytest.mark.slow

FILES = sorted(file for name in WATCHED for file in (CORPUS / name).iterdir())


def test_every_target_has_its_corpus() -> None:
    assert set(TARGETS) == set(WATCHED) == {file.parent.name for file in FILES}


@pytest.mark.parametrize("file", FILES, ids=lambda file: f"{file.parent.name}-{file.name}")
def test_the_corpus_breaks_nothing(file: Path) -> None:
    TARGETS[file.parent.name](file.read_bytes())


def test_damaged_documents_are_neither_all_sound_nor_all_refused() -> None:
    # or the fuzzers would see one side of the engine only
    draw = Random(1)
    for load, document in ((load_profile, PROFILE), (load_history, VISITS)):
        verdicts = []
        for _ in range(60):
            try:
                load(damaged(document, Choices(draw.randbytes(12))))
                verdicts.append(True)
            except InputError:
                verdicts.append(False)
        assert 5 <= sum(verdicts) <= 55
