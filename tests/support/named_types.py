"""Schemas that programs make types of: each type with one name, by the ways of writing that every such program understands."""

from __future__ import annotations

from coatrules.formats.named_types import Schema, within
from coatrules.formats.values import FACT_PATTERN, ID_PATTERN

HERE = ("description", "examples", "default")
"""What is said of a value where it stands, and not of its type."""
PATTERNS = {ID_PATTERN: "Id", FACT_PATTERN: "FactName"}
WORDS = {
    ("female", "male"): "Sex",
    ("northern", "southern"): "Hemisphere",
    ("longest", "ripe", "even"): "Pick",
    ("easily", "mixed", "holds"): "Verdict",
    ("soft", "woolly"): "Texture",
    ("none", "some", "full"): "Undercoat",
    ("sound", "unsound"): "Skin",
    ("calm", "unsettled", "stop"): "Reaction",
    (
        *("bruises-easily", "in-whelp", "long-medication", "nursing"),
        *("parasites", "recent-surgery", "spot-on-treatment", "unwell"),
    ): "Health",
    ("terrier", "low-terrier", "long-and-low", "hound", "leggy-hound", "spaniel", "flat-nosed"): "Outline",
    ("low", "medium", "high"): "Level",
    ("none", "low", "medium", "high"): "Sensitivity",
    ("scissor", "comb", "clip"): "RoutineTask",
    ("card", "pull", "clip", "scissor", "comb"): "TaskKind",
    ("card", "pull", "clip", "scissor", "comb", "rest"): "StepKind",
    ("spring", "summer", "autumn", "winter"): "TimeOfYear",
    ("worked", "deferred", "left-alone", "not-to-be-touched"): "Outcome",
    ("yes", "no", "unknown"): "Rolls",
    ("season", "whelped", "gap", "clip"): "EndingKind",
    ("short", "bare", "long", "blown"): "Fault",
    ("error", "warning", "note"): "Severity",
    ("earliest", "latest"): "Bound",
    ("ready", "blown", "too-long", "undercoat", "clipping"): "BindingReason",
    ("share", "percent"): "ShareAs",
    (".", ","): "DecimalPoint",
    (",", ";", "\t", "|"): "Delimiter",
    ("utf-8", "utf-16", "windows-1252", "iso-8859-1"): "Encoding",
    ("clipped", "grown-out", "one-layer", "rolling"): "CoatKind",
    ("minutes", "cover", "at_most"): "RelaxationKind",
    ("late", "layers", "minutes"): "Miss",
    ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday"): "Weekday",
}
"""What each set of words is called as a type."""


def named(whole: Schema) -> Schema:
    """Returns a schema in which every set of words has a title, a titled type that stands in several places stands under ``$defs`` by
    its title, and words beside a reference do not make another type of it."""
    titled = within(whole, _entitled)
    nodes: dict[str, list[Schema]] = {}

    def note(node: Schema) -> Schema:
        if "title" in node:
            nodes.setdefault(node["title"], []).append(node)
        return within(node, note)

    within({key: inner for key, inner in titled.items() if key != "$defs"}, note)
    for definition in titled.get("$defs", {}).values():
        within(definition, note)  # whose own name it has already
    types: dict[str, Schema] = {}

    def write(node: Schema) -> Schema:
        title = node.get("title", "")
        if len(nodes.get(title, ())) > 1:
            if title not in types:
                types[title] = {}  # before its own inside is looked at
                types[title] = within(_of_all(nodes[title]), write)
            here = {key: node[key] for key in HERE if key in node and node[key] != types[title].get(key)}
            return _refer(f"#/$defs/{title}", here)
        if "$ref" in node:
            return _refer(node["$ref"], {key: inner for key, inner in node.items() if key != "$ref"})
        return within(node, write)

    made = within({key: inner for key, inner in titled.items() if key != "$defs"}, write)
    definitions = {name: within(inner, write) for name, inner in titled.get("$defs", {}).items()}
    return made | ({"$defs": definitions | dict(sorted(types.items()))} if definitions or types else {})


def _entitled(node: Schema) -> Schema:
    node = within(node, _entitled)
    if node.get("type") == "string" and "title" not in node:
        words, pattern = node.get("enum"), node.get("pattern")
        title = PATTERNS.get(pattern or "") if words is None else WORDS[tuple(words)]
        return node if title is None else {"title": title} | node
    return node


def _of_all(nodes: list[Schema]) -> Schema:
    """The type that all of these are, with the description that they share, if any."""
    first, *others = ({key: inner for key, inner in node.items() if key not in HERE} for node in nodes)
    assert all(other == first for other in others), first["title"]
    shared = (
        {"description": nodes[0].get("description")} if len({node.get("description") for node in nodes}) == 1 else {}
    )
    return {"title": first["title"]} | {key: text for key, text in shared.items() if text} | first


def _refer(to: str, here: Schema) -> Schema:
    # Words beside a reference make a second type of it (Name1), but not around it.
    return here | {"allOf": [{"$ref": to}]} if here else {"$ref": to}
