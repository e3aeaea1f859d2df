"""The note for a dog's owner."""

from typing import Final

from coatrules.catalogue.template import Plural

SENTENCES: Final[dict[str, str | Plural]] = {
    "owner.title": "For the owner of {dog}",
    "owner.subtitle": "{profile} · {day:day}",
    "owner.refer": "Please ask a veterinary surgeon",
    "owner.done": "What is done on this visit",
    "owner.left": "What is left, and why",
    "owner.home": "At home",
    "owner.back": "When to come back",
    "owner.vet": "When to call a vet",
    "owner.vet-skin": "Call one if the skin is broken, hot, swollen, weeping or still red the next day, or if there are lumps or grazes.",
    "owner.vet-dog": "Call one too if the dog scratches, licks or shakes itself and will not stop, or if it is dull or will not eat.",
    "owner.vet-first": "A veterinary surgeon's advice comes before anything on this sheet.",
    "owner.no-work": "No work is done on this visit.",
    "owner.card": "The loose undercoat is combed out: {parts}.",
    "owner.pull": "The longest, ripest hair is pulled by hand: {parts}. Of each part {share:share} goes; the rest stays on, so that the coat renews itself bit by bit.",
    "owner.pull-range": "The longest, ripest hair is pulled by hand: {parts}. Of each part from {least:share} to {most:share} goes; the rest stays on, so that the coat renews itself bit by bit.",
    "owner.clip": "Clipped short, where hair is never pulled: {parts}.",
    "owner.scissor": "Tidied with scissors: {parts}.",
    "owner.comb": "Combed through: {parts}.",
    "owner.part-why": "{parts}: {why}",
    "owner.no-time": "There is no time for: {parts}. That comes first next time.",
    "owner.more-left": "Also left, for reasons we can tell you: {parts}.",
    "owner.but-not": "{group} (but not {parts:names})",
    "owner.sun": "For one to two days keep the dog out of strong sun and use no harsh shampoo.",
    "owner.bare": "Where the skin shows: shade in the sun, a light coat in the cold, and nothing rubbed on.",
    "owner.frost": "In hard frost let the dog out for short spells only.",
    "owner.watch-skin": "Look at the skin every few days: it should not itch and have no grazes.",
    "owner.no-bath": "Please do not bathe the dog in the days before its visit: an unwashed coat is easier to grip and sooner done.",
    "owner.best": "Best on {day:day}.",
    "owner.from-to": "Any day from {first:day} to {last:day} is good.",
    "owner.latest": "No later than {last:day}.",
    "owner.regularly": "Coming regularly keeps the visits short and easy for the dog.",
}
