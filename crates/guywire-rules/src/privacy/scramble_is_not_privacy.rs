use crate::finding::Anchor;
use crate::rule;
use crate::rule::Each;
use guywire_plan::FieldPath;
use guywire_plan::language::key;
use guywire_radio::Caution;
use guywire_radio::key::KeyAlgorithm;

rule! {
    /// A key is for a fixed scramble.
    ///
    /// ## On the air
    /// It turns speech around in one of a few fixed ways: whoever has the same kind of radio tries them all in minutes. It
    /// keeps out casual listeners only.
    ///
    /// ## Source
    /// No standard of ETSI; from memory. What may be protected at all, and how, local rules decide.
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[key]]
    /// name = "harbor-2026"
    /// id = 17
    /// algorithm = "fixed-scramble"
    ///
    /// [[channel]]
    /// name = "Berths"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    /// privacy = "harbor-2026"
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[key]]
    /// name = "harbor-2026"
    /// id = 17
    /// algorithm = "aes-256"
    ///
    /// [[channel]]
    /// name = "Berths"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    /// privacy = "harbor-2026"
    /// ```
    pub ScrambleIsNotPrivacy = "scramble-is-not-privacy" {
        family: Privacy, level: Information, judged: PerFile, since: "0.1.0",
    }
    fn check(it: Each<key::Table>, view, out) {
        if super::algorithm(view, it) != Some(KeyAlgorithm::FixedScramble) {
            return;
        }
        out.report(
            Anchor::Value(it.id(), FieldPath::key(key::algorithm.number())),
            format!("{} is a fixed scramble. {} Do not rely on it for what must stay private", view.called(it.id()), Caution::Scramble),
        );
    }
}
