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
