"""The process of the command line. Called by another program, ``coatrules.cli.main`` leaves the collector as it is."""

import gc
import sys


def run() -> None:
    """Runs the command of this process and ends it."""
    gc.set_threshold(200_000)  # an order makes a fifth as many values, and is over before a collection would pay
    from coatrules.cli import main

    code = main()
    gc.freeze()  # nor is it worth a last look
    sys.exit(code)


if __name__ == "__main__":
    run()
