use super::obeys;
use crate::finding::Anchor;
use crate::rule;
use crate::rule::AnyTable;

rule! {
    /// Radios obey the command that puts them out of use, but not the one that puts them back.
    ///
    /// Looked at for each profile, and for each radio with commands of its own.
    ///
    /// ## On the air
    /// A radio that was stunned by mistake stays dead until it is on the bench again.
    ///
    /// ## Source
    /// Common practice, no source.
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[radio]]
    /// id = 21007
    /// alias = "Crane 2"
    /// authenticated = true
    /// obeys = ["stun"]
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[radio]]
    /// id = 21007
    /// alias = "Crane 2"
    /// authenticated = true
    /// obeys = ["stun", "revive"]
    /// ```
    pub StunWithoutWayBack = "stun-without-way-back" {
        family: Privacy, level: Error, judged: PerPlan, since: "0.1.0",
    }
    fn check(it: AnyTable, view, out) {
        let Some(obeys) = obeys(view, it) else { return };
        if !obeys.own || !obeys.commands.contains(&"stun") || obeys.commands.contains(&"revive") {
            return;
        }
        out.report(
            Anchor::Value(it, obeys.at),
            format!("{} obeys \"stun\" but not \"revive\": once put out of use, it stays so until it is on the bench. Add \"revive\", or take \"stun\" out", view.called(it)),
        );
    }
}
