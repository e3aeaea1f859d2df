"""A work order from the plain data it was stored as, by this version or an earlier one. Keys that this version does not know are passed
over; keys that an earlier one did not write have a default.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date as Date
from math import inf
from typing import Any, Final, TypeVar

from attrs import evolve

from coatrules.catalogue.message import Message
from coatrules.catalogue.plain_data import can_be_said, day_of, message_of, value_of
from coatrules.coat.growth import Growth
from coatrules.dog.rolling import Rolling, RollingEnd
from coatrules.formats.digest import Edition
from coatrules.formats.documents import Origin, without_file
from coatrules.learning.observations import AtLeast, Came, Felt, Layers, Length, Observation
from coatrules.learning.pace import Pace, pace_from
from coatrules.learning.speed import Speed
from coatrules.order.next_visit import Binding, LaterVisit, NextLayer, NextVisit
from coatrules.order.reasons import Reason
from coatrules.order.show_ahead import ShowAhead
from coatrules.order.today import PutOff
from coatrules.order.work_order import Step, WorkOrder
from coatrules.problems import InputError, Problem
from coatrules.read_only import ReadOnly

T = TypeVar("T")
_FORGOTTEN: Final = Growth(
    lag_weeks=0.0, mm_per_week=1.0, full_mm=1.0, rests_weeks=0.0, ready_mm=0.0, cover_mm=1.0, layer_gap_mm=0.0
)
"""An order does not say how the coats of its profile grow: nothing is learned from a stored one."""


def stored_order(data: Mapping[str, Any]) -> WorkOrder:
    """Returns the order that ``WorkOrder.to_dict`` made the data of; raises ``InputError`` for any other data."""
    return read_back(order_of, data, "work-order")


def read_back(read: Callable[[Any], T], data: Any, schema: str) -> T:
    """Returns what ``read`` makes of the data; raises ``InputError`` with all that is wrong by a schema where it fails, and for another
    format, whose keys may mean something else."""
    if isinstance(data, Mapping) and data.get("format", 1) != 1:
        params = {"expected": 1, "found": repr(data["format"])}
        raise InputError([Problem(code="schema-const", params=params, path=("format",))])
    try:
        return read(data)
    except (AttributeError, IndexError, KeyError, TypeError, ValueError) as error:
        from coatrules.formats.schema_faults import explain

        problems = explain(schema, data, Origin((((), without_file(data)),)))
        if not problems and isinstance(error, InputError):
            raise
        raise InputError(problems or [Problem(code="structure", params={"error": repr(error)})]) from error


def order_of(data: Mapping[str, Any]) -> WorkOrder:
    regions: Mapping[str, Any] = data["regions"]
    of_dog = value_of(data.get("facts", {}))
    edition = Edition()
    edition.__setstate__(data["profile"]["sha256"])
    return WorkOrder(
        dog_id=data["dog"]["id"],
        dog_name=data["dog"]["name"],
        profile_id=data["profile"]["id"],
        profile_label=data["profile"]["label"],
        profile_regime=data["profile"].get("regime"),
        strip_whole=data["profile"].get("strip_whole", False),
        profile_edition=edition,
        outline=data["profile"].get("outline", "terrier"),
        date=day_of(data["date"]),
        pace=_pace(data["pace"]),
        speed=Speed(
            mean=data["speed"]["mean"],
            sd=data["speed"]["sd"],
            entries=data["speed"]["from"],
            regions=ReadOnly(data["speed"]["regions"]),
        ),
        rolling=Rolling(
            rolls=data["rolling"]["possible"],
            most=data["rolling"]["most_layers"],
            days=tuple((day_of(day).toordinal(), -1) for day in data["rolling"]["evidence"]),
        ),
        endings=tuple(
            RollingEnd(kind=one["kind"], day=day_of(one["day"]).toordinal(), regions=tuple(one["regions"]), visit=None)
            for one in data["rolling"]["ended_by"]
        ),
        minutes_available=data["minutes"]["available"],
        minutes_planned=data["minutes"]["planned"],
        steps=tuple(map(_step, data["steps"])),
        left_alone=_reasons_by_region(data["left_alone"]),
        deferred=_put_off(data),
        not_to_be_touched=_reasons_by_region(data["not_to_be_touched"]),
        refer=_messages(data["refer"]),
        first=_messages(data.get("first", ())),
        next_visit=next_visit_of(data["next_visit"]),
        show=_show(data.get("show")),
        next_layers={
            name: NextLayer(day=day_of(layer["day"]), window=_window(layer["window"]))
            for name, region in regions.items()
            if (layer := region["next_layer"]) is not None
        },
        labels={name: region["label"] for name, region in regions.items()},
        all_facts={
            name: ReadOnly({"region": name, **_names(region), **of_dog, **value_of(region["facts"])})
            for name, region in regions.items()
        },
        fired={name: tuple(region["rules"]) for name, region in regions.items()},
        hair={name: tuple((share, day_of(day)) for share, day in region["hair"]) for name, region in regions.items()},
        ripe={name: tuple(region.get("ripe", ())) for name, region in regions.items()},
        loose={name: tuple(region.get("loose", ())) for name, region in regions.items()},
        guessed={name: region["guessed_share"] for name, region in regions.items()},
        findings=tuple(map(Problem.from_dict, data["findings"])),
        cautions=_messages(data["cautions"]),
    )


def _names(region: Mapping[str, Any]) -> dict[str, object]:
    return {"groups": tuple(region.get("groups", ())), "coat": region.get("coat")}


def _pace(data: Mapping[str, Any]) -> Pace:
    low, high = data.get("final_80", (1.0, 1.0))
    return evolve(
        pace_from((), spread=data["sd"]),
        mean=data["mean"],
        sd=data["sd"],
        final=data.get("final", 1.0),
        final_80=(low, high),
        observations=data["from"],
        regions={name: (one["mean"], one["sd"]) for name, one in data.get("regions", {}).items()},
        records=tuple(map(_record, data["learned_from"])),
    )


def _record(data: Mapping[str, Any]) -> Observation:
    of: Any = {"region": data["region"], "cycle": _FORGOTTEN, "day": day_of(data["day"]).toordinal()}
    if "layers" in data:
        return Layers(**of, layers=data["layers"], least=0.0, most=inf, error=0.0)
    if "comes" in data:
        return Felt(**of, comes=data["comes"], tenth=())
    if "came" in data:
        return Came(**of, share=data["came"], asked=())
    length = data["longest_mm"]
    if isinstance(length, Mapping):
        return AtLeast(**of, weeks=0.0, length_mm=length["minimum"])
    arrived = None if "age_weeks" in data else ""
    weeks = data.get("age_weeks", 0.0)
    return Length(**of, weeks=weeks, length_mm=length, at_end=data.get("at_end", False), arrived=arrived)


def _put_off(data: Mapping[str, Any]) -> dict[str, PutOff]:
    """What is put off: an earlier version wrote no more than why."""
    work = data.get("deferred_work", {})
    return {
        name: PutOff(
            tasks=tuple(work.get(name, {}).get("tasks", ())),
            minutes=work.get(name, {}).get("minutes", 0.0),
            because=tuple(map(_reason, because)),
        )
        for name, because in data["deferred"].items()
    }


def _step(data: Mapping[str, Any]) -> Step:
    bout, bouts = data["bout"]
    return Step(
        region=data["region"],
        task=data["task"],
        minutes=data["minutes"],
        pass_number=data.get("pass", 1),
        share=data["share"],
        leave_mm=data["leave_mm"],
        method=data["method"],
        how=data["how"],
        tools=data.get("tools", data["how"]),
        priority=data["priority"],
        priority_parts=ReadOnly(data["priority_parts"]),
        bout=bout,
        bouts=bouts,
        because=tuple(map(_reason, data["because"])),
        cautions=_messages(data["cautions"]),
    )


def next_visit_of(data: Mapping[str, Any]) -> NextVisit:
    return NextVisit(
        earliest=day_of(data["earliest"]),
        best=day_of(data["best"]),
        latest=day_or_none(data["latest"]),
        binding=tuple(
            Binding(
                bound=one["bound"],
                region=one["region"],
                why=one["why"],
                day=day_of(one["day"]),
                window=_window(one["window"]),
            )
            for one in data["because"]
        ),
        clash=data["clash"],
        planned=day_or_none(data.get("planned")),
        open=day_or_none(data.get("open")),
        late=tuple(
            LaterVisit(
                weeks=one["weeks"],
                day=day_of(one["day"]),
                cover=one["cover"],
                longest_mm=one["longest_mm"],
                blown_share=one["blown_share"],
                minutes=one["minutes"],
                overgrown=one.get("overgrown"),
            )
            for one in data["late"]
        ),
        hold=None if (hold := data.get("hold")) is None else message_of(hold),
    )


def _show(data: Mapping[str, Any] | None) -> ShowAhead | None:
    if data is None:
        return None
    return ShowAhead(
        day=day_of(data["day"]),
        right=tuple(data["right"]),
        faults=data["faults"],
        right_shares=data.get("right_shares", {}),
        all_right=data.get("all_right"),
    )


def _reasons_by_region(data: Mapping[str, Any]) -> dict[str, tuple[Reason, ...]]:
    return {name: tuple(map(_reason, reasons)) for name, reasons in data.items()}


def _reason(data: Mapping[str, Any]) -> Reason:
    found = Reason(rule=data["rule"], facts=value_of(data["facts"]))
    return evolve(found, own=data["text"]) if data.get("own") or not can_be_said(found.rule, found.facts) else found


def _messages(data: Any) -> tuple[Message, ...]:
    return tuple(map(message_of, data))


def day_or_none(text: str | None) -> Date | None:
    return None if text is None else day_of(text)


def _window(data: Any) -> tuple[Date, Date]:
    first, last = data
    return day_of(first), day_of(last)
