"""Few examples, always the same, and none made smaller: a pytest plugin for runs that repeat the tests for every mutant."""

from __future__ import annotations

from hypothesis import Phase, settings

phases = (Phase.explicit, Phase.generate)
settings.register_profile("few", max_examples=20, derandomize=True, deadline=None, database=None, phases=phases)
settings.load_profile("few")
