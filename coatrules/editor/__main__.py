"""``python -m coatrules.editor``: the language server over standard input and output."""

from __future__ import annotations

import sys

from coatrules.extras import require_extra
from coatrules.problems import InputError


def main() -> int:
    """Serves until the client ends; 1 where the extra is missing."""
    try:
        require_extra("editor", "pygls", "lsprotocol")
    except InputError as error:
        print(error, file=sys.stderr)
        return 1
    from coatrules.editor.server import server

    server.start_io()
    return 0


if __name__ == "__main__":
    sys.exit(main())
