use crate::finding::Anchor;
use crate::rule;
use crate::rule::Each;
use guywire_plan::language::plan;
use guywire_plan::{FieldPath, Known, Row, Stored, View};
use guywire_text::FileId;

rule! {
    /// A plan shares a file that, directly or through others, shares the plan again.
    ///
    /// ## On the air
    /// Nothing: every file is still read once. But which file's names win is no longer plain to a reader.
    ///
    /// ## Source
    /// The plan language (docs/language.md).
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    /// shares = ["cranes.plan.toml"]
    /// ```
    ///
    /// ```toml cranes.plan.toml
    /// [plan]
    /// title = "Saltmarsh Harbor cranes"
    /// shares = ["harbor.plan.toml"]
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    /// shares = ["cranes.plan.toml"]
    /// ```
    ///
    /// ```toml cranes.plan.toml
    /// [plan]
    /// title = "Saltmarsh Harbor cranes"
    /// shares = []
    /// ```
    pub ShareCycle = "share-cycle" { family: Text, level: Error, judged: PerFile, since: "0.1.0" }
    fn check(it: Each<plan::Table>, view, out) {
        let Known::Is(shares) = it.list(plan::shares) else { return };
        let own = view.viewer();
        for (number, element) in shares.iter().enumerate() {
            let Stored::File(file) = element.value else { continue };
            if !leads_back(view, file, own) {
                continue;
            }
            let name = view.path(file).file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
            let message = if file == own {
                "a plan cannot share itself: take this entry out".to_owned()
            } else {
                format!("\"{name}\" shares this file in turn: a circle, in which nobody can tell whose names win. Take one of the two shares out")
            };
            out.report(Anchor::Value(it.id(), FieldPath::key(plan::shares.number()).then(number)), message).about(&name);
        }
    }
}

fn leads_back(view: View<'_>, from: FileId, to: FileId) -> bool {
    let mut seen: Vec<FileId> = Vec::new();
    let mut open = vec![from];
    while let Some(file) = open.pop() {
        if file == to {
            return true;
        }
        if !seen.contains(&file) {
            seen.push(file);
            open.extend(view.shares(file));
        }
    }
    false
}
