"""Fuzzing: ``python -m tests.fuzz --seconds 20`` runs every target for its part of the time, guided by coverage where
atheris is installed and blindly elsewhere. What breaks a target is shown and ends the run; put it in the corpus.

A long run of one target: ``python -m tests.fuzz profile --seconds 3600``.
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
NAMES = ("reading", "conditions", "history", "profile")
LONGEST = 4096


def main() -> int:
    """Runs the targets; each in a process of its own, as the engine of atheris ends the process it runs in."""
    parser = ArgumentParser("python -m tests.fuzz", description=__doc__)
    parser.add_argument("target", nargs="?", choices=NAMES)
    parser.add_argument("--seconds", type=float, default=20)
    parser.add_argument("--blind", action="store_true", help="without atheris")
    chosen = parser.parse_args()
    guided = not chosen.blind and find_spec("atheris") is not None
    if chosen.target is None:
        share = chosen.seconds / len(NAMES)
        commands = [[sys.executable, "-m", "tests.fuzz", name, f"--seconds={share}"] for name in NAMES]
        return max(subprocess.run(c + ["--blind"] * (not guided), check=False).returncode for c in commands)
    (run_guided if guided else run_blind)(chosen.target, chosen.seconds)
    return 0


def run_guided(name: str, seconds: float) -> None:
    """Guided by coverage; ends the process."""
    import atheris

    with atheris.instrument_imports(include=["coatrules"]):
        from tests.fuzz.targets import TARGETS
    with TemporaryDirectory() as found:  # new finds go there; the corpus in the repository stays as it is
        options = [
            f"-max_total_time={max(1, round(seconds))}",
            f"-max_len={LONGEST}",
            "-timeout=20",
            "-rss_limit_mb=1024",
        ]
        atheris.Setup([name, *options, f"-artifact_prefix={name}-", found, str(CORPUS / name)], TARGETS[name])
        atheris.Fuzz()


def run_blind(name: str, seconds: float) -> None:
    """Without coverage: the corpus with bytes changed at random."""
    from tests.fuzz.targets import TARGETS

    target, draw = TARGETS[name], Random(1)
    seeds = [file.read_bytes() for file in sorted((CORPUS / name).iterdir())]
    end, runs = monotonic() + seconds, 0
    while monotonic() < end:
        data = bytearray(draw.choice(seeds)) if draw.random() < 0.5 else bytearray(draw.randbytes(draw.randrange(40)))
        for _ in range(draw.randrange(6)):
            if data:
                data[draw.randrange(len(data))] = draw.randrange(256)
        runs += 1
        try:
            target(bytes(data))
        except BaseException:
            print(f"{name} breaks at {bytes(data)!r}", file=sys.stderr)
            raise
    print(f"{name}: {runs} runs without atheris, nothing broke")


if __name__ == "__main__":
    sys.exit(main())
