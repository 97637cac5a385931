"""Each capability that the server advertises has a test that proves it, and what checks the messages does its work."""

import importlib

import pytest
from lsprotocol import types

import wire
from conftest import EXPECTED, HERE
from proof import advertised


@pytest.fixture(scope="module")
def proved() -> set[str]:
    """What the tests of this folder prove, whether or not they are run."""
    modules = [importlib.import_module(path.stem) for path in HERE.glob("test_*.py")]
    tests = [test for module in modules for name, test in vars(module).items() if name.startswith("test_")]
    marks = [mark for test in tests for mark in getattr(test, "pytestmark", []) if mark.name == "proves"]
    return {name for mark in marks for name in mark.args}


@pytest.mark.parametrize("name", EXPECTED)
async def test_each_capability_is_proved(begin, proved, name):
    session = await begin(name)
    if session.expected.watches:
        await session.registered()
    result = next(message for _, message in session.client.protocol.received if message.get("id") is not None)
    names = advertised(result["result"]["capabilities"], session.client.registrations)
    missing = names - proved
    assert not missing, f"no test says @proves({', '.join(map(repr, sorted(missing)))})"


async def test_nothing_is_proved_that_is_not_advertised(begin, proved):
    names = set()
    for name in ("code-server-4.139.1", "neovim-0.11.4"):
        session = await begin(name)
        if session.expected.watches:
            await session.registered()
        result = next(message for _, message in session.client.protocol.received if message.get("id") is not None)
        names |= advertised(result["result"]["capabilities"], session.client.registrations)
    assert proved <= names


def test_names_are_taken_apart():
    capabilities = {
        "hoverProvider": True,
        "definitionProvider": False,
        "renameProvider": {"prepareProvider": True},
        "executeCommandProvider": {"commands": ["a", "b"]},
        "textDocumentSync": {"openClose": True, "change": 2, "save": {"includeText": False}},
        "workspace": {"fileOperations": {"didCreate": {"filters": []}}, "workspaceFolders": {"supported": True}},
    }
    assert advertised(capabilities, [types.Registration("1", "some/method")]) == {
        "hoverProvider",
        "renameProvider",
        "renameProvider.prepareProvider",
        "executeCommandProvider",
        "executeCommandProvider:a",
        "executeCommandProvider:b",
        "textDocumentSync.openClose",
        "textDocumentSync.save",
        "workspace.fileOperations.didCreate",
        "workspace.workspaceFolders.supported",
        "register:some/method",
    }


@pytest.mark.parametrize(
    "wrong",
    [
        {"jsonrpc": "2.0", "method": "textDocument/publishDiagnostics", "params": {"uri": "a:b"}},
        {"jsonrpc": "2.0", "method": "textDocument/publishDiagnostics", "params": {"uri": "a:b", "diagnostics": [{}]}},
        {"jsonrpc": "2.0", "method": "textDocument/publishDiagnostics", "params": {"uri": "a:b", "diagnostics": [], "more": 1}},
        {"jsonrpc": "2.0", "method": "textDocument/didOpen", "params": {}},
        {"jsonrpc": "2.0", "method": "$/progress", "params": {"token": "a", "value": {"kind": "begin"}}},
        {"jsonrpc": "2.0", "id": 1, "error": {"code": -1, "message": "no code of the protocol"}},
    ],
)
def test_what_the_protocol_does_not_have_is_found(wrong):
    kind = types.ResponseErrorMessage if "error" in wrong else types.METHOD_TO_TYPES[wrong["method"]][0]
    with pytest.raises(Exception):
        wire.check(kind, wrong)
