"""A profile and a history with every key there is: damaged by tests, and the examples in the schemas."""

from __future__ import annotations

from typing import Any

PROFILE: dict[str, Any] = {
    "format": 2,
    "id": "every-key",
    "label": "Griffon Bruxellois, rough coat",
    "outline": "spaniel",
    "about": "How this coat is rolled, and what the profile leaves out.",
    "extends": "another",
    "regime": "pet",
    "over": ["*-terrier"],
    "breed": {"fci": 80, "vbo": "VBO:0200642", "variety": "rough", "source": "practice"},
    "visit": {
        "every_weeks": 3,
        "minutes": 60,
        "pace_spread": 0.15,
        "region_spread": 0.1,
        "measure_mm": 2.0,
        "tender_in_a_row": 2,
        "first_coat_weeks": 30,
    },
    "sources": {
        "practice": {"common_practice": True, "from_memory": False, "derived": False},
        "guide": {"title": "Breed standard", "publisher": "FCI", "year": 2003, "note": "Of the rough variety."},
    },
    "coats": {
        "jacket": {
            "lag_weeks": 4,
            "mm_per_week": 2.1,
            "full_mm": 42,
            "rests_weeks": 2,
            "grows_weeks": 20,
            "spread": 0.35,
            "ranges": {"lag_weeks": [1, 5]},
            "ready_mm": 6,
            "cover_mm": 6,
            "layer_gap_mm": 2,
            "undercoat_weeks": 4,
            "source": {"full_mm": "guide", "ready_mm": "practice"},
        }
    },
    "groups": {"body": ["back", "toes"]},
    "regions": {
        "back": {
            "label": "Back",
            "coat": "jacket",
            "minutes": {"pull": 20, "card": 6, "clip": 2, "scissor": 3, "comb": 1},
            "source": ["guide", "practice"],
        },
        "toes": {
            "label": "Toes",
            "coat": "jacket",
            "paired": True,
            "visible": False,
            "uberon": "UBERON:0001137",
            "anatomy": "none",
        },
    },
    "layer_targets": {
        "body": {
            "regions": ["body"],
            "layers": 4,
            "take": {"usual": 0.2, "at_most": 0.35, "low_spot": 0.05},
            "cover": {"at_least": 0.5},
            "longest_mm": [15, 35],
            "show_mm": [20, 30],
            "leads": True,
            "if": {"time_of_year": "summer"},
            "full_strip": False,
            "because": "A fifth at a visit keeps five lengths in the jacket.",
        }
    },
    "blends": {
        "shoulder-to-leg": {
            "regions": ["back", "toes"],
            "within": 0.05,
            "within_mm": 10,
            "because": "A step would show where they meet.",
            "source": "practice",
        }
    },
    "sensitive_zones": {
        "toes": {
            "regions": ["toes"],
            "level": "high",
            "bout_minutes": 3,
            "rest_minutes": 4,
            "because": "Nerves, and little flesh over the bone.",
        }
    },
    "clipper_only_zones": {
        "pads": {
            "regions": ["toes"],
            "leave_mm": 3,
            "every_weeks": 4,
            "soiled": 1,
            "because": "Hair between the pads is never pulled.",
        }
    },
    "routines": {
        "feet": {
            "regions": ["toes"],
            "task": "scissor",
            "every_weeks": 3,
            "minutes": 4,
            "finish": True,
            "because": "Feet are kept round.",
        }
    },
    "stations": {
        "front": {"regions": ["toes"], "next_door": ["back"], "source": "practice"},
        "back": {"regions": ["back"]},
    },
    "methods": {
        "fingers": {
            "label": "Fingers with rubber grips",
            "does": "pull",
            "regions": ["toes"],
            "if": {"cover": 1},
            "rank": -2,
            "pass": 4.5,
            "tool": "rake",
            "how": "A few hairs at a time, in the direction of growth.",
        },
        "rake": {"label": "Rake", "does": "card", "then": "fine-rake", "until": "it comes up clean"},
    },
    "comparisons": {"legs_to_body": {"fact": "outline_mm", "of": "toes", "to": "body"}},
    "rules": {
        "all": {
            "regions": ["back"],
            "if": {
                "cover": {"minimum": 0.1, "exclusiveMaximum": 0.9},
                "skin": "sound",
                "legs_to_body": {},
                "health": {"contains": {"const": "unwell"}},
                "layers": {"not": {"enum": [1, 2]}, "anyOf": [{"maximum": 9}, 12], "allOf": [{"exclusiveMinimum": 0}]},
                "anyOf": [{"see_through": True}, {"not": {"region": "back"}}],
                "allOf": [{"groups": {"const": ["body"]}}],
            },
            "then": {
                "take": {"at_least": 0.1, "at_most": 0.2},
                "leave": ["card"],
                "add": {"comb": 5},
                "use": "fingers",
                "priority": -3,
                "caution": "Comb out first.",
                "refer": "See a veterinary surgeon.",
                "whole_dog": True,
            },
            "because": "A coat that was left is brought back in stages.",
        }
    },
    "cases": {
        "one": {
            "history": {
                "dog": {"id": "pip"},
                "visits": [
                    {"visit": "2026-01-10", "series": {"visits": 3, "every_weeks": 3}, "work": {"body": {"pull": 0.2}}}
                ],
            },
            "date": "2026-03-21",
            "minutes": 40,
            "because": "Six weeks after a quarter was pulled, no more than a quarter goes.",
            "expect": {
                "regions": {"back": {"layers": 2}},
                "rules": ["all"],
                "not_rules": ["all"],
                "steps": ["back"],
                "refer": False,
                "next_visit": {"earliest": "2026-04-01", "best": "2026-04-11", "latest": "2026-05-01"},
            },
        }
    },
    "accept": {
        "no-source": "The club will name its sources next year.",
        "region-unworked": {"regions.stop": "Its owner does that himself."},
    },
}
REGIMES: dict[str, Any] = {"show": {"visit": {"every_weeks": 1}}}
"""What a file says of a profile's regimes; each is a profile of its own once they are merged."""
HISTORY: dict[str, Any] = {
    "format": 1,
    "dog": {
        "id": "pip",
        "name": "Pip",
        "profile": "mini",
        "regime": "show",
        "born": "2023-03-04",
        "sex": "male",
        "neutered": False,
        "size": "miniature",
        "coat_type": "rough",
        "colour": "grizzle",
        "hemisphere": "southern",
        "show": "2026-06-01",
        "show_mm": {"body": [20, 30]},
        "note": "Keen on cheese.",
    },
    "arrival": {"body": {"grown_weeks": 20}, "toes": {"longest_mm": 30}, "legs": {"clipped_mm": 6, "clipped_weeks": 3}},
    "visits": [
        {
            "visit": "2026-01-31",
            "minutes": 95,
            "work": {
                "body": {
                    "card": True,
                    "pull": 0.6,
                    "pick": "even",
                    "asked": 0.7,
                    "minutes": 55,
                    "scissor": True,
                    "comb": False,
                },
                "anus": {"clip": 3, "scissor": 12.5},
                "toes": {"clip": True},
            },
            "seen": {
                "toes": {"longest_mm": {"minimum": 30}, "comes": "mixed", "texture": "soft", "at_end": False},
                "back": {"longest_mm": 8, "layers": 2, "see_through": False, "undercoat": "some", "skin": "sound"},
            },
            "reactions": {"toes": "stop"},
            "health": ["in-whelp"],
            "put_off": ["toes"],
            "events": {"season": "2026-01-02", "whelped": "2026-01-20"},
            "show": "2026-06-01",
            "strip_whole": True,
            "note": "Calmer than last time.",
        },
        {"visit": "2026-02-28"},
        {"visit": "2026-02-28", "corrects": True},
        {"visit": "2026-02-28", "withdrawn": True},
    ],
}
