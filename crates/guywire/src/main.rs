//! guywire: checks radio channel plans, on the command line and in an editor.

fn main() {}
