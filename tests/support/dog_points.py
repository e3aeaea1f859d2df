"""Stations and tools of the points of the dog, as plain data: what the base profile is to say (common practice, no source)."""

from __future__ import annotations

STATIONS: dict[str, list[str]] = {
    "neck": ["neck-top", "neck-sides"],
    "fore-body": ["withers", "shoulders", "upper-arms"],
    "mid-body": ["back", "ribs"],
    "hind-body": ["loin", "croup", "flanks", "thighs"],
    "rear": ["buttocks", "tail-top", "tail-under"],
    "front": ["forechest", "throat"],
    "underline": ["brisket", "belly"],
    "forelegs": ["forearms", "front-pasterns"],
    "forefeet": ["front-toes", "forefeet", "front-pads"],
    "hindlegs": ["lower-thighs", "hocks"],
    "hindfeet": ["hind-toes", "hindfeet", "hind-pads"],
    "skull": ["skull", "ears-outside", "ears-inside"],
    "face": ["stop", "brows", "cheeks", "muzzle", "moustache", "beard", "eyelid-rims", "lip-edges"],
}
NEXT_DOOR: list[tuple[str, str]] = [
    ("neck", "fore-body"),
    ("neck", "front"),
    ("neck", "skull"),
    ("fore-body", "mid-body"),
    ("fore-body", "front"),
    ("fore-body", "forelegs"),
    ("mid-body", "hind-body"),
    ("mid-body", "underline"),
    ("hind-body", "rear"),
    ("hind-body", "hindlegs"),
    ("rear", "hindlegs"),
    ("front", "underline"),
    ("front", "forelegs"),
    ("underline", "forelegs"),
    ("underline", "hindlegs"),
    ("forelegs", "forefeet"),
    ("hindlegs", "hindfeet"),
    ("skull", "face"),
    ("front", "face"),
]
TURNS: dict[str, int] = {
    "coarse-rake": 10,
    "coarse-knife": 20,
    "fine-knife": 21,
    "stone": 30,
    "stone-below": 30,
    "fingers": 40,
    "finger-and-thumb": 40,
    "pinch-grip": 40,
    "rubber-fingers": 41,
}
KIND_TURNS: dict[str, int] = {"card": 10, "pull": 40, "clip": 50, "scissor": 60, "comb": 70}
TOOLS: dict[str, str] = {
    "stone-below": "stone",
    "pinch-grip": "fingers",
    "finger-and-thumb": "fingers",
    "clipper-longest": "small-clipper",
}
"""Methods that are one tool in the hand with another."""
SOILED: dict[str, int] = {"genitals": 1, "perineum": 2}
FINISHED_BY: dict[str, set[str]] = {"scissor": {"forefeet", "hindfeet"}, "comb": {"beard"}}
"""Work that ends the visit."""
OUT_OF_SIGHT: set[str] = {"ears-inside"}
