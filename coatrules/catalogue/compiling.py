"""From a translator's file to what gettext reads. Imports nothing of the package: a wheel is built without it."""

from __future__ import annotations

import io
from datetime import UTC, datetime


def compiled(text: bytes, tag: str) -> bytes:
    """Returns what a translator's file (``TAG.po``) holds as gettext reads it, the same bytes each time. Needs Babel."""
    from babel.messages.mofile import write_mo
    from babel.messages.pofile import read_po

    catalog = read_po(io.BytesIO(text), locale=tag.replace("-", "_"))
    catalog.creation_date = catalog.revision_date = datetime(2026, 1, 1, tzinfo=UTC)
    content = io.BytesIO()
    write_mo(content, catalog)
    return content.getvalue()
