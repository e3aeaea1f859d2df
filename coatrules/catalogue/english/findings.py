"""What a mentor should think about in a profile."""

from typing import Final

from coatrules.catalogue.template import Plural

SENTENCES: Final[dict[str, str | Plural]] = {
    "blown-before-grown": "coat '{coat}' is blown at {blown:number} weeks, before it has grown out: it is taken to rest for a week",
    "blown-before-grown.fix": "Run 'coatrules migrate' and write how long the hair grows and rests.",
}
