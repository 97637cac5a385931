use guywire_plan::FieldPath;
use guywire_plan::audience::Signal;
use guywire_plan::language::{channel, emergency, radio};
use guywire_plan::{Known, Ref, Row, View};

use crate::finding::Anchor;
use crate::hearing::{Missed, carriers, heard, station_listens, why_missed};
use crate::rule;
use crate::rule::Each;

rule! {
    /// Push-to-talk on a channel reaches nobody who stands by or scans.
    ///
    /// Said only where the plan says that its fleet is complete (`fleet_complete = true`), has two radios at least, and no
    /// station listens. Individual calls are reported by `individual-contact-unreachable`, the channel that an emergency goes
    /// out on by `emergency-revert-unheard`. Other plans that are open together count as listeners too.
    ///
    /// ## On the air
    /// Somebody calls, and no loudspeaker opens. Nobody knows that there was a call.
    ///
    /// ## Source
    /// Color code, slot and address decide what a receiver opens to: ETSI TS 102 361-1. Squelch tones: TIA-603. That a
    /// channel should be heard by somebody is common practice, no source.
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    /// fleet_complete = true
    ///
    /// [[talkgroup]]
    /// name = "Berths"
    /// id = 1201
    ///
    /// [[talkgroup]]
    /// name = "Cranes"
    /// id = 1203
    ///
    /// [[channel]]
    /// name = "Berths"
    /// sends = "digital"
    /// rx_mhz = 461.3125
    /// color_code = 9
    /// call = "Berths"
    ///
    /// [[channel]]
    /// name = "Cranes"
    /// sends = "digital"
    /// rx_mhz = 461.3125
    /// color_code = 9
    /// call = "Cranes"
    ///
    /// [[zone]]
    /// name = "Harbor"
    /// channels = ["Berths", "Cranes"]
    ///
    /// [[radio]]
    /// id = 21001
    /// alias = "Crane 1"
    /// zones = ["Harbor"]
    ///
    /// [[radio]]
    /// id = 21002
    /// alias = "Crane 2"
    /// zones = ["Harbor"]
    /// stands_by = { channel = "Berths" }
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    /// fleet_complete = true
    ///
    /// [[talkgroup]]
    /// name = "Berths"
    /// id = 1201
    ///
    /// [[talkgroup]]
    /// name = "Cranes"
    /// id = 1203
    ///
    /// [[channel]]
    /// name = "Berths"
    /// sends = "digital"
    /// rx_mhz = 461.3125
    /// color_code = 9
    /// call = "Berths"
    ///
    /// [[channel]]
    /// name = "Cranes"
    /// sends = "digital"
    /// rx_mhz = 461.3125
    /// color_code = 9
    /// call = "Cranes"
    ///
    /// [[zone]]
    /// name = "Harbor"
    /// channels = ["Berths", "Cranes"]
    ///
    /// [[radio]]
    /// id = 21001
    /// alias = "Crane 1"
    /// zones = ["Harbor"]
    ///
    /// [[radio]]
    /// id = 21002
    /// alias = "Crane 2"
    /// zones = ["Harbor"]
    /// stands_by = { channel = "Cranes" }
    /// ```
    pub NobodyListens = "nobody-listens" {
        family: Group, level: Warning, judged: PerPlan, since: "0.1.0",
    }
    fn check(it: Each<channel::Table>, view, out) {
        let Some(emission) = view.air(it.id()).and_then(|air| air.push_to_talk().ok()) else { return };
        if super::is_to_one_unit(&emission) || station_listens(view, it) {
            return;
        }
        let rays = view.rays(&emission);
        let heard = heard(view, &rays, it.id());
        if heard.radios.len() > 1 || heard.may_be {
            return;
        }
        // The only radio that hears it may be the only one that can send it.
        let senders = view.holders(it.id());
        let is_sent = senders.iter().any(|sender| !heard.radios.contains(sender));
        if senders.is_empty() || (is_sent && !heard.radios.is_empty()) || is_revert(view, it) {
            return;
        }
        if !view.is_fleet_complete() || view.count::<radio::Table>() < 2 {
            return;
        }
        let missed = why_missed(view, &rays);
        let why = missed.as_ref().map_or("no radio stands by or scans there", |missed| &missed.words);
        let at = match emission.signal {
            Signal::Digital(_) => channel::call.number(),
            Signal::Analog(_) => channel::sends.number(),
        };
        let found = out.report(
            Anchor::Value(it.id(), FieldPath::key(at)),
            format!(
                "nobody who stands by or scans hears a call on {} ({} MHz): {why}. Let somebody stand by or scan there, or take the channel out of the zones",
                view.called(it.id()),
                carriers(&rays),
            ),
        )
        .about(view.name_of(it.id()).unwrap_or_default());
        if let Some(Missed { place: (at, what), .. }) = missed {
            found.related(at, what);
        }
    }
}

/// Whether an emergency goes out on a channel that it names.
fn is_revert(view: View<'_>, it: Ref<'_, channel::Table>) -> bool {
    let name = view.name_symbol(it.id());
    view.referrers::<emergency::Table>(it.id())
        .iter()
        .any(|emergency| matches!((emergency.text(emergency::revert), name), (Known::Is(a), Known::Is(b)) if a == b))
}
