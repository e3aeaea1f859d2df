"""A loaded profile as plain data that stands alone: what it extends is merged in, each of its regimes is a patch of it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from coatrules.formats.unstructure import document_data, thawed
from coatrules.profile.merging import inherited, is_extra
from coatrules.profile.model import Profile
from coatrules.profile.regimes import NOT_IN_REGIME


def profile_data(profile: Profile) -> dict[str, Any]:
    """Returns a profile as plain data by its schema, from which it can be loaded wherever it goes."""
    data = _whole(profile)
    taken = inherited(data)
    patches = {
        name: {
            key: value
            for key, value in _patch(taken, _whole(other)).items()
            if key not in NOT_IN_REGIME and not is_extra(key)
        }
        for name, other in profile.regimes.items()
    }
    return data | ({"regimes": patches} if patches else {})


def _whole(profile: Profile) -> dict[str, Any]:
    return {key: value for key, value in thawed(document_data(profile)).items() if key != "extends"}


def _patch(old: Mapping[str, Any], new: Mapping[str, Any]) -> dict[str, Any]:
    """The merge patch (RFC 7396) that makes one of the other."""
    patch: dict[str, Any] = {key: None for key in old if key not in new}
    for key, value in new.items():
        before = old.get(key)
        if isinstance(value, Mapping) and isinstance(before, Mapping):
            if inner := _patch(before, value):
                patch[key] = inner
        elif value != before:
            patch[key] = value
    return patch
