//! `guywire audience`: who hears whom, and why the others do not.

use guywire_report::Shown;
use guywire_workspace::Asked;

use crate::arguments::{Audience, AudienceFormat};
use crate::console;
use crate::failure::Failure;
use crate::plans::Plans;

/// Prints the matrix, or one transmission in words. Deafness is no failure: the code is 0.
pub(crate) fn audience(arguments: &Audience) -> Result<u8, Failure> {
    let mut workspace = Plans::load(&arguments.paths)?.workspace;
    workspace.settle_values();
    let shown = if arguments.channel.is_none() && arguments.radio.is_none() {
        Shown::Matrix(workspace.audience_matrix())
    } else {
        let asked = Asked { channel: arguments.channel.clone(), radio: arguments.radio.clone() };
        Shown::Transmissions(workspace.audience(&asked)?)
    };
    let folder = match arguments.format {
        AudienceFormat::Text => std::env::current_dir().unwrap_or_default(),
        _ => workspace.roots().first().cloned().unwrap_or_default(),
    };
    let reporter = arguments.format.reporter(console::columns());
    console::print(|out| reporter.write(&shown, &folder, out))?;
    Ok(0)
}
