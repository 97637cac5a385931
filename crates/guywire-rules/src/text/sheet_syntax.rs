use crate::finding::Anchor;
use crate::rule;
use crate::rule::Text;
use guywire_text::Place;

rule! {
    /// A row of a fleet sheet cannot be cut into the columns that the first row names.
    ///
    /// The other rows are read and checked as usual.
    ///
    /// ## On the air
    /// Nothing yet: the radio of that row is not known, so nobody sees that its id is taken or its zone too long.
    ///
    /// ## Source
    /// RFC 4180, sections 2.4 to 2.7.
    ///
    /// ## Beside
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [radios]
    /// from = "fleet.csv"
    /// ```
    ///
    /// ## Bad
    /// ```csv fleet.csv
    /// id,alias
    /// 21007,Quay 1, north
    /// ```
    ///
    /// ## Good
    /// ```csv fleet.csv
    /// id,alias
    /// 21007,"Quay 1, north"
    /// ```
    pub SheetSyntax = "sheet-syntax" { family: Text, level: Error, judged: PerFile, since: "0.1.0" }
    fn check(file: Text, view, out) {
        for (span, problem) in view.sheet_problems(file) {
            out.report(Anchor::Bytes(Place { file, span: *span }), problem.to_string()).about(problem);
        }
    }
}
