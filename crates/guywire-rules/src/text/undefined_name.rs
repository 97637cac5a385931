use crate::finding::{Anchor, Edit, Fix, Safety};
use crate::nearest;
use crate::rule;
use crate::rule::AnyTable;
use guywire_plan::language::Kind;
use guywire_plan::{EntityId, FoundAny, Reference, View};

rule! {
    /// A key names a table that the plan does not have.
    ///
    /// A name is looked for in its own file, then in the plan and what the plan shares.
    ///
    /// ## On the air
    /// The reference leads nowhere: a channel that calls a talkgroup nobody defined calls nobody; a zone position with
    /// an undefined channel is a dead click of the knob.
    ///
    /// ## Source
    /// The plan language (docs/language.md).
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[talkgroup]]
    /// name = "Berths"
    /// id = 1201
    ///
    /// [[receive_group]]
    /// name = "Quayside"
    /// talkgroups = ["Berths"]
    ///
    /// [[channel]]
    /// name = "Quay"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    /// receive_group = "Quayside"
    /// call = "Bertsh"
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[talkgroup]]
    /// name = "Berths"
    /// id = 1201
    ///
    /// [[receive_group]]
    /// name = "Quayside"
    /// talkgroups = ["Berths"]
    ///
    /// [[channel]]
    /// name = "Quay"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    /// receive_group = "Quayside"
    /// call = "Berths"
    /// ```
    pub UndefinedName = "undefined-name" { family: Text, level: Error, judged: PerPlan, since: "0.1.0", fix: Some(Safety::Choice) }
    fn check(it: AnyTable, view, out) {
        view.each_reference(it, &mut |reference| {
            if view.find_any(it, reference.kinds, reference.name) != FoundAny::Missing {
                return;
            }
            let name = view.symbol(reference.name);
            let kinds: Vec<&str> = reference.kinds.iter().map(|kind| kind.noun()).collect();
            let message = format!(
                "no {} is called \"{name}\" here, so {} leads nowhere{}. Correct the name, or define it",
                kinds.join(" or "),
                view.called(it),
                consequence(reference.kinds),
            );
            let at = if reference.in_key { Anchor::Key(it, reference.path) } else { Anchor::Value(it, reference.path) };
            out.report(at, message).about(name).fix(|| fix(view, it, &reference, name));
        });
    }
}

/// What the dead reference does on the air, in the middle of a sentence.
fn consequence(kinds: &[Kind]) -> &'static str {
    match kinds.first() {
        Some(Kind::Talkgroup | Kind::Contact) => " and nobody is called or heard by it",
        Some(Kind::Channel) => " and that position or step is dead",
        Some(Kind::Repeater) => " and the channel has no frequencies from it",
        Some(Kind::ReceiveGroup) => " and no group is heard through it",
        Some(Kind::Key) => " and what it protects cannot be sent or understood",
        Some(Kind::Emergency) => " and the emergency button does nothing there",
        Some(Kind::Zone) => " and its channels are not on the radio",
        _ => "",
    }
}

fn fix(view: View<'_>, it: EntityId, reference: &Reference, name: &str) -> Option<Fix> {
    let meant = nearest(name, view.names_for_fix(it, reference.kinds))?;
    let edit = if reference.in_key {
        Edit::SetKey(it, reference.path, crate::finding::toml_key(meant))
    } else {
        Edit::Set(it, reference.path, crate::finding::toml_string(meant))
    };
    Some(Fix { title: format!("Write \"{meant}\"{}", view.touching(it)), safety: Safety::Choice, edits: vec![edit] })
}
