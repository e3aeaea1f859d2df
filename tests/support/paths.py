"""Where the project's folders lie, for tests that read them."""

from __future__ import annotations

from pathlib import Path

ROOT = Path(__file__).parents[2]
BAD = ROOT / "tests" / "bad"
GOLDEN = ROOT / "tests" / "golden"
EXAMPLES = ROOT / "examples"
