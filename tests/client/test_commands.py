"""The commands, progress and settings."""

import asyncio
import os
import pathlib
import subprocess
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


def run(session, command: str, *arguments, token=None):
    """`token` is the client's own, for the progress of this."""
    if token is not None:
        session.client.progress_reports[token] = []
    params = types.ExecuteCommandParams(command, list(arguments), work_done_token=token)
    return session.client.workspace_execute_command_async(params)


async def shown(session) -> str:
    """The text of the page that the client was asked to show."""
    async with asyncio.timeout(PATIENCE_S):
        while not session.client.shown_documents:
            await asyncio.sleep(0.01)
    (page,) = session.client.shown_documents
    return pathlib.Path(urllib.request.url2pathname(page.uri.removeprefix("file://"))).read_text(encoding="utf-8")


@proves("executeCommandProvider:guywire.audience")
@every_client
async def test_who_hears_whom_is_a_page_and_a_matrix(session):
    channels = "common/channels.plan.toml"
    session.open(channels)
    uri = session.uri(channels)
    answer = await run(session, "guywire.audience", uri, {"show": False})
    columns, rows = answer["matrix"]["columns"], {row["name"]: row["cells"] for row in answer["matrix"]["rows"]}
    assert all(len(cells) == len(columns) for cells in rows.values())
    answers = {cell if isinstance(cell, str) else cell["answer"] for cells in rows.values() for cell in cells}
    assert answers <= {"hears", "hears if scanning", "could tune", "unknown", "noise", "no"} and len(answers) > 2
    # The text that is open counts, not the one on disk: the call of this channel is mended there alone.
    assert "Quay direct" not in rows, "it calls nobody"
    session.edit(channels, 'call = "Bertsh"', "Bertsh", "Berths")
    mended = await run(session, "guywire.audience", uri)
    (quay,) = [row["cells"] for row in mended["matrix"]["rows"] if row["name"] == "Quay direct"]
    assert "hears" in quay
    assert mended["markdown"].startswith("# Who hears whom: common/channels.plan.toml\n")
    window = session.client.capabilities.window
    if window and window.show_document and window.show_document.support:
        assert await shown(session) == mended["markdown"]
    with pytest.raises(JsonRpcException, match="no plan that the server knows"):
        await run(session, "guywire.audience", session.uri("none.plan.toml"))


def commit(root: pathlib.Path) -> None:
    """Makes a repository of a folder, with all in it committed."""
    for words in (["init", "--quiet"], ["add", "--all"], ["commit", "--quiet", "--message", "state"]):
        who = ["-c", "user.name=Harbor", "-c", "user.email=harbor@example.org"]
        subprocess.run(["git", "-C", root, *who, *words], check=True)


@proves("executeCommandProvider:guywire.compare", "executeCommandProvider.workDoneProgress")
async def test_what_changes_on_the_air_is_a_page(begin):
    session = await begin(PULLING)
    commit(session.root)
    cranes = "cranes.plan.toml"
    session.open(cranes)
    (line,) = [line for line in session.text(cranes).split("\n") if line == "slot = 2"][:1]
    same = await run(session, "guywire.compare", session.uri(cranes), "HEAD", {"show": False})
    assert "Write again" not in same["markdown"]
    session.change(cranes, session.text(cranes).replace(line, "slot = 1", 1))
    page = (await run(session, "guywire.compare", session.uri(cranes), "HEAD", token="mine"))["markdown"]
    assert "### Write again" in page and "slot = 1 (was 2)" in page, page
    assert await shown(session) == page
    begun, *between, ended = session.client.progress_reports["mine"]
    assert (begun.title, begun.cancellable) == ("Comparing plans", True)
    assert between and isinstance(ended, types.WorkDoneProgressEnd)
    with pytest.raises(JsonRpcException, match="there is no revision no-such-branch in this repository"):
        await run(session, "guywire.compare", session.uri(cranes), "no-such-branch")


@pytest.mark.parametrize("how", ["request", "progress"])
async def test_a_comparison_holds_nothing_up_and_can_be_canceled(begin, tmp_path, how):
    """With a git that does not answer until it is told to."""
    slow, gate = tmp_path / "bin", tmp_path / "gate"
    slow.mkdir()
    os.mkfifo(gate)
    (slow / "git").write_text(f"#!/bin/sh\nread answer <{gate}\nexit 1\n")
    (slow / "git").chmod(0o755)
    session = await begin(WATCHING, env=os.environ | {"PATH": f"{slow}:{os.environ['PATH']}"})
    session.open(HARBOR)
    asked = asyncio.ensure_future(run(session, "guywire.compare", session.uri(HARBOR), "HEAD", token="mine"))
    async with asyncio.timeout(PATIENCE_S):
        while len(session.client.progress_reports.get("mine", [])) < 2:
            await asyncio.sleep(0.01)
    assert (await session.hover(HARBOR, "rx_mhz = 491.3125", "491")).contents, "others are answered"
    if how == "request":
        (id,) = session.client.protocol._request_futures
        session.client.cancel_request(types.CancelParams(id))
    else:
        session.client.window_work_done_progress_cancel(types.WorkDoneProgressCancelParams("mine"))
        await session.hover(HARBOR, "rx_mhz = 491.3125", "491")
        # Opened to write, it waits for who reads.
        await asyncio.to_thread(gate.write_text, "go\n")
    with pytest.raises(JsonRpcException) as refused:
        await asked
    assert refused.value.code == types.LSPErrorCodes.RequestCancelled
    if how == "request":
        await asyncio.to_thread(gate.write_text, "go\n")
