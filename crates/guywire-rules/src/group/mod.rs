//! Talkgroups, contacts and who listens.

pub mod address_range;
pub mod address_reserved;
pub mod all_call_as_default;
pub mod contact_not_a_radio;
pub mod receive_group_empty;
pub mod receive_group_over_capacity;
pub mod talkgroup_id_clash;
