//! Transmitters and receivers at one site, and transmitters on one frequency. Only what stays where it is counts:
//! repeaters and co-tenants. Handhelds move.

pub mod adjacent_channel_close;
pub mod co_channel_clash;
pub mod harmonic_on_receive;
pub mod intermodulation;
pub mod overlapping_carriers;
#[cfg(test)]
mod tests;
pub mod transmit_receive_close;

use guywire_plan::language::{repeater, site};
use guywire_plan::{FieldPath, Ref, Transmitter, View};
use guywire_radio::interference::Carrier;

use crate::finding::{Anchor, Reported};
use crate::rule::OptionSpec;

/// How near another site must be to count as the same place.
const NEAR_M: OptionSpec = OptionSpec {
    name: "near_m",
    default: 100.0,
    doc: "Sites nearer than this are one place, in meters; at most 1000.",
};

/// The transmitters of a site and of those so near that they are one place with it.
fn transmitters<'v>(view: View<'v>, site: Ref<'v, site::Table>, near_m: f64) -> Vec<Transmitter> {
    view.sites_near(site, near_m).into_iter().flat_map(|near| view.transmitters_at(near)).collect()
}

/// The repeaters of a site with their receivers.
fn receivers<'v>(view: View<'v>, site: Ref<'v, site::Table>) -> Vec<(Ref<'v, repeater::Table>, Carrier)> {
    let repeaters = view.referrers::<repeater::Table>(site.id());
    repeaters.into_iter().filter_map(|it| Some((it, view.receiver(it)?))).collect()
}

/// Where a repeater's input is written.
fn input(repeater: Ref<'_, repeater::Table>) -> Anchor {
    Anchor::Value(repeater.id(), FieldPath::key(repeater::rx_mhz.number()))
}

/// Adds the places of these transmitters to a finding.
fn with_transmitters<'s>(mut found: Reported<'s>, view: View<'_>, those: &[Transmitter]) -> Reported<'s> {
    for it in those {
        let said = format!("{} sends on {} MHz", view.transmitter_called(*it), it.frequency);
        found = found.related(Anchor::Value(it.at.0, it.at.1), said);
    }
    found
}

/// Transmitters in the middle of a sentence: the lowest by frequency and name, and how many more.
fn named(view: View<'_>, those: &[Transmitter]) -> String {
    let mut said: Vec<String> =
        those.iter().map(|it| format!("{} on {} MHz", view.transmitter_called(*it), it.frequency)).collect();
    said.sort_unstable();
    match said.as_slice() {
        [] => String::new(),
        [only] => only.clone(),
        [first, rest @ ..] => format!("{first} and {} more", rest.len()),
    }
}
