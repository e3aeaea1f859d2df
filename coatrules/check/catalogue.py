"""Every kind of finding there is, by its code: for the reference page and for programs that show findings."""

from __future__ import annotations

import re
from typing import Final

from coatrules.catalogue.speaking import say

ERRORS: Final = (
    "unknown-name",
    "unknown-fact",
    "unknown-profile",
    "extends-loop",
    "extends-itself",
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
    "figure-unproven",
    "fact-value",
    "rule-never",
    "alternative-never",
    "rule-always",
    "condition-idle",
    "rule-hidden",
    "rule-idle",
    "rules-conflict",
    "rules-same",
    "target-unreachable",
    "target-on-clipper",
    "blend-idle",
    "blend-holds-back",
    "blend-lengths",
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
    "breed-contradicted",
    "no-source",
    "no-sources",
    "source-key",
    "id-not-file",
    "label-not-own",
    "listed-twice",
    "format-not-own",
    "coat-unused",
    "group-unused",
    "comparison-unused",
    "source-unused",
    "accept-idle",
    "accept-idle-at",
    "accept-never",
    "laid-over",
    "curled-quotes",
    "text-cut-short",
)
"""What a mentor should think about: the profile works, but hardly as meant."""


def explained(code: str) -> list[str] | None:
    """Returns what a code means, how its sentence reads and how it is fixed, a line each; None where nothing has this code."""
    if not say.knows(code):
        return None
    about = described(code)
    lines = [say("check.explained-about", code=code, about=about)] if about != code else [code]
    lines.append(say("check.explained-sentence", sentence=written(code)))
    if say.knows(f"{code}.fix"):
        lines.append(say("problem.fix", fix=written(f"{code}.fix")))
    return lines


def written(code: str) -> str:
    """Returns a sentence of the catalogue with its places named in angle brackets."""
    text = say.template(code)
    return (
        re.sub(r"{(\w+)(?::[^{}]*)?}", r"<\1>", text.replace("{{", "\0").replace("}}", "\1"))
        .replace("\0", "{")
        .replace("\1", "}")
    )


def described(code: str) -> str:
    """Returns what a code means, in a line; the code itself where it is none of these."""
    about = f"about.{code}"
    return say(about) if say.knows(about) else code
