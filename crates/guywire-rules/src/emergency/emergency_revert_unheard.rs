use guywire_plan::audience::{Emission, Payload};
use guywire_plan::language::{channel, emergency, radio};
use guywire_plan::{EntityId, FieldPath, Known, Ref, View};

use crate::finding::Anchor;
use crate::hearing::{Missed, carriers, heard, listens_to, why_missed};
use crate::rule;
use crate::rule::Each;

rule! {
    /// An alarm, or the call that follows it, goes out where nobody who stands by or scans hears it, and no station listens.
    ///
    /// Judged for the channel that the emergency names (`revert`), else for each channel that names the emergency. Said only
    /// where the plan says that its fleet is complete and has two radios at least. Where an ordinary call on the same
    /// channel reaches nobody either, `nobody-listens` says so.
    ///
    /// ## On the air
    /// Somebody is in trouble, the radio shows that the alarm was sent, and no one knows of it. Prove it on the bench and in
    /// the field before anybody relies on it; the emergency service's own number stays the first call where life is at
    /// risk.
    ///
    /// ## Source
    /// Color code, slot, address and data on a repeater: ETSI TS 102 361-1 and -3. That an alarm must reach somebody is
    /// common practice, no source.
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
    /// name = "Rescue"
    /// id = 1205
    ///
    /// [[channel]]
    /// name = "Berths"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    /// color_code = 5
    /// call = "Berths"
    /// emergency = "Quay alarm"
    ///
    /// [[channel]]
    /// name = "Rescue"
    /// sends = "digital"
    /// rx_mhz = 453.4625
    /// color_code = 5
    /// call = "Rescue"
    /// emergency = "Quay alarm"
    ///
    /// [[emergency]]
    /// name = "Quay alarm"
    /// triggers = ["button"]
    /// sends = "alarm-and-call"
    /// target = "Rescue"
    /// revert = "Rescue"
    ///
    /// [[zone]]
    /// name = "Harbor"
    /// channels = ["Berths", "Rescue"]
    ///
    /// [[controls.button]]
    /// place = "top"
    /// press = "long"
    /// action = "emergency-on"
    ///
    /// [[radio]]
    /// id = 21001
    /// alias = "Crane 1"
    /// zones = ["Harbor"]
    ///
    /// [[radio]]
    /// id = 21002
    /// alias = "Boat 1"
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
    /// name = "Rescue"
    /// id = 1205
    ///
    /// [[channel]]
    /// name = "Berths"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    /// color_code = 5
    /// call = "Berths"
    /// emergency = "Quay alarm"
    ///
    /// [[channel]]
    /// name = "Rescue"
    /// sends = "digital"
    /// rx_mhz = 453.4625
    /// color_code = 5
    /// call = "Rescue"
    /// emergency = "Quay alarm"
    ///
    /// [[emergency]]
    /// name = "Quay alarm"
    /// triggers = ["button"]
    /// sends = "alarm-and-call"
    /// target = "Rescue"
    /// revert = "Rescue"
    ///
    /// [[zone]]
    /// name = "Harbor"
    /// channels = ["Berths", "Rescue"]
    ///
    /// [[controls.button]]
    /// place = "top"
    /// press = "long"
    /// action = "emergency-on"
    ///
    /// [[radio]]
    /// id = 21001
    /// alias = "Crane 1"
    /// zones = ["Harbor"]
    ///
    /// [[radio]]
    /// id = 21002
    /// alias = "Boat 1"
    /// zones = ["Harbor"]
    /// stands_by = { channel = "Rescue" }
    /// ```
    pub EmergencyRevertUnheard = "emergency-revert-unheard" {
        family: Emergency, level: Error, judged: PerPlan, since: "0.1.0",
    }
    fn check(it: Each<emergency::Table>, view, out) {
        let users = view.referrers::<channel::Table>(it.id());
        let (channels, is_named) = match view.revert(it) {
            Known::Is(channel) => (vec![channel], true),
            Known::Absent => (users.clone(), false),
            Known::Unreadable => return,
        };
        let mut unheard: Vec<Unheard> = Vec::new();
        for channel in channels {
            let senders = if is_named { &users[..] } else { &[channel][..] };
            unheard.extend(unheard_on(view, it, channel, senders, is_named));
        }
        let Some(first) = unheard.iter().min_by(|a, b| a.channel.cmp(&b.channel)) else { return };
        if !view.is_fleet_complete() || view.count::<radio::Table>() < 2 {
            return;
        }
        let more = match unheard.len() {
            1 => String::new(),
            many => format!(" (nor on {} more channels)", many - 1),
        };
        let at = if is_named { emergency::revert.number() } else { emergency::name.number() };
        let Unheard { channel, what, carriers, why, .. } = first;
        let out = out
            .report(
                Anchor::Value(it.id(), FieldPath::key(at)),
                format!(
                    "nobody who stands by or scans hears {what} of {} on \"{channel}\" ({carriers} MHz){more}: {why}. Send it where somebody listens all the time, and let a station acknowledge it",
                    view.called(it.id()),
                ),
            )
            .about(channel);
        let out = unheard.iter().fold(out, |out, one| out.related(Anchor::Header(one.id), "it goes out here".to_owned()));
        if let Some((at, what)) = &first.place {
            out.related(*at, what.clone());
        }
    }
}

/// An emergency that nobody hears on a channel.
struct Unheard {
    id: EntityId,
    channel: String,
    what: &'static str,
    carriers: String,
    why: String,
    /// Where that is written, and what is there.
    place: Option<(Anchor, String)>,
}

fn unheard_on(
    view: View<'_>,
    it: Ref<'_, emergency::Table>,
    channel: Ref<'_, channel::Table>,
    senders: &[Ref<'_, channel::Table>],
    is_named: bool,
) -> Option<Unheard> {
    let air = view.air(channel.id())?;
    let (named, called) = view.emergency_target(it, channel)?;
    if named.into_iter().chain([channel.id()]).any(|named| listens_to(view, named)) {
        return None;
    }
    let can_send =
        |held: &[EntityId]| senders.iter().flat_map(|from| view.holders(from.id())).any(|radio| !held.contains(&radio));
    let is_heard = |emission: &Emission| {
        let heard = heard(view, &view.rays(emission), channel.id());
        heard.may_be || heard.radios.len() > 1 || (heard.radios.len() == 1 && can_send(&heard.radios))
    };
    if !can_send(&[]) {
        return None;
    }
    // Where an ordinary call is unheard too, that has a finding of its own, unless the channel is the emergency's.
    if !is_named && !air.push_to_talk().is_ok_and(|call| is_heard(&call)) {
        return None;
    }
    for payload in view.emergency_parts(it)? {
        let emission = air.sent(called, *payload).ok()?;
        if is_heard(&emission) {
            continue;
        }
        let rays = view.rays(&emission);
        let (why, place) = match why_missed(view, &rays) {
            Some(Missed { words, place }) => (words, Some(place)),
            None => ("no radio stands by or scans there".to_owned(), None),
        };
        return Some(Unheard {
            id: channel.id(),
            channel: channel.name()?.to_owned(),
            what: if *payload == Payload::Data { "the alarm" } else { "the call" },
            carriers: carriers(&rays),
            why,
            place,
        });
    }
    None
}
