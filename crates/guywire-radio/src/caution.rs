//! The cautions that stand beside computed values: one sentence each, in one place.

use std::fmt;

/// What a reader must know before leaning on a computed value.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Caution {
    /// Beside distances of exposure.
    Exposure,
    /// Beside what a license or a service permits.
    License,
    /// Beside keys and scrambling.
    Privacy,
    /// Beside a fixed scramble.
    Scramble,
    /// Beside emergency set-ups.
    Emergency,
    /// Beside frequencies kept for distress and safety.
    Distress,
    /// Beside tones and codes.
    Tone,
    /// Beside path loss, horizon and expected levels.
    Estimate,
    /// Beside readings of power.
    Bench,
}

impl Caution {
    /// Every caution.
    pub const ALL: [Caution; 9] = [
        Caution::Exposure,
        Caution::License,
        Caution::Privacy,
        Caution::Scramble,
        Caution::Emergency,
        Caution::Distress,
        Caution::Tone,
        Caution::Estimate,
        Caution::Bench,
    ];

    /// The sentence.
    pub const fn sentence(self) -> &'static str {
        match self {
            Caution::Exposure => {
                "A far-field estimate, not an exposure evaluation (hand-held radios against the body are judged by absorption): local codes and a licensed practitioner decide."
            }
            Caution::License => {
                "A computed check is no license and no coordination: hold your own license before you transmit, and let it decide over this file."
            }
            Caution::Privacy => {
                "Keys keep listeners out only as long as their material is kept out of plans, messages and mail."
            }
            Caution::Scramble => "Fixed scrambling keeps out casual listeners only.",
            Caution::Emergency => {
                "Nobody is obliged to listen, and radio can fail: do not rest a life on this alone, and tell everyone before a test."
            }
            Caution::Distress => "Kept for distress and safety: never transmit here to test.",
            Caution::Tone => {
                "A tone or code mutes the loudspeaker: it keeps nobody from listening and no carrier from interfering."
            }
            Caution::Estimate => {
                "Over smooth ground without obstacles: terrain, buildings and trees take more, so a field trial decides."
            }
            Caution::Bench => "Transmit into a dummy load that stands the power.",
        }
    }
}

impl fmt::Display for Caution {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.sentence())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_is_one_sentence() {
        for caution in Caution::ALL {
            let sentence = caution.to_string();
            assert!(sentence.ends_with('.') && sentence.matches(". ").count() == 0, "{sentence}");
            assert!(sentence.len() < 180, "{sentence}");
        }
    }
}
