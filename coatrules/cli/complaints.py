"""What Python's parser of command lines finds wrong, told apart by its English words and put into those of the catalogue."""

from __future__ import annotations

import re
from typing import Any, Final

from coatrules.catalogue.message import Message

_COMPLAINTS: Final = (
    (r"argument (?P<argument>.+?): (?P<message>.*)", "complaint.argument"),
    (r"unrecognized arguments: (?P<arguments>.*)", "complaint.unrecognised"),
    (r"the following arguments are required: (?P<arguments>.*)", "complaint.required"),
    (r"one of the arguments (?P<arguments>.*) is required", "complaint.one-required"),
    (r"not allowed with argument (?P<argument>.*)", "complaint.not-with"),
    (r"expected one argument", "complaint.one-value"),
    (r"expected at most one argument", "complaint.at-most-one-value"),
    (r"expected at least one argument", "complaint.at-least-one-value"),
    (r"expected (?P<values>\d+) arguments?", "complaint.values"),
    (r"ignored explicit argument (?P<value>.*)", "complaint.no-value"),
    (r"ambiguous option: (?P<option>.*) could match (?P<options>.*)", "complaint.ambiguous"),
    (r"invalid \w+ value: (?P<value>.*)", "complaint.wrong-value"),
    (
        r"(?:invalid choice: |unknown parser )(?P<value>'.*?'|\S+)(?:, maybe .*\?)? \(cho(?:ose from|ices:) (?P<choices>.*)\)",
        "complaint.choice",
    ),
)
"""What ``argparse`` says (Python 3.11 to 3.14), and the code of the sentence for it. What is none of these stays as it is."""


def spoken(complaint: str) -> Message:
    """Returns a complaint of ``argparse`` as a sentence of the catalogue."""
    for pattern, code in _COMPLAINTS:
        if (matched := re.fullmatch(pattern, complaint, re.DOTALL)) is not None:
            params: dict[str, Any] = matched.groupdict()
            if "message" in params:
                params["message"] = spoken(params["message"]).text
            return Message(code=code, params=params)
    return Message(code="complaint", params={"message": complaint})
