"""A conversation with the server: texts as a client holds them, positions as both count them, and what the server told."""

import asyncio
import pathlib
from collections.abc import Callable

import pytest_lsp
from lsprotocol import types

# How long something may take before the wait for it is given up: a bound of what hangs, not of what is slow.
PATIENCE_S = 60


class Session:
    def __init__(self, client: pytest_lsp.LanguageClient, root: pathlib.Path, language: str, result, expected):
        self.client, self.root, self.language, self.result, self.expected = client, root, language, result, expected
        self.encoding = result.capabilities.position_encoding or "utf-16"
        self.texts: dict[str, str] = {}
        self.versions: dict[str, int] = {}
        # For a client that asks for diagnostics: the ids of the lists that it has.
        self.result_ids: dict[str, str] = {}

    def uri(self, file: str) -> str:
        return (self.root / file).as_uri()

    def text(self, file: str) -> str:
        """The text as the client has it: the open one, else that on disk, line ends as they are."""
        return self.texts.get(file) or (self.root / file).read_bytes().decode()

    def open(self, file: str, version: int = 1) -> None:
        self.texts[file], self.versions[file] = self.text(file), version
        self.open_text(self.uri(file), self.texts[file], version)

    def open_text(self, uri: str, text: str, version: int = 1, language: str | None = None) -> None:
        """Opens a text under an address as it is spelled here."""
        item = types.TextDocumentItem(uri, language or self.language, version, text)
        self.client.text_document_did_open(types.DidOpenTextDocumentParams(item))

    def close(self, file: str) -> None:
        document = types.TextDocumentIdentifier(self.uri(file))
        self.client.text_document_did_close(types.DidCloseTextDocumentParams(document))
        del self.texts[file], self.versions[file]

    def change(self, file: str, text: str, version: int | None = None) -> None:
        """Sends the whole text of an open file anew."""
        self.texts[file] = text
        self.versions[file] = self.versions[file] + 1 if version is None else version
        document = types.VersionedTextDocumentIdentifier(uri=self.uri(file), version=self.versions[file])
        change = types.TextDocumentContentChangeWholeDocument(text)
        self.client.text_document_did_change(types.DidChangeTextDocumentParams(document, [change]))

    def write(self, file: str, text: str) -> None:
        """Another program writes a file."""
        path = self.root / file
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(text.encode())

    def tell_of(self, **files: list[str]) -> None:
        """Tells of files that were `created`, `changed` or `deleted`, in one message."""
        kinds = {kind.name.lower(): kind for kind in types.FileChangeType}
        events = [types.FileEvent(self.uri(file), kinds[what]) for what, named in files.items() for file in named]
        self.client.workspace_did_change_watched_files(types.DidChangeWatchedFilesParams(events))

    def edit(self, file: str, begins: str, old: str, new: str) -> None:
        """Sends one incremental change: `old` becomes `new` on the only line that begins with `begins`."""
        line = self.line(file, begins)
        start = self.texts[file].split("\n")[line].index(old)
        span = types.Range(self.position(file, line, start), self.position(file, line, start + len(old)))
        self.replace(file, span, new)

    def replace(self, file: str, span: types.Range, new: str) -> None:
        """Sends one incremental change of an open file."""
        self.texts[file] = self.after(file, [types.TextEdit(span, new)])
        self.versions[file] += 1
        document = types.VersionedTextDocumentIdentifier(uri=self.uri(file), version=self.versions[file])
        change = types.TextDocumentContentChangePartial(range=span, text=new)
        self.client.text_document_did_change(types.DidChangeTextDocumentParams(document, [change]))

    def line(self, file: str, begins: str) -> int:
        """The number of the only line that begins so."""
        (number,) = [
            number for number, line in enumerate(self.text(file).split("\n")) if line.strip().startswith(begins)
        ]
        return number

    def position(self, file: str, line: int, characters: int) -> types.Position:
        """The place after so many characters of a line, counted in the units that the server took."""
        before = self.text(file).split("\n")[line][:characters]
        unit = {"utf-8": 1, "utf-16": 2, "utf-32": 4}[self.encoding]
        encoding = self.encoding if unit == 1 else f"{self.encoding}-le"
        return types.Position(line, len(before.encode(encoding)) // unit)

    def cut(self, file: str, place: types.Position) -> int:
        """The index in the text of a place that the server names. A place inside a character is an error."""
        lines = self.text(file).split("\n")
        line = lines[place.line]
        places = {self.position(file, place.line, index).character: index for index in range(len(line) + 1)}
        return sum(len(before) + 1 for before in lines[: place.line]) + places[place.character]

    def marked(self, file: str, span: types.Range) -> str:
        return self.text(file)[self.cut(file, span.start) : self.cut(file, span.end)]

    def diagnostics(self, file: str) -> list[types.Diagnostic]:
        return list(self.client.diagnostics.get(self.uri(file), []))

    def told(self) -> dict[str, list[str]]:
        """The rules of all findings by file; files without any are left out."""
        told = {self.file(uri): sorted(found.code for found in all) for uri, all in self.client.diagnostics.items()}
        return {file: codes for file, codes in told.items() if codes}

    def rules(self, file: str) -> list[str]:
        return [found.code for found in self.diagnostics(file)]

    def places(self, file: str) -> list[tuple[str, str]]:
        """Rule and line of each finding, in the order of the text."""
        lines = self.text(file).split("\n")
        found = sorted(self.diagnostics(file), key=lambda found: (found.range.start.line, found.range.start.character))
        return [(found.code, lines[found.range.start.line].strip()) for found in found]

    async def until(self, holds: Callable[[], bool], what: str) -> None:
        """Waits until what the server told makes it so. A client that asks, asks first: what it has may be old."""
        try:
            async with asyncio.timeout(PATIENCE_S):
                if self.expected.pulls:
                    await self.ask_for_diagnostics()
                while not holds():
                    if self.expected.pulls:
                        await self.client.refreshed()
                        await self.ask_for_diagnostics()
                    else:
                        await self.client.wait_for_notification(types.TEXT_DOCUMENT_PUBLISH_DIAGNOSTICS)
        except TimeoutError:
            told = {uri: [found.code for found in all] for uri, all in self.client.diagnostics.items()}
            raise AssertionError(f"waited in vain until {what}; told: {told}") from None

    async def ask_for_diagnostics(self) -> None:
        """Takes the diagnostics of all files, those unchanged from before."""
        known = [types.PreviousResultId(uri, id) for uri, id in self.result_ids.items()]
        answer = await self.client.workspace_diagnostic_async(types.WorkspaceDiagnosticParams(known))
        for part in answer.items:
            if part.kind == "full":
                self.client.diagnostics[part.uri] = part.items
            else:
                assert part.result_id == self.result_ids[part.uri]
            self.result_ids[part.uri] = part.result_id

    async def diagnostic(self, file: str, previous: str | None = None) -> types.DocumentDiagnosticReport:
        document = types.TextDocumentIdentifier(self.uri(file))
        params = types.DocumentDiagnosticParams(document, "guywire", previous)
        return await self.client.text_document_diagnostic_async(params)

    async def registered(self) -> None:
        """Waits until the server has asked for something to be registered."""
        async with asyncio.timeout(PATIENCE_S):
            while not self.client.registrations:
                await asyncio.sleep(0.01)

    def registered_for(self, method: str) -> list[types.Registration]:
        return [one for one in self.client.registrations if one.method == method]

    async def hover(self, file: str, begins: str, inside: str) -> types.Hover:
        """The hover at the first character of `inside` on the line that begins with `begins`."""
        line = self.line(file, begins)
        at = self.position(file, line, self.text(file).split("\n")[line].index(inside))
        document = types.TextDocumentIdentifier(self.uri(file))
        return await self.client.text_document_hover_async(types.HoverParams(document, at))

    async def actions(self, file: str, span: types.Range, only: list[str] | None = None) -> list[types.CodeAction]:
        found = [one for one in self.diagnostics(file) if one.range == span]
        context = types.CodeActionContext(found, only, types.CodeActionTriggerKind.Invoked)
        document = types.TextDocumentIdentifier(self.uri(file))
        answer = await self.client.text_document_code_action_async(types.CodeActionParams(document, span, context))
        return list(answer or [])

    def edits(self, action: types.CodeAction) -> dict[str, list[types.TextEdit]]:
        """The edits of an action by file, in the form that the client declares and in no other."""
        if self.expected.edits == "changes":
            assert action.edit.document_changes is None
            return {self.file(uri): list(edits) for uri, edits in action.edit.changes.items()}
        assert action.edit.changes is None
        edits = {}
        for change in action.edit.document_changes:
            file = self.file(change.text_document.uri)
            assert change.text_document.version == self.versions.get(file)
            edits[file] = list(change.edits)
        return edits

    def file(self, uri: str) -> str:
        prefix = self.root.as_uri() + "/"
        assert uri.startswith(prefix), uri
        return uri.removeprefix(prefix)

    def after(self, file: str, edits: list[types.TextEdit]) -> str:
        """The text after the edits, all of which name places of the text before them."""
        text = self.text(file)
        for edit in sorted(edits, key=lambda edit: self.cut(file, edit.range.start), reverse=True):
            text = text[: self.cut(file, edit.range.start)] + edit.new_text + text[self.cut(file, edit.range.end) :]
        return text
