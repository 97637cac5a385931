//! The list of all rules. Adding a rule is its file and one line here.

use crate::rule::{ErasedRule, Registered};
use crate::{band, identity, privacy, slot, text, zone};

/// Every rule, by family.
pub static CATALOG: &[&dyn ErasedRule] = &[
    &Registered::<text::toml_syntax::TomlSyntax>::NEW,
    &Registered::<text::file_unreadable::FileUnreadable>::NEW,
    &Registered::<text::file_empty::FileEmpty>::NEW,
    &Registered::<text::unknown_table::UnknownTable>::NEW,
    &Registered::<text::unknown_key::UnknownKey>::NEW,
    &Registered::<text::missing_key::MissingKey>::NEW,
    &Registered::<text::undefined_name::UndefinedName>::NEW,
    &Registered::<text::duplicate_name::DuplicateName>::NEW,
    &Registered::<text::unused_definition::UnusedDefinition>::NEW,
    &Registered::<text::file_missing::FileMissing>::NEW,
    &Registered::<text::share_cycle::ShareCycle>::NEW,
    &Registered::<text::wrong_type::WrongType>::NEW,
    &Registered::<text::value_out_of_form::ValueOutOfForm>::NEW,
    &Registered::<text::not_in_megahertz::NotInMegahertz>::NEW,
    &Registered::<text::below_one_hertz::BelowOneHertz>::NEW,
    &Registered::<text::format_too_new::FormatTooNew>::NEW,
    &Registered::<text::share_shadowed::ShareShadowed>::NEW,
    &Registered::<text::sheet_syntax::SheetSyntax>::NEW,
    &Registered::<text::sheet_column_missing::SheetColumnMissing>::NEW,
    &Registered::<band::outside_model_band::OutsideModelBand>::NEW,
    &Registered::<slot::color_code_differs_from_repeater::ColorCodeDiffersFromRepeater>::NEW,
    &Registered::<slot::same_channel_twice::SameChannelTwice>::NEW,
    &Registered::<slot::color_code_range::ColorCodeRange>::NEW,
    &Registered::<slot::slot_range::SlotRange>::NEW,
    &Registered::<slot::slot_differs_from_repeater::SlotDiffersFromRepeater>::NEW,
    &Registered::<slot::talkgroup_not_carried::TalkgroupNotCarried>::NEW,
    &Registered::<slot::talkgroup_on_both_slots::TalkgroupOnBothSlots>::NEW,
    &Registered::<slot::color_code_15::ColorCode15>::NEW,
    &Registered::<slot::key_without_effect::KeyWithoutEffect>::NEW,
    &Registered::<slot::direct_mode_slot::DirectModeSlot>::NEW,
    &Registered::<slot::tdma_direct_not_supported::TdmaDirectNotSupported>::NEW,
    &Registered::<slot::no_timing_leader::NoTimingLeader>::NEW,
    &Registered::<slot::plain_and_tdma_direct_mixed::PlainAndTdmaDirectMixed>::NEW,
    &Registered::<slot::direct_on_repeater_input::DirectOnRepeaterInput>::NEW,
    &Registered::<slot::narrow_wide_mismatch::NarrowWideMismatch>::NEW,
    &Registered::<slot::impolite_on_shared::ImpoliteOnShared>::NEW,
    &Registered::<zone::zone_over_capacity::ZoneOverCapacity>::NEW,
    &Registered::<identity::duplicate_radio_id::DuplicateRadioId>::NEW,
    &Registered::<privacy::key_in_clear::KeyInClear>::NEW,
];

/// The rule of a name.
pub fn find(name: &str) -> Option<&'static dyn ErasedRule> {
    CATALOG.iter().copied().find(|rule| rule.about().name == name)
}
