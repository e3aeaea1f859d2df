"""What makes an input unusable, and how to fix it."""

from typing import Final

from coatrules.catalogue.template import Plural

SENTENCES: Final[dict[str, str | Plural]] = {
    "fix.use-name": "Use {name:quoted}.",
    "fix.use-one-of": "Use {names:either}.",
    "fix.or-others": Plural("more", "one other", "one of {more} others"),
    "fix.known-names": "Use one of these: {names:list}.",
    "fix.and-others": Plural("more", "one more", "{more} more"),
}
