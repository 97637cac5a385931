//! `guywire check`: what is wrong with the plans at some paths.

use std::sync::atomic::AtomicBool;

use guywire_report::{NewSince, Report, name_from};
use guywire_workspace::Budget;

use crate::arguments::Check;
use crate::chosen::Chosen;
use crate::console;
use crate::failure::Failure;
use crate::plans::Plans;
use crate::revisions::show_since;

/// Prints the findings of the files at the paths. The code is 1 where one is at the level asked for.
pub(crate) fn check(arguments: &Check) -> Result<u8, Failure> {
    let chosen = Chosen::find(&arguments.paths)?;
    let Plans { mut workspace, files } = Plans::of(&chosen)?;
    if let Some(day) = arguments.as_of {
        workspace.judge_by(day);
    }
    workspace.settle(Budget::Once, &AtomicBool::new(false));

    let since = match &arguments.since {
        Some(name) => Some(show_since(&mut workspace, &chosen, name, arguments.as_of)?),
        None => None,
    };
    let folder = arguments.format.folder(workspace.roots());
    let mut report = Report::of(&workspace, &files, &|file| name_from(&workspace, file, &folder));
    report.since = since.map(|(revision, since)| NewSince::of(&revision, &since, &folder));
    console::print(|out| arguments.format.reporter().write(&report, out))?;
    let code = u8::from(report.reaches(arguments.fail_on.level()));
    // The program ends here; giving back each table of a large workspace one by one takes longer than writing the report.
    std::mem::forget(workspace);
    Ok(code)
}
