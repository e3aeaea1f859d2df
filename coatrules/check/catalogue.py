"""Every kind of finding there is: its code and what it says, for the reference page and for programs that show findings."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

ERRORS: Final[Mapping[str, str]] = {
    "unknown-name": "A region, group, coat, method, rule or source is named that the profile does not have.",
    "unknown-fact": "A condition asks about a fact that is neither in the catalogue nor a comparison of the profile.",
    "unknown-profile": "The profile that this one extends is not there.",
    "extends-loop": "A profile builds on itself.",
    "name-twice": "Two things that a history could mean bear one name.",
    "group-loop": "A group holds itself.",
    "overlap": "A region is in two targets or zones of the same size, so that it is not clear which holds.",
    "method-task": "A method follows one that is for another task.",
    "method-loop": "A method follows itself.",
    "whole-dog": "'whole_dog' stands without a 'refer'.",
    "floor-only-cut": "A place that is never pulled is not held by a clipper-only zone.",
    "floor-tender": "A tender place is not held by a sensitive zone as strict as the floor.",
    "floor-day": "A usual visit is longer than any dog stands on the table in a day.",
    "floor-first-coat": "The puppy coat is pulled at an age at which no puppy's is.",
    "figures": "Two figures contradict each other.",
}
"""What makes a profile unusable. Faults against the schema (a misspelt key, a number out of range) come besides."""

FINDINGS: Final[Mapping[str, str]] = {
    "case-unmet": "A worked case does not come out as it expects.",
    "anatomy-missing": "Nobody can tell where on the dog a region lies, so that nothing is pulled there.",
    "no-cases": "There is no worked case.",
    "case-idle": "A case expects nothing that could come out otherwise.",
    "expectation-idle": "An expectation comes true whatever the engine answers.",
    "rule-untested": "No worked case fires a rule.",
    "target-untested": "In no worked case is anything pulled under a layer target.",
    "rule-never": "A rule can never hold.",
    "rule-always": "A rule holds on every dog, though it has an 'if'.",
    "condition-idle": "A part of a rule's 'if' is always so.",
    "rule-hidden": "A rule asks for work that is never done where it holds: guards, clipper-only zones, no target.",
    "rule-idle": "A rule allows more than the layer target ever does, so it changes nothing.",
    "rules-conflict": "A rule asks for more than another, or the target, allows at the same time. The smaller share holds.",
    "target-unreachable": "A layer target is out of reach at the profile's own shares, interval and growth.",
    "target-on-clipper": "A layer target names a region where only the clipper may go.",
    "part-hidden": "A target or zone holds nowhere, as smaller ones have all its regions.",
    "zone-loosens": "A sensitive zone within a larger one is less tender than that.",
    "region-unworked": "Nothing is ever done on a region.",
    "minutes-missing": "How long a region's work takes is not said.",
    "minutes-idle": "A region has minutes for work that is never done there.",
    "visit-too-short": "The work that one interval makes takes longer than a usual visit.",
    "method-never": "A method is never chosen.",
    "method-missing": "A task has no method somewhere.",
    "figure-unsupported": "A figure is outside what any source in the library supports.",
    "no-source": "Numbers name no source.",
    "source-key": "A source is named for a key that is not there.",
    "id-not-file": "The id of a profile is not the name of its file.",
    "coat-unused": "No region has a coat.",
    "group-unused": "Nothing names a group.",
    "comparison-unused": "No condition asks about a comparison.",
    "source-unused": "No number names a source.",
}
"""What a mentor should think about: the profile works, but hardly as meant."""
