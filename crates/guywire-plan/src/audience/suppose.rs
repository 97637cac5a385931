//! What would be otherwise, for those who ask what an edit does.

use std::borrow::Cow;

use guywire_radio::Tone;

use super::Air;
use crate::entity::EntityId;
use crate::value::Known;

/// What would be otherwise, for those who ask what an edit does.
#[derive(Debug, Clone, PartialEq)]
pub enum Suppose {
    /// Nothing.
    Nothing,
    /// Some channels are so too.
    Channels(Vec<EntityId>, Supposed),
    /// With the knob on one of the first, the second is scanned too.
    Scanned(Vec<EntityId>, EntityId),
}

/// What a channel would be.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Supposed {
    /// Its receive group has this talkgroup too.
    Listens(i64),
    /// It has this color code.
    ColorCode(i64),
    /// It is on this slot.
    Slot(i64),
    /// It sends this tone.
    Sends(Tone),
    /// It waits for this tone.
    WaitsFor(Tone),
}

impl Suppose {
    /// A channel as it would be.
    pub fn air<'a>(&self, channel: EntityId, air: &'a Air) -> Cow<'a, Air> {
        let Suppose::Channels(channels, supposed) = self else { return Cow::Borrowed(air) };
        if !channels.contains(&channel) {
            return Cow::Borrowed(air);
        }
        let mut air = air.clone();
        match supposed {
            Supposed::Listens(group) => {
                let mut groups = air.groups.value().map(|groups| groups.to_vec()).unwrap_or_default();
                groups.push(*group);
                groups.sort_unstable();
                air.groups = Known::Is(groups.into());
            }
            Supposed::ColorCode(code) => air.color_code = Known::Is(*code),
            Supposed::Slot(slot) => air.slot = Known::Is(*slot),
            Supposed::Sends(tone) => air.tx_tone = Known::Is(*tone),
            Supposed::WaitsFor(tone) => air.rx_tone = Known::Is(*tone),
        }
        Cow::Owned(air)
    }
}
