use crate::finding::Anchor;
use crate::rule;
use crate::rule::Each;
use guywire_plan::language::{plan, radio};
use guywire_plan::{Bucket, FieldPath, Known, Row};

rule! {
    /// Radios hold another revision than the plan's. One finding a plan; the radios are listed beside it.
    ///
    /// Only where the plan writes `revision` and the radio `loaded`. Lost and retired radios are left out.
    ///
    /// ## On the air
    /// What was changed since is not in them: they may listen on old frequencies, or call by old numbers.
    ///
    /// ## Source
    /// Common practice, no source.
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    /// revision = "2026-11"
    ///
    /// [[radio]]
    /// id = 21007
    /// alias = "Crane 2"
    /// loaded = "2026-10"
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    /// revision = "2026-11"
    ///
    /// [[radio]]
    /// id = 21007
    /// alias = "Crane 2"
    /// loaded = "2026-11"
    /// ```
    pub RadioBehindPlan = "radio-behind-plan" { family: Identity, level: Warning, judged: PerPlan, since: "0.1.0" }
    fn check(it: Each<plan::Table>, view, out) {
        let Known::Is(revision) = it.text(plan::revision) else { return };
        if view.main(view.viewer()) != Some(it.id()) {
            return;
        }
        let behind: Vec<_> = view
            .alike_of::<radio::Table>(Bucket::Loaded(view.viewer()))
            .into_iter()
            .filter(|radio| radio.text(radio::loaded).value().is_some_and(|loaded| loaded != revision))
            .filter(|radio| !radio.text(radio::status).value().is_some_and(|status| matches!(view.symbol(status), "lost" | "retired")))
            .collect();
        let (many, them) = match behind.len() {
            0 => return,
            1 => ("a radio holds".to_owned(), "it"),
            many => (format!("{many} radios hold"), "them"),
        };
        let mut found = out
            .report(
                Anchor::Value(it.id(), FieldPath::key(plan::revision.number())),
                format!("{many} another revision than \"{}\": what was changed since is not in {them}. Load {them}, and write it down with `loaded`", view.symbol(revision)),
            )
            .about(view.symbol(revision));
        for radio in behind {
            let alias = radio.name().map_or_else(|| "a radio".to_owned(), |alias| format!("\"{alias}\""));
            let loaded = radio.text(radio::loaded).value().map_or("", |loaded| view.symbol(loaded));
            found = found.related(
                Anchor::Value(radio.id(), FieldPath::key(radio::loaded.number())),
                format!("{alias} holds \"{loaded}\""),
            );
        }
    }
}
