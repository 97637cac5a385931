//! The 24-bit address spaces of ETSI TS 102 361, color code and slot.
//!
//! Unit addresses and talkgroup addresses are separate spaces: the call says which is meant, so equal numbers are no
//! fault.

use std::fmt;

use crate::source::Source;

/// Highest address that 24 bits can hold.
pub const HIGHEST_ADDRESS: u32 = 0xFF_FFFF;
/// Highest ordinary unit or talkgroup address; above it everything is special.
pub const HIGHEST_ORDINARY: u32 = 0xFF_FCDF;
/// The all call (ALLMSID).
pub const ALL_CALL: u32 = 0xFF_FFFF;

/// Source of the bounds and of the all call.
pub const BOUNDS_SOURCE: Source = Source::confirmed("ETSI TS 102 361-1, annex A");
/// Source of zero as the null address.
pub const ZERO_SOURCE: Source = Source::memory("ETSI TS 102 361-1, annex A");
/// Source of the named identities.
pub const NAMED_SOURCE: Source = Source::confirmed("ETSI TS 102 361-4, annex A");
/// Source of the range of color codes.
pub const COLOR_CODE_SOURCE: Source = Source::confirmed("ETSI TS 102 361-1, table 9.18");
/// Source of color code 15 as "all sites": a warning at most.
pub const ALL_SITES_SOURCE: Source = Source::memory("ETSI TS 102 361-4");

/// A contiguous part of the special addresses.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SpecialRange {
    /// First address.
    pub low: u32,
    /// Last address.
    pub high: u32,
    /// What the range is for.
    pub meaning: &'static str,
    /// Where it stands.
    pub source: Source,
}

/// The published ranges inside the special addresses, rising. What lies between them is reserved.
pub static SPECIAL_RANGES: [SpecialRange; 4] = [
    SpecialRange {
        low: 0xFF_FEC0,
        high: 0xFF_FECF,
        meaning: "system gateway, addressed as an individual",
        source: Source::memory("ETSI TS 102 361-4, annex A"),
    },
    SpecialRange {
        low: 0xFF_FED0,
        high: 0xFF_FEDF,
        meaning: "system gateway, addressed as a group",
        source: Source::memory("ETSI TS 102 361-4, annex A"),
    },
    SpecialRange {
        low: 0xFF_FEE0,
        high: 0xFF_FEEF,
        meaning: "custom gateway",
        source: Source::memory("ETSI TS 102 361-4, annex A"),
    },
    SpecialRange {
        low: 0xFF_FFF0,
        high: 0xFF_FFFF,
        meaning: "all-unit address",
        source: Source::memory("ETSI TS 102 361-1, annex A"),
    },
];

/// The named system identities, rising, by [`NAMED_SOURCE`]; PABXI from memory.
pub const NAMED_ADDRESSES: [(u32, &str); 18] = [
    (0xFF_FEC0, "PSTNI"),
    (0xFF_FEC1, "PABXI"),
    (0xFF_FEC2, "LINEI"),
    (0xFF_FEC3, "IPI"),
    (0xFF_FEC4, "SUPLI"),
    (0xFF_FEC5, "SDMI"),
    (0xFF_FEC6, "REGI"),
    (0xFF_FEC7, "MSI"),
    (0xFF_FEC9, "DIVERTI"),
    (0xFF_FECA, "TSI"),
    (0xFF_FECB, "DISPATI"),
    (0xFF_FECD, "AUTHI"),
    (0xFF_FECE, "GPI"),
    (0xFF_FED4, "ALLMSI"),
    (0xFF_FED6, "DGNAI"),
    (0xFF_FED7, "TATTSI"),
    (0xFF_FFFD, "ALLMSIDL"),
    (0xFF_FFFF, "ALLMSID"),
];

/// Why a number is no address, color code or slot.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum AddressError {
    /// Zero is the null address.
    #[error("0 is the null address; use 1 to {HIGHEST_ORDINARY}")]
    Zero,
    /// Below zero.
    #[error("an address cannot be negative; use 1 to {HIGHEST_ORDINARY}")]
    Negative,
    /// More than 24 bits.
    #[error("does not fit 24 bits; use 1 to {HIGHEST_ORDINARY}")]
    TooWide,
    /// Above the ordinary addresses.
    #[error("reserved ({meaning}); use 1 to {HIGHEST_ORDINARY}")]
    Reserved {
        /// The identity's name or the meaning of its range.
        meaning: &'static str,
    },
    /// The all call, which is a kind of contact and no unit or talkgroup.
    #[error("this is the all call; make it a contact with `all_call = true`")]
    AllCall,
    /// Not 0 to 15.
    #[error("a color code is a whole number from 0 to 15")]
    ColorCode,
    /// Neither 1 nor 2.
    #[error("a slot is 1 or 2")]
    Slot,
}

impl AddressError {
    /// The published basis; [`Source::standing`] says whether it carries an error.
    pub const fn basis(self) -> Source {
        match self {
            AddressError::Zero => ZERO_SOURCE,
            AddressError::ColorCode => COLOR_CODE_SOURCE,
            AddressError::Slot => Source::confirmed("ETSI TS 102 361-1"),
            _ => BOUNDS_SOURCE,
        }
    }
}

/// The address of one unit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct UnitId(u32);

/// The address of a talkgroup.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct TalkgroupId(u32);

impl UnitId {
    /// An ordinary unit address, 1 to [`HIGHEST_ORDINARY`].
    ///
    /// # Errors
    /// See [`AddressError`].
    pub fn new(number: i64) -> Result<UnitId, AddressError> {
        ordinary(number).map(UnitId)
    }

    /// The number.
    pub const fn get(self) -> u32 {
        self.0
    }
}

impl TalkgroupId {
    /// An ordinary talkgroup address, 1 to [`HIGHEST_ORDINARY`].
    ///
    /// # Errors
    /// See [`AddressError`].
    pub fn new(number: i64) -> Result<TalkgroupId, AddressError> {
        ordinary(number).map(TalkgroupId)
    }

    /// The number.
    pub const fn get(self) -> u32 {
        self.0
    }
}

impl fmt::Display for UnitId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(f)
    }
}

impl fmt::Display for TalkgroupId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(f)
    }
}

fn ordinary(number: i64) -> Result<u32, AddressError> {
    if number < 0 {
        return Err(AddressError::Negative);
    }
    let address = u32::try_from(number).map_err(|_| AddressError::TooWide)?;
    match address {
        0 => Err(AddressError::Zero),
        1..=HIGHEST_ORDINARY => Ok(address),
        ALL_CALL => Err(AddressError::AllCall),
        _ if address > HIGHEST_ADDRESS => Err(AddressError::TooWide),
        _ => Err(AddressError::Reserved { meaning: special_meaning(address) }),
    }
}

fn special_meaning(address: u32) -> &'static str {
    if let Some((_, name)) = NAMED_ADDRESSES.iter().find(|(at, _)| *at == address) {
        return name;
    }
    let range = SPECIAL_RANGES.iter().find(|it| (it.low..=it.high).contains(&address));
    range.map_or("special addresses", |it| it.meaning)
}

/// Tells apart systems that share a frequency, 0 to 15. It mutes; it does not protect from interference.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct ColorCode(u8);

impl ColorCode {
    /// A color code.
    ///
    /// # Errors
    /// [`AddressError::ColorCode`] outside 0 to 15.
    pub fn new(number: i64) -> Result<ColorCode, AddressError> {
        match u8::try_from(number) {
            Ok(code @ 0..=15) => Ok(ColorCode(code)),
            _ => Err(AddressError::ColorCode),
        }
    }

    /// The number.
    pub const fn get(self) -> u8 {
        self.0
    }

    /// Whether trunked systems read this code as "all sites" ([`ALL_SITES_SOURCE`]).
    pub const fn all_sites(self) -> bool {
        self.0 == 15
    }
}

impl fmt::Display for ColorCode {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(f)
    }
}

/// One of the two time slots of a carrier.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Slot {
    /// Slot 1.
    One,
    /// Slot 2.
    Two,
}

impl Slot {
    /// A slot by number.
    ///
    /// # Errors
    /// [`AddressError::Slot`] unless 1 or 2.
    pub fn new(number: i64) -> Result<Slot, AddressError> {
        match number {
            1 => Ok(Slot::One),
            2 => Ok(Slot::Two),
            _ => Err(AddressError::Slot),
        }
    }

    /// 1 or 2.
    pub const fn number(self) -> u8 {
        match self {
            Slot::One => 1,
            Slot::Two => 2,
        }
    }

    /// The other slot.
    pub const fn other(self) -> Slot {
        match self {
            Slot::One => Slot::Two,
            Slot::Two => Slot::One,
        }
    }
}

impl fmt::Display for Slot {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.number().fmt(f)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn bounds_by_the_standard() {
        // ETSI TS 102 361-1 annex A: 1 to 16776415 are ordinary, 24 bits in all.
        assert_eq!(HIGHEST_ORDINARY, 16_776_415);
        for good in [1, 16_776_415] {
            assert_eq!(UnitId::new(good).map(|it| i64::from(it.get())), Ok(good));
            assert_eq!(TalkgroupId::new(good).map(|it| i64::from(it.get())), Ok(good));
        }
        for (bad, error) in [
            (0, AddressError::Zero),
            (-1, AddressError::Negative),
            (16_776_416, AddressError::Reserved { meaning: "special addresses" }),
            (16_776_902, AddressError::Reserved { meaning: "REGI" }),
            (16_776_935, AddressError::Reserved { meaning: "custom gateway" }),
            (16_777_215, AddressError::AllCall),
            (16_777_216, AddressError::TooWide),
            (i64::MAX, AddressError::TooWide),
        ] {
            assert_eq!(UnitId::new(bad), Err(error), "{bad}");
            assert_eq!(TalkgroupId::new(bad), Err(error), "{bad}");
        }
    }

    #[test]
    fn named_identities_have_their_published_numbers() {
        // ETSI TS 102 361-4 identities.
        for (decimal, name) in [(16_776_896, "PSTNI"), (16_776_907, "DISPATI"), (16_776_916, "ALLMSI")] {
            assert!(NAMED_ADDRESSES.contains(&(decimal, name)));
        }
        assert!(NAMED_ADDRESSES.is_sorted() && SPECIAL_RANGES.is_sorted_by_key(|it| it.low));
        assert!(NAMED_ADDRESSES.iter().all(|(at, _)| SPECIAL_RANGES.iter().any(|it| (it.low..=it.high).contains(at))));
    }

    #[test]
    fn zero_rests_on_memory_and_the_bound_does_not() {
        assert!(!AddressError::Zero.basis().standing.supports_error());
        assert!(AddressError::TooWide.basis().standing.supports_error());
    }

    #[test]
    fn color_codes_and_slots() {
        // ETSI TS 102 361-1 table 9.18: four bits.
        assert!((0..=15).all(|it| ColorCode::new(it).is_ok()));
        assert_eq!(ColorCode::new(16), Err(AddressError::ColorCode));
        assert_eq!(ColorCode::new(-1), Err(AddressError::ColorCode));
        assert!(ColorCode::new(15).unwrap().all_sites() && !ColorCode::new(0).unwrap().all_sites());
        assert_eq!((Slot::new(1), Slot::new(2)), (Ok(Slot::One), Ok(Slot::Two)));
        assert_eq!((Slot::new(0), Slot::new(3)), (Err(AddressError::Slot), Err(AddressError::Slot)));
        assert_eq!(Slot::One.other().other(), Slot::One);
        assert_eq!((Slot::One.number(), Slot::One.other().number()), (1, 2));
    }

    #[test]
    fn shown_as_plain_numbers() {
        let shown = [
            UnitId::new(21_007).unwrap().to_string(),
            TalkgroupId::new(1_201).unwrap().to_string(),
            ColorCode::new(5).unwrap().to_string(),
            Slot::Two.to_string(),
        ];
        assert_eq!(shown, ["21007", "1201", "5", "2"]);
        assert_eq!(ColorCode::new(5).unwrap().get(), 5);
    }

    proptest! {
        #[test]
        fn accepted_exactly_in_the_ordinary_range(number: i64) {
            prop_assert_eq!(UnitId::new(number).is_ok(), (1..=16_776_415).contains(&number));
        }

        #[test]
        fn accepted_near_the_edges(number in 16_770_000_i64..16_780_000) {
            prop_assert_eq!(TalkgroupId::new(number).is_ok(), number <= 16_776_415);
        }
    }
}
