"""The frame of a recorded visit: a first and a last comment line that no cut can leave whole.

Only ``record`` writes them. To YAML they are comments, so that a visit without them, or one edited by hand, reads as before; but
one whose last line is missing at the end of the file was cut off, by a power cut say, while it was written.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from itertools import pairwise
from typing import Literal

from attrs import frozen

BEGIN = "--- # recorded"
_END = re.compile("# end of the visit: ([0-9a-f]{16})")


@frozen
class Frame:
    """One recorded visit of a file. ``line`` is where it starts; edited: it no longer says what was recorded."""

    line: int
    state: Literal["whole", "edited"]


def framed(text: str) -> str:
    """A visit's text, line by line, as it is added to a YAML history."""
    return f"{BEGIN}\n{text}# end of the visit: {_digest(text)}\n"


def frames(content: bytes) -> Iterator[Frame]:
    """The recorded visits of a YAML history, in the order of the file."""
    lines = content.decode("utf-8", "replace").replace("\r\n", "\n").split("\n")
    starts = [number for number, line in enumerate(lines) if line.startswith("---")]
    for start, end in pairwise([*starts, len(lines)]):
        if lines[start] != BEGIN:
            continue
        marks = [number for number in range(start + 1, end) if _END.fullmatch(lines[number])]
        if not marks:
            yield Frame(start + 1, "edited")
            continue
        text = "".join(f"{line}\n" for line in lines[start + 1 : marks[-1]])
        matched = _END.fullmatch(lines[marks[-1]])
        whole = matched is not None and matched[1] == _digest(text) and not any(lines[marks[-1] + 1 : end])
        yield Frame(start + 1, "whole" if whole else "edited")


def unfinished_from(content: bytes) -> int | None:
    """The line on which a visit begins that was cut off while it was recorded, None where the file ends with none. What a person
    wrote wrongly in a visit, be it the last, is no such end: nothing of it is to be deleted."""
    lines = content.decode("utf-8", "replace").replace("\r\n", "\n").rstrip().split("\n")
    if lines[-1] and BEGIN.startswith(lines[-1]):
        return len(lines)
    start = next((number for number in range(len(lines) - 1, -1, -1) if lines[number].startswith("---")), None)
    if start is None or lines[start] != BEGIN or any(_END.fullmatch(line) for line in lines[start:]):
        return None
    return start + 1


def _digest(text: str) -> str:
    from hashlib import sha256  # long to import, and most histories are written by hand

    return sha256(text.encode()).hexdigest()[:16]
