"""The clients that talk to the program, and a conversation of one of them about a copy of the demo."""

import asyncio
import dataclasses
import json
import os
import pathlib
import shutil
import sys
import tomllib

import pytest
import pytest_lsp
from lsprotocol import types
from lsprotocol.converters import get_converter
from pytest_lsp.client import DEFAULT_CLIENT_FEATURES, default_converter, register_lsp_features

HERE = pathlib.Path(__file__).resolve().parent
DEMO = HERE.parent.parent / "docs/examples/saltmarsh-with-faults"
sys.path.insert(0, str(HERE))

import wire
from session import Session
from wire import RecordingProtocol


@dataclasses.dataclass(frozen=True)
class Expected:
    """What the server has to do for a client, as its capabilities ask for. Written down by hand, not computed from them.

    `encoding` is None where the client names none: then the server names none either, and both count in UTF-16.
    """

    encoding: str | None
    hover: str
    edits: str
    watches: bool
    related: bool
    pulls: bool = False


# Capabilities that come with pytest-lsp: of Neovim 0.11.0, Visual Studio Code 1.65.2 and Emacs 29.1.
BUNDLED = {
    "neovim": Expected("utf-8", "markdown", "changes", watches=False, related=True),
    "visual_studio_code": Expected(None, "markdown", "document_changes", watches=True, related=True),
    "emacs": Expected("utf-8", "markdown", "document_changes", watches=True, related=False),
}

# What clients declared in `initialize`, recorded: clients/NAME.json.
RECORDED = {
    "code-server-4.139.1": Expected("utf-16", "markdown", "document_changes", watches=True, related=True, pulls=True),
    "emacs-28.2-eglot-1.9": Expected(None, "plaintext", "document_changes", watches=True, related=False),
    "kakoune-kak-lsp-22": Expected("utf-8", "markdown", "document_changes", watches=False, related=True),
    "kate-22.12.3": Expected(None, "markdown", "changes", watches=False, related=True),
    "neovim-0.11.4": Expected("utf-8", "markdown", "changes", watches=False, related=True),
    "neovim-0.7.2": Expected(None, "markdown", "changes", watches=False, related=True),
    "vim-ale-3.3.0": Expected(None, "plaintext", "changes", watches=False, related=True),
}

EXPECTED = BUNDLED | RECORDED


def program() -> str:
    path = os.environ.get("GUYWIRE", "")
    if not os.path.isabs(path) or not os.access(path, os.X_OK):
        raise pytest.UsageError("set GUYWIRE to the absolute path of the program")
    return path


def first_message(name: str, root: pathlib.Path) -> tuple[types.InitializeParams, str]:
    """The `initialize` body of a client that has the folder `root` open, and the language id that it gives to plans."""
    if name in BUNDLED:
        folders = [types.WorkspaceFolder(uri=root.as_uri(), name=root.name)]
        capabilities = pytest_lsp.client_capabilities(name)
        body = types.InitializeParams(capabilities=capabilities, root_uri=root.as_uri(), workspace_folders=folders)
        return body, "toml.guywire"
    text = (HERE / "clients" / f"{name}.json").read_text(encoding="utf-8")
    recorded = json.loads(text.replace("${root}", root.as_uri()).replace("${path}", str(root)))
    return get_converter().structure(recorded["initialize"], types.InitializeParams), recorded["languageId"]


def make_client() -> pytest_lsp.LanguageClient:
    """A client that keeps what it is told, partial results and requests of the server's own among it."""
    registrations, refreshes, parts, others = [], asyncio.Queue(), asyncio.Queue(), asyncio.Queue()

    def register(client: pytest_lsp.LanguageClient, params: types.RegistrationParams):
        registrations.extend(params.registrations)

    def refresh(client: pytest_lsp.LanguageClient, params: None):
        refreshes.put_nowait(None)

    def hints_again(client: pytest_lsp.LanguageClient, params: None):
        others.put_nowait("hints")

    def lenses_again(client: pytest_lsp.LanguageClient, params: None):
        others.put_nowait("lenses")

    def progress(client: pytest_lsp.LanguageClient, params: types.ProgressParams):
        if "kind" in params.value:
            return DEFAULT_CLIENT_FEATURES[types.PROGRESS](client, params)
        for item in params.value["items"]:
            parts.put_nowait((params.token, item))

    client = pytest_lsp.LanguageClient(converter_factory=default_converter, protocol_cls=RecordingProtocol)
    own = {
        types.CLIENT_REGISTER_CAPABILITY: register,
        types.WORKSPACE_DIAGNOSTIC_REFRESH: refresh,
        types.WORKSPACE_INLAY_HINT_REFRESH: hints_again,
        types.WORKSPACE_CODE_LENS_REFRESH: lenses_again,
        types.PROGRESS: progress,
    }
    register_lsp_features(client, DEFAULT_CLIENT_FEATURES | own)
    client.registrations, client.refreshed, client.part = registrations, refreshes.get, parts.get
    client.asked_again = others.get
    return client


@pytest.fixture
async def begin(tmp_path):
    """Begins conversations: of a client by its name about a folder, whose files are those given or a copy of the demo.
    `change` is called with the `initialize` body before it is sent; `env` is the environment of the server. All that the server sent is held against the
    protocol at the end."""
    sessions = []

    async def begin(
        name: str, files: dict[str, str] | None = None, change=lambda body: None, env: dict[str, str] | None = None
    ) -> Session:
        root = tmp_path / "plans"
        if files is None and not root.exists():
            shutil.copytree(DEMO, root)
        for file, text in (files or {}).items():
            path = root / file
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(text.encode())
        client = make_client()
        await client.start_io(program(), "serve", env=env)
        body, language = first_message(name, root)
        change(body)
        result = await client.initialize_session(body)
        session = Session(client, root, language, result, EXPECTED[name])
        session.capabilities = body.capabilities
        sessions.append(session)
        return session

    yield begin
    for session in sessions:
        if session.client._server.returncode is None:
            await session.client.shutdown_session()
        await session.client.stop()
        for kind, message in session.client.protocol.received:
            wire.check(kind, message)


@pytest.fixture
async def session(request, begin):
    """A conversation about the demo that has begun. The test's parameter is the name of the client."""
    return await begin(request.param)


@pytest.fixture(scope="session")
def faults() -> list[tuple[str, str, str]]:
    """The faults planted in the demo: rule, file, and how the line begins where the finding is."""
    planted = tomllib.loads((DEMO / "FAULTS.toml").read_text(encoding="utf-8"))["fault"]
    return [(fault["rule"], fault["file"], fault["line"]) for fault in planted]
