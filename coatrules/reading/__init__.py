"""Strict YAML and JSON, read into plain data that remembers where each value stood.

The data are those of the YAML 1.2 core schema (https://yaml.org/spec/1.2.2/#103-core-schema) and of JSON (RFC 8259),
less what hides meaning or can harm a reader: tags, anchors, aliases, merge keys, duplicate keys (YAML 1.2.2, 3.2.1.3),
keys that are not text, control and bidirectional characters (Unicode Standard Annex 9, 2.1 to 2.6), infinities, NaN.
Text is given in Unicode Normalization Form C (Unicode Standard Annex 15), places in characters as they were written.
"""

from __future__ import annotations

from coatrules.problems import InputError, Problem
from coatrules.reading.places import Document, Places
from coatrules.reading.source import MAX_BYTES, REFUSED, Source
from coatrules.reading.yaml_text import yaml_documents

__all__ = ["MAX_BYTES", "Document", "Places", "read_json", "read_json_partly", "read_yaml", "read_yaml_partly"]


def read_yaml(text: str | bytes, file: str = "<text>") -> tuple[Document, ...]:
    """The documents of a YAML stream; none for an empty one.

    Raises InputError with all problems that were found; the first mistake of syntax, and an
    overstepped bound, end the search.
    """
    documents, problems = read_yaml_partly(text, file)
    if problems:
        raise InputError(problems)
    return documents


def read_yaml_partly(text: str | bytes, file: str = "<text>") -> tuple[tuple[Document, ...], tuple[Problem, ...]]:
    """The documents as ``read_yaml`` reads them, beside the problems of keys and values that do not end the search; of two equal
    keys the last holds, and of two mappings what either has. Raises InputError where a problem does end it."""
    source = Source.checked(text, file, tabs=False)
    if source.is_indented_with_tabs:
        from coatrules.reading.tabs import as_meant  # only for mistakes

        _, source, documents = as_meant(source)
    else:
        documents = yaml_documents(source)
    source.join_doubled()
    return documents, tuple(source.problems)


def read_json(text: str | bytes, file: str = "<text>") -> Document:
    """The one document of a JSON text, as strictly as ``read_yaml``; raises InputError likewise."""
    document, problems = read_json_partly(text, file)
    if problems:
        raise InputError(problems)
    return document


def read_json_partly(text: str | bytes, file: str = "<text>") -> tuple[Document, tuple[Problem, ...]]:
    """The document as ``read_json`` reads it, beside the problems that do not end the search, as ``read_yaml_partly``."""
    from coatrules.reading.json_text import json_entry, quick_json  # most dogs and all packaged profiles are in YAML

    source = Source.checked(text, file, tabs=True)  # between JSON's tokens a tab is harmless, and usual
    data = REFUSED if source.careful else quick_json(source.text)
    if data is not REFUSED:
        return Document(data, Places(source.line_starts, source), file), ()
    data, entry = json_entry(source)
    source.join_doubled()
    return Document(data, Places(source.line_starts, entry), file), tuple(source.problems)
