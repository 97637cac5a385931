//! Constants of the two-slot air interface, ETSI TS 102 361-1.

use crate::frequency::Hertz;
use crate::source::Source;

/// Source of every constant here.
pub const AIR_INTERFACE_SOURCE: Source = Source::confirmed("ETSI TS 102 361-1");

/// Channel width.
pub const CHANNEL_WIDTH: Hertz = Hertz(12_500);
/// Bits a second on the carrier.
pub const BITS_PER_S: f64 = 9_600.0;
/// Symbols a second, two bits each.
pub const SYMBOLS_PER_S: f64 = 4_800.0;
/// Deviation of the outer symbols.
pub const OUTER_DEVIATION: Hertz = Hertz(1_944);
/// Deviation of the inner symbols.
pub const INNER_DEVIATION: Hertz = Hertz(648);
/// One time slot, milliseconds.
pub const SLOT_MS: f64 = 30.0;
/// Two time slots, milliseconds.
pub const FRAME_MS: f64 = 60.0;
/// Bits in a burst.
pub const BURST_BITS: u32 = 264;
/// How long a transmitting unit is keyed in each frame, milliseconds: the rest of its slot is guard time.
pub const BURST_MS: f64 = 27.5;
/// Bursts A to F of one slot; a late listener joins within this, milliseconds.
pub const SUPERFRAME_MS: f64 = 360.0;

/// Share of the time that a unit transmitting in one slot is keyed: what an averaging meter reads of its burst power.
/// A repeater's output is continuous.
pub const BURST_DUTY: f64 = BURST_MS / FRAME_MS;

/// Whose burst a sync word announces.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum SyncWord {
    /// Repeater, voice.
    RepeaterVoice,
    /// Repeater, data.
    RepeaterData,
    /// Unit, voice; also of plain direct mode (from memory).
    UnitVoice,
    /// Unit, data.
    UnitData,
    /// Unit, reverse channel.
    UnitReverse,
    /// TDMA direct mode, slot 1, voice.
    DirectSlotOneVoice,
    /// TDMA direct mode, slot 1, data.
    DirectSlotOneData,
    /// TDMA direct mode, slot 2, voice.
    DirectSlotTwoVoice,
    /// TDMA direct mode, slot 2, data.
    DirectSlotTwoData,
    /// Reserved.
    Reserved,
}

impl SyncWord {
    /// Every sync word.
    pub const ALL: [SyncWord; 10] = [
        SyncWord::RepeaterVoice,
        SyncWord::RepeaterData,
        SyncWord::UnitVoice,
        SyncWord::UnitData,
        SyncWord::UnitReverse,
        SyncWord::DirectSlotOneVoice,
        SyncWord::DirectSlotOneData,
        SyncWord::DirectSlotTwoVoice,
        SyncWord::DirectSlotTwoData,
        SyncWord::Reserved,
    ];

    /// The 48 bits of table 9.2.
    pub const fn bits(self) -> u64 {
        match self {
            SyncWord::RepeaterVoice => 0x755F_D7DF_75F7,
            SyncWord::RepeaterData => 0xDFF5_7D75_DF5D,
            SyncWord::UnitVoice => 0x7F7D_5DD5_7DFD,
            SyncWord::UnitData => 0xD5D7_F77F_D757,
            SyncWord::UnitReverse => 0x77D5_5F7D_FD77,
            SyncWord::DirectSlotOneVoice => 0x5D57_7F77_57FF,
            SyncWord::DirectSlotOneData => 0xF7FD_D5DD_FD55,
            SyncWord::DirectSlotTwoVoice => 0x7DFF_D5F5_5D5F,
            SyncWord::DirectSlotTwoData => 0xD755_7F5F_F7F5,
            SyncWord::Reserved => 0xDD7F_F5D7_57DD,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    // ETSI TS 102 361-1, clause 9.1.1 and table 9.2.

    #[test]
    fn sync_words_are_outer_symbols_and_pair_by_polarity() {
        const FLIP: u64 = 0xAAAA_AAAA_AAAA;
        for word in SyncWord::ALL {
            assert!(format!("{:012X}", word.bits()).chars().all(|it| "57DF".contains(it)), "{word:?}");
            let flipped = word.bits() ^ FLIP;
            assert!(SyncWord::ALL.iter().any(|it| it.bits() == flipped), "{word:?}");
        }
        assert_eq!(SyncWord::RepeaterVoice.bits() ^ FLIP, SyncWord::RepeaterData.bits());
        assert_eq!(SyncWord::UnitReverse.bits() ^ FLIP, SyncWord::Reserved.bits());
    }

    #[test]
    fn closest_sync_words_differ_in_ten_dibits() {
        let dibits = |a: u64, b: u64| (0..24).filter(|at| (a ^ b) >> (2 * at) & 3 != 0).count();
        let mut closest = usize::MAX;
        for (at, a) in SyncWord::ALL.iter().enumerate() {
            for b in &SyncWord::ALL[at + 1..] {
                closest = closest.min(dibits(a.bits(), b.bits()));
            }
        }
        assert_eq!(closest, 10);
    }

    #[test]
    fn a_burst_fits_its_slot() {
        assert_eq!(f64::from(BURST_BITS) * 1000.0 / BITS_PER_S, BURST_MS);
        assert_eq!(6.0 * FRAME_MS, SUPERFRAME_MS);
        assert!((BURST_DUTY - 0.458_333).abs() < 1e-6);
        assert!((10.0 * BURST_DUTY.log10() + 3.3882).abs() < 1e-4);
    }
}
