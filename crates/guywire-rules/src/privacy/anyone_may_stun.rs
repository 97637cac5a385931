use super::obeys;
use crate::finding::Anchor;
use crate::rule;
use crate::rule::AnyTable;

rule! {
    /// Radios put themselves out of use when they are told to over the air, and the command need not prove where it
    /// comes from.
    ///
    /// Looked at for each profile, and for each radio that says something of its own about commands.
    ///
    /// ## On the air
    /// Anybody with a radio of the same kind can silence the fleet one by one, also in an emergency.
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
    /// obeys = ["stun", "revive"]
    /// authenticated = false
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
    /// obeys = ["stun", "revive"]
    /// authenticated = true
    /// ```
    pub AnyoneMayStun = "anyone-may-stun" { family: Privacy, level: Warning, judged: PerPlan, since: "0.1.0" }
    fn check(it: AnyTable, view, out) {
        let Some(obeys) = obeys(view, it) else { return };
        if obeys.authenticated || !obeys.commands.contains(&"stun") {
            return;
        }
        out.report(
            Anchor::Value(it, obeys.at),
            format!("{} goes out of use for anybody who sends the command: the fleet can be silenced, also in an emergency. Set `authenticated`, or take \"stun\" out", view.called(it)),
        );
    }
}
