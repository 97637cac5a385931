"""What happens in real use, with the real program: settings that break, branches that are switched, files that move,
clients that are careless."""

import asyncio
import os
import pathlib
import re
import subprocess

import pytest
from lsprotocol import types

from conftest import program
from proof import proves
from session import PATIENCE_S
from test_clients import CHANNELS, HARBOR, all_told

PUSHED, WATCHING, PULLING = "neovim-0.11.4", "emacs-28.2-eglot-1.9", "code-server-4.139.1"

QUAY = "quay.plan.toml"


def plan(*calls: str, title: str = "Saltmarsh Harbor", groups: tuple[str, ...] = ("Berths",)) -> str:
    """A plan whose channels call these talkgroups, of which those in `groups` are defined."""
    tables = [f'[plan]\ntitle = "{title}"\n']
    tables += [f'[[talkgroup]]\nname = "{name}"\nid = {1201 + number}\n' for number, name in enumerate(groups)]
    tables += [
        f'[[channel]]\nname = "{name} {number}"\nsends = "digital"\nrx_mhz = 453.2125\ncolor_code = 5\nslot = 1\ncall = "{name}"\n'
        for number, name in enumerate(calls)
    ]
    return "\n".join(tables)


@pytest.fixture(scope="session")
def quiet():
    """Settings in which only the rules are shown that these texts are written for: what others say of them is not the
    matter here."""
    catalog = subprocess.run([program(), "why"], capture_output=True, text=True, check=True).stdout
    rules = re.findall(r"^  ([a-z0-9-]+) \(", catalog, re.MULTILINE)

    def quiet(*others: str) -> str:
        shown = {"undefined-name", "toml-syntax", "unknown-key", *others}
        assert shown <= set(rules)
        lines = [f'{name} = "off"\n' for name in rules if name not in shown]
        return "[workspace]\nas_of = 2026-11-25\n\n[rules]\n" + "".join(lines)

    return quiet


async def test_settings_are_broken_and_mended_while_open(begin, quiet):
    settings = quiet()
    session = await begin(PUSHED, {"guywire.toml": settings, QUAY: plan("Bertsh")})
    session.open(QUAY)
    session.open("guywire.toml")
    await session.until(lambda: session.told() == {QUAY: ["undefined-name"]}, "the name is told")
    off = settings + 'undefined-name = "off"\n'
    session.change("guywire.toml", off)
    await session.until(lambda: session.told() == {}, "the rule is off")
    # A quote is missing: that line counts no more, the others do.
    session.change("guywire.toml", off.replace('undefined-name = "off"', 'undefined-name = "off'))
    broken = {QUAY: ["undefined-name"], "guywire.toml": ["toml-syntax"]}
    await session.until(lambda: session.told() == broken, "the break is told, and only its own line is lost")
    session.change("guywire.toml", off)
    await session.until(lambda: session.told() == {}, "all is as before")
    session.close("guywire.toml")
    await session.until(lambda: session.told() == {QUAY: ["undefined-name"]}, "the disk counts again")


async def test_settings_are_broken_and_mended_on_disk(begin, quiet):
    settings = quiet()
    session = await begin(WATCHING, {"guywire.toml": settings, QUAY: plan("Bertsh")})
    await session.until(lambda: session.told() == {QUAY: ["undefined-name"]}, "the name is told")
    session.write("guywire.toml", "\x00 = [")
    session.tell_of(changed=["guywire.toml"])
    await session.until(lambda: "toml-syntax" in session.rules("guywire.toml"), "the break is told")
    session.write("guywire.toml", settings + 'undefined-name = "hint"\n')
    session.tell_of(changed=["guywire.toml"])
    await session.until(lambda: session.told() == {QUAY: ["undefined-name"]}, "it is mended")
    assert [found.severity for found in session.diagnostics(QUAY)] == [types.DiagnosticSeverity.Hint]
    (session.root / "guywire.toml").unlink()
    session.tell_of(deleted=["guywire.toml"])
    error = types.DiagnosticSeverity.Error
    await session.until(lambda: error in [found.severity for found in session.diagnostics(QUAY)], "defaults count")


def branch(number: int) -> dict[str, str]:
    """The files of one of two branches: some are in both, some in one, one part is seen from every plan."""
    names = ["Berths", "Cranes"]
    files = {"common/groups.plan.toml": f'[[talkgroup]]\nname = "{names[number]}"\nid = 1201\n'}
    for place in range(300):
        if place % 10 != number:
            text = plan(names[place % 2], title=f"Quay {place} on branch {number}", groups=())
            files[f"quays/{place}.plan.toml"] = text.replace(
                "[plan]\n", '[plan]\nshares = ["../common/groups.plan.toml"]\n'
            )
    return files


@pytest.mark.parametrize("together", [True, False], ids=["one-message", "a-message-each"])
async def test_a_branch_is_switched_under_the_editor(begin, quiet, together):
    settings = {"guywire.toml": quiet()}
    session = await begin(WATCHING, settings | branch(0))
    wanted = {file: ["undefined-name"] for file, text in branch(0).items() if 'call = "Cranes"' in text}
    await session.until(lambda: session.told() == wanted, "the first branch is told")
    session.open("quays/7.plan.toml")
    session.change("quays/7.plan.toml", session.text("quays/7.plan.toml") + "# not saved\n")
    # Answered after what came before it, of which the opening has the disk looked at.
    await session.hover("quays/7.plan.toml", "title", "title")
    before, after = branch(0), branch(1)
    gone = [file for file in before if file not in after]
    for file in gone:
        (session.root / file).unlink()
    for file, text in after.items():
        session.write(file, text)
    told_before = len(session.client.protocol.received)
    changes = {
        "changed": [file for file in after if file in before],
        "created": [file for file in after if file not in before],
        "deleted": gone,
    }
    if together:
        session.tell_of(**changes)
    else:
        for what, files in changes.items():
            for file in files:
                session.tell_of(**{what: [file]})
    # The open text wins: it still calls what the branch before it had.
    texts = after | {"quays/7.plan.toml": session.text("quays/7.plan.toml")}
    wanted = {file: ["undefined-name"] for file, text in texts.items() if 'call = "Berths"' in text}
    await session.until(lambda: session.told() == wanted, "the second branch is told")
    told = [message["params"]["uri"] for _, message in session.client.protocol.received[told_before:]]
    if together:
        again = {session.file(uri) for uri in told if told.count(uri) > 1}
        assert again <= {"quays/7.plan.toml"}, "each file is told of once, but that which was being edited"
    fresh = await begin(WATCHING, {})
    await fresh.until(lambda: fresh.told() == wanted, "a fresh server says the same")


@proves("workspace.workspaceFolders.supported", "workspace.workspaceFolders.changeNotifications")
async def test_two_roots_have_settings_of_their_own(begin, quiet):
    files = {
        "east/guywire.toml": quiet(),
        "east/a.plan.toml": plan("Bertsh"),
        "west/guywire.toml": quiet() + 'undefined-name = "off"\n',
        "west/b.plan.toml": plan("Bertsh"),
        "north/guywire.toml": quiet(),
        "north/c.plan.toml": plan("Bertsh"),
    }

    def folder(session_root: pathlib.Path, name: str) -> types.WorkspaceFolder:
        return types.WorkspaceFolder(uri=(session_root / name).as_uri(), name=name)

    def two(body: types.InitializeParams):
        root = pathlib.Path(body.root_path)
        body.workspace_folders = [folder(root, "east"), folder(root, "west")]

    session = await begin(WATCHING, files, two)
    await session.until(lambda: session.told() == {"east/a.plan.toml": ["undefined-name"]}, "each has its own")

    def folders(added: list[str], removed: list[str]):
        event = types.WorkspaceFoldersChangeEvent(
            [folder(session.root, name) for name in added], [folder(session.root, name) for name in removed]
        )
        session.client.workspace_did_change_workspace_folders(types.DidChangeWorkspaceFoldersParams(event))

    folders(["north"], ["east"])
    await session.until(lambda: session.told() == {"north/c.plan.toml": ["undefined-name"]}, "folders come and go")
    session.open("west/b.plan.toml")
    session.change("west/b.plan.toml", "[plan\n")
    await session.until(lambda: session.rules("west/b.plan.toml") == ["toml-syntax"], "the other is still there")


async def test_a_file_outside_every_root_is_checked_alone(begin, quiet, tmp_path):
    outside = tmp_path / "elsewhere" / "loose.plan.toml"
    outside.parent.mkdir()
    outside.write_text(plan("Bertsh"))
    session = await begin(PUSHED, {"guywire.toml": quiet() + 'undefined-name = "off"\n', QUAY: plan("Berths")})
    session.open_text(outside.as_uri(), plan("Bertsh"))
    told = session.client.diagnostics
    await session.until(lambda: outside.as_uri() in told, "it is told of")
    codes = [found.code for found in told[outside.as_uri()]]
    assert "undefined-name" in codes, "settings of a root that it does not stand in do not count"
    session.open_text(outside.as_uri().replace("loose", "other"), plan("Berths"))
    await session.until(lambda: outside.as_uri().replace("loose", "other") in told, "one that is not on disk, too")


async def test_unsaved_text_wins_over_the_disk(begin, quiet):
    session = await begin(WATCHING, {"guywire.toml": quiet(), QUAY: plan("Bertsh")})
    session.open(QUAY)
    await session.until(lambda: session.rules(QUAY) == ["undefined-name"], "the name is told")
    session.change(QUAY, plan("Berths"))
    await session.until(lambda: session.rules(QUAY) == [], "it is mended, unsaved")
    session.write(QUAY, plan("Bertsh", "Bertsh"))
    session.tell_of(changed=[QUAY])
    session.change(QUAY, plan("Bertsh"))
    await session.until(lambda: session.rules(QUAY) == ["undefined-name"], "the open text is looked at")
    session.close(QUAY)
    await session.until(lambda: session.rules(QUAY) == ["undefined-name"] * 2, "the disk counts once it is closed")


async def test_files_are_renamed_and_deleted(begin, quiet):
    parts = {"common/groups.plan.toml": '[[talkgroup]]\nname = "Cranes"\nid = 1201\n'}
    seeing = plan("Cranes", groups=()).replace("[plan]\n", '[plan]\nshares = ["common/groups.plan.toml"]\n')
    session = await begin(WATCHING, {"guywire.toml": quiet("file-missing"), QUAY: seeing} | parts)
    session.open(QUAY)
    await session.until(lambda: session.uri(QUAY) in session.client.diagnostics, "it is told of")
    assert session.told() == {}
    (session.root / "common/groups.plan.toml").rename(session.root / "common/group.plan.toml")
    session.tell_of(deleted=["common/groups.plan.toml"], created=["common/group.plan.toml"])
    await session.until(lambda: session.rules(QUAY) != [], "the part is missed")
    (session.root / "common").rename(session.root / "parts")
    session.tell_of(deleted=["common"], created=["parts"])
    session.change(QUAY, seeing.replace("common/groups", "parts/group"))
    await session.until(lambda: session.rules(QUAY) == [], "the part is found where it is")
    (session.root / "parts/group.plan.toml").unlink()
    session.tell_of(deleted=["parts/group.plan.toml"])
    await session.until(lambda: session.rules(QUAY) != [], "the part is missed again")


@proves("workspace.fileOperations.didCreate", "workspace.fileOperations.didRename", "workspace.fileOperations.didDelete")
async def test_files_that_the_editor_moves_are_followed(begin, quiet):
    session = await begin(PULLING, {"guywire.toml": quiet(), "a.plan.toml": plan("Bertsh")})
    await session.until(lambda: session.told() == {"a.plan.toml": ["undefined-name"]}, "the name is told")
    (session.root / "a.plan.toml").rename(session.root / "b.plan.toml")
    renamed = types.FileRename(session.uri("a.plan.toml"), session.uri("b.plan.toml"))
    session.client.workspace_did_rename_files(types.RenameFilesParams([renamed]))
    await session.until(lambda: session.told() == {"b.plan.toml": ["undefined-name"]}, "it goes by its new name")
    session.write("c.plan.toml", plan("Bertsh"))
    session.client.workspace_did_create_files(types.CreateFilesParams([types.FileCreate(session.uri("c.plan.toml"))]))
    await session.until(lambda: set(session.told()) == {"b.plan.toml", "c.plan.toml"}, "a new one is read")
    (session.root / "b.plan.toml").unlink()
    session.client.workspace_did_delete_files(types.DeleteFilesParams([types.FileDelete(session.uri("b.plan.toml"))]))
    await session.until(lambda: set(session.told()) == {"c.plan.toml"}, "it is gone")


@proves("textDocumentSync.save")
async def test_saving_looks_at_the_disk(begin, quiet):
    session = await begin(PUSHED, {"guywire.toml": quiet(), QUAY: plan("Berths"), "a.plan.toml": plan("Berths")})
    session.open(QUAY)
    await session.until(lambda: session.uri(QUAY) in session.client.diagnostics, "it is told of")
    # The disk is looked at once a second at most, but what is saved is always read.
    session.write("a.plan.toml", plan("Bertsh"))
    saved = types.DidSaveTextDocumentParams(types.TextDocumentIdentifier(session.uri("a.plan.toml")))
    session.client.text_document_did_save(saved)
    await session.until(lambda: session.rules("a.plan.toml") == ["undefined-name"], "what is saved is read")


@pytest.mark.parametrize("name", [PUSHED, "vim-ale-3.3.0"])
async def test_the_disk_is_looked_at_for_clients_that_watch_nothing(begin, quiet, name):
    session = await begin(name, {"guywire.toml": quiet(), QUAY: plan("Berths"), "a.plan.toml": plan("Berths")})
    session.open(QUAY)
    await session.until(lambda: session.uri(QUAY) in session.client.diagnostics, "it is told of")
    session.write("a.plan.toml", plan("Bertsh"))
    # The disk is looked at once a second at most.
    async with asyncio.timeout(PATIENCE_S):
        while session.rules("a.plan.toml") != ["undefined-name"]:
            await session.hover(QUAY, "title", "title")
            await asyncio.sleep(0.1)


async def test_line_ends_of_two_characters_stay(begin, quiet):
    text = plan("Bertsh").replace("\n", "\r\n")
    session = await begin(PUSHED, {"guywire.toml": quiet(), QUAY: text})
    session.open(QUAY)
    await session.until(lambda: session.rules(QUAY) == ["undefined-name"], "the name is told")
    (found,) = session.diagnostics(QUAY)
    assert session.marked(QUAY, found.range) == '"Bertsh"'
    action, _ = await session.actions(QUAY, found.range)
    edits = session.edits(action)[QUAY]
    assert session.after(QUAY, edits) == text.replace("Bertsh\"\r\n", "Berths\"\r\n")
    session.edit(QUAY, "call = ", "Bertsh", "Berths")
    await session.until(lambda: session.rules(QUAY) == [], "it is mended")
    assert session.text(QUAY).count("\r\n") == text.count("\r\n")


async def test_a_client_that_lies_about_versions_is_followed(begin, quiet):
    session = await begin(PUSHED, {"guywire.toml": quiet(), QUAY: plan("Berths")})
    versions = []
    session.open(QUAY, version=7)
    for number, version in enumerate((7, 3, -1, 3, 2**31 - 1)):
        session.change(QUAY, plan(*["Bertsh"] * (number + 1)), version)
        await session.until(lambda: session.rules(QUAY) == ["undefined-name"] * (number + 1), "the text is followed")
        pushed = [one["params"] for _, one in session.client.protocol.received if one.get("method", "").endswith("Diagnostics")]
        versions.append([params["version"] for params in pushed if params["uri"] == session.uri(QUAY)][-1])
    assert versions == [7, 3, -1, 3, 2**31 - 1]


async def test_texts_that_are_no_files_shadow_nothing(begin, quiet):
    session = await begin(PUSHED, {"guywire.toml": quiet(), QUAY: plan("Berths")})
    told = session.client.diagnostics
    path = session.uri(QUAY).removeprefix("file://")
    session.open_text(f"git:{path}?%7B%22ref%22%3A%22HEAD%22%7D", plan("Bertsh"))
    session.open_text("untitled:Untitled-1", plan("Bertsh"), language="toml")
    session.open_text(f"untitled:{path}", plan("Bertsh"), language="toml")
    session.open_text("untitled:Untitled-2", plan("Bertsh"))
    session.open(QUAY)
    buffers = {f"untitled:{path}", "untitled:Untitled-2"}
    await session.until(lambda: buffers | {session.uri(QUAY)} <= set(told), "all are told of")
    assert set(told) == buffers | {session.uri(QUAY)}, "a revision and a buffer of another language are left alone"
    assert session.rules(QUAY) == []
    for buffer in buffers:
        assert "undefined-name" in [found.code for found in told[buffer]]


@pytest.mark.parametrize(("file", "spelled"), [("a:b.plan.toml", "a%3Ab.plan.toml"), (QUAY, "%71uay%2Eplan.toml")])
async def test_a_file_is_one_however_its_address_is_spelled(begin, quiet, file, spelled):
    session = await begin(PUSHED, {"guywire.toml": quiet(), file: plan("Bertsh")})
    told = session.client.diagnostics
    await session.until(lambda: any(found for found in told.values()), "it is told of")
    uri = f"{session.root.as_uri()}/{spelled}"
    session.open_text(uri, plan("Bertsh"))
    await session.until(lambda: uri in told, "it is told of as the client spells it")
    await session.until(lambda: [u for u, found in told.items() if found] == [uri], "and not by another name")
    document = types.TextDocumentIdentifier(uri)
    (found,) = told[uri]
    params = types.CodeActionParams(document, found.range, types.CodeActionContext([found]))
    action, _ = await session.client.text_document_code_action_async(params)
    assert list(action.edit.changes) == [uri]
    change = types.TextDocumentContentChangeWholeDocument(plan("Berths"))
    version = types.VersionedTextDocumentIdentifier(uri=uri, version=2)
    session.client.text_document_did_change(types.DidChangeTextDocumentParams(version, [change]))
    await session.until(lambda: not told[uri], "it is mended")


@pytest.mark.parametrize("spelling", ["plain", "encoded"])
async def test_roots_are_known_however_they_are_spelled(begin, quiet, spelling):
    def spell(body: types.InitializeParams):
        if spelling == "encoded":
            uri = body.root_uri.replace("plans", "%70lans")
            body.root_uri, body.workspace_folders = uri, [types.WorkspaceFolder(uri, "plans")]

    session = await begin(PUSHED, {"guywire.toml": quiet() + 'undefined-name = "off"\n', QUAY: plan("Bertsh")}, spell)
    session.open(QUAY)
    await session.until(lambda: session.uri(QUAY) in session.client.diagnostics, "it is told of")
    assert session.rules(QUAY) == [], "the settings of its root count"


def ticks(pid: int) -> int:
    """Processor time of a process, user and system, in ticks of the clock (a hundredth of a second)."""
    fields = pathlib.Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
    return int(fields[11]) + int(fields[12])


@pytest.mark.parametrize("name", [PUSHED, PULLING])
async def test_idle_it_uses_no_processor(begin, faults, name):
    """Over a span of two seconds, or of GUYWIRE_IDLE_S, that begins when what it has to do is done."""
    session = await begin(name)
    session.open(HARBOR)
    await all_told(session, faults)
    held = None
    if session.expected.pulls:
        params = types.WorkspaceDiagnosticParams([], partial_result_token="parts")
        held = asyncio.ensure_future(session.client.workspace_diagnostic_async(params))
        await session.client.part()
    await session.hover(HARBOR, "rx_mhz = 491.3125", "491")
    pid, span_s = session.client._server.pid, float(os.environ.get("GUYWIRE_IDLE_S", "2"))
    async with asyncio.timeout(PATIENCE_S + span_s):
        used = None
        while used != (used := ticks(pid)):
            await asyncio.sleep(span_s)
    if held:
        held.cancel()
