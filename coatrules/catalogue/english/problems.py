"""What makes an input unusable, and how to fix it."""

from typing import Final

from coatrules.catalogue.template import Plural

SENTENCES: Final[dict[str, str | Plural]] = {
    "fix.use-name": "Use {name:quoted}.",
}
