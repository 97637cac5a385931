//! The protocol, from end to end in one process: a real client's messages over a pipe, an engine of the tests' own.

mod again;
mod air;
mod client;
mod command;
mod completion;
mod diagnostics;
mod fake;
mod lifecycle;
mod names;
mod order;
mod progress;
mod pull;
mod real;
mod recorded;
mod text;
