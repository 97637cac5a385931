//! Findings for people and machines to read.
