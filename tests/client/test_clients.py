"""What the server tells, answers and mends, for each client in the form that the client declares."""

import asyncio
import json
import re

import pytest
from lsprotocol import types
from pygls.exceptions import JsonRpcException

from conftest import BUNDLED, EXPECTED, HERE, RECORDED
from proof import proves
from session import PATIENCE_S

CHANNELS, GROUPS, HANDLING, PLACES = (
    f"common/{part}.plan.toml" for part in ("channels", "groups", "handling", "places")
)
HARBOR, CRANES = "harbor.plan.toml", "cranes.plan.toml"

every_client = pytest.mark.parametrize("session", EXPECTED, indirect=True)
bundled_clients = pytest.mark.parametrize("session", BUNDLED, indirect=True)
watching = [name for name, expected in EXPECTED.items() if expected.watches]
watching_clients = pytest.mark.parametrize("session", watching, indirect=True)


def test_each_recorded_client_is_tried():
    assert {path.stem for path in (HERE / "clients").glob("*.json")} == set(RECORDED)
    for path in (HERE / "clients").glob("*.json"):
        assert json.loads(path.read_text(encoding="utf-8"))["initialize"]["capabilities"], path


async def all_told(session, faults):
    """Until each planted fault is told, whether or not its file is open."""
    files = {file for _, file, _ in faults}
    count = {file: sum(1 for _, other, _ in faults if other == file) for file in files}
    await session.until(lambda: all(len(session.rules(file)) == count[file] for file in files), "all faults are told")


@every_client
async def test_the_server_says_what_it_does(session):
    declared = session.result.capabilities
    assert session.result.server_info.name == "guywire"
    assert declared.position_encoding == session.expected.encoding
    assert declared.text_document_sync.change == types.TextDocumentSyncKind.Incremental
    assert declared.text_document_sync.open_close is True
    assert declared.hover_provider is True
    assert "quickfix" in declared.code_action_provider.code_action_kinds
    # Pulled or pushed, never both: that would show each finding twice.
    if not session.expected.pulls:
        assert declared.diagnostic_provider is None
        with pytest.raises(JsonRpcException) as refused:
            await session.diagnostic(HARBOR)
        assert refused.value.code == types.ErrorCodes.MethodNotFound


@every_client
async def test_findings_are_told_at_their_places(session, faults):
    session.open(HARBOR)
    await all_told(session, faults)
    for file in {file for _, file, _ in faults}:
        planted = [(rule, line) for rule, other, line in faults if other == file]
        told = session.places(file)
        assert [rule for rule, _ in told] == [rule for rule, _ in planted], file
        for (rule, line), (_, begins) in zip(told, planted, strict=True):
            assert line.startswith(begins), rule
    for file in ("guywire.toml", "fleet.csv", "models/hh-uhf.model.toml"):
        assert session.rules(file) == [], file
    if not session.expected.watches:
        assert session.registered_for(types.WORKSPACE_DID_CHANGE_WATCHED_FILES) == []
    named = {found.code: found for found in session.diagnostics(HARBOR)}
    assert all(found.source == "guywire" for found in named.values())
    code = named["color-code-differs-from-repeater"]
    assert session.marked(HARBOR, code.range) == "3"
    assert code.severity == types.DiagnosticSeverity.Error
    assert 'channel "Lines" sends color code 3, but repeater "beacon" opens for 5 only' in code.message
    if session.expected.related:
        (related,) = code.related_information
        assert session.file(related.location.uri) == PLACES
        assert session.marked(PLACES, related.location.range) == "5"
        assert related.message == 'repeater "beacon" has color code 5'
    else:
        assert code.related_information is None
    assert named["slot-differs-from-repeater"].severity == types.DiagnosticSeverity.Warning
    assert named["unused-definition"].severity == types.DiagnosticSeverity.Hint


@bundled_clients
async def test_key_material_is_told_to_nobody(session, faults):
    keys = (("value", GROUPS), ("power_on_code", HANDLING))
    secrets = [re.search(f'^{key} = "(.+)"', session.text(file), re.MULTILINE)[1] for key, file in keys]
    session.open(GROUPS)
    await all_told(session, faults)
    (found,) = [found for found in session.diagnostics(GROUPS) if found.code == "key-in-clear"]
    hover = await session.hover(GROUPS, "value = ", secrets[0][:8])
    actions = await session.actions(GROUPS, found.range)
    told = [session.client.diagnostics, hover, actions, session.client.log_messages, session.client.messages]
    for secret in secrets:
        assert secret not in repr(told)
    assert 'key "harbor-2026" has its material written here' in found.message
    (action,) = actions
    assert action.title == "Take the material out of the plan (then change the key: the history keeps it)"


@bundled_clients
async def test_an_edit_takes_its_finding_away_and_no_other(session, faults):
    session.open(CHANNELS)
    await all_told(session, faults)
    others = [place for place in session.places(CHANNELS) if place[0] != "undefined-name"]
    session.edit(CHANNELS, 'call = "Bertsh"', "Bertsh", "Berths")
    await session.until(lambda: "undefined-name" not in session.rules(CHANNELS), "the finding is gone")
    assert session.places(CHANNELS) == others
    session.edit(CHANNELS, "recieve_group", "recieve", "receive")
    await session.until(lambda: "unknown-key" not in session.rules(CHANNELS), "the second is gone")
    assert session.places(CHANNELS) == [place for place in others if place[0] != "unknown-key"]


@proves("positionEncoding")
@every_client
async def test_characters_are_counted_as_agreed(session, faults):
    """A letter of two bytes and a symbol of two UTF-16 units stand before the places named, both ways."""
    session.open(GROUPS)
    await all_told(session, faults)
    session.edit(GROUPS, 'talkgroups = ["Pilots"]', '["Pilots"', '["Lötsen 🛟", "Pilots"')
    await session.until(lambda: "undefined-name" in session.rules(GROUPS), "the name is told")
    session.edit(GROUPS, 'talkgroups = ["Lötsen', '"Pilots"', '"Plots"')
    await session.until(lambda: session.rules(GROUPS).count("undefined-name") == 2, "both names are told")
    found = [found for found in session.diagnostics(GROUPS) if found.code == "undefined-name"]
    assert {session.marked(GROUPS, one.range) for one in found} == {'"Lötsen 🛟"', '"Plots"'}
    widths = {one.range.end.character - one.range.start.character for one in found}
    assert widths == {{"utf-8": 14, "utf-16": 11}[session.encoding], 7}


@proves("hoverProvider")
@every_client
async def test_a_hover_comes_in_the_form_asked_for(session, faults):
    session.open(HARBOR)
    await all_told(session, faults)
    hover = await session.hover(HARBOR, "rx_mhz = 491.3125", "491")
    assert session.marked(HARBOR, hover.range) == "491.3125"
    contents = hover.contents
    assert contents.kind == session.expected.hover
    # c / f = 299.792458 / 491.3125 m = 0.6102 m; a quarter of it 15.25 cm.
    assert "wavelength 0.61 m, quarter wave 15.3 cm" in contents.value
    assert contents.value.startswith("**rx_mhz**" if session.expected.hover == "markdown" else "rx_mhz (MHz)")
    assert ("**" in contents.value) == (session.expected.hover == "markdown")
    group = await session.hover(HARBOR, 'profiles = ["mooring"]', "mooring")
    assert 'Profile "mooring"' in group.contents.value


@proves("codeActionProvider", "codeActionProvider:quickfix")
@every_client
async def test_a_fix_comes_in_the_form_asked_for(session, faults):
    session.open(CHANNELS)
    await all_told(session, faults)
    (found,) = [found for found in session.diagnostics(CHANNELS) if found.code == "undefined-name"]
    assert session.marked(CHANNELS, found.range) == '"Bertsh"'
    action, waiver = await session.actions(CHANNELS, found.range)
    # What mends comes first; a waiver, which accepts the finding and asks for a reason, after it.
    assert waiver.title.startswith(f"Accept this finding of {found.code} with a waiver")
    assert (action.kind, action.title) == ("quickfix", 'Write "Berths" (touches 40 radios)')
    assert [fixed.code for fixed in action.diagnostics] == ["undefined-name"]
    edits = session.edits(action)
    assert list(edits) == [CHANNELS]
    before = session.text(CHANNELS)
    assert session.after(CHANNELS, edits[CHANNELS]) == before.replace('"Bertsh"', '"Berths"')


@proves("codeActionProvider:source.fixAll.guywire")
@bundled_clients
async def test_all_safe_fixes_of_a_file_are_one_action(session, faults):
    kinds = session.result.capabilities.code_action_provider.code_action_kinds
    if "source.fixAll.guywire" not in kinds:
        assert kinds == ("quickfix",)
        return
    session.open(PLACES)
    await all_told(session, faults)
    top = types.Range(types.Position(0, 0), types.Position(0, 0))
    (action,) = await session.actions(PLACES, top, ["source.fixAll.guywire"])
    assert action.kind == "source.fixAll.guywire"
    edits = session.edits(action)
    before = session.text(PLACES)
    # The number of one fault has one right form; what the other would change goes on the air, and is left alone.
    assert session.after(PLACES, edits[PLACES]) == before.replace("tx_mhz = 464937.5", "tx_mhz = 464.9375")
    session.edit(PLACES, "tx_mhz = 464937.5", "464937.5", "464.9375")
    others = sorted(rule for rule, file, _ in faults if file == PLACES and rule != "not-in-megahertz")
    await session.until(lambda: sorted(session.rules(PLACES)) == others, "the safe fix is taken")
    assert await session.actions(PLACES, top, ["source.fixAll.guywire"]) == []


@proves("codeActionProvider:refactor.rewrite")
@bundled_clients
async def test_a_call_is_brought_to_more_radios(session, faults):
    kinds = session.result.capabilities.code_action_provider.code_action_kinds
    assert "refactor.rewrite" in kinds
    session.open(CRANES)
    await all_told(session, faults)
    # The channel; the zone of that name stands below.
    line = session.text(CRANES).split("\n").index('name = "Cranes"')
    at = types.Range(types.Position(line, 0), types.Position(line, 0))
    actions = await session.actions(CRANES, at, ["refactor.rewrite"])
    assert actions and all(action.kind == "refactor.rewrite" for action in actions)
    # Each says what is gained and what it costs.
    assert re.search(r": \d+ more radios? hears? \"Cranes\".* \(touches \d+ radios?\)$", actions[0].title)
    edits = session.edits(actions[0])
    assert edits and all(session.after(file, edits[file]) != session.text(file) for file in edits)


@proves("register:workspace/didChangeWatchedFiles")
@watching_clients
async def test_files_are_watched_where_the_client_can(session, faults):
    await all_told(session, faults)
    await session.registered()
    (watch,) = session.registered_for(types.WORKSPACE_DID_CHANGE_WATCHED_FILES)
    globs = {watcher["globPattern"] for watcher in watch.register_options["watchers"]}
    assert globs == {"**/*.{plan,model,regime,bench,field}.toml", "**/guywire.toml", "**/*.csv"}
    # A file that is not open is mended by another program.
    path = session.root / "cranes.plan.toml"
    path.write_text(path.read_text(encoding="utf-8").replace("id = 21203", "id = 21023"), encoding="utf-8")
    event = types.FileEvent(path.as_uri(), types.FileChangeType.Changed)
    session.client.workspace_did_change_watched_files(types.DidChangeWatchedFilesParams([event]))
    left = [rule for rule, file, _ in faults if file == "cranes.plan.toml" and rule != "contact-not-a-radio"]
    await session.until(lambda: session.rules("cranes.plan.toml") == left, "the file is read again")


@proves("textDocumentSync.openClose")
@bundled_clients
async def test_what_was_open_counts_as_on_disk_once_closed(session, faults):
    session.open(CHANNELS)
    await all_told(session, faults)
    told = session.places(CHANNELS)
    session.edit(CHANNELS, 'call = "Bertsh"', "Bertsh", "Berths")
    await session.until(lambda: "undefined-name" not in session.rules(CHANNELS), "the finding is gone")
    session.close(CHANNELS)
    await session.until(lambda: "undefined-name" in session.rules(CHANNELS), "the finding is back")
    assert session.places(CHANNELS) == told


@bundled_clients
async def test_the_server_ends_when_told(session, faults):
    await all_told(session, faults)
    assert await session.client.shutdown_async(None) is None
    with pytest.raises(JsonRpcException) as refused:
        await session.hover(HARBOR, "rx_mhz = 491.3125", "491")
    assert refused.value.code == types.ErrorCodes.InvalidRequest
    session.client.exit(None)
    assert await asyncio.wait_for(session.client._server.wait(), PATIENCE_S) == 0
