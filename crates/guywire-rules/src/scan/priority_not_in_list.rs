use super::members::{Member, has_room, is_selected, members, place, touching};
use crate::finding::{Anchor, Edit, Fix, Safety, toml_string};
use crate::rule;
use crate::rule::Each;
use guywire_plan::language::{channel, scan_list};
use guywire_plan::{FieldPath, Found, Known, Ref, Row, Symbol, View};

rule! {
    /// A scan list gives priority to a channel that is no member of it.
    ///
    /// ## On the air
    /// The channel that should be heard first is not looked at, or the radio refuses the list when it is loaded.
    ///
    /// ## Source
    /// The plan language (docs/language.md): a priority is a member that is looked at more often.
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[channel]]
    /// name = "Berths"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    /// scan_list = "Watch"
    ///
    /// [[channel]]
    /// name = "Rescue"
    /// sends = "digital"
    /// rx_mhz = 453.4625
    ///
    /// [[scan_list]]
    /// name = "Watch"
    /// channels = ["selected", "Berths"]
    /// priority_1 = "Rescue"
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[channel]]
    /// name = "Berths"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    /// scan_list = "Watch"
    ///
    /// [[channel]]
    /// name = "Rescue"
    /// sends = "digital"
    /// rx_mhz = 453.4625
    ///
    /// [[scan_list]]
    /// name = "Watch"
    /// channels = ["selected", "Berths", "Rescue"]
    /// priority_1 = "Rescue"
    /// ```
    pub PriorityNotInList = "priority-not-in-list" {
        family: Scan, level: Error, judged: PerPlan, since: "0.1.0", fix: Some(Safety::Choice),
    }
    fn check(it: Each<scan_list::Table>, view, out) {
        let Some(members) = members(view, it) else { return };
        let channels = members.iter().filter(|(name, _)| !is_selected(view, *name)).count();
        let mut told: Vec<Symbol> = Vec::new();
        for field in [scan_list::priority_1, scan_list::priority_2] {
            let Known::Is(priority) = it.text(field) else { continue };
            let member = is_selected(view, priority) || members.iter().any(|(name, _)| *name == priority);
            if member || channels == 0 || told.contains(&priority) || !is_channel(view, it, priority) {
                continue;
            }
            told.push(priority);
            let name = view.symbol(priority);
            out.report(
                Anchor::Value(it.id(), FieldPath::key(field.number())),
                format!(
                    "channel \"{name}\" has priority in {} and is no member of it: it is not looked at, and calls on it go unheard. Add it to `channels`",
                    view.called(it.id()),
                ),
            )
            .about(name)
            .fix(|| fix(view, it, &members, name));
        }
    }
}

/// Whether the name leads to a channel; one that leads nowhere has a finding of its own.
fn is_channel(view: View<'_>, it: Ref<'_, scan_list::Table>, name: Symbol) -> bool {
    matches!(view.find::<channel::Table>(it.id(), name), Found::One(_))
}

fn fix(view: View<'_>, it: Ref<'_, scan_list::Table>, members: &[Member], name: &str) -> Option<Fix> {
    let (last, number) = members.last().filter(|_| has_room(view, it.id(), members))?;
    let both = format!("{}, {}", toml_string(view.symbol(*last)), toml_string(name));
    Some(Fix {
        title: format!("Add \"{name}\" to the list{}", touching(view, it.id())),
        safety: Safety::Choice,
        edits: vec![Edit::Set(it.id(), place(*number), both)],
    })
}
