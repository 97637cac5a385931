use crate::finding::{Anchor, Level};
use crate::rule;
use crate::rule::{Each, OptionSpec};
use guywire_plan::language::{repeater, site, talkgroup};
use guywire_plan::{Bucket, EntityId, FieldPath, Known, Ref, Row, View};
use guywire_radio::interference::CoChannel;
use guywire_radio::path::horizon_km;
use guywire_radio::power::{AntennaChain, Eirp, Output, Power};

rule! {
    /// Two repeaters send on one frequency, so near that the carrier of one disturbs listeners at the other.
    ///
    /// The reach is computed from the other's output, feedline, antenna and height above ground, over smooth ground, to a
    /// listener beside this repeater, and ends at the radio horizon. Nothing is said where one of those is not written,
    /// of members of one network, and of the analog and the digital half of one station. An error where both have the
    /// same color code and carry the same talkgroup on the same slot, and the other is loud enough to be heard.
    ///
    /// ## On the air
    /// Slot, color code and tone keep the loudspeaker shut; the carrier interferes all the same. With equal color code
    /// and talkgroup, listeners also hear the wrong station.
    ///
    /// ## Options
    /// `weakest_wanted_dbm`: weakest level that listeners are to hear, in dBm; -103 unless set.
    ///
    /// `protection_db`: how far under that the other must be, in dB; 17 unless set.
    ///
    /// `listener_m`: height of a listener's antenna above ground, in meters; 1.5 unless set.
    ///
    /// ## Source
    /// Free space (Recommendation ITU-R P.525), plane earth and the 4/3-earth horizon. The level and the protection are
    /// planning practice from memory.
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[site]]
    /// name = "Beacon Hill"
    /// latitude = 44.1021
    /// longitude = -68.8113
    /// antenna_m = 24
    ///
    /// [[site]]
    /// name = "North Mole"
    /// latitude = 44.0876
    /// longitude = -68.7754
    /// antenna_m = 18
    ///
    /// [[repeater]]
    /// name = "beacon"
    /// site = "Beacon Hill"
    /// tx_mhz = 453.2125
    /// rx_mhz = 458.2125
    /// power_w = 25
    /// antenna_gain_dbi = 6.0
    ///
    /// [[repeater]]
    /// name = "north mole"
    /// site = "North Mole"
    /// tx_mhz = 453.2125
    /// rx_mhz = 458.4625
    /// power_w = 10
    /// antenna_gain_dbi = 3.0
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[site]]
    /// name = "Beacon Hill"
    /// latitude = 44.1021
    /// longitude = -68.8113
    /// antenna_m = 24
    ///
    /// [[site]]
    /// name = "North Mole"
    /// latitude = 44.0876
    /// longitude = -68.7754
    /// antenna_m = 18
    ///
    /// [[repeater]]
    /// name = "beacon"
    /// site = "Beacon Hill"
    /// tx_mhz = 453.2125
    /// rx_mhz = 458.2125
    /// power_w = 25
    /// antenna_gain_dbi = 6.0
    ///
    /// [[repeater]]
    /// name = "north mole"
    /// site = "North Mole"
    /// tx_mhz = 453.4625
    /// rx_mhz = 458.4625
    /// power_w = 10
    /// antenna_gain_dbi = 3.0
    /// ```
    pub CoChannelClash = "co-channel-clash" {
        family: Interference, level: Warning, judged: PerPlan, since: "0.1.0",
        options: &[
            OptionSpec {
                name: "weakest_wanted_dbm",
                default: -103.0,
                doc: "Weakest level that listeners are to hear, in dBm.",
            },
            OptionSpec {
                name: "protection_db",
                default: guywire_radio::interference::CO_CHANNEL_PROTECTION_DB,
                doc: "How far under that level another carrier must be, in dB.",
            },
            OptionSpec {
                name: "listener_m",
                default: 1.5,
                doc: "Height of a listener's antenna above ground, in meters.",
            },
        ],
    }
    fn check(it: Each<repeater::Table>, view, out) {
        let Known::Is(output) = it.frequency(repeater::tx_mhz) else { return };
        if view.is_crowded(Bucket::Output(view.viewer(), output)) {
            return;
        }
        let Some(here) = view.mast(it.id()) else { return };
        let (wanted_dbm, protection_db) = (out.option("weakest_wanted_dbm"), out.option("protection_db"));
        let receiver_height_m = out.option("listener_m");
        for (other, there) in view.masts_on_output(it.id()) {
            let apart_km = here.position.distance_km(there.position);
            // Nothing is disturbed beyond the horizon.
            let Some(unwanted_height_m) = there.height_m else { continue };
            if horizon_km(unwanted_height_m, receiver_height_m).is_ok_and(|horizon_km| apart_km >= horizon_km) {
                continue;
            }
            let Some(other) = view.get::<repeater::Table>(other) else { continue };
            if view.in_one_network(it.id(), other.id()) || is_one_station(view, it, other) {
                continue;
            }
            let Some(unwanted) = radiated(other) else { continue };
            let reach_km = |protection_db| {
                let clash = CoChannel {
                    frequency: output, unwanted, unwanted_height_m, receiver_height_m, wanted_dbm, protection_db,
                };
                clash.reuse_distance_km().unwrap_or(0.0)
            };
            if apart_km >= reach_km(protection_db) {
                continue;
            }
            let is_mistaken = apart_km < reach_km(0.0) && is_mistaken_for(view, it, other);
            let what = if is_mistaken {
                "color code and talkgroup are the same, so they also hear the wrong station"
            } else {
                "no tone, slot or color code keeps the carrier away"
            };
            let message = format!(
                "{} also sends on {output} MHz, {apart_km:.1} km from {}, and disturbs listeners as far as {:.1} km; {what}. Use another frequency, or less power and height",
                view.called(other.id()),
                view.called(it.id()),
                reach_km(protection_db),
            );
            let at = |of: Ref<'_, repeater::Table>| Anchor::Value(of.id(), FieldPath::key(repeater::tx_mhz.number()));
            out.report(at(it), message)
                .about(&other.name())
                .level(if is_mistaken { Level::Error } else { Level::Warning })
                .related(at(other), format!("{} sends on the same frequency", view.called(other.id())));
        }
    }
}

/// What a repeater radiates. No feedline written is none.
fn radiated(it: Ref<'_, repeater::Table>) -> Option<Power<Eirp>> {
    let output: Power<Output> = Power::from_w(it.number(repeater::power_w).value()?).ok()?;
    let loss_db = it.number(repeater::feedline_loss_db).or_value(0.0).value()?;
    let antenna = AntennaChain::new(it.number(repeater::antenna_gain_dbi).value()?, loss_db).ok()?;
    Some(output.eirp(antenna))
}

/// Two tables at one site on one pair, one for each mode: one station written twice.
fn is_one_station(view: View<'_>, one: Ref<'_, repeater::Table>, other: Ref<'_, repeater::Table>) -> bool {
    let site = |it| view.named::<site::Table, _>(it, repeater::site).value().map(|site| site.id());
    let mode = |it: Ref<'_, repeater::Table>| it.text(repeater::mode).map(|word| view.symbol(word)).or_value("digital");
    site(one) == site(other)
        && one.frequency(repeater::rx_mhz) == other.frequency(repeater::rx_mhz)
        && mode(one) != mode(other)
}

/// Whether listeners to one take calls of the other for their own: equal color code, and a talkgroup on the same slot.
fn is_mistaken_for(view: View<'_>, one: Ref<'_, repeater::Table>, other: Ref<'_, repeater::Table>) -> bool {
    let Known::Is(code) = one.whole(repeater::color_code) else { return false };
    if other.whole(repeater::color_code) != Known::Is(code) {
        return false;
    }
    [1, 2].into_iter().any(|slot| {
        let groups = |it| -> Vec<i64> {
            let carried = view.carried(it, slot).value();
            let number =
                |(group, _): &(EntityId, FieldPath)| view.get::<talkgroup::Table>(*group)?.whole(talkgroup::id).value();
            carried.iter().flat_map(|carried| carried.listed.iter()).filter_map(number).collect()
        };
        let of_other = groups(other);
        groups(one).iter().any(|group| of_other.contains(group))
    })
}
