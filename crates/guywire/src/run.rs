//! From arguments to a verb, from its end to an exit code.

use std::ffi::OsString;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::process::ExitCode;

use clap::Parser;
use clap::error::ErrorKind;
use jiff::civil::Date;

use crate::arguments::{Arguments, Verb};
use crate::failure::Failure;
use crate::{audience, check, compare, compute, console, mend, why};

/// Runs the command of the arguments, the program's own name first.
pub(crate) fn run(arguments: impl IntoIterator<Item = OsString>) -> ExitCode {
    console::start_log();
    std::panic::set_hook(Box::new(|panic| {
        // The message of a panic may quote a plan; its place does not.
        let at = panic.location().map(ToString::to_string).unwrap_or_default();
        console::complain(&format!("this is a defect of guywire, at {at}; please report it"));
    }));
    let ended = catch_unwind(AssertUnwindSafe(|| dispatch(arguments))).unwrap_or(Err(Failure::Defect));
    match ended {
        Ok(code) => ExitCode::from(code),
        Err(failure) => {
            console::complain(&failure.to_string());
            ExitCode::from(failure.code())
        }
    }
}

fn dispatch(arguments: impl IntoIterator<Item = OsString>) -> Result<u8, Failure> {
    match Arguments::try_parse_from(arguments) {
        Ok(Arguments { verb: Verb::Check(arguments) }) => check::check(&arguments),
        Ok(Arguments { verb: Verb::Mend(arguments) }) => mend::mend(&arguments),
        Ok(Arguments { verb: Verb::Audience(arguments) }) => audience::audience(&arguments),
        Ok(Arguments { verb: Verb::Compare(arguments) }) => compare::compare(&arguments),
        Ok(Arguments { verb: Verb::Why(arguments) }) => why::why(arguments.rule.as_deref()),
        Ok(Arguments { verb: Verb::Compute }) => compute::compute(),
        Ok(Arguments { verb: Verb::Serve(_) }) => Ok(guywire_lsp::serve(today)?.code()),
        Err(error) if matches!(error.kind(), ErrorKind::DisplayHelp | ErrorKind::DisplayVersion) => {
            console::print(|out| writeln!(out, "{}", error.to_string().trim_end()))?;
            Ok(0)
        }
        Err(error) => Err(Failure::Usage(one_line(&error.to_string()))),
    }
}

/// The date here and now.
pub(crate) fn today() -> Date {
    jiff::ZonedDateTime::now().date()
}

/// What is wrong with the arguments, without the usage that follows it.
fn one_line(error: &str) -> String {
    let told =
        error.lines().map(str::trim).take_while(|line| !line.starts_with("Usage:") && !line.starts_with("For more"));
    let told: Vec<&str> = told.filter(|line| !line.is_empty()).collect();
    let told = told.join(" ");
    format!("{}; see guywire --help", told.strip_prefix("error: ").unwrap_or(&told))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_wrong_argument_is_told_in_one_line() {
        for arguments in [&["guywire"] as &[&str], &["guywire", "chek"], &["guywire", "check", "--fail-on", "hint"]] {
            let error = Arguments::try_parse_from(arguments).unwrap_err();
            let told = one_line(&error.to_string());
            assert!(!told.contains('\n') && !told.contains("Usage") && told.len() > 40, "{told}");
        }
    }
}
