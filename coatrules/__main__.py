"""The process of the command line. Called by another program, ``coatrules.cli.main`` leaves the collector as it is."""

import gc
import signal
import sys
from types import FrameType
from typing import NoReturn


def terminated(number: int, frame: FrameType | None) -> NoReturn:
    """Ends the command at SIGTERM as Ctrl-C does."""
    from coatrules.cli import Terminated

    signal.signal(signal.SIGTERM, signal.SIG_IGN)  # once is enough, and what is being tidied up is not to be cut short
    raise Terminated


def run() -> None:
    """Runs the command of this process and ends it."""
    gc.set_threshold(200_000)  # an order makes a fifth as many values, and is over before a collection would pay
    signal.signal(signal.SIGTERM, terminated)
    try:
        from coatrules.cli import main

        code = main()
    except KeyboardInterrupt:  # before the command began
        code = 130
    gc.freeze()  # nor is it worth a last look
    sys.exit(code)


if __name__ == "__main__":
    run()
