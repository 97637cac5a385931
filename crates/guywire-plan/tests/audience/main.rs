//! Holds the computation of who hears a transmission against a second one, written from its description alone, over
//! random small plans.

#![allow(clippy::expect_used)]

mod brute;
mod engine;
mod oracle;
mod properties;
mod render;
mod situations;
mod table;
mod world;
