"""What is wrong with a command line as such. ``complaint`` alone: what is said of a single command."""

from typing import Final

from coatrules.catalogue.template import Plural

SENTENCES: Final[dict[str, str | Plural]] = {
    "complaint": "{message}",
    "complaint.argument": "argument {argument}: {message}",
    "complaint.unrecognised": "unrecognised arguments: {arguments}",
    "complaint.required": "the following arguments are required: {arguments}",
    "complaint.one-required": "one of the arguments {arguments} is required",
    "complaint.not-with": "not allowed with argument {argument}",
    "complaint.one-value": "expected one argument",
    "complaint.at-most-one-value": "expected at most one argument",
    "complaint.at-least-one-value": "expected at least one argument",
    "complaint.values": "expected {values} arguments",
    "complaint.no-value": "takes no value: {value}",
    "complaint.ambiguous": "ambiguous option: {option} could match {options}",
    "complaint.wrong-value": "invalid value: {value}",
    "complaint.choice": "invalid choice: {value} (choose from {choices})",
}
