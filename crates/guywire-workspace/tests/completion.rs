//! What is offered at a cursor, and that whatever is chosen keeps the text whole.

#![allow(clippy::unwrap_used, clippy::expect_used)] // A test that cannot go on says so.

#[path = "completion/cursors.rs"]
mod cursors;
#[path = "completion/everywhere.rs"]
mod everywhere;
#[path = "completion/harness.rs"]
mod harness;
