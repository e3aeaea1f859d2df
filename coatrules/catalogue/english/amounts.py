"""Shares, times and lengths."""

from typing import Final

from coatrules.catalogue.template import Plural

_FRACTIONS = {
    "1-2": "half",
    "1-3": "a third",
    "2-3": "two thirds",
    "1-4": "a quarter",
    "3-4": "three quarters",
    "1-5": "a fifth",
    "2-5": "two fifths",
    "3-5": "three fifths",
    "4-5": "four fifths",
    "1-6": "a sixth",
    "1-7": "a seventh",
    "1-8": "an eighth",
    "1-10": "a tenth",
    "9-10": "nine tenths",
    "1-12": "a twelfth",
    "1-15": "a fifteenth",
    "1-16": "a sixteenth",
    "1-20": "a twentieth",
    "1-25": "a twenty-fifth",
    "1-30": "a thirtieth",
    "1-40": "a fortieth",
}

_FURTHER = [(name, words) for name, words in _FRACTIONS.items() if name.split("-")[1] in ("2", "3", "4", "5")]

SENTENCES: Final[dict[str, str | Plural]] = {
    **{f"amount.share.{name}": words for name, words in _FRACTIONS.items()},
    **{
        f"amount.share.good.{name}": f"a good {words.removeprefix('an ').removeprefix('a ')}"
        for name, words in _FURTHER
    },
    **{f"amount.share.under.{name}": f"just under {words}" for name, words in _FURTHER},
    "amount.share.nearly-all": "nearly all",
    "amount.share.hardly": "next to nothing",
    "amount.fraction": "{above}/{below}",
    "amount.fraction.good": "good {above}/{below}",
    "amount.fraction.under": "under {above}/{below}",
    "amount.share.all": "all",
    "amount.share.fully": "fully",
    "amount.share.none": "none",
    "amount.share.percent": "{percent}%",
    "amount.weeks.days": Plural("days", "{days} day", "{days} days"),
    "amount.weeks.weeks": Plural("weeks", "{weeks:halves} week", "{weeks:halves} weeks"),
    "amount.minutes": "{minutes} min",
    "amount.mm": "{mm} mm",
    "amount.series": "{first}, {rest}",
    "amount.clauses": "{first}; {rest}",
    # The first of a month, in a language that says it otherwise than the other days (French 1er).
    "amount.first-of-month": "1",
    "amount.and-more": "{items} and {more} more",
    # Words that begin with a small letter within a sentence, parted by |; * where every label of a part of the dog does.
    "amount.small-within": "*",
    "amount.quoted": "'{text}'",
    "amount.yes": "yes",
    "amount.no": "no",
}
