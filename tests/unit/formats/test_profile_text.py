"""What is written out for a profile is read as it was, and a day stands without quotes."""

from __future__ import annotations

from typing import Any

from hypothesis import given, settings

from coatrules.formats.profile_text import profile_text
from coatrules.reading import read_yaml
from tests.support.strategies import histories


@settings(max_examples=20)
@given(histories())
def test_a_history_is_read_as_it_was_and_no_day_is_quoted(history: dict[str, Any]) -> None:
    text = profile_text({"note": "on 2026-01-05", "no_day": "2026-02-30", **history})
    assert read_yaml(text)[0].data == {"note": "on 2026-01-05", "no_day": "2026-02-30", **history}
    assert "'2023-03-04'" not in text
    assert "born: 2023-03-04" in text
