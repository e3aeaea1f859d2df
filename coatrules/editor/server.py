"""The Language Server Protocol, version 3.17, over what the other modules know: a thin shell that alone imports pygls.

Source: https://microsoft.github.io/language-server-protocol/specifications/lsp/3.17/specification/
"""

from __future__ import annotations

import asyncio
from importlib.metadata import version
from pathlib import Path

from lsprotocol import types
from pygls.lsp.server import LanguageServer
from pygls.uris import from_fs_path, to_fs_path
from pygls.workspace import TextDocument

from coatrules.check import fixes
from coatrules.editor import completion, meaning, profile_text
from coatrules.editor.open_texts import OpenTexts
from coatrules.problems import Problem
from coatrules.profile.graph import is_profile
from coatrules.profile.shelves import Shelf

PAUSE_SECONDS = 0.25
"""How long nothing is typed before a text is checked."""
_SEVERITY = {
    "error": types.DiagnosticSeverity.Error,
    "warning": types.DiagnosticSeverity.Warning,
    "note": types.DiagnosticSeverity.Information,
}
_KIND = {
    "key": types.CompletionItemKind.Property,
    "name": types.CompletionItemKind.Reference,
    "value": types.CompletionItemKind.EnumMember,
}


class _Server(LanguageServer):
    """What is remembered between messages, by the address of a text."""

    def __init__(self) -> None:
        super().__init__("coatrules", version("coatrules"))
        self.found: dict[str, list[Problem]] = {}
        self.merged: dict[str, profile_text.Merged] = {}
        self.pending: dict[str, asyncio.Task[None]] = {}

    def profile(self, document: TextDocument) -> profile_text.Merged:
        """The text with all that it builds on, merged anew only after a change."""
        known = self.merged.get(document.uri)
        if known is None:
            known = profile_text.merged(document.source, _file(document), self.shelves(document))
            self.merged[document.uri] = known
        return known

    def shelves(self, document: TextDocument) -> list[Shelf]:
        """Where a text finds what it builds on: among the open texts before the saved ones, beside it."""
        texts = {_file(one): one.source for one in self.workspace.text_documents.values()}
        return [OpenTexts(texts, Path(_file(document)).parent)]

    def units(self, document: TextDocument, line: int, start: int, end: int) -> types.Range:
        """A part of a line in the client's units (of UTF-16, where the client asks for no other)."""
        part = types.Range(types.Position(line, start), types.Position(line, end))
        return document.position_codec.range_to_client_units(document.lines, part)

    def point(self, document: TextDocument, position: types.Position) -> tuple[int, int]:
        """The line and column in characters of a position in the client's units."""
        at = document.position_codec.position_from_client_units(document.lines, position)
        return at.line, at.character


server = _Server()


def _file(document: TextDocument) -> str:
    return to_fs_path(document.uri) or document.uri


async def _check(uri: str, pause: float) -> None:
    await asyncio.sleep(pause)
    document = server.workspace.get_text_document(uri)
    text, file, shelves = document.source, _file(document), server.shelves(document)
    found = await asyncio.to_thread(profile_text.problems, text, file, shelves) if is_profile(text) else []
    if server.workspace.get_text_document(uri).source != text:
        return  # changed in the meantime: that change is checked by itself
    server.found[uri] = found
    diagnostics = [_diagnostic(document, problem) for problem in found]
    server.text_document_publish_diagnostics(types.PublishDiagnosticsParams(uri, diagnostics, document.version))


def _diagnostic(document: TextDocument, problem: Problem) -> types.Diagnostic:
    file = _file(document)
    at = fixes.span(document.source, problem, file)
    elsewhere = None
    if problem.file and problem.file != file and (uri := from_fs_path(problem.file)) is not None:
        start = types.Position(max(problem.line - 1, 0), max(problem.column - 1, 0))
        elsewhere = [
            types.DiagnosticRelatedInformation(types.Location(uri, types.Range(start, start)), problem.message)
        ]
    hint = f"\n{problem.hint}" if problem.hint else ""
    return types.Diagnostic(
        range=server.units(document, at.line, at.start, at.end),
        message=f"{problem.message}{hint}",
        severity=_SEVERITY[problem.severity],
        code=problem.code,
        source="coatrules",
        related_information=elsewhere,
    )


def _soon(uri: str, pause: float) -> None:
    if (task := server.pending.pop(uri, None)) is not None:
        task.cancel()
    server.pending[uri] = asyncio.ensure_future(_check(uri, pause))


def _changed(uri: str, pause: float) -> None:
    """Checks a text, and the open ones that build on it, once nothing has been typed for some seconds."""
    server.merged.clear()
    _soon(uri, pause)
    file = to_fs_path(uri) or uri
    for other in list(server.workspace.text_documents.values()):
        is_other = other.uri != uri and is_profile(other.source)
        if is_other and profile_text.builds_on(other.source, _file(other), file, server.shelves(other)):
            _soon(other.uri, pause)


@server.feature(types.TEXT_DOCUMENT_DID_OPEN)
async def did_open(params: types.DidOpenTextDocumentParams) -> None:
    """Checks what was opened."""
    _changed(params.text_document.uri, 0)


@server.feature(types.TEXT_DOCUMENT_DID_CHANGE)
async def did_change(params: types.DidChangeTextDocumentParams) -> None:
    """Checks what was changed once the typing pauses."""
    _changed(params.text_document.uri, PAUSE_SECONDS)


@server.feature(types.TEXT_DOCUMENT_DID_SAVE)
async def did_save(params: types.DidSaveTextDocumentParams) -> None:
    """Checks every open text: one may build on what was saved."""
    server.merged.clear()
    for uri in {*server.found, params.text_document.uri}:
        _soon(uri, 0)


@server.feature(types.TEXT_DOCUMENT_DID_CLOSE)
async def did_close(params: types.DidCloseTextDocumentParams) -> None:
    """Forgets what was closed: what builds on it builds on the saved one again."""
    uri = params.text_document.uri
    _changed(uri, 0)
    server.found.pop(uri, None)
    server.pending.pop(uri).cancel()
    server.text_document_publish_diagnostics(types.PublishDiagnosticsParams(uri, []))


@server.feature(types.TEXT_DOCUMENT_COMPLETION, types.CompletionOptions(trigger_characters=[" ", "[", "{", ","]))
def complete(params: types.CompletionParams) -> types.CompletionList:
    """What can be written at the cursor."""
    document = server.workspace.get_text_document(params.text_document.uri)
    if not is_profile(document.source):
        return types.CompletionList(is_incomplete=False, items=[])
    line, column = server.point(document, params.position)
    found = completion.choices(document.source, line, column, server.profile(document), server.shelves(document))
    items = [
        types.CompletionItem(
            label=choice.text,
            kind=_KIND[choice.kind],
            detail=choice.note.text if choice.note is not None else None,
            documentation=choice.meaning or None,
            sort_text=f"{index:04}",
            text_edit=types.TextEdit(
                server.units(document, line, choice.start, column),
                f"{choice.text}: " if choice.kind == "key" else choice.text,
            ),
        )
        for index, choice in enumerate(found)
    ]
    return types.CompletionList(is_incomplete=False, items=items)


@server.feature(types.TEXT_DOCUMENT_HOVER)
def hover(params: types.HoverParams) -> types.Hover | None:
    """What the word at the cursor means, what holds there and where it comes from."""
    document = server.workspace.get_text_document(params.text_document.uri)
    line, column = server.point(document, params.position)
    if not is_profile(document.source):
        return None
    found = meaning.hover(document.source, line, column, server.profile(document))
    if found is None:
        return None
    text = "\n\n".join(sentence.text for sentence in found.sentences)
    content = types.MarkupContent(types.MarkupKind.PlainText, text)
    return types.Hover(content, server.units(document, line, found.start, found.end))


@server.feature(types.TEXT_DOCUMENT_DEFINITION)
def definition(params: types.DefinitionParams) -> types.Location | None:
    """Where the word at the cursor was set."""
    document = server.workspace.get_text_document(params.text_document.uri)
    line, column = server.point(document, params.position)
    if not is_profile(document.source):
        return None
    place = meaning.definition(document.source, line, column, server.profile(document))
    if place is None or (uri := from_fs_path(place.file)) is None:
        return None
    start = types.Position(place.line - 1, place.column - 1)
    return types.Location(uri, types.Range(start, start))


@server.feature(
    types.TEXT_DOCUMENT_CODE_ACTION, types.CodeActionOptions(code_action_kinds=[types.CodeActionKind.QuickFix])
)
def actions(params: types.CodeActionParams) -> list[types.CodeAction]:
    """The fixes of what is found on the lines chosen."""
    uri = params.text_document.uri
    document = server.workspace.get_text_document(uri)
    first, last = params.range.start.line, params.range.end.line
    found = fixes.fixes(document.source, server.found.get(uri, []), _file(document), first, last)
    return [
        types.CodeAction(
            title=change.title.text,
            kind=types.CodeActionKind.QuickFix,
            diagnostics=[_diagnostic(document, problem)],
            is_preferred=True,
            edit=types.WorkspaceEdit(
                changes={
                    uri: [
                        types.TextEdit(
                            server.units(document, change.span.line, change.span.start, change.span.end), change.text
                        )
                    ]
                }
            ),
        )
        for problem, change in found
    ]
