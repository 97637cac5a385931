//! What may stand on the command line.

use std::path::{Path, PathBuf};

use clap::{Args, Parser, Subcommand, ValueEnum};
use guywire_report::{
    AudienceJson, AudienceReporter, AudienceSvg, AudienceText, ChangesReporter, CompareJson, CompareMarkdown,
    CompareText, Json, Reporter, Sarif, Text,
};
use guywire_rules::Level;
use jiff::civil::Date;

/// Checks radio channel plans.
///
/// Exit codes: 0 nothing found at the level asked for, 1 something found, 2 could not run.
#[derive(Debug, Parser)]
#[command(name = "guywire", version, arg_required_else_help = false)]
pub(crate) struct Arguments {
    #[command(subcommand)]
    pub verb: Verb,
}

#[derive(Debug, Subcommand)]
pub(crate) enum Verb {
    /// Say what is wrong with the plans at PATH.
    Check(Check),
    /// Apply the safe fixes to the plans at PATH; nothing changes on the air.
    Mend(Mend),
    /// Say who hears whom at PATH: all of it, or one transmission in words.
    Audience(Audience),
    /// Say what changed on the air between two git revisions, or one and the working tree.
    Compare(Compare),
    /// Explain a rule, or list all rules.
    Why(Why),
    /// Answer requests for computed values: one JSON object a line, in and out.
    Compute,
    /// Serve an editor over the Language Server Protocol on standard input and output.
    Serve(Serve),
}

#[derive(Debug, Args)]
pub(crate) struct Check {
    /// Folders or files; the findings of other files of their workspaces are not shown.
    #[arg(value_name = "PATH", default_value = ".")]
    pub paths: Vec<PathBuf>,
    /// The date that dated rules judge by, as 2026-11-25; today if absent.
    #[arg(long, value_name = "DATE", value_parser = date)]
    pub as_of: Option<Date>,
    /// Show only what was not there at this revision of the git repository: a commit, branch or tag.
    #[arg(long, value_name = "REV")]
    pub since: Option<String>,
    /// Exit with 1 from this level on.
    #[arg(long, value_name = "LEVEL", value_enum, default_value_t = Severity::Error)]
    pub fail_on: Severity,
    /// How the findings are written.
    #[arg(long, value_name = "FORMAT", value_enum, default_value_t = Format::Text)]
    pub format: Format,
}

#[derive(Debug, Args)]
pub(crate) struct Mend {
    /// Folders or files; other files of their workspaces are left alone.
    #[arg(value_name = "PATH", default_value = ".")]
    pub paths: Vec<PathBuf>,
    /// Show what would change and write nothing.
    #[arg(long)]
    pub preview: bool,
    /// Apply the fixes of this rule only.
    #[arg(long, value_name = "NAME")]
    pub rule: Option<String>,
}

#[derive(Debug, Args)]
pub(crate) struct Audience {
    /// Folders or files of the workspaces; every plan in them is one audience.
    #[arg(value_name = "PATH", default_value = ".")]
    pub paths: Vec<PathBuf>,
    /// Press here: who hears it? Absent with --radio: the channel that the radio stands by on.
    #[arg(long, value_name = "NAME")]
    pub channel: Option<String>,
    /// The radio that sends.
    #[arg(long, value_name = "ALIAS")]
    pub radio: Option<String>,
    /// How it is written.
    #[arg(long, value_name = "FORMAT", value_enum, default_value_t = AudienceFormat::Text)]
    pub format: AudienceFormat,
}

#[derive(Debug, Args)]
pub(crate) struct Compare {
    /// The older state: a commit, branch or tag.
    #[arg(value_name = "REV")]
    pub before: String,
    /// The newer state; the working tree if absent.
    #[arg(value_name = "REV")]
    pub after: Option<String>,
    /// A folder of the workspace.
    #[arg(long, value_name = "PATH", default_value = ".")]
    pub path: PathBuf,
    /// How the changes are written.
    #[arg(long, value_name = "FORMAT", value_enum, default_value_t = CompareFormat::Text)]
    pub format: CompareFormat,
}

#[derive(Debug, Args)]
pub(crate) struct Why {
    /// The name of a rule; without it, all rules are listed.
    pub rule: Option<String>,
}

#[derive(Debug, Args)]
pub(crate) struct Serve {
    /// Taken and ignored: some editors add it, and standard input and output are all there is.
    #[arg(long)]
    stdio: bool,
}

/// A level that `check` may fail on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum Severity {
    Error,
    Warning,
    Information,
}

impl Severity {
    pub(crate) fn level(self) -> Level {
        match self {
            Severity::Error => Level::Error,
            Severity::Warning => Level::Warning,
            Severity::Information => Level::Information,
        }
    }
}

/// An output format: one line here, and a reporter.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum Format {
    /// For people, with excerpts.
    Text,
    /// One JSON document for programs.
    Json,
    /// SARIF 2.1.0, for code hosting and review tools.
    Sarif,
}

impl Format {
    pub(crate) fn reporter(self) -> &'static dyn Reporter {
        match self {
            Format::Text => &Text,
            Format::Json => &Json,
            Format::Sarif => &Sarif,
        }
    }

    /// The folder that the paths of the output start from: for people, the one that they are in; else the root of the
    /// workspace (of several, the folder that holds them), or of the repository around it.
    pub(crate) fn folder(self, roots: &[PathBuf]) -> PathBuf {
        match self {
            Format::Text => std::env::current_dir().unwrap_or_default(),
            Format::Json => around(roots),
            Format::Sarif => {
                let folder = around(roots);
                let repository = folder.ancestors().find(|folder| folder.join(".git").exists());
                repository.map_or(folder.clone(), Path::to_path_buf)
            }
        }
    }
}

/// A form in which the audience is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum AudienceFormat {
    /// For people at a terminal.
    Text,
    /// One JSON document for programs.
    Json,
    /// A picture of the matrix.
    Svg,
}

impl AudienceFormat {
    /// What writes it, text as wide as that.
    pub(crate) fn reporter(self, columns: usize) -> Box<dyn AudienceReporter> {
        match self {
            AudienceFormat::Text => Box::new(AudienceText { columns }),
            AudienceFormat::Json => Box::new(AudienceJson),
            AudienceFormat::Svg => Box::new(AudienceSvg),
        }
    }
}

/// A form in which changes are written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum CompareFormat {
    /// For people at a terminal.
    Text,
    /// One JSON document for programs.
    Json,
    /// For the comment of a review.
    Markdown,
}

impl CompareFormat {
    pub(crate) fn reporter(self) -> &'static dyn ChangesReporter {
        match self {
            CompareFormat::Text => &CompareText,
            CompareFormat::Json => &CompareJson,
            CompareFormat::Markdown => &CompareMarkdown,
        }
    }
}

/// The innermost folder that all of these are or lie in.
fn around(roots: &[PathBuf]) -> PathBuf {
    let Some((first, others)) = roots.split_first() else { return PathBuf::new() };
    let holds = |folder: &&Path| others.iter().all(|root| root.starts_with(folder));
    first.ancestors().find(holds).unwrap_or(Path::new("")).to_path_buf()
}

fn date(text: &str) -> Result<Date, &'static str> {
    let written_out = text.len() == "2026-11-25".len();
    text.parse().ok().filter(|_| written_out).ok_or("a date is written as 2026-11-25")
}

#[cfg(test)]
mod tests {
    use clap::CommandFactory;
    use jiff::civil::date as day;

    use super::*;

    #[test]
    fn the_command_line_is_sound() {
        Arguments::command().debug_assert();
    }

    #[test]
    fn dates_are_whole_and_real() {
        assert_eq!(date("2026-11-25"), Ok(day(2026, 11, 25)));
        for wrong in ["2026-02-30", "2026-11", "25.11.2026", "2026-11-25T10:00", "20261125", ""] {
            assert!(date(wrong).is_err(), "{wrong}");
        }
    }

    #[test]
    fn several_workspaces_share_the_folder_around_them() {
        let around = |roots: &[&str]| around(&roots.iter().map(PathBuf::from).collect::<Vec<_>>());
        assert_eq!(around(&["/a/b"]), PathBuf::from("/a/b"));
        assert_eq!(around(&["/a/b/c", "/a/bd", "/a/b"]), PathBuf::from("/a"));
        assert_eq!(around(&["/a", "/a/b"]), PathBuf::from("/a"));
    }

    #[test]
    fn check_takes_paths_and_options_in_any_order() {
        let parsed = Arguments::try_parse_from(["guywire", "check", "a", "--fail-on", "warning", "b"]).unwrap();
        let Verb::Check(check) = parsed.verb else { panic!("{parsed:?}") };
        assert_eq!(check.paths, [PathBuf::from("a"), PathBuf::from("b")]);
        assert_eq!((check.fail_on, check.as_of), (Severity::Warning, None));
    }
}
