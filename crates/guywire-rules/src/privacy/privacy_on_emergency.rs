use guywire_plan::language::{channel, emergency};
use guywire_plan::{FieldPath, Known, Row};

use crate::finding::Anchor;
use crate::rule;
use crate::rule::Each;

rule! {
    /// The call of an emergency goes out with privacy.
    ///
    /// An emergency that sends its alarm as data only is left out.
    ///
    /// ## On the air
    /// Whoever could help and lacks the key, or has an old one, hears nothing or noise. That may be meant; weigh it with those who
    /// answer for the people in the field.
    ///
    /// ## Source
    /// Common practice, no source.
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
    /// emergency = "Quay alarm"
    ///
    /// [[channel]]
    /// name = "Mayday"
    /// sends = "digital"
    /// rx_mhz = 453.4625
    /// color_code = 5
    /// call = "Cranes"
    /// emergency = "Quay alarm"
    ///
    /// [[emergency]]
    /// name = "Quay alarm"
    /// triggers = ["button"]
    /// sends = "alarm-and-call"
    /// target = "Cranes"
    /// revert = "Cranes"
    ///
    /// [[controls.button]]
    /// place = "top"
    /// press = "long"
    /// action = "emergency-on"
    ///
    /// [[zone]]
    /// name = "Harbor"
    /// channels = ["Cranes", "Mayday"]
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
    /// emergency = "Quay alarm"
    ///
    /// [[channel]]
    /// name = "Mayday"
    /// sends = "digital"
    /// rx_mhz = 453.4625
    /// color_code = 5
    /// call = "Cranes"
    /// emergency = "Quay alarm"
    ///
    /// [[emergency]]
    /// name = "Quay alarm"
    /// triggers = ["button"]
    /// sends = "alarm-and-call"
    /// target = "Cranes"
    /// revert = "Mayday"
    ///
    /// [[controls.button]]
    /// place = "top"
    /// press = "long"
    /// action = "emergency-on"
    ///
    /// [[zone]]
    /// name = "Harbor"
    /// channels = ["Cranes", "Mayday"]
    /// ```
    pub PrivacyOnEmergency = "privacy-on-emergency" {
        family: Privacy, level: Warning, judged: PerPlan, since: "0.1.0",
    }
    fn check(it: Each<emergency::Table>, view, out) {
        let speaks = it.text(emergency::sends).map(|word| view.symbol(word) != "alarm");
        if speaks != Known::Is(true) {
            return;
        }
        let (channels, at) = match view.revert(it) {
            Known::Is(channel) => (vec![channel], emergency::revert.number()),
            Known::Absent => (view.referrers::<channel::Table>(it.id()), emergency::name.number()),
            Known::Unreadable => return,
        };
        let mut private: Vec<(&str, guywire_plan::EntityId)> = channels
            .iter()
            .filter(|channel| matches!(channel.text(channel::privacy), Known::Is(_)))
            .filter_map(|channel| Some((channel.name()?, channel.id())))
            .collect();
        private.sort_by_key(|(name, _)| *name);
        let Some((first, _)) = private.first() else { return };
        let more = if private.len() > 1 { format!(" and {} more channels", private.len() - 1) } else { String::new() };
        let out = out
            .report(
                Anchor::Value(it.id(), FieldPath::key(at)),
                format!(
                    "the call of {} goes out in private on \"{first}\"{more}: whoever could help and lacks the key hears nothing. Send it on a channel without privacy, unless that is meant",
                    view.called(it.id()),
                ),
            )
            .about(first);
        private.iter().fold(out, |out, (name, channel)| {
            out.related(
                Anchor::Value(*channel, FieldPath::key(channel::privacy.number())),
                format!("channel \"{name}\" sends in private"),
            )
        });
    }
}
