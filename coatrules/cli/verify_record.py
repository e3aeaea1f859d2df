"""``coatrules record DOG --verify``: whether the recorded visits of a history are as they were recorded."""

from __future__ import annotations

import sys
from pathlib import Path

from coatrules.catalogue.speaking import say
from coatrules.disk import read
from coatrules.dog.frames import frames
from coatrules.dog.loading import read_history
from coatrules.problems import Problem, visible
from coatrules.reading import MAX_BYTES


def verify(file: Path) -> int:
    """Tells how many visits are whole, and which were edited since; raises ``InputError`` where the file does not read, or
    ends in a visit that was cut off. A visit edited by hand is as valid as any: exit code 0."""
    content = read(file, MAX_BYTES)
    history = read_history(content, file)
    found = [] if file.suffix.lower() == ".json" else list(frames(content))
    for frame in found:
        if frame.state == "edited":
            print(Problem(code="visit-edited", severity="note", file=str(file), line=frame.line), file=sys.stderr)
    whole = sum(frame.state == "whole" for frame in found)
    counts = {"visits": len(history.visits), "whole": whole, "edited": len(found) - whole}
    print(visible(say("record.verified", counts, file=file)))
    return 0
