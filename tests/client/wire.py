"""What the server really sends, held against the protocol's published meta model (as lsprotocol has it): the method is one
that servers send, each key is one that the model has, with a value of its type, and none that it wants is missing."""

import copy
from typing import Sequence, Union  # noqa: UP035

from lsprotocol import types
from lsprotocol.converters import get_converter
from pytest_lsp.protocol import LanguageClientProtocol

CONVERTER = get_converter()
# The package has no hook for the section of settings.
CONVERTER.register_structure_hook(Union[str, Sequence[str], None], lambda value, _: value)  # noqa: UP007
CODES = {code.value for codes in (types.ErrorCodes, types.LSPErrorCodes) for code in codes}
PROGRESS = {
    "begin": types.WorkDoneProgressBegin,
    "report": types.WorkDoneProgressReport,
    "end": types.WorkDoneProgressEnd,
}


class RecordingProtocol(LanguageClientProtocol):
    """Keeps each message as it came, with the type that the model gives it."""

    def __init__(self, *arguments, **named):
        super().__init__(*arguments, **named)
        self.received: list[tuple[type | None, dict]] = []

    def structure_message(self, data):
        if "jsonrpc" in data:
            self.received.append((self.type_of(data), copy.deepcopy(data)))
        return super().structure_message(data)

    def type_of(self, data: dict) -> type | None:
        if "method" in data:
            return types.METHOD_TO_TYPES.get(data["method"], (None,))[0]
        return types.ResponseErrorMessage if "error" in data else self._result_types.get(data["id"])


def check(kind: type | None, message: dict) -> None:
    """Fails on a message that the model does not have."""
    assert kind is not None, f"the protocol has no such message: {message}"
    if "method" in message:
        assert types.message_direction(message["method"]) != "clientToServer", message["method"]
    conforms(kind, message)
    params = message.get("params") or {}
    if message.get("method") == types.PROGRESS:
        value = params["value"]
        conforms(PROGRESS.get(value.get("kind"), types.WorkspaceDiagnosticReportPartialResult), value)
    if message.get("method") == types.CLIENT_REGISTER_CAPABILITY:
        for registration in params["registrations"]:
            conforms(types.METHOD_TO_TYPES[registration["method"]][3], registration["registerOptions"])
    if "error" in message:
        assert message["error"]["code"] in CODES, message


def conforms(kind: type, value) -> None:
    """Fails where reading the value as this type and writing it again gives another value."""
    again = CONVERTER.unstructure(CONVERTER.structure(copy.deepcopy(value), kind), unstructure_as=kind)
    assert again == value, f"{kind} does not have it so"
