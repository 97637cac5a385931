"""Diagnostics for clients that ask for them."""

import asyncio

import pytest
from lsprotocol import types

from conftest import EXPECTED
from proof import proves
from session import PATIENCE_S
from test_clients import CHANNELS, HARBOR, PLACES

pulling_clients = pytest.mark.parametrize("session", [name for name in EXPECTED if EXPECTED[name].pulls], indirect=True)


@proves("diagnosticProvider")
@pulling_clients
async def test_nothing_is_pushed(session, faults):
    provider = session.result.capabilities.diagnostic_provider
    assert provider.inter_file_dependencies is True
    assert provider.workspace_diagnostics is True
    session.open(CHANNELS)
    report = await session.diagnostic(CHANNELS)
    planted = {rule for rule, file, _ in faults if file == CHANNELS}
    assert {found.code for found in report.items} == planted
    (misspelled,) = [found for found in report.items if found.code == "undefined-name"]
    assert session.marked(CHANNELS, misspelled.range) == '"Bertsh"'
    session.edit(CHANNELS, 'call = "Bertsh"', "Bertsh", "Berths")
    mended = await session.diagnostic(CHANNELS, report.result_id)
    assert {found.code for found in mended.items} == planted - {"undefined-name"}
    assert session.client.diagnostics == {}, "what is pushed lands here"


@pulling_clients
async def test_what_is_the_same_is_not_sent_again(session):
    session.open(HARBOR)
    first = await session.diagnostic(HARBOR)
    assert first.kind == "full" and first.items
    again = await session.diagnostic(HARBOR, first.result_id)
    assert (again.kind, again.result_id) == ("unchanged", first.result_id)
    session.edit(HARBOR, "title = ", "title", "title ")
    same = await session.diagnostic(HARBOR, first.result_id)
    assert same.kind == "unchanged"


@proves("diagnosticProvider.interFileDependencies")
@pulling_clients
async def test_what_another_file_mends_is_asked_for_again(session):
    session.open(HARBOR)
    session.open(PLACES)
    before = await session.diagnostic(HARBOR)
    assert "color-code-differs-from-repeater" in [found.code for found in before.items]
    await session.diagnostic(PLACES)
    code = next(found for found in before.items if found.code == "color-code-differs-from-repeater")
    session.replace(PLACES, code.related_information[0].location.range, "3")
    await asyncio.wait_for(session.client.refreshed(), PATIENCE_S)
    after = await session.diagnostic(HARBOR, before.result_id)
    assert "color-code-differs-from-repeater" not in [found.code for found in after.items]


@proves("diagnosticProvider.workspaceDiagnostics")
@pulling_clients
async def test_a_client_that_takes_parts_is_told_as_things_change(session, faults):
    params = types.WorkspaceDiagnosticParams([], partial_result_token="parts")
    held = asyncio.ensure_future(session.client.workspace_diagnostic_async(params))
    have = {}

    async def until(holds):
        async with asyncio.timeout(PATIENCE_S):
            while not holds():
                token, item = await session.client.part()
                assert (token, item["kind"]) == ("parts", "full")
                have[session.file(item["uri"])] = (item["version"], [found["code"] for found in item["items"]])

    files = {file for _, file, _ in faults}
    await until(lambda: files <= {file for file, (_, codes) in have.items() if codes})
    for file in files:
        assert have[file] == (None, [rule for rule, other, _ in faults if other == file])
    assert not held.done(), "it is held open"
    session.open(CHANNELS)
    await until(lambda: have[CHANNELS][0] == 1)
    session.edit(CHANNELS, 'call = "Bertsh"', "Bertsh", "Berths")
    await until(lambda: have[CHANNELS][0] == 2)
    assert "undefined-name" not in have[CHANNELS][1]
    assert not held.done()
    held.cancel()
