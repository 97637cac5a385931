use super::members::{Member, channels, has_room, is_selected, members, place, touching};
use crate::finding::{Anchor, Edit, Fix, Safety, toml_string};
use crate::rule;
use crate::rule::Each;
use guywire_plan::language::{channel, scan_list};
use guywire_plan::{EntityId, FieldPath, Known, Ref, Row, View};

rule! {
    /// A channel is scanned from with a list that holds neither the channel itself nor `selected`.
    ///
    /// One finding a list, however many channels use it.
    ///
    /// ## On the air
    /// While the radio scans, calls on the very channel that the knob is on go unheard, and the user believes to be on it.
    ///
    /// ## Source
    /// Common practice, no source.
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
    /// name = "Cranes"
    /// sends = "digital"
    /// rx_mhz = 453.4625
    ///
    /// [[scan_list]]
    /// name = "Watch"
    /// channels = ["Cranes"]
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
    /// name = "Cranes"
    /// sends = "digital"
    /// rx_mhz = 453.4625
    ///
    /// [[scan_list]]
    /// name = "Watch"
    /// channels = ["selected", "Cranes"]
    /// ```
    pub ScanSwallowsHome = "scan-swallows-home" {
        family: Scan, level: Warning, judged: PerPlan, since: "0.1.0", fix: Some(Safety::Choice),
    }
    fn check(it: Each<scan_list::Table>, view, out) {
        let Some(members) = members(view, it) else { return };
        if members.is_empty() || looks_at_selected(view, it, &members) {
            return;
        }
        let Some(listed) = channels(view, it, &members) else { return };
        let is_member = |id: EntityId| listed.iter().any(|(channel, _)| channel.id() == id);
        let homes: Vec<EntityId> = view
            .referrers::<channel::Table>(it.id())
            .iter()
            .map(Ref::id)
            .filter(|id| !is_member(*id))
            .collect();
        let mut names: Vec<&str> = homes.iter().filter_map(|home| view.name_of(*home)).collect();
        names.sort_unstable();
        let Some(first) = names.first() else { return };
        let who = match names.len() {
            1 => format!("channel \"{first}\" is"),
            many => format!("\"{first}\" and {} other channels are", many - 1),
        };
        let mut found = out
            .report(
                Anchor::Value(it.id(), FieldPath::key(scan_list::channels.number())),
                format!(
                    "{who} scanned from with {}, which holds neither the channel that the knob is on nor \"selected\": while the radio scans, calls on that channel go unheard. Add \"selected\"",
                    view.called(it.id()),
                ),
            )
            .about(&names);
        for home in homes {
            let at = Anchor::Value(home, FieldPath::key(channel::scan_list.number()));
            found = found.related(at, format!("{} is not looked at", view.called(home)));
        }
        found.fix(|| fix(view, it, &members));
    }
}

/// Whether the knob's channel is a member or has priority.
fn looks_at_selected(view: View<'_>, it: Ref<'_, scan_list::Table>, members: &[Member]) -> bool {
    let priority = |field| match it.text(field) {
        Known::Is(name) => is_selected(view, name),
        Known::Absent => false,
        Known::Unreadable => true,
    };
    members.iter().any(|(name, _)| is_selected(view, *name))
        || priority(scan_list::priority_1)
        || priority(scan_list::priority_2)
}

fn fix(view: View<'_>, it: Ref<'_, scan_list::Table>, members: &[Member]) -> Option<Fix> {
    let (first, number) = members.first().filter(|_| has_room(view, it.id(), members))?;
    let both = format!("\"selected\", {}", toml_string(view.symbol(*first)));
    Some(Fix {
        title: format!("Add \"selected\" to the list{}", touching(view, it.id())),
        safety: Safety::Choice,
        edits: vec![Edit::Set(it.id(), place(*number), both)],
    })
}
