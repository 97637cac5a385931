//! Talkgroups, contacts and who listens.

pub mod address_range;
pub mod address_reserved;
pub mod all_call_as_default;
pub mod contact_not_a_radio;
pub mod individual_contact_unreachable;
pub mod nobody_listens;
pub mod one_way_path;
pub mod receive_group_empty;
pub mod receive_group_over_capacity;
pub mod talkgroup_id_clash;
pub mod talkgroup_not_received;

use guywire_plan::audience::{Called, Digital, Emission, Signal};

/// Whether a transmission is for one unit alone.
pub(crate) fn is_to_one_unit(emission: &Emission) -> bool {
    matches!(emission.signal, Signal::Digital(Digital { called: Called::Unit(_), .. }))
}
