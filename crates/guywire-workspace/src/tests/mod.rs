//! Tests of the engine: incremental findings equal fresh ones, whatever the edits; nothing is read without being recorded.

mod audit;
mod edits;
mod faults;
mod harbor;
mod random;
