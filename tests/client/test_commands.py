"""The commands, progress and settings."""

import asyncio
import pathlib
import urllib.request

import pytest
from lsprotocol import types
from pygls.exceptions import JsonRpcException

from proof import proves
from session import PATIENCE_S
from test_clients import HARBOR, all_told, every_client
from test_use import PULLING, PUSHED, WATCHING, plan


@proves("executeCommandProvider", "executeCommandProvider:guywire.why")
@every_client
async def test_a_rules_page_is_answered_and_shown_where_the_client_can(session, faults):
    await all_told(session, faults)
    why = types.ExecuteCommandParams("guywire.why", ["color-code-differs-from-repeater"])
    answer = await session.client.workspace_execute_command_async(why)
    page = answer["markdown"]
    assert page.startswith("# color-code-differs-from-repeater\n")
    assert "## On the air\n" in page and "## Source\n" in page
    window = session.client.capabilities.window
    if window and window.show_document and window.show_document.support:
        async with asyncio.timeout(PATIENCE_S):
            while not session.client.shown_documents:
                await asyncio.sleep(0.01)
        (shown,) = session.client.shown_documents
        path = pathlib.Path(urllib.request.url2pathname(shown.uri.removeprefix("file://")))
        assert path.read_text(encoding="utf-8") == page
        assert path.parent.stat().st_mode & 0o077 == 0, "nobody else can read it"
    with pytest.raises(JsonRpcException, match="did you mean `undefined-name`"):
        wrong = types.ExecuteCommandParams("guywire.why", ["undefined-nam"])
        await session.client.workspace_execute_command_async(wrong)


async def test_a_check_shows_progress(begin):
    # Shown even where it is over at once, so that the machine's speed does not matter.
    def all_shown(body: types.InitializeParams):
        body.initialization_options = {"limits": {"progressAfterMilliseconds": 0}}

    files = {f"quays/{place}.plan.toml": plan(*["Berths"] * 60, title=f"Quay {place}") for place in range(12)}
    session = await begin(PUSHED, files, all_shown)
    reports = session.client.progress_reports
    async with asyncio.timeout(PATIENCE_S):
        while not any(isinstance(told, types.WorkDoneProgressEnd) for all in reports.values() for told in all):
            await asyncio.sleep(0.01)
    (told,) = reports.values()
    begun, *between, ended = told
    assert isinstance(begun, types.WorkDoneProgressBegin)
    assert (begun.title, begun.cancellable) == ("Checking plans", True)
    assert isinstance(ended, types.WorkDoneProgressEnd)
    percentages = [report.percentage for report in between]
    assert percentages == sorted(percentages) and between, percentages


@proves("register:workspace/didChangeConfiguration")
async def test_settings_of_the_client_are_asked_for_and_followed(begin):
    session = await begin(PULLING)
    await session.registered()
    (settings,) = session.registered_for(types.WORKSPACE_DID_CHANGE_CONFIGURATION)
    assert settings.register_options == {"section": "guywire"}
    session.open(HARBOR)
    found = len((await session.diagnostic(HARBOR)).items)
    assert found > 3
    session.client.set_configuration({"limits": {"findingsPerFile": 2}}, section="guywire")
    session.client.workspace_did_change_configuration(types.DidChangeConfigurationParams(None))
    async with asyncio.timeout(PATIENCE_S):
        while len(items := (await session.diagnostic(HARBOR)).items) != 3:
            await asyncio.sleep(0.01)
    assert items[2].message.startswith(f"{found - 2} more findings in this file are not shown")


async def test_settings_that_are_sent_are_taken(begin, faults):
    session = await begin("vim-ale-3.3.0")
    session.open(HARBOR)
    await all_told(session, faults)
    found = len(session.rules(HARBOR))
    settings = {"guywire": {"limits": {"findingsPerFile": 1}}}
    session.client.workspace_did_change_configuration(types.DidChangeConfigurationParams(settings))
    await session.until(lambda: len(session.rules(HARBOR)) == 2, "one and a word on the rest")
    assert session.diagnostics(HARBOR)[1].message.startswith(f"{found - 1} more findings")


async def test_what_is_done_is_traced(begin, faults):
    session = await begin(WATCHING)
    session.open(HARBOR)
    await all_told(session, faults)
    session.client.set_trace(types.SetTraceParams(types.TraceValue.Verbose))
    session.edit(HARBOR, "rx_mhz = 491.3125", "491.3125", "nothing")
    await session.client.wait_for_notification(types.LOG_TRACE)
    (trace,) = [one["params"] for _, one in session.client.protocol.received if one.get("method") == types.LOG_TRACE]
    assert trace["message"].startswith("checked in ") and trace["message"].endswith("told of 1 files")
    assert trace["verbose"] == HARBOR
