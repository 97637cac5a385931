"""What can be written at a cursor, for each client in the form that the client declares."""

import pytest
from lsprotocol import types

from conftest import BUNDLED, EXPECTED
from proof import proves
from test_clients import all_told

GROUPS, HARBOR = "common/groups.plan.toml", "harbor.plan.toml"

every_client = pytest.mark.parametrize("session", EXPECTED, indirect=True)
bundled_clients = pytest.mark.parametrize("session", BUNDLED, indirect=True)


def declared(session) -> types.ClientCompletionItemOptions | None:
    """What the client says of completion items, for the few words that the answers depend on."""
    completion = session.capabilities.text_document.completion
    return completion and completion.completion_item


async def complete(session, file: str, line: int, characters: int, typed: str | None = None) -> types.CompletionList:
    kind = types.CompletionTriggerKind.TriggerCharacter if typed else types.CompletionTriggerKind.Invoked
    params = types.CompletionParams(
        types.TextDocumentIdentifier(session.uri(file)),
        session.position(file, line, characters),
        types.CompletionContext(kind, typed),
    )
    return await session.client.text_document_completion_async(params)


def at_end(session, file: str, text: str) -> tuple[int, int]:
    """Types at the end of a file; the place after it, as line and characters."""
    lines = session.text(file).split("\n")
    end = session.position(file, len(lines) - 1, len(lines[-1]))
    session.replace(file, types.Range(end, end), text)
    lines = session.text(file).split("\n")
    return len(lines) - 1, len(lines[-1])


def chosen(session, file: str, found: types.CompletionList, label: str) -> tuple[types.CompletionItem, str]:
    """The item of a label, and the text after a client without snippets has taken it."""
    (item,) = [item for item in found.items if item.label == label]
    return item, session.after(file, [item.text_edit, *(item.additional_text_edits or [])])


# What is typed up to a character after which a client asks by itself, and what is then offered.
TYPED = {
    "[": ("\n[", "[[zone]]"),
    "(": ("\n# waive(", "undefined-name"),
    "{": ("\n[[site]]\nduplexer = {", "spacing_mhz"),
    "=": ("\n[[channel]]\nrepeater =", "beacon"),
    ",": ('\n[[zone]]\nchannels = ["Gate",', "Gate Mole"),
    ".": ("\n[[site]]\nduplexer.", "isolation_db"),
    " ": ("\n[[channel]]\nrepeater = ", "beacon"),
    '"': ('\n[[channel]]\nrepeater = "', "beacon"),
    "'": ("\n[[channel]]\nrepeater = '", "beacon"),
}


@proves("completionProvider", *(f"completionProvider:{character}" for character in TYPED))
@pytest.mark.parametrize("character", TYPED)
@bundled_clients
async def test_a_character_that_begins_something_is_answered(session, character):
    assert set(session.result.capabilities.completion_provider.trigger_characters) == set(TYPED)
    typed, offered = TYPED[character]
    session.open(HARBOR)
    place = at_end(session, HARBOR, typed)
    found = await complete(session, HARBOR, *place, typed=character)
    assert offered in [item.label for item in found.items]


@every_client
async def test_a_header_is_completed_with_its_keys(session):
    session.open(HARBOR)
    place = at_end(session, HARBOR, "\n[[zo")
    found = await complete(session, HARBOR, *place)
    item, _ = chosen(session, HARBOR, found, "[[zone]]")
    can = declared(session)
    snippets = bool(can and can.snippet_support)
    assert (item.insert_text_format == types.InsertTextFormat.Snippet) == snippets
    stops = ('"$1"', "[$2]") if snippets else ('""', "[]")
    assert item.text_edit.new_text == "[[zone]]\nname = {}\nchannels = {}".format(*stops)
    assert session.marked(HARBOR, item.text_edit.range) == "[[zo"
    assert item.filter_text.startswith("[[zo")
    formats = list((can and can.documentation_format) or [])
    if formats[:1] == [types.MarkupKind.Markdown]:
        assert item.documentation.kind == types.MarkupKind.Markdown
    else:
        assert item.documentation == "Channels under one turn of the knob."
    assert item.kind <= types.CompletionItemKind.Reference


@every_client
async def test_names_come_with_what_they_are(session, faults):
    """A letter of two bytes and a symbol of two UTF-16 units stand before the cursor."""
    session.open(HARBOR)
    await all_told(session, faults)
    place = at_end(session, HARBOR, '\n[[zone]]\nname = "Try"\nchannels = ["Lötsen 🛟", "Gate M')
    found = await complete(session, HARBOR, *place)
    item, after = chosen(session, HARBOR, found, "Gate Mole")
    assert after.endswith('channels = ["Lötsen 🛟", "Gate Mole"')
    assert session.marked(HARBOR, item.text_edit.range) == "Gate M"
    assert item.detail == "channel, digital, receives 453.4625, sends 458.4625 MHz, slot 1, calls Gate"


@every_client
async def test_missing_keys_come_first(session):
    session.open(HARBOR)
    place = at_end(session, HARBOR, "\n[[channel]]\n")
    found = await complete(session, HARBOR, *place)
    labels = [item.label for item in sorted(found.items, key=lambda item: item.sort_text)]
    assert labels[:4] == ["name", "sends", "repeater", "rx_mhz"]
    assert not found.is_incomplete


@bundled_clients
async def test_what_is_typed_counts_before_it_is_checked(session):
    """The answer is about the text with all edits sent before it."""
    session.open(HARBOR)
    for letter in "\n[[channel]]\ncolor_c":
        place = at_end(session, HARBOR, letter)
    found = await complete(session, HARBOR, *place)
    assert [item.label for item in found.items] == ["color_code"]


@bundled_clients
async def test_a_character_that_ends_something_is_not_answered(session):
    session.open(HARBOR)
    place = at_end(session, HARBOR, '\n[[zone]]\nchannels = ["Gate"')
    assert not (await complete(session, HARBOR, *place, typed='"')).items
    place = at_end(session, HARBOR, ", ")
    assert (await complete(session, HARBOR, *place, typed=" ")).items


@bundled_clients
async def test_key_material_is_offered_to_nobody(session):
    session.open(GROUPS)
    line = session.line(GROUPS, "value = ")
    text = session.text(GROUPS).split("\n")[line]
    secret = text.split('"')[1]
    for characters in range(len(text) + 1):
        found = await complete(session, GROUPS, line, characters)
        assert secret not in repr(found)
        assert secret[:8] not in repr(found)
