use guywire_plan::audience::{Called, Payload};
use guywire_plan::language::{channel, repeater};
use guywire_plan::{EntityId, FieldPath};

use crate::finding::Anchor;
use crate::rule;
use crate::rule::Each;

rule! {
    /// One transmission opens two repeaters whose radio horizons overlap.
    ///
    /// Only repeaters that the plan sees are looked at. The sites of both must be written with position and antenna height;
    /// the horizon is that of a smooth earth of 4/3 radius. Repeaters of one network are left out: there it may be meant.
    ///
    /// ## On the air
    /// Where both hear the radio, both repeat it; where their outputs meet, or their talkgroups, two conversations break each other.
    /// Where they share an output as well, they disturb each other.
    ///
    /// ## Source
    /// Radio horizon over an effective earth radius of 4/3: ITU-R P.310, P.452. That one press should open one repeater is common practice, no source.
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
    /// [[site]]
    /// name = "Beacon Hill"
    /// latitude = 44.1021
    /// longitude = -68.8113
    /// antenna_m = 24
    ///
    /// [[site]]
    /// name = "North Mole"
    /// latitude = 44.1300
    /// longitude = -68.8000
    /// antenna_m = 20
    ///
    /// [[repeater]]
    /// name = "beacon"
    /// tx_mhz = 453.2125
    /// rx_mhz = 458.2125
    /// color_code = 5
    /// site = "Beacon Hill"
    ///
    /// [[repeater]]
    /// name = "mole"
    /// tx_mhz = 453.4625
    /// rx_mhz = 458.2125
    /// color_code = 5
    /// site = "North Mole"
    ///
    /// [[channel]]
    /// name = "Cranes"
    /// sends = "digital"
    /// repeater = "beacon"
    /// slot = 1
    /// call = "Cranes"
    ///
    /// [[channel]]
    /// name = "Hooks"
    /// sends = "digital"
    /// rx_mhz = 453.7125
    /// color_code = 5
    /// call = "Cranes"
    ///
    /// [[zone]]
    /// name = "Harbor"
    /// channels = ["Cranes", "Hooks"]
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
    /// [[site]]
    /// name = "Beacon Hill"
    /// latitude = 44.1021
    /// longitude = -68.8113
    /// antenna_m = 24
    ///
    /// [[site]]
    /// name = "North Mole"
    /// latitude = 44.1300
    /// longitude = -68.8000
    /// antenna_m = 20
    ///
    /// [[repeater]]
    /// name = "beacon"
    /// tx_mhz = 453.2125
    /// rx_mhz = 458.2125
    /// color_code = 5
    /// site = "Beacon Hill"
    ///
    /// [[repeater]]
    /// name = "mole"
    /// tx_mhz = 453.4625
    /// rx_mhz = 458.2125
    /// color_code = 3
    /// site = "North Mole"
    ///
    /// [[channel]]
    /// name = "Cranes"
    /// sends = "digital"
    /// repeater = "beacon"
    /// slot = 1
    /// call = "Cranes"
    ///
    /// [[channel]]
    /// name = "Hooks"
    /// sends = "digital"
    /// rx_mhz = 453.7125
    /// color_code = 5
    /// call = "Cranes"
    ///
    /// [[zone]]
    /// name = "Harbor"
    /// channels = ["Cranes", "Hooks"]
    /// ```
    pub DoubleKey = "double-key" {
        family: Slot, level: Warning, judged: PerPlan, reads: Audience, since: "0.1.0",
    }
    fn check(it: Each<channel::Table>, view, out) {
        let Some(air) = view.air(it.id()).filter(|air| !air.talk_around) else { return };
        let Some(own) = air.repeater else { return };
        let rivals = view.rivals(own);
        if rivals.is_empty() {
            return;
        }
        let Ok(sent) = air.sent(air.call.value().unwrap_or(Called::All), Payload::Speech) else { return };
        let rays = view.rays(&sent);
        if !rays.opened().any(|opened| opened == own) {
            return;
        }
        let mut others: Vec<(&str, EntityId)> = rays
            .opened()
            .filter(|other| rivals.contains(other))
            .filter_map(|other| Some((view.name_of(other)?, other)))
            .collect();
        others.sort_by_key(|(name, _)| *name);
        let Some((name, _)) = others.first() else { return };
        let own_name = view.name_of(own).unwrap_or_default();
        let out = out.report(
            Anchor::Value(it.id(), FieldPath::key(channel::repeater.number())),
            format!(
                "a call on {} opens repeater \"{name}\" as well as \"{own_name}\", and their horizons overlap: both repeat it where both hear it. Give them different color codes or tones, or other inputs",
                view.called(it.id()),
            ),
        )
        .about(name);
        others.iter().fold(out, |out, (name, id)| {
            out.related(
                Anchor::Value(*id, FieldPath::key(repeater::rx_mhz.number())),
                format!("the input of repeater \"{name}\""),
            )
        });
    }
}
