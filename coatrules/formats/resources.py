"""Where the packaged data is: inside the package in a wheel, at the top level in a clone or an editable install."""

from __future__ import annotations

import json
import os
from functools import cache
from pathlib import Path
from typing import Any

from coatrules.catalogue.speaking import say
from coatrules.disk import read
from coatrules.reading import MAX_BYTES

_PACKAGE = Path(__file__).parent.parent


def folder(name: str) -> Path:
    """The packaged folder ``profiles`` or ``schemas``.

    Raises ``FileNotFoundError`` where the installation is incomplete.
    """
    for place in (_PACKAGE / name, _PACKAGE.parent / name):
        if os.path.isdir(place):
            return place
    raise FileNotFoundError(say("installation-incomplete", folder=name))


@cache
def schema(name: str) -> Any:
    """The JSON Schema ``profile``, ``history``, ``work-order`` or ``facts``, as plain data; do not change it."""
    return json.loads(read(folder("schemas") / f"{name}.schema.json", MAX_BYTES))
