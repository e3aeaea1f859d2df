"""Writes the schemas of what the library gives out: ``python -m tests.generated_formats``. A test holds them fresh.

They are open: a later version may add keys, so that none says ``additionalProperties: false``. Every object has a title, which becomes the
name of its type in other languages; the facts are those of the catalogue. What is the same in several formats is written once:
in the work order, or here.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from coatrules.formats.named_types import in_place
from coatrules.formats.resources import fact_unit
from tests.support.named_types import named

SCHEMAS = Path(__file__).parent.parent / "schemas"
OPEN = " Open: a later version may add keys; pass over those you do not know."
OUTPUTS = ("comparison", "due", "explanation", "imported", "plan", "problems", "rehearsal", "work-order")
"""What the library itself writes: others read it by what it promises. All other formats are read by it, and closed."""

Schema = dict[str, Any]

TITLES = {
    "visits": "PlannedVisit",
    "regions": "Region",
    "learned_from": "LearnedFrom",
    "ended_by": "RollingEnd",
    "late": "LaterVisit",
    "next_visit/because": "Binding",
    "window": "Windows",
    "minutes": "Minutes",
    "params": "Params",
    "pace/regions": "RegionPace",
    "visits/regions": "RegionVisit",
    "clashes": "Conflict",
    "loosenings": "Relaxation",
    "dog": "DogName",
    "profile": "ProfileName",
}
"""Titles that are not simply the key they stand under; the longest end of the path that is here counts."""


def opened(schema: Schema) -> Schema:
    """Returns a schema with nothing closed, a title for every type, and a description that says so."""
    made: dict[str, Any] = _open(schema, ())
    made["description"] = made["description"].removesuffix(OPEN) + OPEN
    return made


def _open(node: Any, path: tuple[str, ...]) -> Any:
    if not isinstance(node, dict):
        return node
    made = dict(node)
    if made.get("additionalProperties") is False:
        del made["additionalProperties"]
    for key in ("properties", "$defs"):
        if key in made:
            made[key] = {name: _open(inner, (*path, name)) for name, inner in made[key].items()}
    for key in ("additionalProperties", "items"):
        if key in made:
            made[key] = _open(made[key], (*path, "*"))
    if (
        isinstance(made.get("items"), dict) and "minimum" in made["items"]
    ):  # bounds of their own make a type of the entries
        made["items"] = {"title": title((*path, "*"))} | made["items"]
    for key in ("anyOf", "allOf"):
        if key in made and key != "allOf":
            made[key] = [_open(inner, path) for inner in made[key]]
    kinds = made.get("type")
    if "properties" in made and "title" not in made and kinds is not None and path:
        made = {"title": title(path)} | made
    return by_kind(made)


KEYWORDS_OF = {
    "number": ("minimum", "maximum"),
    "integer": ("minimum", "maximum"),
    "string": ("pattern", "minLength", "maxLength", "format"),
    "array": ("items", "minItems", "maxItems"),
    "object": ("title", "properties", "required", "additionalProperties"),
}


def by_kind(node: Schema) -> Schema:
    """Returns a schema with a branch for each kind of value, where there are several besides null: what a kind must be stands
    beside it, and strict readers of schemas take no list of kinds."""
    kinds = node.get("type")
    if not isinstance(kinds, list) or len(kinds) < 2 or (len(kinds) == 2 and "null" in kinds):
        return node
    branches = [{"type": one} | {key: node[key] for key in KEYWORDS_OF.get(one, ()) if key in node} for one in kinds]
    own = {key for keywords in KEYWORDS_OF.values() for key in keywords} | {"type"}
    return {key: value for key, value in node.items() if key not in own} | {"anyOf": branches}


def title(path: tuple[str, ...]) -> str:
    """Returns the name of the type of what stands at a path of keys; ``*`` is an item of the one before."""
    names = [name for name in path if name != "*"]
    for length in range(len(names), 0, -1):
        if found := TITLES.get("/".join(names[-length:])):
            return found
    last = names[-1]
    if path[-1] == "*":
        last = last.removesuffix("s")
    return "".join(part.capitalize() for part in re.split("[_-]", last))


def read(name: str) -> Schema:
    """Returns a schema as it is checked in."""
    found: Schema = in_place(json.loads((SCHEMAS / f"{name}.schema.json").read_text(encoding="utf-8")))
    return found


def thing(description: str, properties: Mapping[str, Schema], *optional: str) -> Schema:
    """Returns the schema of an object, all its keys required but ``optional`` ones."""
    required = [name for name in properties if name not in optional]
    return {"description": description, "type": "object", "properties": dict(properties), "required": required}


def kind(description: str, kind: str | list[str], **more: Any) -> Schema:
    return {"description": description, "type": kind} | more


def listed(description: str, items: Schema) -> Schema:
    return {"description": description, "type": "array", "items": items}


DAY = {"type": "string", "format": "date"}
DAY_OR_NULL = {"type": ["string", "null"], "format": "date"}
HISTORY = {"description": "A dog's history, by its own schema.", "type": "object", "additionalProperties": True}
FORMAT = {"description": "The version of this format. Always 1.", "type": "integer", "const": 1}
ANYTHING = kind(
    "Anything.", ["string", "number", "boolean", "array", "object", "null"], items=True, additionalProperties=True
)
PARAMS = kind(
    "What it speaks of; the page of codes says which. Days are text, as in 2026-03-21.",
    "object",
    additionalProperties=True,
)
OWN = kind("True where these are an author's own words, which no catalogue has; else absent.", "boolean")
MESSAGE = thing(
    "A sentence: its code, what it speaks of, and the words in the language asked for.",
    {
        "code": kind("Names the sentence in the page of codes. Programs go by this.", "string"),
        "params": PARAMS,
        "text": kind("In words.", "string"),
        "own": OWN,
    },
    "own",
)
PROBLEM = thing(
    "One thing that is wrong, or that a reader should know.",
    {
        "code": kind("Names it in the page of codes. Programs go by this.", "string"),
        "params": PARAMS,
        "severity": kind("How serious: an error makes an input unusable.", "string", enum=["error", "warning", "note"]),
        "message": kind("What is wrong, in words.", "string"),
        "hint": kind("How to fix it; empty where nothing can be said.", "string"),
        "file": kind("The file; empty for data that came without one.", "string"),
        "line": kind("The line, from 1; 0 where it is not known.", "integer", minimum=0),
        "column": kind("The column, from 1; 0 where it is not known.", "integer", minimum=0),
        "path": listed("The keys and indexes that lead to the value.", {"type": ["string", "integer"]}),
        "fix": {"$ref": "#/$defs/message"},
        "meaning": kind("What the format says of the value; absent where it says nothing.", "string"),
        "key": kind("True where the key is meant and not its value; else absent.", "boolean"),
    },
    *("params", "file", "line", "column", "fix", "meaning", "key"),
)
REF_MESSAGE, REF_PROBLEM = {"$ref": "#/$defs/message"}, {"$ref": "#/$defs/problem"}
MESSAGES = {"message": {"title": "Message"} | MESSAGE}
PROBLEMS = {"problem": {"title": "Problem"} | PROBLEM} | MESSAGES
"""What schemas define that speak of problems."""


def either(name: str, title: str, about: str, kinds: Mapping[str, Schema], definitions: Mapping[str, Schema]) -> Schema:
    """Returns the schema of a format that holds one of several kinds of answer, each with a name of its own."""
    body = {"description": about, "type": "object", "anyOf": [{"$ref": f"#/$defs/{kind}"} for kind in kinds]}
    return head(name, title, body, {**kinds, **definitions})


def head(name: str, title: str, body: Schema, definitions: Mapping[str, Schema] | None = None) -> Schema:
    schema = {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "$id": f"https://coatrules.example/schemas/{name}-1.schema.json",
        "title": title,
    } | body
    return opened(schema | ({"$defs": dict(definitions)} if definitions else {}))


def work_order() -> Schema:
    """The work order: as checked in, with what is generated in place."""
    schema = read("work-order")
    properties, definitions = schema["properties"], schema["$defs"]
    definitions["message"] = MESSAGE
    definitions["facts"] = facts()
    reason = definitions["reason"]["properties"]
    rested = "What it rested on: facts of the catalogue, and what the sentence speaks of."
    reason["facts"] = kind(rested, "object", additionalProperties=True)
    reason["own"] = OWN
    step = properties["steps"]["items"]
    _add(step, "tools", kind("Hands and tools by name alone.", "string"))
    _add(properties["next_visit"], "planned", DAY_OR_NULL | {"description": "The interval before it was moved."})
    region = properties["regions"]["additionalProperties"]
    region["properties"]["facts"] = {"$ref": "#/$defs/facts"}
    _add(region, "coat", kind("Id of the coat that grows here.", ["string", "null"]))
    _add(
        region,
        "groups",
        listed("Ids of the profile's groups that hold it.", kind("A group's id.", "string")),
    )
    pair = kind("The share and the day.", "array", minItems=2, maxItems=2, items={"type": ["number", "string"]})
    region["properties"]["hair"]["items"] = pair
    pace = thing(
        "Pace there.",
        {
            "mean": kind("Mean.", "number", minimum=0),
            "sd": kind("Standard deviation.", "number", minimum=0),
        },
    )
    paces = kind("The pace of each region with a measurement.", "object", additionalProperties=pace)
    _add(properties["pace"], "regions", paces)
    finding = properties["findings"]["items"]
    finding["properties"]["path"]["items"] = {"type": ["string", "integer"]}
    finding["properties"]["params"] = PARAMS
    _add(schema, "facts", {"$ref": "#/$defs/facts"})
    return opened(schema)


def _add(node: Schema, name: str, schema: Schema) -> None:
    node["properties"][name] = schema
    if name not in node["required"]:
        node["required"].append(name)


def facts() -> Schema:
    """The catalogue of facts as a type: what is absent is not known or asks for nothing. Ids and units stay with the catalogue."""
    catalogue = read("facts")["properties"]
    known = {
        name: {key: value for key, value in fact.items() if key != "title"}
        | (
            {}
            if fact_unit(name) in (None, "share")
            else {"description": f"{fact['description']} In {fact_unit(name)}."}
        )
        for name, fact in catalogue.items()
    }
    return {
        "title": "Facts",
        "description": "Facts of a region or of the dog, by the catalogue of facts; numbers to four places. What is not known is absent.",
        "type": "object",
        "properties": known,
    }


def plan() -> Schema:
    """The plan: as checked in, its sentences as everywhere."""
    schema = read("plan")
    schema["$defs"] |= MESSAGES
    return opened(schema)


def problems() -> Schema:
    """Refusals and findings."""
    body = thing(
        "What is wrong with an input, or what its author should think about: every problem that was found.",
        {
            "format": FORMAT,
            "line": kind("Of a book, the line that was refused; from 1.", "integer", minimum=1),
            "problems": listed("What made the input unusable, in the order of the file.", REF_PROBLEM),
            "findings": listed("What a check found.", REF_PROBLEM),
        },
        *("format", "line", "problems", "findings"),
    )
    return head("problems", "Problems", body, PROBLEMS)


def embedded() -> tuple[Schema, dict[str, Schema]]:
    """The work order as a part of another format, and what it refers to."""
    order = work_order()
    definitions = order.pop("$defs")
    return {key: value for key, value in order.items() if not key.startswith("$")}, definitions


def due() -> Schema:
    """A dog that is due, and the list of a book."""
    order, definitions = embedded()
    dog = thing(
        "One dog of a book.",
        {
            "dog": {"$ref": "#/$defs/dog"},
            "profile": kind("Id of the profile.", "string"),
            "due": DAY_OR_NULL | {"description": "The day it must come; null while something must happen before."},
            "days": kind("Days until then; below 0 it is overdue; null as above.", ["integer", "null"]),
            "hold": kind(
                "What must happen before any day holds, in words; null where nothing must.", ["string", "null"]
            ),
            "open": DAY_OR_NULL | {"description": "The salon's open day; null where its days are not known."},
            "last": DAY_OR_NULL | {"description": "The last day of work on record; null where there is none."},
            "earliest": DAY | {"description": "Not before."},
            "best": DAY | {"description": "Best on."},
            "latest": DAY_OR_NULL | {"description": "Not after; null where nothing sets an end."},
            "minutes": kind("Work planned on that day. In minutes.", "number", minimum=0),
            "put_off": kind("Regions that would not fit in.", "integer", minimum=0),
            "why": listed("Why then, in words.", kind("A sentence.", "string")),
            "refer": listed("What a veterinary surgeon must see first, in words.", kind("A sentence.", "string")),
        },
    )
    one = thing(
        "When a dog must come, and what that visit will hold.",
        {
            "format": FORMAT,
            "asked": DAY | {"description": "The day asked about; what earlier versions wrote lacks it."},
            "last": DAY_OR_NULL | {"description": "The last day of work on record; null where there is none."},
            "day": DAY | {"description": "The best day, never before the day asked about."},
            "visit": {"$ref": "#/$defs/next_visit"},
            "order": {"$ref": "#/$defs/work_order"},
        },
        "asked",
    )
    book = thing(
        "The list of a book, soonest first.",
        {
            "format": FORMAT,
            "date": DAY | {"description": "The day asked about."},
            "dogs": listed("The dogs, soonest first.", {"$ref": "#/$defs/due_dog"}),
            "problems": listed("What made histories unusable; absent where nothing did.", REF_PROBLEM),
        },
        "problems",
    )
    parts = {
        "work_order": order,
        "next_visit": order["properties"].pop("next_visit"),
        "dog": order["properties"].pop("dog"),
        "due_dog": {"title": "DueDog"} | dog,
    } | PROBLEMS
    order["properties"] |= {"dog": {"$ref": "#/$defs/dog"}, "next_visit": {"$ref": "#/$defs/next_visit"}}
    about = "When a dog must come and what that visit will hold, or the list of a book."
    kinds = {"due": {"title": "Due"} | one, "due_book": {"title": "DueBook"} | book}
    return either("due", "AnyDue", about, kinds, definitions | parts)


def explanation() -> Schema:
    """Why, and why not, in one region."""
    order, definitions = embedded()
    anything = ["string", "number", "boolean", "array", "null"]
    miss = thing(
        "A fact that stopped the rule.",
        {
            "fact": kind("The fact.", "string"),
            "value": kind("What it is; null where it is absent.", anything, items={"type": anything[:3]}),
            "absent": kind("Whether it is not known or asks for nothing.", "boolean"),
            "wanted": REF_MESSAGE | {},
        },
    )
    rule = thing(
        "One rule that is for this region.",
        {
            "rule": kind("Its id in the profile.", "string"),
            "fired": kind("Whether its condition held.", "boolean"),
            "because": kind("Its author's reason.", "string"),
            "sources": listed("Where its numbers come from.", REF_MESSAGE),
            "facts": kind("The facts it asked about, as they are.", "object", additionalProperties=True),
            "misses": listed("What stopped it; empty where it fired.", {"title": "Miss"} | miss),
        },
    )
    body = thing(
        "What was decided in one region on a day, and why.",
        {
            "format": FORMAT,
            "region": kind("The region's id.", "string"),
            "rules": listed("Its rules, in the order of the profile.", {"title": "RuleTrace"} | rule),
            "elsewhere": listed("Ids of rules that are for other regions.", kind("A rule's id.", "string")),
            "order": {"$ref": "#/$defs/work_order"},
        },
    )
    return head("explanation", "Explanation", body, definitions | {"work_order": order})


def comparison() -> Schema:
    """Two versions of a profile under the same histories."""
    place = thing(
        "Where it is written.",
        {"file": kind("The file; empty for data that came without one.", "string"), "line": LINE},
    )
    pair = kind("The file, empty for data that came without one, and the line.", "array", minItems=2, maxItems=2)
    pair |= {"items": {"type": ["string", "integer"]}}
    value = ANYTHING | {"description": "The value in the profile's data; null where there is none."}
    path = listed("The keys that lead to what was changed.", {"type": ["string", "integer"]})
    change = {"path": path, "old": value, "new": value}
    region = kind("The region; empty where the whole visit differs.", "string")
    difference = thing(
        "One thing that came out otherwise.",
        {
            "region": region,
            "old": REF_MESSAGE,
            "new": REF_MESSAGE,
            "because": listed("The changes that alone make the difference.", {"$ref": "#/$defs/cause"}),
        },
    )
    told = thing(
        "One thing that came out otherwise, in words.",
        {
            "region": kind("The region; null where the whole visit differs.", ["string", "null"]),
            "old": kind("What it was, in words.", "string"),
            "new": kind("What it became, in words.", "string"),
            "was": kind("The same, by its place in the list of sentences.", "integer", minimum=0),
            "became": kind("The same, by its place in the list of sentences.", "integer", minimum=0),
            "because": listed("The changes that alone make it, by their place in the list.", {"type": "integer"}),
        },
    )
    occasion = {
        "name": kind("The worked case or the dog.", "string"),
        "history": HISTORY,
        "date": DAY | {"description": "The day."},
        "minutes": kind("The time there is; null for the usual visit. In minutes.", ["number", "null"], minimum=0),
    }
    order = thing(
        "One dog on a day, under both versions.",
        {
            **occasion,
            "differences": listed("What came out otherwise; empty where nothing did.", {"title": "Told"} | told),
        },
    )
    one = thing(
        "Two versions of a profile under one history.",
        {
            "format": FORMAT,
            "occasion": {"title": "Occasion"} | thing("A dog on a day: what both versions are asked about.", occasion),
            "differences": listed("What came out otherwise.", {"title": "Difference"} | difference),
        },
    )
    many = thing(
        "Two versions of a profile, or of several, under many histories.",
        {
            "format": FORMAT,
            "changes": listed("The lines that differ.", {"$ref": "#/$defs/change"}),
            "silent_changes": listed("Those on which no order depends.", {"$ref": "#/$defs/change"}),
            "changes_without_effect": kind("How many these are.", "integer", minimum=0),
            "profiles_of_one_version": listed(
                "Profiles of which there is one version only.", kind("Its id.", "string")
            ),
            "sentences": listed("All that was and that became, each once.", REF_MESSAGE),
            "orders": listed("Every dog that was asked about.", {"title": "ComparedOrder"} | order),
        },
    )
    parts = MESSAGES | {
        "cause": {"title": "Cause"} | thing("A change.", change | {"old_place": pair, "new_place": pair}),
        "change": {"title": "Change"}
        | thing("A change.", change | {"old_place": {"$ref": "#/$defs/place"}, "new_place": {"$ref": "#/$defs/place"}}),
        "place": {"title": "Place"} | place,
    }
    about = "Two versions of a profile under one history, or under many."
    kinds = {"compared": {"title": "Compared"} | one, "profile_comparison": {"title": "ProfileComparison"} | many}
    return either("comparison", "AnyComparison", about, kinds, parts)


LINE = kind("The line, from 1; 0 where it is not known.", "integer", minimum=0)


def rehearsal() -> Schema:
    """Two years of one dog's visits, or of all of them."""
    share = {"minimum": 0, "maximum": 1}
    look = thing(
        "What is seen of a target at one visit, in the region where it is worst.",
        {
            "week": kind("Weeks from the start.", "number", minimum=0),
            "layers": kind("The fewest layers, before the work.", "integer", minimum=0),
            "longest_mm": kind("The longest hair, before the work. In mm.", "number", minimum=0),
            "oldest_weeks": kind("The oldest hair, before the work. In weeks.", "number", minimum=0),
            "cover": kind("The least cover, straight after the work.", "number", **share),
            "comes_easily": kind(
                "The least ripe part of what is pulled: it comes easily; null where nothing is.",
                ["number", "null"],
                **share,
            ),
        },
    )
    target = thing(
        "What became of one layer target.",
        {
            "looks": listed("What was seen, visit by visit.", {"$ref": "#/$defs/look"}),
            "reached_week": kind("When all layers first stood; null if never.", ["number", "null"], minimum=0),
            "settled": kind("Visits once the coat has settled.", "integer", minimum=0),
            "see_through": kind("Of those, visits with too little cover.", "integer", minimum=0),
            "overgrown": kind("Of those, visits with hair that is too long.", "integer", minimum=0),
            "few_layers": kind("Of those, visits with too few layers.", "integer", minimum=0),
            "regions": kind("Where it was worst, by what was seen.", "object", additionalProperties={"type": "string"}),
        },
    )
    actor = thing(
        "A dog and its owner.",
        {
            "dog": kind("How fast its coat grows, in a word.", "string"),
            "pace": kind("How fast its coat grows, against the profile's typical dog.", "number", minimum=0),
            "rhythm": kind("How it comes, in a word.", "string"),
            "stretch": kind("How long an interval becomes, against the profile's.", "number", minimum=0),
        },
    )
    run = {
        "actor": {"$ref": "#/$defs/actor"},
        "visits": kind("Visits in two years.", "integer", minimum=0),
        "minutes": listed("Planned at each visit. In minutes.", {"type": "number", "minimum": 0}),
        "deferred": kind("Visits that had no time for all.", "integer", minimum=0),
        "targets": kind("The layer targets, by id.", "object", additionalProperties={"$ref": "#/$defs/target_run"}),
    }
    wanted = thing(
        "What a layer target asks for.",
        {
            "layers": kind("Layers.", "integer", minimum=0),
            "cover_at_least": kind("The least cover; null where none is asked for.", ["number", "null"], **share),
            "longest_mm": kind(
                "The lengths of the longest hair; null where none are asked for. In mm.",
                ["array", "null"],
                items={"type": "number"},
            ),
        },
    )
    profile = thing(
        "The profile.",
        {
            "id": kind("Its id.", "string"),
            "label": kind("Its name.", "string"),
            "sha256": kind("Which edition it is.", "string"),
        },
    )
    whole = thing(
        "A profile rehearsed with every dog.",
        {
            "format": FORMAT,
            "profile": {"title": "RehearsedProfile"} | profile,
            "every_weeks": kind("Its usual interval. In weeks.", "number", minimum=0),
            "minutes": kind("Its usual visit. In minutes.", "number", minimum=0),
            "weeks": kind("How long it was rehearsed. In weeks.", "number", minimum=0),
            "settled_from_week": kind("From when the coat has settled.", "number", minimum=0),
            "wanted": kind("The layer targets, by id.", "object", additionalProperties={"title": "Wanted"} | wanted),
            "labels": kind("What its regions are called, by id.", "object", additionalProperties={"type": "string"}),
            "runs": listed("The dogs.", {"$ref": "#/$defs/run"}),
        },
    )
    kinds = {
        "run": {"title": "Run"} | thing("Two years of one dog's visits.", {"format": FORMAT, **run}, "format"),
        "rehearsal": {"title": "Rehearsal"} | whole,
    }
    parts = {
        "actor": {"title": "Actor"} | actor,
        "target_run": {"title": "TargetRun"} | target,
        "look": {"title": "Look"} | look,
    }
    about = "Two years of one dog's visits, or of all dogs of a rehearsal."
    return either("rehearsal", "AnyRehearsal", about, kinds, parts)


def imported() -> Schema:
    """What came of a sheet."""
    body = thing(
        "What a spreadsheet held.",
        {
            "format": FORMAT,
            "histories": kind("The histories, by the dog's id.", "object", additionalProperties=HISTORY),
            "rows": kind("Rows with something in them.", "integer", minimum=0),
            "read": kind("Rows that could be read.", "integer", minimum=0),
            "problems": listed("What could not, a row each.", REF_PROBLEM),
        },
    )
    return head("imported", "Imported", body, PROBLEMS)


def schemas() -> dict[str, str]:
    """Every generated schema as text, by name."""
    made = {
        "comparison": comparison(),
        "due": due(),
        "explanation": explanation(),
        "imported": imported(),
        "plan": plan(),
        "problems": problems(),
        "rehearsal": rehearsal(),
        "work-order": work_order(),
    }
    made |= {
        name: read(name) for name in ("checkpoint", "import", "salon")
    }  # written by hand, but for the names of types
    return {name: json.dumps(named(schema), indent=2, ensure_ascii=False) + "\n" for name, schema in made.items()}


if __name__ == "__main__":
    for name, text in schemas().items():
        (SCHEMAS / f"{name}.schema.json").write_text(text, encoding="utf-8")
