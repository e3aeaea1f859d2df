"""Fuzzing: ``python -m tests.fuzz --seconds 20`` runs every target for its part of the time, guided by coverage where
atheris is installed and blindly elsewhere. What breaks a target is shown and ends the run; put it in the corpus.

A long run of one target, which keeps what it found for the next: ``python -m tests.fuzz profile --seconds 3600 --keep /tmp/found``.
"""

from __future__ import annotations

import subprocess
import sys
from argparse import ArgumentParser
from importlib.util import find_spec
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory
from time import monotonic

CORPUS = Path(__file__).parent / "corpus"
WATCHED = {
    "reading": ("coatrules.reading",),
    "conditions": ("coatrules.conditions",),
    "history": ("coatrules.dog", "coatrules.formats", "coatrules.order", "coatrules.coat", "coatrules.learning"),
    "profile": ("coatrules.profile", "coatrules.formats"),
    "record": ("coatrules.recording", "coatrules.disk", "coatrules.dog"),
    "sheet": ("coatrules.recording",),
    "words": ("coatrules.recording",),
}
"""The targets, and the packages whose coverage guides each: what is not watched runs several times as fast."""
LONGEST = 160
"""Bytes of an input: what is longer finds little more and costs its length."""


def main() -> int:
    """Runs the targets; each in a process of its own, as the engine of atheris ends the process it runs in."""
    parser = ArgumentParser("python -m tests.fuzz", description=__doc__)
    parser.add_argument("target", nargs="?", choices=WATCHED)
    parser.add_argument("--seconds", type=float, default=20)
    parser.add_argument("--blind", action="store_true", help="without atheris")
    parser.add_argument("--keep", type=Path, metavar="FOLDER", help="where new finds are kept, and begun from")
    chosen = parser.parse_args()
    guided = not chosen.blind and find_spec("atheris") is not None
    if chosen.target is None:
        share = chosen.seconds / len(WATCHED)
        commands = [[sys.executable, "-m", "tests.fuzz", name, f"--seconds={share}"] for name in WATCHED]
        return max(subprocess.run(c + ["--blind"] * (not guided), check=False).returncode for c in commands)
    if guided:
        run_guided(chosen.target, chosen.seconds, chosen.keep)
    run_blind(chosen.target, chosen.seconds, chosen.keep)
    return 0


def run_guided(name: str, seconds: float, keep: Path | None) -> None:
    """Guided by coverage; ends the process."""
    import atheris

    with atheris.instrument_imports(include=list(WATCHED[name])):
        from tests.fuzz.targets import TARGETS
    with TemporaryDirectory() as place:  # new finds go there; the corpus in the repository stays as it is
        found = keep / name if keep is not None else Path(place)
        found.mkdir(parents=True, exist_ok=True)
        options = [
            f"-max_total_time={max(1, round(seconds))}",
            f"-max_len={LONGEST}",
            "-timeout=20",
            "-rss_limit_mb=1024",
        ]
        atheris.Setup([name, *options, f"-artifact_prefix={name}-", str(found), str(CORPUS / name)], TARGETS[name])
        atheris.Fuzz()


def run_blind(name: str, seconds: float, keep: Path | None) -> None:
    """Without coverage, but several times as fast: what is known already, changed at random."""
    from tests.fuzz.targets import TARGETS

    target, draw = TARGETS[name], Random()
    folders = [CORPUS / name, *([keep / name] if keep is not None and (keep / name).is_dir() else [])]
    seeds = [file.read_bytes() for folder in folders for file in sorted(folder.iterdir())]
    end, runs = monotonic() + seconds, 0
    while monotonic() < end:
        data = _changed(draw.choice(seeds), draw.choice(seeds), draw)
        runs += 1
        try:
            target(data)
        except BaseException:
            print(f"{name} breaks at {data!r}", file=sys.stderr)
            raise
    print(f"{name}: {runs} runs without atheris, nothing broke")


def _changed(seed: bytes, other: bytes, draw: Random) -> bytes:
    """The seed with some bytes changed, taken out, doubled or taken from another."""
    data = bytearray(seed)
    for _ in range(draw.randrange(6)):
        at = draw.randrange(len(data) + 1)
        match draw.randrange(4):
            case 0:
                del data[at : at + draw.randrange(4)]
            case 1:
                start = draw.randrange(len(other) + 1)
                data[at:at] = other[start : start + draw.randrange(12)]
            case _:
                data[at : at + 1] = bytes([draw.choice((draw.randrange(256), draw.randrange(32, 127)))])
    return bytes(data[:LONGEST])


if __name__ == "__main__":
    sys.exit(main())
