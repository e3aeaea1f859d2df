"""The language of the command line: ``--lang TAG`` wherever it stands, or what the environment asks for."""

from __future__ import annotations

import os
from argparse import ArgumentTypeError
from collections.abc import Mapping
from importlib.util import find_spec

from coatrules.catalogue.english import ENGLISH
from coatrules.catalogue.language import Language
from coatrules.catalogue.speaking import say

OPTION = "--lang"


def asked(arguments: list[str], environment: Mapping[str, str] = os.environ) -> tuple[Language, list[str]]:
    """Returns the catalogue to speak by, and the arguments without the option; ``ArgumentTypeError`` for a language there is not.

    The environment only proposes: where it names a language that there is not, or that is only begun, English is spoken.
    """
    option, rest = _option(arguments)
    if option is not None:
        return _asked_for(option), rest
    # The order in which POSIX asks them (XBD 8.2); a character set or a modifier behind the name does not matter here.
    proposed = next(filter(None, map(environment.get, ("LC_ALL", "LC_MESSAGES", "LANG"))), "")
    name = proposed.partition(".")[0].partition("@")[0]
    if name in ("", "C", "POSIX") or name.startswith("en") or find_spec("babel") is None:
        return ENGLISH, rest
    try:
        proposed_by_it = _catalogue(name)
    except KeyError:
        return ENGLISH, rest
    return proposed_by_it if proposed_by_it.most_is_translated else ENGLISH, rest


def _option(arguments: list[str]) -> tuple[str | None, list[str]]:
    """The last value of the option, and what is left without it."""
    value: str | None = None
    rest: list[str] = []
    words = iter(arguments)
    for word in words:
        if word == "--":
            rest += [word, *words]
        elif word == OPTION:
            value = next(words, "")
        elif word.startswith(f"{OPTION}="):
            value = word.partition("=")[2]
        else:
            rest.append(word)
    return value, rest


def _asked_for(tag: str) -> Language:
    try:
        return _catalogue(tag)
    except KeyError as error:
        raise ArgumentTypeError(say("argument.one-of", text=tag, names=error.args[1])) from None
    except ModuleNotFoundError:
        missing = {"extra": "languages", "modules": ("babel",), "count": 1}
        raise ArgumentTypeError(f"{say('extra-missing', missing)}. {say('extra-missing.fix', missing)}") from None


def _catalogue(name: str) -> Language:
    language, *narrower = name.replace("_", "-").split("-")
    if language.lower() == "en":
        return ENGLISH
    from coatrules.catalogue.languages import catalogue

    return catalogue("-".join([language.lower(), *narrower]))
