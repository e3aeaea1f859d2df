"""The commented files that ``coatrules new`` writes."""

from typing import Final

from coatrules.catalogue.template import Plural

SENTENCES: Final[dict[str, str | Plural]] = {
    "new.dog": """\
# One dog's history. The first part says who the dog is; every visit is added below, after a line of three dashes.
format: 1
dog:
  {id_key} # a short name: lower-case letters, digits, hyphens
  name: {name}
  {profile_key} # 'coatrules profiles' lists them
  # born: 2023-03-04
  # sex: female                       # or male
  # neutered: false
# How the coat was when the dog first came, by region or group. Give one of these for each part; a part that is not
# given counts as grown out. Remove the # in front of the lines you need.
# arrival:
#   {first}: {{grown_weeks: 20}}        # weeks since it was last stripped
#   {second}: {{longest_mm: 40}}        # or how long the longest hair is
#   {third}: {{clipped_mm: 6, clipped_weeks: 5}}   # or clipped: to what length, how many weeks ago
#
# 'coatrules record' adds a visit. By hand it looks like this, without the # in front:
# ---
# visit: {day}
# minutes: 80                           # how long all of it took
# work:                                 # region or group: what was done
#   {first}: {{card: true, pull: 0.2}}    # a fifth of the whole coat
#   {third}: {{clip: 6}}                  # clipped, left at 6 mm; true where only the outline was tidied
# seen:                                 # what you saw before the work
#   {first}: {{longest_mm: 8, layers: 2, skin: sound}}
# reactions: {{{second}: unsettled}}      # calm, unsettled or stop
# health: []                            # what must be minded, for example [spot-on-treatment]
# put_off: [{second}]                   # left for next time
# events: {{season: {day}}}       # or whelped: what can blow the coat weeks later, with its day
# note: anything to remember
""",
    "new.dog-name": "My dog",
    "new.profile": """\
# yaml-language-server: $schema={schema}
# A profile of your own. It takes over everything of the profile it extends, except what you write here.
# Try it with: coatrules check THIS-FILE
format: 2
{id_key} # the same as the file's name without .yaml
label: My breed, rough coat
{extends_key} # 'coatrules profiles' lists what you can build on
visit: {{every_weeks: 3, minutes: 90, pace_spread: 0.15, source: practice}}

sources:                              # where your numbers come from
  practice: {{common_practice: true}}
  # standard: {{title: Breed standard, publisher: FCI, year: 2003}}

layer_targets:                        # what is wanted of the rolling coat
  body:
    regions: [back]
    layers: 4                         # lengths present at once, just before a visit
    take: {{usual: 0.2, at_most: 0.35, low_spot: 0.05}}   # shares of the whole coat pulled at a visit
    cover: {{at_least: 0.5}}            # how much of the skin must stay hidden: 0 to 1
    longest_mm: [10, 70]              # shortest and longest silhouette
    source: practice

rules:                                # what to do differently, and when
  long-away:
    if: {{weeks_since_visit: {{minimum: 8}}}}
    then: {{take: {{at_most: 0.25}}, caution: "The dog was away for long: tell the owner that it takes several visits."}}
    because: A coat that was left is brought back in stages.
    source: practice
""",
    "new.profile-on": """\
# yaml-language-server: $schema={schema}
# A profile of your own. It takes over everything of the profile it extends, except what you write here.
# Try it with: coatrules check THIS-FILE
# 'coatrules profiles {base} --where KEY' shows what holds at a key, and where it was set.
format: 2
{id_key} # the same as the file's name without .yaml
label: {label}
extends: {base}
# Remove the # in front of what you change.
# visit: {{every_weeks: {every_weeks:figure}, minutes: {minutes:figure}}}
# layer_targets:
#   {target}:
#     take: {{usual: {usual:figure}}}
""",
}
