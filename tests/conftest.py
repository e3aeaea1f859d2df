"""For all tests: hypothesis times none of them, for how fast something is belongs to the benchmarks, and makes fewer examples than it
would by itself: other ones in every run by hand, the same ones wherever the variable CI is set. English is spoken, whatever the
machine's language."""

from __future__ import annotations

import os
import sys

from hypothesis import settings

os.environ["LC_ALL"] = "C.UTF-8"

if "tests.support.few_examples" not in sys.modules:
    settings.register_profile(
        "untimed", settings.default, deadline=None, max_examples=30, derandomize="CI" in os.environ
    )
    settings.load_profile("untimed")
