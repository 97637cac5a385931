use guywire_plan::audience::{Called, Payload};
use guywire_plan::language::{channel, repeater};
use guywire_plan::{Bucket, EntityId, FieldPath, Ref, View};

use crate::finding::Anchor;
use crate::rule;
use crate::rule::Each;

rule! {
    /// A simplex channel opens a repeater: it sends on the repeater's input, with the color code or tone that opens it.
    ///
    /// Where it would not open the repeater, `direct-on-repeater-input` says that it may disturb it.
    ///
    /// ## On the air
    /// Talk that was meant for radios nearby takes the repeater from everybody else, and is heard over the whole area.
    ///
    /// ## Source
    /// Common practice, no source. What opens a repeater: ETSI TS 102 361-1 (color code), TIA-603 (tones, from memory).
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[talkgroup]]
    /// name = "Cranes"
    /// id = 1203
    ///
    /// [[repeater]]
    /// name = "beacon"
    /// tx_mhz = 453.2125
    /// rx_mhz = 458.2125
    /// color_code = 5
    ///
    /// [[channel]]
    /// name = "Hook"
    /// sends = "digital"
    /// rx_mhz = 458.2125
    /// color_code = 5
    /// call = "Cranes"
    ///
    /// [[zone]]
    /// name = "Harbor"
    /// channels = ["Hook"]
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[talkgroup]]
    /// name = "Cranes"
    /// id = 1203
    ///
    /// [[repeater]]
    /// name = "beacon"
    /// tx_mhz = 453.2125
    /// rx_mhz = 458.2125
    /// color_code = 5
    ///
    /// [[channel]]
    /// name = "Hook"
    /// sends = "digital"
    /// rx_mhz = 458.4625
    /// color_code = 5
    /// call = "Cranes"
    ///
    /// [[zone]]
    /// name = "Harbor"
    /// channels = ["Hook"]
    /// ```
    pub SimplexKeysRepeater = "simplex-keys-repeater" {
        family: Slot, level: Warning, judged: PerPlan, reads: Audience, since: "0.1.0",
    }
    fn check(it: Each<channel::Table>, view, out) {
        let opened = opened(view, it);
        let Some((name, _)) = opened.first() else { return };
        let out = out.report(
            Anchor::Value(it.id(), FieldPath::key(channel::rx_mhz.number())),
            format!(
                "{} is simplex and opens repeater \"{name}\": what is meant for radios nearby goes out over the repeater. Use a frequency of its own, or `talk_around` on the repeater's output",
                view.called(it.id()),
            ),
        )
        .about(name);
        opened.iter().fold(out, |out, (name, id)| {
            out.related(
                Anchor::Value(*id, FieldPath::key(repeater::rx_mhz.number())),
                format!("the input of repeater \"{name}\""),
            )
        });
    }
}

/// The repeaters that a simplex channel without a repeater of its own opens, by name.
pub(super) fn opened<'v>(view: View<'v>, it: Ref<'v, channel::Table>) -> Vec<(&'v str, EntityId)> {
    let Some(air) = view.air(it.id()).filter(|air| air.is_simplex() && air.repeater.is_none()) else {
        return Vec::new();
    };
    let inputs = |carrier| view.alike(Bucket::Input(view.viewer(), carrier)).count();
    if air.tx.value().is_none_or(|carrier| inputs(carrier) == 0) {
        return Vec::new();
    }
    let Ok(sent) = air.sent(air.call.value().unwrap_or(Called::All), Payload::Speech) else { return Vec::new() };
    let mut opened: Vec<(&str, EntityId)> = view
        .rays(&sent)
        .opened()
        .filter(|it| view.sees(*it))
        .filter_map(|repeater| Some((view.name_of(repeater)?, repeater)))
        .collect();
    opened.sort_by_key(|(name, _)| *name);
    opened
}
