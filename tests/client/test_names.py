"""Where names lead, who uses them, and what renames them, for each client in the form that the client declares."""

import types as plain

import pytest
from lsprotocol import types
from pygls.exceptions import JsonRpcException

from conftest import EXPECTED
from proof import proves
from test_clients import CHANNELS, GROUPS, HARBOR, PLACES, every_client

CRANES, RESCUE, FLEET, MODEL = "cranes.plan.toml", "rescue.plan.toml", "fleet.csv", "models/hh-uhf.model.toml"
PLANS = [HARBOR, CRANES, RESCUE, CHANNELS, GROUPS, PLACES, "common/handling.plan.toml"]

# Clients that take links to definitions, and that ask what would be renamed beforehand: as they declare it.
LINKING = {
    "neovim", "visual_studio_code", "emacs", "code-server-4.139.1", "emacs-28.2-eglot-1.9", "neovim-0.11.4",
    "neovim-0.7.2",
}  # fmt: skip
PREPARING = {"neovim", "visual_studio_code", "code-server-4.139.1", "neovim-0.11.4", "neovim-0.7.2"}


def at(session, file: str, needle: str) -> dict:
    """The place of the mark `▮` in the only part of a file that is like the rest of the needle."""
    text, bare, inside = session.text(file), needle.replace("▮", ""), needle.index("▮")
    assert text.count(bare) == 1, needle
    before = text[: text.index(bare) + inside]
    line = before.count("\n")
    position = session.position(file, line, len(before) - (before.rfind("\n") + 1))
    return {"text_document": types.TextDocumentIdentifier(session.uri(file)), "position": position}


def name(request_name: str) -> str:
    """The client of a parameterized test."""
    return request_name.split("[")[1].rstrip("]")


async def definition(session, client: str, file: str, needle: str) -> list[tuple[str, str, str]]:
    """What the needle leads to: file, line, and the part of it that is meant."""
    found = await session.client.text_document_definition_async(types.DefinitionParams(**at(session, file, needle)))
    places = []
    for one in found or []:
        if client in LINKING:
            assert isinstance(one, types.LocationLink)
            assert session.marked(file, one.origin_selection_range) in needle.replace("▮", "")
            uri, span = one.target_uri, one.target_selection_range
            assert (one.target_range.start.line, one.target_range.end.line) >= (0, span.end.line)
        else:
            assert isinstance(one, types.Location)
            uri, span = one.uri, one.range
        target = session.file(uri)
        places.append((target, session.text(target).split("\n")[span.start.line], session.marked(target, span)))
    return places


def lines_with(session, words: str, files: list[str]) -> set[tuple[str, int]]:
    return {
        (file, number)
        for file in files
        for number, line in enumerate(session.text(file).split("\n"))
        if words in line and not line.startswith("#")
    }


@every_client
async def test_the_server_says_that_it_follows_names(session, request):
    declared = session.result.capabilities
    assert declared.definition_provider is True
    assert declared.references_provider is True
    assert declared.document_highlight_provider is True
    prepares = name(request.node.name) in PREPARING
    assert declared.rename_provider == (types.RenameOptions(prepare_provider=True) if prepares else True)


@proves("definitionProvider")
@every_client
async def test_a_name_leads_to_its_table(session, request):
    client = name(request.node.name)
    session.open(CRANES)
    beacon = 'name = "Yard"\nsends = "digital"\nrepeater = "bea▮con"'
    assert await definition(session, client, CRANES, beacon) == [(PLACES, 'name = "beacon"', "beacon")]
    model = 'model = "models/hh-uhf▮.model.toml"\nregime'
    assert await definition(session, client, CRANES, model) == [(MODEL, 'name = "hh-uhf"', "hh-uhf")]
    assert await definition(session, client, CRANES, 'regime = "us-▮part-90"') == []
    # Half a line before it changes nothing.
    session.edit(CRANES, "revision = ", 'revision = "2026-11"', 'revision = "2026')
    assert await definition(session, client, CRANES, beacon) == [(PLACES, 'name = "beacon"', "beacon")]


@proves("referencesProvider")
@every_client
async def test_references_are_all_there_are(session):
    session.open(PLACES)
    here = at(session, PLACES, 'name = "north ▮mole"\nid')
    for declaration in (True, False):
        context = types.ReferenceContext(include_declaration=declaration)
        found = await session.client.text_document_references_async(types.ReferenceParams(context, **here))
        assert {session.marked(session.file(one.uri), one.range) for one in found} == {"north mole"}
        places = {(session.file(one.uri), one.range.start.line) for one in found}
        # Every line that has the name in quotes names the repeater, but for the site of the same name.
        wanted = lines_with(session, '"north mole"', PLANS)
        own = (PLACES, here["position"].line)
        assert places == (wanted if declaration else wanted - {own})
        assert len(found) == len(places) > 10


@proves("documentHighlightProvider")
@every_client
async def test_the_name_under_the_cursor_is_marked_in_the_file(session):
    session.open(CRANES)
    here = at(session, CRANES, '[[zone]]\nname = "Yard"\nchannels = ["Ya▮rd", ')
    found = await session.client.text_document_document_highlight_async(types.DocumentHighlightParams(**here))
    lines = session.text(CRANES).split("\n")
    marked = [(lines[one.range.start.line].split(" = ")[0], one.kind) for one in found]
    # The channel: not the zone, nor the talkgroup that it calls.
    write, read = types.DocumentHighlightKind.Write, types.DocumentHighlightKind.Read
    assert marked == [("name", write)] + [("channels", read)] * 4
    assert {session.marked(CRANES, one.range) for one in found} == {"Yard"}


async def rename(session, file: str, needle: str, new: str) -> dict[str, list[types.TextEdit]]:
    answer = await session.client.text_document_rename_async(types.RenameParams(new_name=new, **at(session, file, needle)))
    return session.edits(plain.SimpleNamespace(edit=answer))


@proves("renameProvider", "renameProvider.prepareProvider")
@every_client
async def test_a_rename_changes_every_file_and_no_finding(session, faults, request):
    session.open(PLACES)
    session.open(CHANNELS)
    needle = 'name = "north ▮mole"\nid'
    if name(request.node.name) in PREPARING:
        params = types.PrepareRenameParams(**at(session, PLACES, needle))
        told = await session.client.text_document_prepare_rename_async(params)
        assert (session.marked(PLACES, told.range), told.placeholder) == ("north mole", "north mole")
    edits = await rename(session, PLACES, needle, "south mole")
    assert set(edits) == {file for file, _ in lines_with(session, '"north mole"', PLANS)}
    for file in edits:
        after = session.after(file, edits[file])
        assert after == session.text(file).replace('"north mole"', '"south mole"'), file
    # A client takes the edits: open texts it changes, others it writes.
    before = {file: session.text(file) for file in PLANS}
    for file, changes in edits.items():
        if file not in session.texts:
            session.open(file)
        for change in sorted(changes, key=lambda one: session.cut(file, one.range.start), reverse=True):
            session.replace(file, change.range, change.new_text)
    count = {file: sum(1 for _, other, _ in faults if other == file) for file in PLANS}
    await session.until(lambda: all(len(session.rules(file)) == count[file] for file in PLANS), "no finding is new")
    back = await rename(session, PLACES, needle.replace("north", "south"), "north mole")
    assert {file: session.after(file, back[file]) for file in back} == {file: before[file] for file in back}


@every_client
async def test_a_rename_reaches_the_fleet_sheet(session):
    session.open(CRANES)
    edits = await rename(session, CRANES, '[[profile]]\nname = "cr▮ane"', "crane, big")
    assert set(edits) == {CRANES, FLEET}
    before = session.text(FLEET)
    assert session.after(FLEET, edits[FLEET]) == before.replace(",crane,", ',"crane, big",')
    assert len(edits[FLEET]) == before.count(",crane,") > 1


@every_client
async def test_a_refusal_says_why(session):
    session.open(CRANES)
    for needle, new, why in [
        ('[[zone]]\nname = "Ya▮rd"', "Locks", 'cranes.plan.toml has a zone "Locks" already: choose another name'),
        ('[[zone]]\nname = "Ya▮rd"', "", "a name cannot be empty: write at least one character"),
        ('name = "Hook ▮A"\nsends', "selected", "has a meaning of its own where a channel is named"),
    ]:
        with pytest.raises(JsonRpcException) as refused:
            await rename(session, CRANES, needle, new)
        assert refused.value.code == types.LSPErrorCodes.RequestFailed
        assert why in refused.value.message
    # A line that is not understood shows the name: `recieve_group = "Dockside"`.
    with pytest.raises(JsonRpcException) as refused:
        await rename(session, GROUPS, '[[receive_group]]\nname = "Dock▮side"', "Wharves")
    line = session.line(CHANNELS, "recieve_group = ") + 1
    assert f"{CHANNELS} line {line} is not understood and may use this name" in refused.value.message


def test_the_lists_name_known_clients():
    assert LINKING < set(EXPECTED) and PREPARING < set(EXPECTED)
