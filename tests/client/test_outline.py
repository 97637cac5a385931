"""The outline of a file, what folds, selections, links and lenses, for each client in the form that it declares."""

import pytest
from lsprotocol import types

from proof import proves
from test_clients import CHANNELS, GROUPS, HANDLING, HARBOR, PLACES, every_client
from test_names import CRANES, FLEET, MODEL, at, name

# The only client that takes outlines as lists.
LISTS = {"vim-ale-3.3.0"}
# Clients that show what a link leads to.
TOOLTIPS = {"visual_studio_code", "code-server-4.139.1"}


def document(session, file: str) -> types.TextDocumentIdentifier:
    return types.TextDocumentIdentifier(session.uri(file))


async def outline(session, file: str) -> list[types.DocumentSymbol] | list[types.SymbolInformation]:
    params = types.DocumentSymbolParams(document(session, file))
    return list(await session.client.text_document_document_symbol_async(params))


@every_client
async def test_the_server_says_that_it_outlines(session):
    declared = session.result.capabilities
    assert declared.document_symbol_provider is True
    assert declared.workspace_symbol_provider is True
    assert declared.folding_range_provider is True
    assert declared.selection_range_provider is True
    assert declared.document_link_provider == types.DocumentLinkOptions(resolve_provider=False)
    assert declared.code_lens_provider == types.CodeLensOptions(resolve_provider=False)


@proves("documentSymbolProvider")
@every_client
async def test_an_outline_shows_positions_of_the_knob(session, request):
    session.open(CRANES)
    items = await outline(session, CRANES)
    wanted = ["1 Hook B", "2 Cranes", "3 Yard", "4 Rescue", "5 (empty)", "6 Crane direct"]
    if name(request.node.name) in LISTS:
        assert all(isinstance(item, types.SymbolInformation) for item in items)
        assert [item.name for item in items if item.container_name == "Hook B"] == wanted
        return
    # By runs of one kind, in the order of the text.
    tops = [item.name for item in items]
    assert tops[:4] == ["Plan", "Channels", "Contacts", "Zones"]
    zones = next(item for item in items if item.name == "Zones").children
    zone = next(zone for zone in zones if zone.name == "Hook B")
    assert session.marked(CRANES, zone.selection_range) == "Hook B"
    assert zone.detail == "6 positions"
    assert [position.name for position in zone.children] == wanted
    assert session.marked(CRANES, zone.children[1].selection_range) == '"Cranes"'
    channels = next(item for item in items if item.name == "Channels").children
    hook = next(channel for channel in channels if channel.name == "Hook A")
    assert hook.detail == "452.3125 MHz, color code 8, slot 1"


@proves("workspaceSymbolProvider")
@every_client
async def test_names_of_all_files_are_found(session):
    found = await session.client.workspace_symbol_async(types.WorkspaceSymbolParams("HOKB"))
    # The letters in their order: the group, the channel and the zone, then longer names.
    places = [(one.name, session.file(one.location.uri)) for one in found]
    assert places[:3] == [("Hook B", GROUPS), ("Hook B", CRANES), ("Hook B", CRANES)]
    assert all(session.marked(session.file(one.location.uri), one.location.range) == one.name for one in found)
    sheet = await session.client.workspace_symbol_async(types.WorkspaceSymbolParams("crane 4"))
    assert {session.file(one.location.uri) for one in sheet} == {FLEET}


@proves("foldingRangeProvider")
@every_client
async def test_tables_values_and_comments_fold(session):
    session.open(CRANES)
    folds = await session.client.text_document_folding_range_async(types.FoldingRangeParams(document(session, CRANES)))
    lines = session.text(CRANES).split("\n")
    shares = session.line(CRANES, "shares = [")
    # The closing bracket stays in sight.
    (value,) = [fold for fold in folds if fold.start_line == shares]
    assert lines[value.end_line + 1] == "]"
    tables = [fold for fold in folds if lines[fold.start_line].startswith("[[channel]]")]
    assert len(tables) == lines.count("[[channel]]")
    assert all(lines[fold.end_line + 1] == "" for fold in tables)
    comments = [fold for fold in folds if fold.kind == types.FoldingRangeKind.Comment]
    assert [(fold.start_line, fold.end_line) for fold in comments] == [(0, 1)]


@proves("selectionRangeProvider")
@every_client
async def test_a_selection_grows_step_by_step(session):
    session.open(CRANES)
    here = at(session, CRANES, '[[zone]]\nname = "Yard"\nchannels = ["Yard", "Ya▮rd Mole"')
    params = types.SelectionRangeParams(here["text_document"], [here["position"]])
    (grown,) = await session.client.text_document_selection_range_async(params)
    steps = []
    while grown:
        steps.append(session.marked(CRANES, grown.range))
        grown = grown.parent
    assert steps[:3] == ["Yard", "Yard Mole", '"Yard Mole"']
    assert steps[3].startswith('["Yard", ') and steps[4].startswith("channels = [")
    assert steps[5].startswith('[[zone]]\nname = "Yard"\n') and steps[6].startswith('[[zone]]\nname = "Cranes"\n')
    assert steps[-1] == session.text(CRANES)


@proves("documentLinkProvider")
@every_client
async def test_paths_are_links(session, request):
    session.open(CRANES)
    params = types.DocumentLinkParams(document(session, CRANES))
    links = await session.client.text_document_document_link_async(params)
    targets = [(session.marked(CRANES, link.range), session.file(link.target)) for link in links]
    assert targets[0] == (MODEL, MODEL)
    assert ("common/places.plan.toml", PLACES) in targets
    assert targets[-1] == ("fleet.csv", FLEET)
    tooltip = links[0].tooltip
    assert tooltip == ('Model "hh-uhf": models/hh-uhf.model.toml' if name(request.node.name) in TOOLTIPS else None)


async def lenses(session, file: str) -> dict[str, types.Command]:
    """The lenses by the line below the header that they stand above."""
    found = await session.client.text_document_code_lens_async(types.CodeLensParams(document(session, file)))
    lines = session.text(file).split("\n")
    return {f"{lines[one.range.start.line]} {lines[one.range.start.line + 1]}": one.command for one in found}


@proves("codeLensProvider")
@every_client
async def test_uses_are_counted(session):
    session.open(CRANES)
    said = await lenses(session, CRANES)
    crane = said['[[profile]] name = "crane"']
    radios = session.text(FLEET).count(",crane,")
    assert crane.title == f"{radios} uses"
    # No client of these has the command that shows them: the words are all there is.
    assert (crane.command, crane.arguments) == ("", None)
    assert all(said[key].title.endswith("on this zone") for key in said if key.startswith("[[zone]]"))


async def test_a_client_that_shows_places_gets_them(begin):
    def has_the_command(body: types.InitializeParams) -> None:
        body.capabilities.experimental = {"commands": ["guywire.showReferences"]}

    session = await begin("visual_studio_code", change=has_the_command)
    session.open(CRANES)
    said = (await lenses(session, CRANES))['[[profile]] name = "crane"']
    assert said.command == "guywire.showReferences"
    uri, position, places = said.arguments
    assert session.file(uri) == CRANES
    assert position["line"] == session.text(CRANES).split("\n").index('name = "crane"') - 1
    assert len(places) == int(said.title.split()[0])
    assert {session.file(place["uri"]) for place in places} == {FLEET}


@pytest.mark.parametrize("session", ["visual_studio_code", "vim-ale-3.3.0"], indirect=True)
async def test_no_secret_is_in_an_outline(session):
    secrets = []
    for key, file in (("value", GROUPS), ("power_on_code", HANDLING)):
        (line,) = [line for line in session.text(file).split("\n") if line.startswith(f"{key} = ")]
        secrets.append(line.split('"')[1])
        session.open(file)
        told = [await outline(session, file), await lenses(session, file)]
        told += [await session.client.workspace_symbol_async(types.WorkspaceSymbolParams(part)) for part in (secrets[-1], "harbor")]
        assert not any(secret in repr(told) for secret in secrets)


@every_client
async def test_a_file_that_is_none_has_no_outline(session):
    for file in (HARBOR, CHANNELS):
        assert await outline(session, file), "a file that is not open is read from the disk"
    params = types.DocumentSymbolParams(types.TextDocumentIdentifier((session.root / "none.plan.toml").as_uri()))
    assert await session.client.text_document_document_symbol_async(params) is None
