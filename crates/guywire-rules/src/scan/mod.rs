//! Scan lists.

mod members;
pub mod priority_not_in_list;
pub mod scan_list_empty;
pub mod scan_list_mixes_width;
pub mod scan_list_over_capacity;
pub mod scan_reply_goes_astray;
pub mod scan_revisit_too_slow;
pub mod scan_swallows_home;
#[cfg(test)]
mod tests;
