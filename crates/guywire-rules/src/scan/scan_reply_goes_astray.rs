use guywire_plan::audience::{Gear, Outcome, receive};
use guywire_plan::language::{channel, scan_list};
use guywire_plan::{EntityId, FieldPath, Known, Ref, Row, View};

use crate::finding::Anchor;
use crate::rule;
use crate::rule::Each;

rule! {
    /// What a radio answers while it scans is not heard on the channel on which it was called.
    ///
    /// A scan list says where push-to-talk answers (`reply`): on the channel last heard, on the knob's, or on a given one.
    /// The caller is taken to be on the member that was heard. A list that does not say is left alone.
    ///
    /// ## On the air
    /// The radio stops on a call, its user answers, and the answer goes out where the caller does not listen.
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
    /// name = "Quay"
    /// sends = "analog"
    /// rx_mhz = 453.2125
    /// scan_list = "Harbor"
    ///
    /// [[channel]]
    /// name = "Gate"
    /// sends = "analog"
    /// rx_mhz = 453.4625
    ///
    /// [[scan_list]]
    /// name = "Harbor"
    /// channels = ["selected", "Gate"]
    /// reply = "selected"
    ///
    /// [[zone]]
    /// name = "Harbor"
    /// channels = ["Quay", "Gate"]
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[channel]]
    /// name = "Quay"
    /// sends = "analog"
    /// rx_mhz = 453.2125
    /// scan_list = "Harbor"
    ///
    /// [[channel]]
    /// name = "Gate"
    /// sends = "analog"
    /// rx_mhz = 453.4625
    ///
    /// [[scan_list]]
    /// name = "Harbor"
    /// channels = ["selected", "Gate"]
    /// reply = "last-heard"
    ///
    /// [[zone]]
    /// name = "Harbor"
    /// channels = ["Quay", "Gate"]
    /// ```
    pub ScanReplyGoesAstray = "scan-reply-goes-astray" {
        family: Scan, level: Warning, judged: PerPlan, reads: Audience, since: "0.1.0",
    }
    fn check(it: Each<scan_list::Table>, view, out) {
        let Known::Is(reply) = it.text(scan_list::reply).map(|word| view.symbol(word)) else { return };
        if reply == "last-heard" {
            return;
        }
        let Known::Is(members) = view.named_members(it) else { return };
        let mut astray: Vec<EntityId> = Vec::new();
        let mut example: Option<(&str, &str)> = None;
        for home in view.referrers::<channel::Table>(it.id()) {
            for member in members.iter().filter(|member| **member != home.id()) {
                if !goes_astray(view, home, *member) {
                    continue;
                }
                if !astray.contains(member) {
                    astray.push(*member);
                }
                let names = view.name_of(home.id()).zip(view.name_of(*member));
                example = [example, names].into_iter().flatten().min();
            }
        }
        let Some((home, member)) = example else { return };
        let more = match astray.len() {
            1 => String::new(),
            many => format!(" (and on {} more of its channels)", many - 1),
        };
        let out = out.report(
            Anchor::Value(it.id(), FieldPath::key(scan_list::reply.number())),
            format!(
                "with the knob on \"{home}\", a call on \"{member}\"{more} is answered where the caller does not hear it. Let the list reply on the channel last heard (`reply = \"last-heard\"`)",
            ),
        );
        astray.iter().fold(out.about(reply), |out, member| {
            out.related(
                Anchor::Value(*member, FieldPath::key(channel::name.number())),
                "the caller is here".to_owned(),
            )
        });
    }
}

/// Whether the answer of a radio whose knob is on `home` is not heard on `member`, where it was called.
fn goes_astray(view: View<'_>, home: Ref<'_, channel::Table>, member: EntityId) -> bool {
    let Some(air) = view.air(member) else { return false };
    // Who is called on a channel that only receives is not expected to be heard there.
    let Ok(heard) = air.push_to_talk() else { return false };
    let Some(answer) = view.scan_reply(home.id(), member, &heard) else { return false };
    let outcomes = view
        .rays(&answer)
        .rays
        .iter()
        .map(|ray| receive(&ray.emission, air, &Gear::UNWRITTEN, true))
        .collect::<Vec<_>>();
    !outcomes.iter().any(|outcome| matches!(outcome, Outcome::Heard | Outcome::Unknown))
}
