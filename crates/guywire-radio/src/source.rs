//! Where a value comes from, and how far it may be trusted.

use std::borrow::Cow;
use std::fmt;

/// How well a value is established. Only some standings may carry an error-level claim.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Standing {
    /// Read in the named standard or regulation, or in a faithful extract of it.
    Confirmed,
    /// Seen in a summary or quotation of the named rule; the clause itself was not read.
    Secondary,
    /// Follows by arithmetic from definitions; nothing to look up.
    Computed,
    /// General knowledge of the trade, not checked against a text.
    Memory,
    /// A convention: neither law nor standard.
    CommonPractice,
}

impl Standing {
    /// Whether a finding that rests on this value alone may be an error.
    pub const fn supports_error(self) -> bool {
        matches!(self, Standing::Confirmed | Standing::Secondary | Standing::Computed)
    }
}

impl fmt::Display for Standing {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Standing::Confirmed => "confirmed",
            Standing::Secondary => "confirmed, secondary",
            Standing::Computed => "computed",
            Standing::Memory => "from memory",
            Standing::CommonPractice => "common practice",
        })
    }
}

/// A published source and its standing. `Display` is what a message or a hover shows.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct Source {
    /// Document and section, such as `47 CFR 95.563`.
    pub cite: Cow<'static, str>,
    /// How well the value is established there.
    pub standing: Standing,
}

impl Source {
    const fn of(cite: &'static str, standing: Standing) -> Source {
        Source { cite: Cow::Borrowed(cite), standing }
    }

    /// Read in `cite`.
    pub const fn confirmed(cite: &'static str) -> Source {
        Source::of(cite, Standing::Confirmed)
    }

    /// Seen in a quotation or summary of `cite`.
    pub const fn secondary(cite: &'static str) -> Source {
        Source::of(cite, Standing::Secondary)
    }

    /// Follows from `cite` by arithmetic.
    pub const fn computed(cite: &'static str) -> Source {
        Source::of(cite, Standing::Computed)
    }

    /// Believed to stand in `cite`, not checked.
    pub const fn memory(cite: &'static str) -> Source {
        Source::of(cite, Standing::Memory)
    }

    /// A convention of the trade without a published source.
    pub const fn common_practice() -> Source {
        Source::of("common practice, no source", Standing::CommonPractice)
    }
}

impl fmt::Display for Source {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.standing {
            Standing::Memory => write!(f, "{} (from memory)", self.cite),
            _ => f.write_str(&self.cite),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn memory_and_practice_never_carry_an_error() {
        assert!(Standing::Confirmed.supports_error() && Standing::Secondary.supports_error());
        assert!(!Standing::Memory.supports_error() && !Standing::CommonPractice.supports_error());
    }

    #[test]
    fn display_admits_memory() {
        assert_eq!(Source::memory("47 CFR 90.205").to_string(), "47 CFR 90.205 (from memory)");
        assert_eq!(Source::confirmed("47 CFR 95.563").to_string(), "47 CFR 95.563");
        assert_eq!(Source::common_practice().to_string(), "common practice, no source");
    }
}
