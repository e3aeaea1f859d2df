"""Characters that word processors put in place of those that YAML is written with: spaces that are none, and curled quotes."""

from __future__ import annotations

import re
from typing import Final

# The spaces of Unicode's category Zs but the ordinary one, and the spaces without width (Unicode Standard, chapter 6.2).
ODD_SPACE: Final = re.compile("[\u00a0\u1680\u2000-\u200b\u202f\u205f\u2060\u3000]")
# The quotation marks of Unicode's categories Pi and Pf, and the low ones of Ps.
ODD_QUOTE: Final = re.compile("[\u2018-\u201f\u2039\u203a\u00ab\u00bb]")
ODD_DASH: Final = re.compile("[\u2010-\u2015\u2212]")


FARTHEST: Final = 200
"""Spaces in a row that are looked past: a line of nothing but spaces costs no more than its length."""


def odd_structure(line: str) -> re.Match[str] | None:
    """Returns the first character of a line that stands where YAML wants an ordinary space, quote or dash; None where there is
    none: within a text such characters are welcome."""
    space, quote, dash = ODD_SPACE.pattern, ODD_QUOTE.pattern, ODD_DASH.pattern
    return re.search(
        rf"(?<![^ ])(?P<indent>{space})(?=[ {space[1:-1]}]{{0,{FARTHEST}}}\S)|(?<=[:,{{\[-])(?P<space>{space})"
        rf"|(?<=[ \[{{,])(?P<quote>{quote})|^ *(?P<dash>{dash})(?= )",
        line,
    )
