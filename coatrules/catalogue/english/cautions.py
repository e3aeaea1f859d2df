"""Cautions and referrals that no profile can loosen."""

from typing import Final

from coatrules.catalogue.template import Plural

SENTENCES: Final[dict[str, str | Plural]] = {
    "health.bruises-easily": "The dog bruises or bleeds easily: no pulling or carding until a veterinary surgeon agrees.",
    "health.in-whelp": "The bitch is in whelp: no pulling or carding; ask a veterinary surgeon what she may be asked to bear.",
    "health.long-medication": "The dog is on long medication, which can thin the skin: no pulling or carding until a veterinary surgeon agrees.",
    "health.nursing": "The bitch is nursing: no pulling or carding; ask a veterinary surgeon when it may begin again.",
    "health.parasites": "Parasites were seen: no work today. Send the dog to a veterinary surgeon, then clean the place and disinfect the tools.",
    "health.recent-surgery": "The dog was operated on recently: no work until a veterinary surgeon agrees.",
    "health.spot-on-treatment": "A spot-on treatment was given less than three days ago: no pulling or carding yet.",
    "health.unwell": "The dog is unwell: no work today. Send it to a veterinary surgeon.",
    "skin.unsound": "{regions:list}: the skin was not sound on {day:date}. Hands and tools stay off; send the dog to a veterinary surgeon. A visit that records 'skin: sound' there lifts this.",
    "caution.check-skin": "Check the skin of every part before you begin. Where it is broken, sore or lumpy, leave it and send the dog to a veterinary surgeon.",
    "caution.few-hairs": "Pull a few hairs at a time, with the lay of the coat, the skin held taut. Hair that needs a hard pull is not ready: leave it.",
    "caution.blunt-knife": "A knife that pulls must never cut: keep it blunt. Feel the clipper blade on your own wrist; change it when it is warm.",
    "caution.objects": "Stop where the dog objects, work elsewhere, come back later or another day. Never leave a dog alone on the table or tied by the neck.",
    "caution.your-hands": "Spare your hands: change grip and posture, rest between parts, gloves or rubber grips on sore fingers.",
    "caution.local-codes": "Local animal welfare codes and the advice of a veterinary surgeon come before this sheet.",
    "floor-only-cut": "'{region}' is only ever cut, never pulled: no profile can loosen that, and this one leaves out '{zone}'.",
    "floor-only-cut.fix": "Keep a clipper-only zone that holds '{region}'. This floor holds for every dog.",
    "floor-tender": "'{region}' is at least as tender as level {level}, with bouts of at most {bout:minutes} and rests of at least {rest:minutes}: no profile can loosen that.",
    "floor-tender.fix": "Keep a sensitive zone as strict as that round '{region}', or a stricter one. This floor holds for every dog.",
    "recorded-against-floor": "on {day:date}: {what}. That goes against the floor under every profile.",
    "recorded-against-floor.fix": "Mend the entry if it is wrong. If it was so, look the dog over there before anything else is done.",
    "against-floor": "on {day:date}: {what}. That goes against the floor under every profile, so it is asked back",
    "against-floor.fix": "Mend the entry if it is wrong. If it really was so, say --anyway, with --note and what happened.",
    "anyway-without-note": "what goes against the floor is written down only with a note of what happened",
    "anyway-without-note.fix": "Say --note TEXT as well.",
    "against.health": "pulled or carded while hands were to stay off the dog ({health:list})",
    "against.only-cut": "pulled or carded where hair is only ever cut ({regions:list})",
    "against.unsound": "pulled or carded where the skin has not been sound since {day:date} ({regions:list})",
    "against.stop": "pulled or carded where the dog said stop, before {until:date} ({regions:list})",
    "against.puppy": "{minutes:minutes} of work on a puppy, which bears {most:minutes} at most",
    "floor-day": "a visit of {minutes:minutes}: no dog stands on the table for more than {most:minutes} a day, and no profile can loosen that",
    "floor-day.fix": "Write {most:minutes} at most: what is not done is put off to another day. This floor holds for every dog.",
    "floor-first-coat": "the puppy coat comes out at {weeks:weeks}: before {least:weeks} nothing is pulled on a puppy, and no profile can loosen that",
    "floor-first-coat.fix": "Write {least:weeks} or more. This floor holds for every dog.",
    "anatomy-missing": "nobody can tell where on the dog '{region}' lies, so nothing is ever pulled there",
    "anatomy-missing.fix": "Add 'anatomy: UBERON:…' with the term that holds it, or 'anatomy: none' if it is no tender place and may be pulled.",
}
