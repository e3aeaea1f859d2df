"""Faults within the branches of a schema's ``anyOf`` that are kinds of value: of those, the kind that was written counts."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import partial
from typing import Any, cast

from jsonschema.exceptions import ValidationError

_TRUE = {"type": "boolean", "const": True}


def resolved(errors: Iterable[ValidationError]) -> Iterator[ValidationError]:
    """Yields the errors with each failed ``anyOf`` replaced: by the faults of the branch for the kind of value that was written, or
    by one of ``type`` with all the kinds that can be written; the second such error of a place is left out."""
    yielded: set[tuple[str | int, ...]] = set()
    for error in _branches(errors):
        if error.validator == "type":
            path = tuple(error.absolute_path)
            if path in yielded:
                continue
            yielded.add(path)
        yield error


def _branches(errors: Iterable[ValidationError]) -> Iterator[ValidationError]:
    for error in errors:
        if error.validator != "anyOf" or not all("type" in branch for branch in _choices(error)):
            yield error
            continue
        misfits = {inner.relative_schema_path[0] for inner in error.context or () if _wrong_kind(inner)}
        fitting = [inner for inner in error.context or () if inner.relative_schema_path[0] not in misfits]
        if fitting:
            yield from _branches(map(partial(_described, error), fitting))
        else:
            yield _of_kinds(error)


def _described(around: ValidationError, inner: ValidationError) -> ValidationError:
    """The fault of a branch itself with what the schema around it says of the value."""
    outer, schema = cast(Any, around.schema), cast(Any, inner.schema)
    if len(inner.relative_schema_path) == 2 and "description" in outer and "description" not in schema:
        inner.schema = {**schema, "description": outer["description"]}
    return inner


def _choices(error: ValidationError) -> list[Any]:
    choices: Any = error.validator_value
    return list(choices)


def _wrong_kind(inner: ValidationError) -> bool:
    """Whether a fault of a branch is that the value is of another kind than the branch is for."""
    return inner.validator == "type" and len(inner.relative_schema_path) == 2 and not inner.relative_path


def _of_kinds(error: ValidationError) -> ValidationError:
    # Where a list of names belongs, the mapping from each to true need not be offered to who wrote neither; nor is nothing, by
    # which a file takes out what it builds on.
    branches = [branch for branch in _choices(error) if branch.get("additionalProperties") != _TRUE]
    kinds = [kind for kind in dict.fromkeys(branch["type"] for branch in branches) if kind != "null"]
    return ValidationError(
        error.message,
        validator="type",
        validator_value=kinds,
        path=error.absolute_path,
        schema_path=error.absolute_schema_path,
        instance=error.instance,
        schema=error.schema,
    )
