"""What several commands share: options, finding a dog's profile, writing a result."""

from __future__ import annotations

import os
import sys
from argparse import ArgumentParser, ArgumentTypeError, Namespace
from collections.abc import Callable, Iterable, Sequence
from datetime import date
from pathlib import Path
from typing import TypeVar

from coatrules import Engine, History, Salon
from coatrules.catalogue.message import message
from coatrules.catalogue.speaking import say
from coatrules.catalogue.typed_amounts import duration
from coatrules.disk import read, write
from coatrules.dog.loading import read_history
from coatrules.formats.documents import Origin, read_one
from coatrules.formats.validation import structured
from coatrules.formats.values import iso_date
from coatrules.order.salon import SALON
from coatrules.problems import InputError
from coatrules.reading import MAX_BYTES, Document
from coatrules.recording import typed
from coatrules.recording.typed import NotUnderstood

T = TypeVar("T")


def day(text: str) -> date:
    """A date of the command line."""
    try:
        return iso_date(text)
    except ValueError:
        raise ArgumentTypeError(say("argument.date", text=text)) from None


def minutes(text: str) -> float:
    """Minutes of the command line; how many make a visit, the engine says."""
    try:
        return float(text)
    except ValueError:
        pass
    if (typed := duration(text)) is None:
        raise ArgumentTypeError(say("argument.minutes", text=text))
    return typed


def understood(parse: Callable[[str], T]) -> Callable[[str], T]:
    """Returns the same for the command line, where what is not understood is a wrong option."""

    def option(text: str) -> T:
        try:
            return parse(text)
        except NotUnderstood as error:
            raise ArgumentTypeError(str(error)) from None

    return option


def existing_folder(text: str) -> Path:
    """A folder of the command line."""
    if not os.path.isdir(text):
        raise ArgumentTypeError(say("argument.folder", text=text))
    return Path(text)


def add_dog(parser: ArgumentParser, *, optional: bool = False) -> None:
    """The options of every command that looks at one dog on one day."""
    nargs = "?" if optional else None
    parser.add_argument("dog", metavar=say("metavar.DOG"), type=Path, nargs=nargs, help=say("help.DOG"))
    parser.add_argument("--date", type=day, metavar=say("metavar.DAY"), help=say("help.--date"))
    parser.add_argument("--minutes", type=minutes, metavar=say("metavar.N"), help=say("help.--minutes"))
    parser.add_argument("--profile", metavar=say("metavar.ID"), help=say("help.--profile"))
    add_regime(parser)
    add_folders(parser)


def add_regime(parser: ArgumentParser) -> None:
    """The option for a regime of a dog's profile."""
    parser.add_argument("--regime", metavar=say("metavar.ID"), help=say("help.--regime"))


def add_folders(parser: ArgumentParser) -> None:
    """The option for a salon's own profiles."""
    help_text = say("help.--profiles")
    parser.add_argument(
        "--profiles", metavar=say("metavar.DIR"), action="append", default=[], type=existing_folder, help=help_text
    )


def source_named(name: str, folders: Sequence[Path]) -> tuple[Path | str, list[Path]]:
    """A profile's file or id, and where to look for what it builds on: beside a file too, after the folders named."""
    if name.endswith((".yaml", ".yml", ".json")) or "/" in name:
        return Path(name), [*folders, Path(name).parent]
    return name, list(folders)


def profile_named(name: str, folders: Sequence[Path]) -> tuple[Engine, Path | str]:
    """The profile of a file or an id, and the engine that finds what it builds on."""
    source, searched = source_named(name, folders)
    return Engine(shelves=searched, locale=say.locale), source


def engine_of(args: Namespace, salon: Salon | None = None) -> Engine:
    """What every command works with: the salon's own profiles, the language that is spoken, and the salon's days."""
    return Engine(shelves=args.profiles, locale=say.locale, salon=salon)


def the_dog(args: Namespace, engine: Engine) -> History:
    """The history named on the command line, as the options say that it is kept."""
    history = read_history(read(args.dog, MAX_BYTES, piped=True), args.dog)
    history = engine.history(history, regime=args.regime, show_mm=dict(getattr(args, "show_mm", ())))
    profile_name(args, history)
    return history


def profile_name(args: Namespace, history: History) -> str:
    """The id of the profile asked for, or of the one that a history names."""
    name: str | None = args.profile or history.dog.profile
    if name is None:
        raise InputError([history.origin.problem_at(("dog",), "no-profile", fix=message("fix.name-profile"))])
    return name


def add_way(parser: ArgumentParser) -> None:
    """The option for a coat that is not rolled today."""
    parser.add_argument("--strip-whole", action="store_true", help=say("help.--strip-whole"))


def add_show_lengths(parser: ArgumentParser) -> None:
    """The option for the lengths wanted on a show day."""
    parser.add_argument(
        "--show-mm",
        metavar=say("metavar.PART:MM-MM"),
        action="append",
        default=[],
        type=understood(typed.show_lengths),
        help=say("help.--show-mm"),
    )


def add_salon(parser: ArgumentParser) -> None:
    """The option for the salon's days."""
    parser.add_argument("--salon", type=Path, metavar=say("metavar.FILE"), help=say("help.--salon"))


def salon_of(args: Namespace, book: Iterable[Path]) -> Salon | None:
    """The salon's days: of the file named, or of the one beside the histories, None where there is none."""
    document = salon_document(args, book)
    return None if document is None else structured(document.data, Salon, "salon", Origin((((), document),)))


def salon_document(args: Namespace, book: Iterable[Path]) -> Document | None:
    """The salon's file as it is written, None where there is none."""
    file: Path | None = args.salon
    for place in () if file is not None else book:
        beside = (place if os.path.isdir(place) else place.parent) / SALON
        if os.path.isfile(beside):
            file = beside
            break
    return None if file is None else read_one(file, "not-a-salon")


def today(args: Namespace) -> date:
    """The day asked for, or today: only the command line looks at the clock."""
    date_option: date | None = args.date
    return date_option or date.today()


def write_result(result: str | bytes, out: Path | None) -> None:
    """Writes a result: to standard output, or whole to a file or not at all."""
    if out is not None:
        write(out, result.encode() if isinstance(result, str) else result)
    elif isinstance(result, bytes):
        sys.stdout.buffer.write(result)
    else:
        sys.stdout.write(result)
