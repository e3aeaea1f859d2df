"""Every kind of finding there is, by its code: for the reference page and for programs that show findings."""

from __future__ import annotations

from typing import Final

from coatrules.catalogue.speaking import say

ERRORS: Final = (
    "unknown-name",
    "unknown-fact",
    "unknown-profile",
    "extends-loop",
    "name-twice",
    "group-loop",
    "overlap",
    "method-task",
    "method-loop",
    "whole-dog",
    "floor-only-cut",
    "floor-tender",
    "floor-day",
    "floor-first-coat",
    "figures",
)
"""What makes a profile unusable. Faults against the schema (a misspelt key, a number out of range) come besides."""

FINDINGS: Final = (
    "case-unmet",
    "anatomy-missing",
    "no-cases",
    "visit-after-case",
    "case-idle",
    "expectation-idle",
    "rule-untested",
    "target-untested",
    "rule-never",
    "alternative-never",
    "rule-always",
    "condition-idle",
    "rule-hidden",
    "rule-idle",
    "rules-conflict",
    "target-unreachable",
    "target-on-clipper",
    "part-hidden",
    "zone-loosens",
    "region-unworked",
    "minutes-missing",
    "minutes-idle",
    "visit-too-short",
    "method-never",
    "method-missing",
    "figure-unsupported",
    "blown-before-grown",
    "no-source",
    "source-key",
    "id-not-file",
    "coat-unused",
    "group-unused",
    "comparison-unused",
    "source-unused",
    "curled-quotes",
    "text-cut-short",
    "accept-idle",
    "accept-never",
)
"""What a mentor should think about: the profile works, but hardly as meant."""


def described(code: str) -> str:
    """Returns what a code means, in a line; the code itself where it is none of these."""
    about = f"about.{code}"
    return say(about) if say.knows(about) else code
