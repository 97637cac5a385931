//! guywire: checks radio channel plans, on the command line and in an editor.

mod arguments;
mod audience;
mod check;
mod chosen;
mod compare;
mod compute;
mod console;
mod failure;
mod mend;
mod plans;
mod revisions;
mod run;
mod why;
mod write;

/// Checks allocate small things on all cores by the million.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

fn main() -> std::process::ExitCode {
    run::run(std::env::args_os())
}
