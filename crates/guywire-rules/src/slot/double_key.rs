use guywire_plan::audience::{Called, Payload};
use guywire_plan::language::{channel, repeater, site};
use guywire_plan::{Bucket, EntityId, FieldPath, Known, Row, View};
use guywire_radio::geodesy::Position;
use guywire_radio::path::horizon_km;

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
        family: Slot, level: Warning, judged: PerPlan, since: "0.1.0",
    }
    fn check(it: Each<channel::Table>, view, out) {
        let Some(air) = view.air(it.id()).filter(|air| air.repeater.is_some() && !air.talk_around) else { return };
        let inputs = |carrier| view.alike(Bucket::Input(view.viewer(), carrier)).len();
        if air.tx.value().is_none_or(|carrier| inputs(carrier) < 2) {
            return;
        }
        let Ok(sent) = air.sent(air.call.value().unwrap_or(Called::All), Payload::Speech) else { return };
        let rays = view.rays(&sent);
        let own = air.repeater.filter(|own| rays.opened().any(|opened| opened == *own));
        let Some(own) = own else { return };
        let mut others: Vec<(&str, EntityId)> = rays
            .opened()
            .filter(|other| *other != own && view.sees(*other) && !share_network(view, own, *other) && overlap(view, own, *other) == Some(true))
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

fn share_network(view: View<'_>, a: EntityId, b: EntityId) -> bool {
    let of = |repeater: EntityId| -> Vec<EntityId> {
        let networks = view.referrers::<guywire_plan::language::network::Table>(repeater);
        networks.iter().map(|network| network.id()).collect()
    };
    let theirs = of(b);
    of(a).iter().any(|network| theirs.contains(network))
}

/// Whether the horizons of two repeaters overlap; none where a position or height is not known.
fn overlap(view: View<'_>, a: EntityId, b: EntityId) -> Option<bool> {
    let ((here, height_here), (there, height_there)) = (place(view, a)?, place(view, b)?);
    let reach = horizon_km(height_here, height_there).ok()?;
    Some(here.distance_km(there) <= reach)
}

/// The position of a repeater's antenna and its height above ground, m.
fn place(view: View<'_>, repeater: EntityId) -> Option<(Position, f64)> {
    let it = view.get::<repeater::Table>(repeater)?;
    let Known::Is(site) = view.named::<site::Table, _>(it, repeater::site) else { return None };
    let (latitude, longitude) = (site.number(site::latitude).value()?, site.number(site::longitude).value()?);
    Some((Position::new(latitude, longitude).ok()?, site.number(site::antenna_m).value()?))
}
