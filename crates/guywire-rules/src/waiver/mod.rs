//! Waivers: comments that accept a finding, with a reason and an end. They are read where findings are published; here are
//! their pages and levels.

pub mod waiver_expired;
pub mod waiver_too_long;
pub mod waiver_unused;
pub mod waiver_without_reason;
