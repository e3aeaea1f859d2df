"""Files that somebody else wrote to do harm: each is refused, or harmless, for little time and memory (``tests/support/hostile.py``)."""

from __future__ import annotations

import json
import subprocess
import sys

import pytest

pytestmark = pytest.mark.slow

HARMLESS = {  # sound, if strange
    "json: a long float",
    "history by small: as many visits as there may be",
    "history by griffon-bruxellois-rough: as many visits as there may be",
    "history by small: a life of lengths",
    "history by griffon-bruxellois-rough: a life of lengths",
    "profile: groups that double",
    "profile: as many regions as there may be",
}


@pytest.mark.skipif(sys.platform != "linux", reason="processes are bounded and measured as Linux does it")
def test_every_attack_is_refused_for_little() -> None:
    # Two seconds of processor time end a process, so that a test that is slow on a busy machine fails for no other reason.
    done = subprocess.run([sys.executable, "-m", "tests.support.hostile"], capture_output=True, text=True, check=True)
    met = {one["attack"]: one for one in map(json.loads, done.stdout.splitlines())}
    assert len(met) > 90
    assert {name: one for name, one in met.items() if name not in HARMLESS and one["outcome"] != "refused"} == {}
    assert {name: met[name]["outcome"] for name in HARMLESS} == dict.fromkeys(HARMLESS, "harmless")
    assert {name: one for name, one in met.items() if one["megabytes"] > 200} == {}
