"""What is wrong with an input, as values: found, collected, sorted and shown, never thrown one by one."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Mapping, Sequence
from typing import Any, Literal, get_args

from attrs import evolve, field, frozen

from coatrules.catalogue.message import Message, message
from coatrules.catalogue.speaking import say
from coatrules.read_only import NOTHING, read_only

Severity = Literal["error", "warning", "note"]
Path = tuple[str | int, ...]
MAX_PROBLEMS = 200
"""How many are looked for in one input: more would bury the first."""

_OBEYED = frozenset(("Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"))
_FIRST, _LAST = 7, 3
"""Steps of a very long path that are shown: as many as lead to a worked case's expectations, and the last ones."""
_MEANT = 4
"""Names that share a word with the one that is not known: so many are offered."""
_LONGEST_KEY = 60
"""Ids have at most 40 characters; a longer key is a mistake of which the beginning is enough."""


@frozen(kw_only=True)
class Problem:
    """One thing that is wrong: what, where, and how to fix it.

    ``code`` names the sentence in the catalogue, ``params`` fill it in; programs go by these. ``message`` is the sentence, ``hint``
    how to fix it: the sentence of ``fix``, or of the code with ``.fix`` behind it; empty where there is none.
    ``line`` and ``column`` count from 1; 0 means the place is not known (data that came without a file).
    ``meaning`` is what a schema says of the value meant, for the reader to fix it by.
    ``path`` leads from the document's root to the value meant, or to its key where ``key`` is true.
    """

    code: str
    params: Mapping[str, Any] = field(default=NOTHING, converter=read_only)
    severity: Severity = "error"
    file: str = ""
    line: int = 0
    column: int = 0
    path: Path = ()
    fix: Message | None = None
    meaning: str = ""
    key: bool = False

    @classmethod
    def from_dict(cls, data: Mapping[str, Any]) -> Problem:
        """Returns the problem that ``to_dict`` gave, of this version or an earlier one; raises ``InputError`` for any other data."""
        try:
            return _stored(data)
        except (AttributeError, KeyError, TypeError, ValueError) as error:
            raise InputError([cls(code="structure", params={"error": repr(error)})]) from error

    def to_dict(self) -> dict[str, Any]:
        """Returns the problem as plain data by ``schemas/problems.schema.json``, its sentences in the language that is spoken."""
        from coatrules.catalogue.plain_data import message_data, plain  # only what is written out needs it

        return {
            "code": self.code,
            "params": plain(self.params),
            "severity": self.severity,
            "message": self.message,
            "hint": self.hint,
            "file": self.file,
            "line": self.line,
            "column": self.column,
            "path": list(self.path),
            **({} if self.fix is None else {"fix": message_data(self.fix)}),
            **({"meaning": self.meaning} if self.meaning else {}),
            **({"key": True} if self.key else {}),
        }

    @property
    def message(self) -> str:
        """What is wrong, in a sentence of the catalogue in force."""
        return say(self.code, self.params)

    @property
    def hint(self) -> str:
        """How to fix it, as an imperative; empty where nothing can be said."""
        if self.fix is not None:
            return self.fix.text
        usual = f"{self.code}.fix"
        return say(usual, self.params) if say.knows(usual) else ""

    def __str__(self) -> str:
        place = ":".join(
            str(part) for part in (visible(self.file).replace("\n", "\\n"), self.line, self.column) if part
        )
        line = f"{place}{': ' if place else ''}{say(f'problem.{self.severity}', what=self.message)}"
        if self.path:
            line += f" ({say('problem.at', path=path_text(self.path))})"
        if hint := self.hint:
            line += f"\n    {say('problem.fix', fix=hint)}"
        if self.meaning:
            line += f"\n    {say('problem.meaning', meaning=say.own(self.meaning))}"
        return visible(line)


def _stored(data: Mapping[str, Any]) -> Problem:
    """A problem from its plain data; a sentence that this catalogue lacks, or that an earlier version wrote otherwise, keeps its words."""
    from coatrules.catalogue.plain_data import can_be_said, message_of, value_of

    found = Problem(
        code=data["code"],
        params=value_of(data.get("params", {})),
        severity=data["severity"],
        file=data.get("file", ""),
        line=data.get("line", 0),
        column=data.get("column", 0),
        path=tuple(data["path"]),
        fix=message_of(data["fix"]) if "fix" in data else None,
        meaning=data.get("meaning", ""),
        key=data.get("key", False),
    )
    if found.severity not in get_args(Severity):
        raise ValueError(found.severity)
    if not can_be_said(found.code, found.params):
        found = evolve(found, code="finding-elsewhere", params={"code": found.code, "text": data["message"]})
    if "fix" not in data and data["hint"] and found.hint != data["hint"]:
        found = evolve(found, fix=Message(code="finding-elsewhere.fix", own=data["hint"]))
    return found


def visible(text: str) -> str:
    """The text with all that a terminal would obey written out: control characters, changes of direction, half characters."""
    if text.replace("\n", " ").isprintable():
        return text
    return "".join(
        repr(character)[1:-1] if unicodedata.category(character) in _OBEYED and character != "\n" else character
        for character in text
    )


class InputError(ValueError):
    """An input has problems; ``problems`` lists all that were found, in the order of the file."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems = tuple(sorted(problems, key=lambda p: (p.file, p.line, p.column)))
        super().__init__("\n".join(map(str, self.problems)))

    @classmethod
    def from_dict(cls, data: Mapping[str, Any]) -> InputError:
        """Returns the error that ``to_dict`` gave; raises ``InputError`` for any other data."""
        try:
            return cls(map(Problem.from_dict, data["problems"]))
        except (KeyError, TypeError) as error:
            raise cls([Problem(code="structure", params={"error": repr(error)})]) from error

    def to_dict(self) -> dict[str, Any]:
        """Returns the problems as plain data by ``schemas/problems.schema.json``."""
        return {"problems": [problem.to_dict() for problem in self.problems]}

    def __reduce__(self) -> tuple[type[InputError], tuple[tuple[Problem, ...]]]:
        return type(self), (self.problems,)  # or it could not come back from another process


def path_text(path: Path) -> str:
    """The path as a reader would say it: ``rules.keep-legs.take``, ``visits[2].work``; of a very long one both ends."""
    if len(path) > _FIRST + _LAST + 2:
        return f"{_steps(path[:_FIRST])} … {_steps(path[-_LAST:])}"
    return _steps(path)


def _steps(path: Path) -> str:
    text = ""
    for part in path:
        text += f"[{part}]" if isinstance(part, int) else f".{_brief(part)}" if text else _brief(part)
    return text


def _brief(key: str) -> str:
    return key if len(key) <= _LONGEST_KEY else f"{key[: _LONGEST_KEY - 1]}…"


_TELLING = 5
"""Letters of a word that tells what is meant: ``dachshund`` does, ``wire`` does not."""
_WITHIN = 4
"""Letters of a name by which a longer word may begin or end: "stopped" by "stop", "forelegs" by "legs"."""
_ALIKE = 0.75
"""How alike two names are of which one may be a slip for the other; below that they are two words, as "beard" and "rear" are."""


def nearest_fix(name: str, known: Iterable[str]) -> Message | None:
    """Returns the fix of a name that is not known: the known one of the same words or spelt most alike, those of which this
    is a part, those that share a word with it, or those of which a part is spelt alike.

    Where there is none it lists the known ones (the first of many); it is None if nothing is known.
    """
    from difflib import get_close_matches  # only for mistakes

    names = sorted(known)
    written = {one.lower(): one for one in names}
    typed = name.lower()
    words = _parted(typed)
    same_words = [one for one in written if sorted(_parted(one)) == sorted(words)]
    near = same_words or get_close_matches(typed, written, n=1, cutoff=0.8)
    holding = [one for one in written if typed in _parted(one)] if name else []
    if len(holding) > 1 and not near:
        return use_one_of([written[one] for one in holding])
    telling = {word for word in words if len(word) >= _TELLING}
    sharing = [one for one in written if not telling.isdisjoint(_parted(one))]
    if 0 < len(sharing) <= _MEANT and not near and not holding:
        return use_one_of([written[one] for one in sharing])
    first, *others = re.split("[-_]", typed)
    beginning = [one for one in written if others and re.split("[-_]", one)[0] == first]
    longer = [one for one in written if len(one) >= _WITHIN and (typed.startswith(one) or typed.endswith(one))]
    if (
        meant := near
        or holding
        or (beginning if len(beginning) == 1 else [])
        or (longer if len(longer) == 1 else [])
        or get_close_matches(typed, written, n=1, cutoff=_ALIKE)
    ):
        return message("fix.use-name", name=written[meant[0]])
    part = get_close_matches(typed, sorted({part for one in written for part in _parted(one)}), n=1, cutoff=0.8)
    if part and len(having := [written[one] for one in written if part[0] in _parted(one)]) <= _MEANT:
        return use_one_of(having)
    if len(names) <= _MEANT:
        return use_one_of(names) if names else None
    more = (message("fix.and-others", more=len(names) - 10),) if len(names) > 12 else ()
    return message("fix.known-names", names=(*(names[:10] if more else names), *more))


def _parted(name: str) -> list[str]:
    return re.split("[-_ ]+", name)


def spelt_alike_fix(name: str, known: Iterable[str]) -> Message | None:
    """Returns the fix that uses the known name spelt most alike; None where none is."""
    from difflib import get_close_matches  # only for mistakes

    near = get_close_matches(name, sorted(known), n=1, cutoff=0.7)
    return message("fix.use-name", name=near[0]) if near else None


def use_one_of(names: Sequence[str]) -> Message:
    """Returns the fix of a name that may be one of these; only the first of many are listed."""
    if len(names) == 1:
        return message("fix.use-name", name=names[0])
    more = (message("fix.or-others", more=len(names) - _MEANT),) if len(names) > _MEANT else ()
    return message("fix.use-one-of", names=(*names[:_MEANT], *more))
