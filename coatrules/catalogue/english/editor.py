"""What an editor shows of a profile: what a word means, what holds there, where it comes from."""

from typing import Final

from coatrules.catalogue.template import Plural

SENTENCES: Final[dict[str, str | Plural]] = {
    "editor.meaning": "{text:label}",
    "editor.value": "{path}: {value}",
    "editor.default": "Default: {value}",
    "editor.example": "Example: {value}",
    "editor.set-in": "Set in {file}, line {line}.",
    "editor.written-in": "{file}, line {line}",
}
