use guywire_plan::FieldPath;
use guywire_plan::language::channel;

use super::split::{Kind, splits};
use crate::finding::Anchor;
use crate::rule;
use crate::rule::Each;

rule! {
    /// While a key takes over from another, some radios send with the new one to others that only understand the old one, or the
    /// other way round.
    ///
    /// Radios that hold both keys, and channels that list the other key in `privacy_receive`, are sound. The key that takes over
    /// says so with `replaces`.
    ///
    /// ## On the air
    /// The fleet falls in two: each half hears silence while the other one speaks.
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
    /// [[key]]
    /// name = "harbor-2027"
    /// id = 18
    /// algorithm = "aes-256"
    /// held_in = "vault:harbor/radio/18"
    /// replaces = "harbor-2026"
    ///
    /// [[channel]]
    /// name = "Cranes"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    /// color_code = 5
    /// call = "Cranes"
    /// privacy = "harbor-2026"
    /// privacy_receive = []
    ///
    /// [[channel]]
    /// name = "Hooks"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    /// color_code = 5
    /// call = "Cranes"
    /// privacy = "harbor-2027"
    /// privacy_receive = ["harbor-2026"]
    ///
    /// [[zone]]
    /// name = "Harbor"
    /// channels = ["Cranes"]
    ///
    /// [[zone]]
    /// name = "Hook"
    /// channels = ["Hooks"]
    ///
    /// [[radio]]
    /// id = 21001
    /// alias = "Crane 1"
    /// zones = ["Harbor"]
    ///
    /// [[radio]]
    /// id = 21002
    /// alias = "Hook 1"
    /// zones = ["Hook"]
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
    /// [[key]]
    /// name = "harbor-2027"
    /// id = 18
    /// algorithm = "aes-256"
    /// held_in = "vault:harbor/radio/18"
    /// replaces = "harbor-2026"
    ///
    /// [[channel]]
    /// name = "Cranes"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    /// color_code = 5
    /// call = "Cranes"
    /// privacy = "harbor-2026"
    /// privacy_receive = ["harbor-2027"]
    ///
    /// [[channel]]
    /// name = "Hooks"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    /// color_code = 5
    /// call = "Cranes"
    /// privacy = "harbor-2027"
    /// privacy_receive = ["harbor-2026"]
    ///
    /// [[zone]]
    /// name = "Harbor"
    /// channels = ["Cranes"]
    ///
    /// [[zone]]
    /// name = "Hook"
    /// channels = ["Hooks"]
    ///
    /// [[radio]]
    /// id = 21001
    /// alias = "Crane 1"
    /// zones = ["Harbor"]
    ///
    /// [[radio]]
    /// id = 21002
    /// alias = "Hook 1"
    /// zones = ["Hook"]
    /// ```
    pub RolloverSplit = "rollover-split" {
        family: Privacy, level: Error, judged: PerPlan, since: "0.1.0",
    }
    fn check(it: Each<channel::Table>, view, out) {
        let splits = splits(view, it, Kind::Rollover);
        let Some(first) = splits.first() else { return };
        let out = out
            .report(
                Anchor::Value(it.id(), FieldPath::key(channel::privacy.number())),
                format!(
                    "{} sends with key \"{}\", and channel \"{}\" of the same talkgroup on the same frequency already sends with key \"{}\", which radios on the first do not understand: the fleet falls in two until all are loaded. Load both keys first and list the other one in `privacy_receive`, then change `privacy`",
                    view.called(it.id()),
                    first.own, first.channel, first.other,
                ),
            )
            .about(&first.other);
        splits.iter().fold(out, |out, split| {
            out.related(
                Anchor::Value(split.id, FieldPath::key(channel::privacy.number())),
                format!("channel \"{}\" sends with key \"{}\"", split.channel, split.other),
            )
        });
    }
}
