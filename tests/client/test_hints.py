"""Computed values within the lines, for every client."""

import asyncio

import pytest
from lsprotocol import types

from conftest import EXPECTED
from proof import proves
from session import PATIENCE_S
from test_clients import CHANNELS, GROUPS, HARBOR, PLACES

every_client = pytest.mark.parametrize("session", EXPECTED, indirect=True)


async def hints(session, file: str, first: int, last: int) -> list[tuple[str, str, str]]:
    """Label, the text before it on its line, and the text behind it, of the hints from the start of a line to another."""
    span = types.Range(types.Position(first, 0), types.Position(last, 0))
    document = types.TextDocumentIdentifier(session.uri(file))
    answer = await session.client.text_document_inlay_hint_async(types.InlayHintParams(document, span))
    text, found = session.text(file), []
    for hint in answer or []:
        at = session.cut(file, hint.position)
        assert bool(hint.padding_left) != bool(hint.padding_right), "set off from the text on one side"
        assert hint.tooltip
        found.append((hint.label, text[:at].rsplit("\n", 1)[-1], text[at:].split("\n", 1)[0]))
    return found


@proves("inlayHintProvider")
@every_client
async def test_values_stand_within_the_lines(session):
    assert session.result.capabilities.inlay_hint_provider is True
    session.open(PLACES)
    whole = await hints(session, PLACES, 0, session.text(PLACES).count("\n"))
    # 25 W through 2.1 dB of feedline into 6.0 dBi: 25 * 10 ** ((6.0 - 2.1 - 2.15) / 10) = 37.4 W.
    assert ("37.4 W ERP", "power_w = 25", "") in whole
    assert ("+5 MHz", "rx_mhz = 458.2125", "") in whole
    line = session.line(PLACES, "power_w = 25")
    assert await hints(session, PLACES, line, line + 1) == [("37.4 W ERP", "power_w = 25", "")]


@every_client
async def test_they_are_those_of_the_text_as_it_is(session):
    session.open(PLACES)
    line = session.line(PLACES, "power_w = 25")
    session.edit(PLACES, "power_w = 25", "25", "50")
    assert [label for label, *_ in await hints(session, PLACES, line, line + 1)] == ["74.8 W ERP"]


@every_client
async def test_positions_of_the_knob_are_counted(session):
    session.open(HARBOR)
    line = session.line(HARBOR, 'channels = ["Mooring 1"')
    found = await hints(session, HARBOR, line, line + 1)
    assert [label for label, *_ in found] == [str(number + 1) for number in range(len(found))]
    assert found[1][2].startswith('"Mooring 2"')


@pytest.mark.parametrize("session", ["code-server-4.139.1"], indirect=True)
async def test_what_an_edit_of_another_file_changes_is_asked_for_again(session):
    session.open(CHANNELS)
    session.open(GROUPS)
    last = session.text(CHANNELS).count("\n")
    before = await hints(session, CHANNELS, 0, last)
    document = types.TextDocumentIdentifier(session.uri(GROUPS))
    counts = await session.client.text_document_code_lens_async(types.CodeLensParams(document))
    assert any("1201" in label for label, *_ in before), before
    session.edit(GROUPS, "id = 1201", "1201", "1291")
    assert await asyncio.wait_for(session.client.asked_again(), PATIENCE_S) == "hints"
    assert any("1291" in label for label, *_ in await hints(session, CHANNELS, 0, last))
    # Of a text that the client changes it asks by itself.
    assert counts == await session.client.text_document_code_lens_async(types.CodeLensParams(document))
    session.edit(CHANNELS, 'call = "Bertsh"', "Bertsh", "Berths")
    assert await asyncio.wait_for(session.client.asked_again(), PATIENCE_S) == "lenses"
