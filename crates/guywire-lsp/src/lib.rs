//! The language server: converts between the protocol and the workspace.
