"""The words that are understood where people type. Spellings of one word are parted by |; capitals do not matter."""

from typing import Final

from coatrules.catalogue.template import Plural

SENTENCES: Final[dict[str, str | Plural]] = {
    "typed.articles": "about|a|an|one|only|just|roughly|nearly|some",
    "typed.half": "half|halves",
    # Words for numbers and their figures; behind tens a word below ten is added.
    "typed.numbers": (
        "one=1|two=2|three=3|four=4|five=5|six=6|seven=7|eight=8|nine=9|ten=10|eleven=11|"
        "twelve=12|fifteen=15|twenty=20|thirty=30|forty=40|fifty=50|sixty=60|seventy=70|eighty=80|ninety=90"
    ),
    "typed.comes-easily": "comes easily|came easily|comes out easily|came out easily|comes well|came well|easily|easy|loose|ripe|blown",
    "typed.comes-mixed": "comes mixed|came mixed|mixed",
    "typed.holds": "holds|held|holding|tight|stuck|will not come|won't come|would not come|wouldn't come|does not come|doesn't come|did not come|didn't come",
    "typed.soft": "soft|silky",
    "typed.woolly": "woolly|wooly|cottony|fluffy",
    "typed.sore": "sore|unsound|broken|lumpy|red|itchy",
    "typed.sound": "sound",
    "typed.see-through": "see-through|see through|bald patch|bald|a bald patch",
    "typed.undercoat-none": "undercoat none|no undercoat",
    "typed.undercoat-some": "undercoat some|some undercoat",
    "typed.undercoat-full": "undercoat full|full undercoat",
    "typed.mm": "mm|mms|millimetre|millimetres|millimeter|millimeters",
    "typed.cm": "cm|cms|centimetre|centimetres|centimeter|centimeters",
    "typed.inches": 'inch|inches|"',
    "typed.layers": "layers|layer",
    "typed.at-least": "or more|or longer|and more|+",
    "typed.at-least-first": "at least|over|more than|longer than",
    "typed.minutes": "min|mins|minutes|minute",
    # Alone it may be a slip for mm.
    "typed.minutes-behind-hours": "m|'",
    "typed.hours": "h|hr|hrs|hour|hours",
    "typed.weekly": "weekly|every week",
    "typed.fortnightly": "fortnightly|every fortnight|every other week|every two weeks",
    "typed.percent": "%|percent|per cent",
    "typed.to": "to",
    "typed.out-of": "in|of|out of",
    "typed.all": "all|whole|everything",
    "typed.none": "none|nothing",
    "typed.took": "took|in all|altogether|total",
    "typed.left": "left|put off|not done|skipped|left out|left alone",
    # Before a part: nothing was done there.
    "typed.left-first": "no|not|nothing on|skip|did not do|didn't do",
    "typed.note": "note",
    "typed.not-planned": "not as planned|not planned",
    "typed.yes": "yes|y|as planned",
    "typed.no": "no|n",
    # Before what was left or was otherwise: "all but the tail". All that was planned, and none of it.
    "typed.but": "but|except|except for|apart from|other than",
    "typed.all-planned": "all|everything|all done|everything done|all as planned|everything as planned|as planned|as planned otherwise|otherwise as planned|the rest as planned|everything else as planned",
    "typed.none-planned": "nothing done|nothing today|nothing was done|none of it",
    # Where nothing is left to say; alone it may also mean that nothing was done.
    "typed.nothing-else": "nothing|none|no|n|nothing else|nothing more|that is all|that's all|no more",
    "typed.help": "?|help",
    "typed.undo": "undo|take back|oops",
    # Small words in what is said of a part.
    "typed.phrase-fillers": "is|are|was|were|it|the|of|on|at|in|from|out|pulled|took|about|only|hair|long|longest",
    # Names of parts: small words within them, words for one side, words for words in them, and for parts. A part is a group or region
    # by its id: of several the groomer is asked which, and one that a dog lacks is looked up here again.
    "typed.and": "and|&",
    "typed.part-fillers": "the|of|whole|all|both|each|on|round",
    "typed.side": "left|right",
    "typed.same-words": "front=fore|rear=hind|back=hind|foot=feet|paw=feet|paws=feet",
    "typed.other-words": (
        "ears=ear-leathers|bottom=round-the-anus|bum=round-the-anus|beard=muzzle|beard=cheeks|moustache=muzzle|"
        "moustache=lip-edges|brows=stop|brows=skull|feathering=legs|feathering=tail|feathering=underline|"
        "eyebrows=brows|chin=beard|goatee=beard|whiskers=beard|whiskers=moustache|chest=forechest|chest=brisket|"
        "chest=ribs|breast=forechest|breast=brisket|breast=ribs|bib=forechest|skirt=underline|skirt=flanks|"
        "trousers=buttocks|trousers=thighs|breeches=buttocks|breeches=thighs|pants=buttocks|pants=thighs|"
        "culottes=buttocks|culottes=thighs|pin bones=buttocks|backside=buttocks|saddle=back|saddle=jacket|spine=back|"
        "socks=feet|socks=legs|furnishings=furnishings-of-head|furnishings=legs|feathers=feathering|rump=croup|"
        "topknot=skull|forehead=skull|crown=skull|mane=neck|ruff=neck|nape=neck-top|scruff=neck-top|tummy=belly|"
        "tuck-up=flanks|coat=jacket|coat=body|sides=ribs|sides=flanks|hindquarters=thighs|hindquarters=hindlegs|"
        "hindquarters=rear|quarters=thighs|quarters=hindlegs|quarters=rear|elbows=upper-arms|elbows=forearms|"
        "snout=muzzle|nose=muzzle|lips=lip-edges"
    ),
    # Words for keys of the files, which are understood themselves too.
    "typed.task.pull": "pull|pulled",
    "typed.task.card": "card|carded|rake|raked",
    "typed.task.not-carded": "not carded|not raked|no carding",
    "typed.task.comb": "comb|combed",
    "typed.task.scissor": "scissor|scissored",
    "typed.task.clip": "clip|clipped",
    "typed.reaction.calm": "calm|quiet",
    "typed.reaction.unsettled": "unsettled|restless|fidgety|wriggled",
    "typed.reaction.stop": "stop|stopped|said stop|growled|snapped|bit|bit me",
    "typed.sex.female": "female|bitch|f|girl|she",
    "typed.sex.male": "male|dog|m|boy|he",
    "typed.health.none": "none",
    "typed.health.bruises-easily": "bruises-easily|bruises easily",
    "typed.health.in-whelp": "in-whelp|in whelp",
    "typed.health.long-medication": "long-medication|long medication",
    "typed.health.nursing": "nursing",
    "typed.health.parasites": "parasites",
    "typed.health.recent-surgery": "recent-surgery|recent surgery",
    "typed.health.spot-on-treatment": "spot-on-treatment|spot-on treatment|spot-on",
    "typed.health.unwell": "unwell",
    "typed.number-of": "{number} {unit}",
    "typed.seen-part": "{text:quoted} names no part; write it as PART: WORDS, for example 'back: holds, 14 mm'",
    "typed.seen-key": "{text:quoted} is unknown; use one of these keys: {keys:list}",
    "typed.seen-twice": "{part}: {first:quoted} and {second:quoted} exclude each other; use one of them",
    "typed.took-twice": "one visit cannot take {first:minutes} and {second:minutes}; use one of them",
    "typed.parts-took-longer": "{parts:list} took {minutes:minutes}, the whole visit {whole:minutes}; one of the two is wrong",
    "typed.whole-minutes": "{text:quoted} is for a part; write the minutes of the whole visit here",
    "typed.share": "{text:quoted} is no share; write it as 1/5, 20%, 0.2 or a fifth",
    "typed.number": "{text:quoted} is not a number",
    "typed.length": "{text:quoted} has no length; write the length left in millimetres, as {task}:3",
    "typed.work": "{text:quoted} is not {work}",
    "typed.part-what": "{text:quoted} is incomplete; write it as PART=WHAT",
    "typed.part-minutes": "{text:quoted} says no minutes; write it as N, or PART=N, above 0",
    "typed.hours-or-minutes": "{text:quoted} may be hours or minutes; write '{text} h' or '{text} min'",
    "typed.except": "cannot understand {text:quoted}; write a part and what was done there, as in 'back 1/5' or 'toes left'; anything else is a note, as in 'note: washed'",
    "typed.nothing-planned": "{text:quoted}: no work is planned here; write what was done, or use --as-planned",
    "typed.nothing-unclear": "{text:quoted} can mean two things; write 'yes' if all went as planned, or 'nothing done'",
}
