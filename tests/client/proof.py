"""Which test proves which capability. A capability that the server advertises, in its answer to `initialize` or by a
registration, and that no test names with `@proves`, fails `test_registry.py`."""

import pytest
from lsprotocol import types

# What clients are told the names of, each to be proved by itself.
LISTS = {
    "executeCommandProvider": "commands",
    "codeActionProvider": "codeActionKinds",
    "completionProvider": "triggerCharacters",
}


def proves(*capabilities: str):
    """Marks a test as one that asserts what these capabilities yield, at a place that it names."""
    return pytest.mark.proves(*capabilities)


def advertised(capabilities: dict, registrations: list[types.Registration]) -> set[str]:
    """The names of all that a server says it does: `hoverProvider`, `renameProvider.prepareProvider`,
    `executeCommandProvider:guywire.why`, `workspace.fileOperations.didRename`, `register:METHOD`."""
    names = {f"register:{registration.method}" for registration in registrations}
    for name, value in capabilities.items():
        names |= of(name, value)
    return names


def of(name: str, value) -> set[str]:
    if value is None or value is False:
        return set()
    if not isinstance(value, dict) or "filters" in value:
        return {name}
    listed = LISTS.get(name)
    names = {f"{name}:{one}" for one in value.get(listed, [])}
    parts = {key: part for key, part in value.items() if key != listed}
    inside = set().union(*(of(f"{name}.{key}", part) for key, part in parts.items() if part is True or isinstance(part, dict)))
    # A table of other capabilities is none itself.
    return names | inside | (set() if name in ("workspace", "workspace.fileOperations", "workspace.workspaceFolders", "textDocumentSync") else {name})
