use crate::finding::Anchor;
use crate::rule;
use crate::rule::Text;
use guywire_plan::FileProblem;

rule! {
    /// A file of the workspace is there but its text cannot be read: it is not UTF-8, too large, a directory, or the
    /// system refuses it.
    ///
    /// The rest of the workspace is checked without it, and nothing is said to be undefined or unused because of it.
    ///
    /// ## On the air
    /// Nothing yet, but no table of the file is checked.
    ///
    /// ## Source
    /// TOML 1.0 asks for UTF-8, <https://toml.io/en/v1.0.0#spec>.
    pub FileUnreadable = "file-unreadable" { family: Text, level: Error, judged: PerFile, since: "0.1.0", always: true }
    fn check(file: Text, view, out) {
        if let Some(FileProblem::Unreadable(why)) = view.file_problem(file) {
            out.report(Anchor::File(file), format!("{why}. None of its tables is checked."));
        }
    }
}
