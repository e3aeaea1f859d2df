"""For all tests: hypothesis times none of them, for how fast something is belongs to the benchmarks, and makes fewer examples than it
would by itself, other ones in every run. English is spoken, whatever the machine's language."""

from __future__ import annotations

import os

from hypothesis import settings

os.environ["LC_ALL"] = "C.UTF-8"

if settings.default is not None and settings.default.deadline is not None:
    settings.register_profile("untimed", settings.default, deadline=None, max_examples=30)
    settings.load_profile("untimed")
