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

fn main() -> std::process::ExitCode {
    run::run(std::env::args_os())
}
