"""The profiles that are open in an editor: they are found by their ids before those that are saved."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path

from coatrules.profile.graph import is_profile
from coatrules.profile.loading import document_of
from coatrules.profile.shelves import SUFFIXES
from coatrules.reading import Document


class OpenTexts(Mapping[str, Document]):
    """The open profiles of one folder by id, each read when it is asked for; reading raises ``InputError``."""

    def __init__(self, texts: Mapping[str, str], folder: Path) -> None:
        inside = {file: text for name, text in texts.items() if (file := Path(name)).parent == folder}
        self._files = {file.stem: file for file in sorted(inside, reverse=True) if file.suffix in SUFFIXES}
        self._texts = {name: inside[file] for name, file in self._files.items() if is_profile(inside[file])}

    def __getitem__(self, name: str) -> Document:
        return document_of(self._texts[name].encode(), self._files[name])

    def __iter__(self) -> Iterator[str]:
        return iter(self._texts)

    def __len__(self) -> int:
        return len(self._texts)
