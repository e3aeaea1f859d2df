"""From a translator's file to what gettext reads. Imports nothing of the package: a wheel is built without it."""

from __future__ import annotations

import io
from datetime import UTC, datetime
from pathlib import Path


def compiled(file: Path) -> bytes:
    """Returns a translator's file (``TAG.po``) as gettext reads it, the same bytes each time. Needs Babel."""
    from babel.messages.mofile import write_mo
    from babel.messages.pofile import read_po

    with file.open("rb") as source:
        catalog = read_po(source, locale=file.stem.replace("-", "_"))
    catalog.creation_date = catalog.revision_date = datetime(2026, 1, 1, tzinfo=UTC)
    content = io.BytesIO()
    write_mo(content, catalog)
    return content.getvalue()
