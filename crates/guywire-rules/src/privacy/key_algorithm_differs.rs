use guywire_plan::FieldPath;
use guywire_plan::language::channel;

use super::split::{Kind, splits};
use crate::finding::Anchor;
use crate::rule;
use crate::rule::Each;

rule! {
    /// Two channels of one talkgroup on one frequency send with keys of different algorithms, and the radios of the one do not
    /// understand the other.
    ///
    /// Radios that hold both keys, and channels that list the other key in `privacy_receive`, are sound.
    ///
    /// ## On the air
    /// Each side hears silence, or noise, while the other one speaks.
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
    /// [[talkgroup]]
    /// name = "Hooks"
    /// id = 1204
    ///
    /// [[key]]
    /// name = "harbor-2026"
    /// id = 17
    /// algorithm = "aes-256"
    /// held_in = "vault:harbor/radio/17"
    ///
    /// [[key]]
    /// name = "cranes-2026"
    /// id = 4
    /// algorithm = "arc4-40"
    /// held_in = "vault:harbor/radio/4"
    ///
    /// [[channel]]
    /// name = "Cranes"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    /// color_code = 5
    /// call = "Cranes"
    /// privacy = "harbor-2026"
    ///
    /// [[channel]]
    /// name = "Hooks"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    /// color_code = 5
    /// call = "Cranes"
    /// privacy = "cranes-2026"
    ///
    /// [[zone]]
    /// name = "Harbor"
    /// channels = ["Cranes"]
    ///
    /// [[zone]]
    /// name = "Hook"
    /// channels = ["Hooks", "Hook calls"]
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
    ///
    /// [[channel]]
    /// name = "Hook calls"
    /// sends = "digital"
    /// rx_mhz = 453.4625
    /// color_code = 5
    /// call = "Hooks"
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
    /// [[talkgroup]]
    /// name = "Hooks"
    /// id = 1204
    ///
    /// [[key]]
    /// name = "harbor-2026"
    /// id = 17
    /// algorithm = "aes-256"
    /// held_in = "vault:harbor/radio/17"
    ///
    /// [[key]]
    /// name = "cranes-2026"
    /// id = 4
    /// algorithm = "arc4-40"
    /// held_in = "vault:harbor/radio/4"
    ///
    /// [[channel]]
    /// name = "Cranes"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    /// color_code = 5
    /// call = "Cranes"
    /// privacy = "harbor-2026"
    ///
    /// [[channel]]
    /// name = "Hooks"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    /// color_code = 5
    /// call = "Hooks"
    /// privacy = "cranes-2026"
    ///
    /// [[zone]]
    /// name = "Harbor"
    /// channels = ["Cranes"]
    ///
    /// [[zone]]
    /// name = "Hook"
    /// channels = ["Hooks", "Hook calls"]
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
    ///
    /// [[channel]]
    /// name = "Hook calls"
    /// sends = "digital"
    /// rx_mhz = 453.4625
    /// color_code = 5
    /// call = "Hooks"
    /// ```
    pub KeyAlgorithmDiffers = "key-algorithm-differs" {
        family: Privacy, level: Error, judged: PerPlan, since: "0.1.0",
    }
    fn check(it: Each<channel::Table>, view, out) {
        let splits = splits(view, it, Kind::Algorithm);
        let Some(first) = splits.first() else { return };
        let out = out
            .report(
                Anchor::Value(it.id(), FieldPath::key(channel::privacy.number())),
                format!(
                    "{} sends with key \"{}\", and channel \"{}\" of the same talkgroup on the same frequency with key \"{}\" of another algorithm, which radios on the first do not understand: one side does not hear the other. Use one algorithm, or list the other key in `privacy_receive`",
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
