"""For all tests: hypothesis times none of them, for how fast something is belongs to the benchmarks; and it makes fewer examples than it
would by itself, other ones in every run."""

from __future__ import annotations

from hypothesis import settings

if settings.default is not None and settings.default.deadline is not None:
    settings.register_profile("untimed", settings.default, deadline=None, max_examples=50)
    settings.load_profile("untimed")
