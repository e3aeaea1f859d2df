"""The one door to the disk: all that is read is bounded, all that is written is whole, and nothing read is written over."""

from coatrules.disk.locking import locked
from coatrules.disk.reading import cannot_read, files_below, lines, opened, read, read_inputs
from coatrules.disk.writing import Change, Growing, changing, create, growing, nowhere_to_write, remove, write

__all__ = [
    "Change",
    "Growing",
    "cannot_read",
    "changing",
    "create",
    "files_below",
    "growing",
    "lines",
    "locked",
    "nowhere_to_write",
    "opened",
    "read",
    "read_inputs",
    "remove",
    "write",
]
