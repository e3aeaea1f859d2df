"""The words that are understood where people type. Spellings of one word are parted by |; capitals do not matter."""

from typing import Final

from coatrules.catalogue.template import Plural

SENTENCES: Final[dict[str, str | Plural]] = {
    "typed.articles": "about|a|an|one",
    "typed.comes-easily": "comes easily|easily|easy|loose",
    "typed.comes-mixed": "comes mixed|mixed",
    "typed.holds": "holds|tight",
    "typed.soft": "soft",
    "typed.woolly": "woolly|wooly",
    "typed.sore": "sore|unsound",
    "typed.sound": "sound",
    "typed.see-through": "see-through|see through|bald patch|bald",
    "typed.undercoat-none": "undercoat none|no undercoat",
    "typed.undercoat-some": "undercoat some|some undercoat",
    "typed.undercoat-full": "undercoat full|full undercoat",
    "typed.mm": "mm",
    "typed.layers": "layers|layer",
    "typed.at-least": "or more|+",
    "typed.minutes": "min|mins|minutes|minute",
    "typed.took": "took",
    "typed.left": "left|put off|not done",
    "typed.note": "note",
    "typed.not-planned": "not as planned|not planned",
    "typed.yes": "yes|y|as planned",
    "typed.no": "no|n",
    "typed.number-of": "{number} {unit}",
    "typed.unknown-seen": "{text:quoted} is unknown; use {words:either}",
    "typed.seen-part": "{text:quoted} names no part; write it as PART: WORDS, for example 'back: holds, 14 mm'",
    "typed.seen-key": "{text:quoted} is unknown; use one of these keys: {keys:list}",
    "typed.seen-twice": "{part}: {first:quoted} and {second:quoted} exclude each other; use one of them",
    "typed.share": "{text:quoted} is no share; write it as 1/5, 20%, 0.2 or a fifth",
    "typed.number": "{text:quoted} is not a number",
    "typed.length": "{text:quoted} has no length; write the length left in millimetres, as {task}:3",
    "typed.work": "{text:quoted} is not {work}",
    "typed.part-what": "{text:quoted} is incomplete; write it as PART=WHAT",
    "typed.part-minutes": "{text:quoted} holds no number; write it as N, or PART=N",
    "typed.except": "cannot understand {text:quoted}; write a part and what was done there, as in 'back 1/5' or 'toes left'",
}
