"""An invented dog and an invented small profile, for the tests of what is written down and handed over."""

from __future__ import annotations

import json
from pathlib import Path

from coatrules.profile.compiled import CompiledProfile, compile_profile
from coatrules.profile.loading import load_profile
from tests.support import small

PROFILE = small.profile(
    label="Small, rough coat",
    undercoat_weeks=4,
    groups={"body": ["back", "ribs"], "all": ["body", "toes"]},
    regions={
        "back": {"label": "Back", "coat": "jacket", "minutes": {"pull": 20, "card": 6}},
        "ribs": {"label": "Ribs", "coat": "jacket", "minutes": {"pull": 20, "card": 6}},
        "toes": {"label": "Toes", "coat": "jacket", "anatomy": "none", "minutes": {"pull": 30}},
        "vent": {"label": "Vent", "coat": "jacket", "anatomy": "none", "minutes": {"clip": 2}},
    },
    layer_targets={
        "rolling": {
            "regions": ["all"],
            "layers": 4,
            "take": {"usual": 0.2, "at_most": 0.35, "low_spot": 0.05},
            "cover": {"at_least": 0.5},
            "longest_mm": [15, 35],
        }
    },
    sensitive_zones={"feet": {"regions": ["toes"], "level": "high", "bout_minutes": 3, "rest_minutes": 4}},
    clipper_only_zones={"sanitary": {"regions": ["vent"], "leave_mm": 3, "every_weeks": 4}},
)

HISTORY = """\
# Pip's book, kept by hand
format: 1
dog: {id: pip, name: Pip, profile: small}
---
visit: 2026-01-31
work: {body: {card: true, pull: 0.6}}  # a first, large step
---
visit: 2026-02-28
work: {body: {pull: 0.2}, vent: {clip: 3}}
reactions: {toes: stop}
"""
JSON_HISTORY = json.dumps(
    {
        "format": 1,
        "dog": {"id": "pip", "profile": "small"},
        "visits": [{"visit": "2026-01-31", "work": {"body": {"pull": 0.6}}}],
    }
)


def compiled_profile() -> CompiledProfile:
    """The small profile, ready to work with."""
    return compile_profile(load_profile(PROFILE))


def profile_folder(folder: Path) -> Path:
    """A folder that holds the small profile (JSON is YAML too)."""
    (folder / "small.yaml").write_text(json.dumps(PROFILE), encoding="utf-8")
    return folder
