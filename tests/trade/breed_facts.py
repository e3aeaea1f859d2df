"""Facts of the breeds that the shipped profiles are held to, each with its source; none is taken from a profile."""

from __future__ import annotations

from typing import NamedTuple

# Vertebrate Breed Ontology (Monarch Initiative, CC BY 4.0) for both: FCI numbers are its cross-references, by profile.
# 148 is every Dachshund; a variety that the ontology does not tell apart has the term of its breed.
BREEDS: dict[str, tuple[int, str]] = {
    "affenpinscher": (186, "VBO:0200003"),
    "airedale-terrier": (7, "VBO:0200008"),
    "american-cocker-spaniel": (167, "VBO:0200038"),
    "australian-terrier": (8, "VBO:0200098"),
    "basset-fauve-de-bretagne": (36, "VBO:0200125"),
    "belgian-shepherd-laekenois": (15, "VBO:0200146"),
    "berger-picard": (176, "VBO:0201018"),
    "black-russian-terrier": (327, "VBO:0201146"),
    "border-terrier": (10, "VBO:0200194"),
    "bosnian-broken-haired-hound": (155, "VBO:0200200"),
    "bouvier-des-ardennes": (171, "VBO:0200207"),
    "bouvier-des-flandres": (191, "VBO:0200208"),
    "briquet-griffon-vendeen": (19, "VBO:0200235"),
    "cairn-terrier": (4, "VBO:0200267"),
    "cairn-terrier-show": (4, "VBO:0200267"),
    "cesky-fousek": (245, "VBO:0200188"),
    "clumber-spaniel": (109, "VBO:0200366"),
    "dachshund-wire-haired": (148, "VBO:0200406"),
    "dandie-dinmont-terrier": (168, "VBO:0200429"),
    "deerhound": (164, "VBO:0200435"),
    "dutch-shepherd-rough": (223, "VBO:0200465"),
    "dutch-smoushond": (308, "VBO:0200467"),
    "english-cocker-spaniel": (5, "VBO:0200486"),
    "english-setter": (2, "VBO:0200495"),
    "english-springer-spaniel": (125, "VBO:0200497"),
    "field-spaniel": (123, "VBO:0200519"),
    "galgo-espanol-rough": (285, "VBO:0201274"),
    "german-hunting-terrier": (103, "VBO:0200568"),
    "german-rough-haired-pointer": (232, "VBO:0200438"),
    "german-wirehaired-pointer": (98, "VBO:0200602"),
    "giant-schnauzer": (181, "VBO:0200604"),
    "gordon-setter": (6, "VBO:0200613"),
    "grand-basset-griffon-vendeen": (33, "VBO:0200615"),
    "grand-griffon-vendeen": (282, "VBO:0200619"),
    "griffon-belge": (81, "VBO:0200640"),
    "griffon-bleu-de-gascogne": (32, "VBO:0200178"),
    "griffon-bruxellois-rough": (80, "VBO:0200642"),
    "griffon-fauve-de-bretagne": (66, "VBO:0200514"),
    "griffon-nivernais": (17, "VBO:0200644"),
    "hungarian-wire-haired-vizsla": (239, "VBO:0201428"),
    "ibizan-podenco-rough": (89, "VBO:0200690"),
    "irish-glen-of-imaal-terrier": (302, "VBO:0200698"),
    "irish-red-and-white-setter": (330, "VBO:0200700"),
    "irish-red-setter": (120, "VBO:0200701"),
    "irish-terrier": (139, "VBO:0200704"),
    "irish-wolfhound": (160, "VBO:0200706"),
    "istrian-wire-haired-hound": (152, "VBO:0200710"),
    "italian-rough-haired-segugio": (198, "VBO:0200716"),
    "jack-russell-terrier-broken": (345, "VBO:0200724"),
    "jack-russell-terrier-rough": (345, "VBO:0200724"),
    "kromfohrlander-rough": (192, "VBO:0200786"),
    "lakeland-terrier": (70, "VBO:0200807"),
    "lakeland-terrier-staged": (70, "VBO:0200807"),
    "miniature-schnauzer": (183, "VBO:0200896"),
    "miniature-schnauzer-pet": (183, "VBO:0200896"),
    "norfolk-terrier": (272, "VBO:0200945"),
    "norwich-terrier": (72, "VBO:0200962"),
    "otterhound": (294, "VBO:0200980"),
    "parson-russell-terrier-broken": (339, "VBO:0200987"),
    "parson-russell-terrier-rough": (339, "VBO:0200987"),
    "petit-basset-griffon-vendeen": (67, "VBO:0201009"),
    "portuguese-podengo-wire": (94, "VBO:0201073"),
    "pudelpointer": (216, "VBO:0201087"),
    "pumi": (56, "VBO:0201105"),
    "scottish-terrier": (73, "VBO:0201198"),
    "sealyham-terrier": (74, "VBO:0201200"),
    "slovakian-rough-haired-pointer": (320, "VBO:0201244"),
    "spinone-italiano": (165, "VBO:0200721"),
    "standard-schnauzer": (182, "VBO:0201185"),
    "styrian-coarse-haired-hound": (62, "VBO:0201305"),
    "sussex-spaniel": (127, "VBO:0201309"),
    "welsh-springer-spaniel": (126, "VBO:0201411"),
    "welsh-terrier": (78, "VBO:0201412"),
    "west-highland-white-terrier": (85, "VBO:0201415"),
    "wire-fox-terrier": (169, "VBO:0201424"),
    "wire-fox-terrier-pet": (169, "VBO:0201424"),
    "wire-fox-terrier-show": (169, "VBO:0201424"),
    "wirehaired-pointing-griffon": (107, "VBO:0201427"),
    "wirehaired-pointing-griffon-show": (107, "VBO:0201427"),
}

BASES = frozenset(
    {
        "points-of-a-large-dog",
        "points-of-the-dog",
        "rough-companion",
        "rough-hound",
        "rough-long-legged-hound",
        "rough-shepherd",
        "rough-terrier",
        "schnauzer-jacket",
        "setter",
        "silky-jacket",
        "skirted-terrier",
        "vendeen-griffon",
        "wire-gundog",
        "wire-terrier",
    }
)


class Outline(NamedTuple):
    """The length a standard gives for part of a breed, in mm. ``about``: one rounded figure, so a tenth either way."""

    profile: str
    region: str
    shortest: float
    longest: float
    source: str
    about: bool = False


OUTLINES = (
    # The Kennel Club's standard as quoted on betterworld2016.org: 2 cm on the shoulder to 4 cm on withers, back, ribs, quarters.
    Outline("wire-fox-terrier-pet", "back", 20, 40, "The Kennel Club, Fox Terrier (Wire)"),
    Outline("wire-fox-terrier-show", "back", 20, 40, "The Kennel Club, Fox Terrier (Wire)"),
    Outline("wire-fox-terrier-pet", "shoulders", 20, 20, "The Kennel Club, Fox Terrier (Wire)", about=True),
    Outline("wire-fox-terrier-show", "shoulders", 20, 20, "The Kennel Club, Fox Terrier (Wire)", about=True),
    Outline(
        "airedale-terrier", "back", 25.4, 25.4, "The New Airedale Terrier, on airedalebreeders.com: an inch", about=True
    ),
    Outline("airedale-terrier", "shoulders", 6.4, 12.7, "The New Airedale Terrier: a quarter to half an inch"),
    Outline(
        "west-highland-white-terrier",
        "back",
        50,
        51,
        "standard on doggroomingtutorial.com and rubold.com: about 5 cm",
        about=True,
    ),
    Outline("dandie-dinmont-terrier", "back", 40, 51, "doggroomingtutorial.com: 2 in, best 4 to 5 cm"),
    Outline("scottish-terrier", "back", 40, 50, "Scottish Terrier article, wowway.ru (weak)"),
    Outline(
        "affenpinscher", "back", 25.4, 25.4, "AKC standard on dog-pet-online.blogspot.com: about an inch", about=True
    ),
    Outline("german-wirehaired-pointer", "back", 25, 51, "AKC standard in the club text on amwirehairs.com: 1 to 2 in"),
    Outline("german-wirehaired-pointer", "back", 20, 40, "FCI standard 98, from memory: 2 to 4 cm"),
    Outline("hungarian-wire-haired-vizsla", "back", 20, 30, "ANKC text on purebredpuppies.com.au"),
    Outline("hungarian-wire-haired-vizsla", "beard", 20, 30, "ANKC text on purebredpuppies.com.au"),
    Outline("spinone-italiano", "back", 40, 60, "doggroomingtutorial.com: 4 to 6 cm"),
    Outline("cesky-fousek", "ribs", 30, 40, "furrycritter.com: guard hair"),
    Outline("cesky-fousek", "back", 50, 70, "furrycritter.com: bristles on the back line"),
    Outline("cesky-fousek", "shoulders", 50, 70, "furrycritter.com: bristles on the shoulders"),
)

# Coats that are shown as they grow: the full length, in mm.
FULL_LENGTHS = (
    Outline("deerhound", "back", 70, 102, "8 to 10 cm on a breeder's page, 7 to 10 cm on doggroomingtutorial.com"),
    Outline("otterhound", "back", 40, 80, "The Kennel Club's text on pets.org.il: 4 to 8 cm"),
    Outline("australian-terrier", "back", 54, 66, "FCI standard 8 (2012): approximately 6 cm"),
    Outline("berger-picard", "back", 50, 64, "FCI 5 to 6 cm, from memory; about 2.5 in on addbloglink.com"),
)


class Regrowth(NamedTuple):
    """What stands on the back so many weeks after a full strip: ``row`` of ``profiles/evidence/growth.csv`` gives weeks and length.

    Neither is in the profile. A single number of weeks is meant to a tenth. Where a row has no length (``inch``) the coat that is
    back is an inch to a tenth, the show length of The New Airedale Terrier: common practice for the other terriers, no source.
    """

    profile: str
    row: str
    inch: bool
    source: str


REGROWTHS = (
    Regrowth(
        "airedale-terrier", "E003", False, "the weeks of the United States Lakeland Terrier Club, the book's inch"
    ),
    Regrowth("airedale-terrier", "E004", False, "Showsight magazine: the saddle is in within two to three months"),
    Regrowth("lakeland-terrier", "E003", False, "United States Lakeland Terrier Club: eight to ten weeks before"),
    Regrowth("wire-fox-terrier", "E005", False, "a breed magazine of 1923: eight to ten weeks; FCI 169: 2 to 4 cm"),
    Regrowth("wire-fox-terrier-show", "E005", False, "the same"),
    Regrowth("norfolk-terrier", "E002", False, "Showsight magazine: twelve weeks; a breeder: one to two inches"),
    Regrowth("norwich-terrier", "E002", False, "the same"),
    Regrowth(
        "dutch-smoushond", "E001", False, "Hollandse Smoushonden Club: eleven to fifteen weeks; FCI 308: 4 to 7 cm"
    ),
    Regrowth("miniature-schnauzer", "E006", False, "a rolling guide (2000): twelve weeks; AKC: 3/4 to 2 inches"),
    Regrowth("miniature-schnauzer", "E007", False, "schnauzerweb.com, judges' education: ten to eleven weeks"),
    Regrowth("standard-schnauzer", "E006", False, "a rolling guide (2000); AKC"),
    Regrowth("welsh-terrier", "E012", True, "Welsh Terrier Club: eight weeks from the rough to show"),
    Regrowth("border-terrier", "E010", True, "Northern Border Terrier Club: most coats after nine to ten weeks"),
    Regrowth("border-terrier", "E011", True, "The Border Terrier, terrierworld.co.uk: eight weeks"),
)

# The skin is hidden again, and hair can be gripped, so many weeks after a full strip.
COVERED = (
    ("welsh-terrier", 4, "Welsh Terrier Club, Trimming: trimming for show can begin"),
    ("irish-terrier", 4, "North of England Irish Terrier Club (2023): cover is back"),
)


class Rhythm(NamedTuple):
    """How often a rolling coat is worked: days from one visit to the next."""

    profile: str
    least: int
    most: int
    source: str


RHYTHMS = (
    Rhythm("border-terrier", 14, 14, "page quoting the Border Terrier Club of America"),
    Rhythm("wire-fox-terrier-pet", 21, 28, "Fox Terrier Club of Maryland, How to groom a Wire Fox Terrier"),
    Rhythm(
        "west-highland-white-terrier", 28, 31, "West Highland White Terrier magazine; Article on trimming the Westie"
    ),
    Rhythm("cairn-terrier-show", 7, 10, "doggroomingtutorial.com, grooming a Cairn Terrier for the show ring"),
    Rhythm("miniature-schnauzer", 7, 7, "Miniature Schnauzer rolling guide (2000)"),
    Rhythm("wirehaired-pointing-griffon", 7, 14, "breeder's guide, coats of Wirehaired Pointing Griffons"),
    Rhythm("dutch-shepherd-rough", 175, 189, "AKC Dutch Shepherd standard: hand-plucked on average twice a year"),
)

# Where hair may be pulled at all on breeds whose standard or club forbids or limits trimming.
ONLY_PULLED: dict[str, frozenset[str]] = {
    "petit-basset-griffon-vendeen": frozenset(),  # a breed magazine: never trimmed
    "otterhound": frozenset(),  # shown natural: common practice, no source
    "ibizan-podenco-rough": frozenset(),  # AKC: untrimmed, no scissors, no plucking
    "bouvier-des-ardennes": frozenset(),  # FCI 171: all trimming disqualifies
    "jack-russell-terrier-broken": frozenset(),  # FCI 345: not stripped out to appear smooth or broken
    "jack-russell-terrier-rough": frozenset(),  # the same
    "black-russian-terrier": frozenset(),  # FCI 327: clipped to a form
    # FCI 8: untrimmed; ears, lower legs and feet free from long hair, foreface short
    "australian-terrier": frozenset(
        ["ears-outside", "stop", "muzzle", "throat", "front-pasterns", "hocks", "front-toes", "hind-toes"]
    ),
    "berger-picard": frozenset({"ears-outside"}),  # Berger Picard Club of America: only the ears' fringe is plucked
    "deerhound": frozenset({"ears-outside"}),  # breed pages: ears may be tidied
}
