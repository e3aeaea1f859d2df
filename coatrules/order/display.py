"""How a work order is shown by ``print`` and in notebooks: filled in by the package's root, for nothing here decides how things look."""

from collections.abc import Callable
from typing import Any

text: Callable[[Any], str] = repr
html: Callable[[Any], str] = repr
