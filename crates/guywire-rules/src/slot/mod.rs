//! Color codes, time slots, repeaters.

pub mod color_code_15;
pub mod color_code_differs_from_repeater;
pub mod color_code_range;
pub mod direct_mode_slot;
pub mod direct_on_repeater_input;
pub mod double_key;
pub mod impolite_on_shared;
pub mod key_without_effect;
pub mod narrow_wide_mismatch;
pub mod no_timing_leader;
pub mod plain_and_tdma_direct_mixed;
pub mod repeater_loop;
pub mod same_channel_twice;
pub mod simplex_keys_repeater;
pub mod slot_differs_from_repeater;
pub mod slot_range;
pub mod talkgroup_not_carried;
pub mod talkgroup_on_both_slots;
pub mod tdma_direct_not_supported;
#[cfg(test)]
mod tests;

use guywire_plan::language::{channel, repeater, talkgroup};
use guywire_plan::{Known, Ref, Row, Sends, Target, View};
use guywire_radio::Hertz;

/// A call to a talkgroup through a repeater.
pub(crate) struct Call<'v> {
    pub repeater: Ref<'v, repeater::Table>,
    /// 1 or 2.
    pub slot: i64,
    pub group: Ref<'v, talkgroup::Table>,
}

/// What push-to-talk on a digital channel calls through its repeater; none where something of it is not known, and where
/// the channel does not send on the repeater's input.
pub(crate) fn call_through<'v>(view: View<'v>, it: Ref<'v, channel::Table>) -> Option<Call<'v>> {
    let Known::Is(repeater) = view.repeater_of(it) else { return None };
    let effective = view.channel(it.id())?;
    if effective.sends != Known::Is(Sends::Digital) || effective.tx != repeater.frequency(repeater::rx_mhz) {
        return None;
    }
    if repeater.text(repeater::mode).value().is_some_and(|mode| view.symbol(mode) == "analog") {
        return None;
    }
    let Known::Is(Target::Talkgroup(group)) = view.own_target(it) else { return None };
    Some(Call { repeater, slot: effective.slot.value()?, group })
}

/// The frequency of a digital channel that sends on the frequency that it receives.
pub(crate) fn direct_carrier(view: View<'_>, it: Ref<'_, channel::Table>) -> Option<Hertz> {
    let effective = view.channel(it.id())?;
    let carrier = effective.tx.value()?;
    (effective.rx == effective.tx && effective.sends == Known::Is(Sends::Digital)).then_some(carrier)
}
