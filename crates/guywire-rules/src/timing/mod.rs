//! How long things last: transmissions, hang times, preambles, reports, reminders.

pub mod hang_differs_from_repeater;
pub mod lone_worker_too_slow;
pub mod preamble_long;
pub mod preamble_too_short;
pub mod slot_overloaded_by_reports;
#[cfg(test)]
mod tests;
pub mod time_out_longer_than_repeater;
pub mod time_out_timer_long;
pub mod time_out_timer_missing;

use guywire_plan::language::channel;
use guywire_plan::{Ref, View};

/// Whether the radio service of a channel limits how long a transmission may last.
fn has_limit<'v>(view: View<'v>, it: Ref<'v, channel::Table>) -> bool {
    view.service(Some(it)).is_some_and(|service| service.terms().longest_transmission_s.is_some())
}
