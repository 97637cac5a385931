use crate::finding::Anchor;
use crate::rule;
use crate::rule::Text;

rule! {
    /// A file of the plan language holds nothing but blanks and comments.
    ///
    /// ## On the air
    /// Nothing. A plan that was meant to be saved here is not.
    ///
    /// ## Source
    /// Common practice, no source.
    ///
    /// ## Bad
    /// ```toml
    /// # Saltmarsh Harbor handhelds
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// # Saltmarsh Harbor handhelds
    /// [plan]
    /// ```
    pub FileEmpty = "file-empty" { family: Text, level: Information, judged: PerFile, since: "0.1.0" }
    fn check(file: Text, view, out) {
        let of_the_language = guywire_plan::kind_of_path(view.path(file)).is_some();
        if of_the_language && view.file_problem(file).is_none() && view.is_empty(file) {
            out.report(Anchor::File(file), "nothing is written in this file: it has no table. A plan begins with `[plan]`");
        }
    }
}
