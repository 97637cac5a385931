use super::obeys;
use crate::finding::Anchor;
use crate::rule;
use crate::rule::AnyTable;

rule! {
    /// Radios open their microphone when they are told to over the air, and the command need not prove where it comes
    /// from.
    ///
    /// Looked at for each profile, and for each radio that says something of its own about commands.
    ///
    /// ## On the air
    /// Anybody with a radio of the same kind can listen to the room around the user, who does not notice. Listening in
    /// on people is forbidden or bound to conditions in many places: ask before you use it at all.
    ///
    /// ## Source
    /// Common practice, no source. Local law decides.
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[radio]]
    /// id = 21007
    /// alias = "Crane 2"
    /// obeys = ["check", "listen-in"]
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
    /// obeys = ["check", "listen-in"]
    /// authenticated = true
    /// ```
    pub ListenInOpen = "listen-in-open" { family: Privacy, level: Warning, judged: PerPlan, since: "0.1.0" }
    fn check(it: AnyTable, view, out) {
        let Some(obeys) = obeys(view, it) else { return };
        if obeys.authenticated || !obeys.commands.contains(&"listen-in") {
            return;
        }
        out.report(
            Anchor::Value(it, obeys.at),
            format!("{} opens its microphone for anybody who sends the command: rooms can be listened to unseen. Set `authenticated`, or take \"listen-in\" out; local law decides whether it may be used at all", view.called(it)),
        );
    }
}
