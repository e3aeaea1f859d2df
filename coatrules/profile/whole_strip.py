"""A profile as it is worked where the coat is stripped out whole instead of rolled."""

from __future__ import annotations

from attrs import evolve

from coatrules.profile.model import NO_LIMITS, Profile, Rule
from coatrules.read_only import ReadOnly


def whole_strip(profile: Profile) -> Profile:
    """Returns the profile with every part that is worked by hand stripped out whole, section by section where the time is short.

    What rules ask of a rolled coat's share no longer holds; the floor, cautions and all other rules do.
    """
    if profile.strip_whole:
        return profile
    targets = {
        name: evolve(target, take=evolve(target.take, usual=1.0, at_most=1.0), full_strip=True)
        for name, target in profile.layer_targets.items()
    }
    rules = {name: _without_limits(rule) for name, rule in profile.rules.items()}
    return evolve(profile, layer_targets=ReadOnly(targets), rules=ReadOnly(rules), strip_whole=True, rolled=profile)


def _without_limits(rule: Rule) -> Rule:
    return evolve(rule, then=evolve(rule.then, take=NO_LIMITS))
