"""One profile of twenty regions and sixty rules, and the engine that a person would write in Python for just that profile.

It does what coatrules does with the profile (coats from forty visits, facts, rules, shares, tasks, minutes, priorities, the
order of steps, the next visit with its windows, the reasons of it all) for calm dogs that nobody measured and whose work fits
into the day, and nothing more: no other profile, no checks, no findings. ``document`` writes the same document. ``measure``
of ``core`` holds the two to equal documents before it measures.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, timedelta
from math import ceil, floor, sqrt
from random import Random
from typing import Any

from tests.benchmarks.rules import RULES
from tests.benchmarks.rules import by_hand as rules_by_hand

DAY = date(2026, 3, 21)
REGIONS = tuple(f"region-{n}" for n in range(20))
GROUPS = {
    "body": REGIONS[:10],
    "legs": REGIONS[10:16],
    "feet": REGIONS[13:16],
    "head": REGIONS[16:],
    "jacket": REGIONS[:13],
}
POINTS = [n % 7 - 3 for n in range(len(RULES))]
COAT = {
    "breakthrough_weeks": 4,
    "mm_per_week": 2.1,
    "full_mm": 45,
    "blown_weeks": 26,
    "ready_mm": 6,
    "cover_mm": 6,
    "layer_gap_mm": 2,
    "undercoat_weeks": 4,
}
PROFILE: dict[str, Any] = {
    "format": 1,
    "id": "twenty",
    "label": "Twenty regions",
    "visit": {"every_weeks": 3, "minutes": 600, "pace_spread": 0.15},
    "coats": {"jacket": COAT},
    "groups": {name: list(regions) for name, regions in GROUPS.items()},
    "regions": {name: {"label": name, "coat": "jacket", "minutes": {"pull": 20, "card": 6}} for name in REGIONS},
    "layer_targets": {
        "all": {
            "regions": list(REGIONS),
            "layers": 4,
            "take": {"usual": 0.2, "at_most": 0.35, "low_spot": 0.05},
            "cover": {"at_least": 0.5},
            "longest_mm": [15, 35],
        }
    },
    "methods": {
        "knife": {"label": "fine knife", "does": "pull", "if": {"longest_mm": {"maximum": 25}}, "rank": 2},
        "fingers": {"label": "fingers", "does": "pull"},
    },
    "comparisons": {"legs_to_body": {"fact": "outline_mm", "of": "legs", "to": "body"}},
    "rules": {
        f"rule-{n:02}": {"if": rule, "then": {"priority": POINTS[n]}, "because": f"Reason {n}."}
        for n, rule in enumerate(RULES)
    },
}


def dog(number: int, visits: int = 40) -> dict[str, Any]:
    """A history of one dog."""
    draw = Random(number)
    days = [DAY - timedelta(days=21 * (visits - n)) for n in range(visits)]
    parts = ("body", "legs", "head", *REGIONS[:4])
    return {
        "format": 1,
        "dog": {"id": f"dog-{number}", "born": "2022-01-01", "sex": "male", "neutered": True},
        "arrival": {"body": {"grown_weeks": 20}},
        "visits": [
            {
                "visit": day.isoformat(),
                "work": {
                    part: {"pull": draw.choice((0.1, 0.2, 0.3)), "card": draw.random() < 0.5}
                    for part in draw.sample(parts, 3)
                },
            }
            for day in days
        ],
    }


_WAIT, _BLOWN_DAYS, _WHOLE = 28, 182, 1_000_000
_SD = sqrt(0.15**2 + 0.10**2)
_SLOW, _FAST = 1 - 1.2816 * _SD, 1 + 1.2816 * _SD
_GROUPS_OF = {r: tuple(sorted(group for group, regions in GROUPS.items() if r in regions)) for r in REGIONS}
_PARTS = {**GROUPS, **{region: (region,) for region in REGIONS}}
_SIZES = sorted(_PARTS, key=lambda part: (len(_PARTS[part]), part), reverse=True)
_CONDITIONS: Sequence[Mapping[str, Any]] = RULES
_READ = [sorted({*rule, *(name for one in rule.get("anyOf", ()) for name in one)} - {"anyOf"}) for rule in _CONDITIONS]
_IDS = [f"rule-{n:02}" for n in range(len(RULES))]
_SAID = [f"Reason {n}." for n in range(len(RULES))]

Reason = tuple[str, dict[str, Any], str]
"""Rule or step, the facts it rests on, the author's sentence."""


def order_by_hand(history: dict[str, Any], day: date) -> dict[str, Any]:
    """Today's steps and the next visit, with the reasons, as plain values."""
    today = day.toordinal()
    visits = sorted(history["visits"], key=lambda visit: visit["visit"])
    days = [date.fromisoformat(visit["visit"]).toordinal() for visit in visits]
    first = days[0] if days else today
    queues: dict[str, list[tuple[int, int]]] = {region: [] for region in REGIONS}
    carded: dict[str, int] = {}
    pulled: dict[str, int] = {}
    worked: set[str] = set()
    for on, visit in zip(days, visits, strict=True):
        chosen = {region: part for part in _SIZES if part in visit["work"] for region in _PARTS[part]}
        for region, part in chosen.items():
            work = visit["work"][part]
            if work["card"]:
                carded[region] = on
            queues[region].append((on, round(work["pull"] * _WHOLE)))
            pulled[region] = on
            worked.add(region)
    arrival = {r: said for part in _SIZES if (said := history["arrival"].get(part)) for r in _PARTS[part]}
    common: dict[str, Any] = {
        "visits": len(visits),
        "minutes": 600.0,
        "health": (),
        "sex": history["dog"]["sex"],
        "neutered": history["dog"]["neutered"],
        "age_weeks": (today - date.fromisoformat(history["dog"]["born"]).toordinal()) / 7,
    }
    if days:
        common["weeks_since_visit"] = (today - days[-1]) / 7
    facts: dict[str, dict[str, Any]] = {}
    coats, guessed = {}, {}
    for region in REGIONS:
        begun = first - (round(arrival[region]["grown_weeks"] * 7) if region in arrival else _BLOWN_DAYS)
        coats[region] = coat = _coat(begun, queues[region])
        guessed[region] = 0 if region in arrival else sum(mass for mass, on in coat if on == begun)
        facts[region] = found = _facts(coat, today) | common
        found |= {"region": region, "groups": _GROUPS_OF[region], "coat": "jacket", "sensitivity": "none"}
        found["undercoat"] = 1.0
        if region in worked:
            found["weeks_since_pull"] = (today - pulled[region]) / 7
            found["last_reaction"] = "calm"
        if region in carded:
            found["weeks_since_card"] = since = (today - carded[region]) / 7
            found["undercoat"] = min(1.0, since / 4)
    means = [sum(facts[r]["outline_mm"] for r in GROUPS[part]) / len(GROUPS[part]) for part in ("legs", "body")]
    if means[1]:
        for found in facts.values():
            found["legs_to_body"] = means[0] / means[1]
    steps: list[dict[str, Any]] = []
    pulls: list[dict[str, Any]] = []
    left: dict[str, list[Reason]] = {}
    fired: dict[str, list[str]] = {}
    earliest, first_region, latest, last_region, last_why = 0, "", 10**6, "", ""
    afterwards = {}
    for region in REGIONS:
        found, coat = facts[region], coats[region]
        held = rules_by_hand(found)
        fired[region] = [_IDS[n] for n in held]
        mass, because = _mass(coat, today, found)
        undercoat = found["undercoat"]
        card, pull = undercoat >= 0.5, mass >= 30_000
        if not pull:
            because.append(("coat.too-little", {"share": mass / _WHOLE}, "") if found["ready_share"] else _NOTHING)
        if card or pull:
            late = 0.0
            if pull and days:
                late = (today - pulled.get(region, first)) / 7 - 3
            if card and region in carded:
                late = max(late, found["weeks_since_card"] - 4)
            parts = {
                "base": 50.0 if pull else 40.0,
                "overdue": round(min(30.0, 6.0 * max(0.0, late)), 1),
                "rules": float(sum(POINTS[n] for n in held)),
            }
            parts = {name: value for name, value in parts.items() if value}
            step = {
                "region": region,
                "priority": min(100.0, max(0.0, round(sum(parts.values()), 1))),
                "priority_parts": parts,
            }
            why: list[Reason] = [] if pull else because
            for n in held:
                if POINTS[n]:
                    why.append((_IDS[n], {name: found[name] for name in _READ[n] if name in found}, _SAID[n]))
            if card:
                own: list[Reason] = [("coat.undercoat", {"undercoat": undercoat}, "")]
                if pull:
                    own.append(("coat.carded-first", {}, ""))
                minutes = max(1, round(6 * undercoat * 2)) / 2
                steps.append({**step, "task": "card", "minutes": minutes, "share": None, "because": own + why})
            if pull:
                pulls.append(
                    {
                        **step,
                        "task": "pull",
                        "minutes": max(1, round(20 * mass / _WHOLE * 2)) / 2,
                        "share": mass / _WHOLE,
                        "method": "knife" if found["longest_mm"] <= 25 else "fingers",
                        "because": because if card else because + why,
                    }
                )
                coat = _after(coat, mass, today)
        else:
            left[region] = because
        afterwards[region] = coat
        ready = _ready(coat, today, 1.0, earliest)
        if ready > earliest:
            earliest, first_region = ready, region
        ends = [("blown", coat[0][1] + _BLOWN_DAYS - today), ("too-long", _longer(coat, today, 1.0))]
        if card or region in carded:
            ends.append(("undercoat", (today if card else carded[region]) + 28 - today))
        for why_end, end in ends:
            if 0 < end < latest:
                latest, last_region, last_why = end, region, why_end
    binding = []
    if first_region:
        coat = afterwards[first_region]
        soon, slow = _ready(coat, today, _FAST), _ready(coat, today, _SLOW)
        binding.append(("earliest", first_region, "ready", today + earliest, today + soon, today + slow))
    if last_region:
        soon, slow = (_last(last_why, afterwards[last_region], today, pace, latest) for pace in (_FAST, _SLOW))
        binding.append(("latest", last_region, last_why, today + latest, today + soon, today + slow))
    return {
        "day": today,
        "dog": history["dog"],
        "steps": [*steps, *pulls],
        "left_alone": left,
        "earliest": today + (earliest or 1),
        "latest": today + latest if last_region else None,
        "binding": binding,
        "facts": facts,
        "fired": fired,
        "hair": {region: [(mass / _WHOLE, date.fromordinal(on)) for mass, on in coats[region]] for region in REGIONS},
        "guessed": guessed,
        "next_layers": {region: _next_layer(coats[region], today) for region in REGIONS},
    }


_NOTHING: Reason = ("coat.nothing-ready", {}, "")


def _coat(begun: int, pulls: list[tuple[int, int]]) -> list[tuple[int, int]]:
    masses, days = [_WHOLE], [begun]
    through = hidden = 0
    for day, mass in pulls:
        while hidden < len(days) and days[hidden] <= day - _WAIT:
            through += masses[hidden]
            hidden += 1
        taken = min(mass, through)
        if taken:
            masses.append(taken)
            days.append(day)
            through -= taken
    return _newest(masses, days)


def _newest(masses: list[int], days: list[int]) -> list[tuple[int, int]]:
    cohorts, left = [], _WHOLE
    for mass, day in zip(reversed(masses), reversed(days), strict=True):
        kept = min(mass, left)
        left -= kept
        cohorts.append((kept, day))
        if not left:
            break
    cohorts.reverse()
    return cohorts


def _after(coat: list[tuple[int, int]], mass: int, day: int) -> list[tuple[int, int]]:
    return _newest([own for own, _ in coat] + [mass], [on for _, on in coat] + [day])


def _facts(coat: list[tuple[int, int]], today: int) -> dict[str, Any]:
    through = ready = blown = layers = 0
    covered = 0.0
    shorter = hidden = None
    lengths = [min(2.1 * ((today - on) / 7 - 4), 45.0) for _, on in coat]
    for (mass, on), length in zip(reversed(coat), reversed(lengths), strict=True):
        if length < 0:
            hidden = on
            continue
        through += mass
        covered += mass * (length / 6) if length < 6 else mass
        if on <= today - _BLOWN_DAYS:
            blown += mass
            ready += mass
        elif length >= 6 - 1e-9:
            ready += mass
        if mass >= 20_000:
            if shorter is None or length - shorter >= 2 - 1e-9:
                layers += 1
            shorter = length
    reached, outline = 0, lengths[-1]
    for (mass, _), length in zip(coat, lengths, strict=True):
        reached += mass
        if reached * 10 >= through:
            outline = length
            break
    facts: dict[str, Any] = {
        "cover": covered / _WHOLE,
        "through_share": through / _WHOLE,
        "ready_share": ready / _WHOLE,
        "blown_share": blown / _WHOLE,
        "longest_mm": max(lengths[0], 0.0),
        "oldest_weeks": (today - coat[0][1]) / 7,
        "outline_mm": max(outline, 0.0),
        "layers": layers,
        "see_through": covered / _WHOLE < 0.5,
    }
    if hidden is not None:
        facts["next_layer_weeks"] = 4 - (today - hidden) / 7
    return facts


def _mass(coat: list[tuple[int, int]], today: int, facts: dict[str, Any]) -> tuple[int, list[Reason]]:
    overgrown = sum(
        m for m, on in coat if min(2.1 * ((today - on) / 7 - 4), 45.0) > 35 + 1e-9 or on <= today - _BLOWN_DAYS
    )
    mass = 200_000
    because: list[Reason] = [("coat.usual", {"share": 0.2}, "")]
    if overgrown > mass:
        mass = overgrown
        because.append(("coat.overgrown", {"share": mass / _WHOLE}, ""))
    if mass > 350_000:
        mass = 350_000
        because.append(("coat.cap", {"share": 0.35}, ""))
    left, kept, limit = _WHOLE, 0.0, 0
    for own, on in reversed(coat):
        length = 2.1 * ((today - on) / 7 - 4)
        left -= own
        if length < 0:
            continue
        hides = min(1.0, min(length, 45.0) / 6)
        if (kept + own * hides) / _WHOLE >= 0.5:
            stay = max(0, ceil((0.5 * _WHOLE - kept) / hides) - 1)
            while (kept + stay * hides) / _WHOLE < 0.5:
                stay += 1
            limit = left + own - stay
            break
        kept += own * hides
    if mass > max(limit, 50_000):
        mass = max(limit, 50_000)
        because.append(("coat.cover" if limit > 50_000 else "coat.low-spot", {"share": mass / _WHOLE}, ""))
    ready = round(facts["ready_share"] * _WHOLE)
    if mass > ready:
        mass = ready
        if mass:
            because.append(("coat.not-ready", {"share": mass / _WHOLE}, ""))
    return mass, because


def _cover(coat: list[tuple[int, int]], on_day: int, pace: float, taken: int) -> float:
    left, kept = _WHOLE - taken, 0.0
    for own, on in reversed(coat):
        stays = min(own, left)
        length = 2.1 * (pace * (on_day - on) / 7 - 4)
        if length >= 0:
            kept += stays * min(1.0, min(length, 45.0) / 6)
        left -= stays
        if not left:
            break
    return kept / _WHOLE


def _ready(coat: list[tuple[int, int]], today: int, pace: float, start: int = 0) -> int:
    mass, at_least = 200_000, 0.5
    if _cover(coat, today, 1.0, 0) < 0.5:
        mass, at_least = 50_000, 0.0
    left = mass
    place = 0
    while left > coat[place][0]:
        left -= coat[place][0]
        place += 1
    youngest = coat[place][1]
    long_enough = youngest + ceil(((6 - 1e-9) / 2.1 + 4) * 7 / pace)
    days = max(start, min(long_enough, youngest + ceil(26 * 7 / pace)) - today)
    while _cover(coat, today + days, pace, mass) < at_least:
        days += 1
    return days


def _longer(coat: list[tuple[int, int]], today: int, pace: float) -> int:
    return max(0, coat[0][1] + floor((35 / 2.1 + 4) * 7 / pace) + 1 - today)


def _last(why: str, coat: list[tuple[int, int]], today: int, pace: float, otherwise: int) -> int:
    if why == "blown":
        return max(0, coat[0][1] + ceil(26 * 7 / pace) - today)
    return _longer(coat, today, pace) if why == "too-long" else otherwise


def _next_layer(coat: list[tuple[int, int]], today: int) -> tuple[int, int, int] | None:
    for _, on in coat:
        if on + _WAIT > today:
            soon, late = max(on + _WAIT / _FAST, today - 1), on + _WAIT / _SLOW
            return on + _WAIT, min(floor(soon + 0.5) + 1, on + _WAIT), max(floor(late + 0.5), on + _WAIT)
    return None
