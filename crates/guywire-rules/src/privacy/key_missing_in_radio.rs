use guywire_plan::language::{Field, Tabled, channel, key, profile, radio, zone};
use guywire_plan::{EntityId, FieldPath, Known, Ref, Row, Stored, View};

use crate::finding::{Anchor, Sink};
use crate::rule;
use crate::rule::Each;

rule! {
    /// A channel in the zones of a radio sends with a key that is not among the keys that the radio holds.
    ///
    /// A profile or radio that says nothing of its `keys` is left alone. Reported once for each profile, and for a radio that has keys
    /// or zones of its own.
    ///
    /// ## On the air
    /// Depending on its make the radio refuses to send there, or sends in clear what was to be private; and it does not understand
    /// the others.
    ///
    /// ## Source
    /// Common practice, no source: no cipher is defined by ETSI TS 102 361 (from memory).
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
    /// [[key]]
    /// name = "harbor-2026"
    /// id = 17
    /// algorithm = "aes-256"
    /// held_in = "vault:harbor/radio/17"
    ///
    /// [[channel]]
    /// name = "Cranes"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    /// color_code = 5
    /// call = "Cranes"
    /// privacy = "harbor-2026"
    ///
    /// [[zone]]
    /// name = "Harbor"
    /// channels = ["Cranes"]
    ///
    /// [[profile]]
    /// name = "crane"
    /// zones = ["Harbor"]
    /// keys = []
    ///
    /// [[radio]]
    /// id = 21001
    /// alias = "Crane 1"
    /// profile = "crane"
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
    /// [[key]]
    /// name = "harbor-2026"
    /// id = 17
    /// algorithm = "aes-256"
    /// held_in = "vault:harbor/radio/17"
    ///
    /// [[channel]]
    /// name = "Cranes"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    /// color_code = 5
    /// call = "Cranes"
    /// privacy = "harbor-2026"
    ///
    /// [[zone]]
    /// name = "Harbor"
    /// channels = ["Cranes"]
    ///
    /// [[profile]]
    /// name = "crane"
    /// zones = ["Harbor"]
    /// keys = ["harbor-2026"]
    ///
    /// [[radio]]
    /// id = 21001
    /// alias = "Crane 1"
    /// profile = "crane"
    /// ```
    pub KeyMissingInRadio = "key-missing-in-radio" {
        family: Privacy, level: Error, judged: PerPlan, since: "0.1.0",
    }
    fn check(it: Each<key::Table>, view, out) {
        let name = view.name_symbol(it.id());
        let senders = view.referrers::<channel::Table>(it.id()).into_iter().filter(|channel| channel.text(channel::privacy) == name);
        // A profile that has the channel in several zones, and several channels with the key, is told once.
        let mut holders: Vec<(EntityId, &str)> = Vec::new();
        for channel in senders {
            let Some(called) = channel.name() else { continue };
            for zone in view.referrers::<zone::Table>(channel.id()) {
                for profile in view.referrers::<profile::Table>(zone.id()) {
                    holders.push((profile.id(), called));
                    let own_keys = view.referrers::<radio::Table>(profile.id()).into_iter().filter(|radio| radio.has(radio::keys) && !radio.has(radio::zones));
                    holders.extend(own_keys.map(|radio| (radio.id(), called)));
                }
                holders.extend(view.referrers::<radio::Table>(zone.id()).iter().map(|radio| (radio.id(), called)));
            }
        }
        holders.sort_by_key(|(_, called)| *called);
        let mut told: Vec<EntityId> = Vec::new();
        for (holder, called) in holders {
            if told.contains(&holder) {
                continue;
            }
            told.push(holder);
            if let Some(profile) = view.get::<profile::Table>(holder) {
                report(view, out, it, (profile, profile::keys), called);
            }
            if let Some(radio) = view.get::<radio::Table>(holder) {
                report(view, out, it, (radio, radio::keys), called);
            }
        }
    }
}

/// Reports a holder that writes its keys and lacks this one.
fn report<T: Tabled>(
    view: View<'_>,
    out: &mut Sink<'_>,
    key: Ref<'_, key::Table>,
    (holder, field): (Ref<'_, T>, Field<T>),
    channel: &str,
) {
    let Known::Is(held) = holder.list(field) else { return };
    let name = view.name_symbol(key.id()).value();
    let has = |element: &guywire_plan::Element| match element.value {
        Stored::Text(held) => Some(held) == name,
        _ => true,
    };
    if held.iter().any(has) {
        return;
    }
    let key_name = key.name().unwrap_or_default();
    out.report(
        Anchor::Value(holder.id(), FieldPath::key(field.number())),
        format!(
            "{} has channel \"{channel}\" in its zones, which sends with key \"{key_name}\", and does not hold that key: it cannot send there in private, nor understand the others. Add the key, or take the channel out of its zones",
            view.called(holder.id()),
        ),
    )
    .about(key_name)
    .related(Anchor::Header(key.id()), format!("key \"{key_name}\""));
}
