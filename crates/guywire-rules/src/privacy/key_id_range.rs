use crate::finding::Anchor;
use crate::range::out_of_range;
use crate::rule;
use crate::rule::Each;
use guywire_plan::FieldPath;
use guywire_plan::language::key;

rule! {
    /// The number of a key is not one from 1 to 255.
    ///
    /// ## On the air
    /// Receivers find the key by this number, and eight bits carry it: the radio refuses another, or cuts it, and then
    /// nobody finds the key.
    ///
    /// ## Source
    /// An industry interoperability profile, from memory; ETSI defines no cipher. The range is that of the plan
    /// language (docs/language.md).
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[key]]
    /// name = "harbor-2026"
    /// id = 256
    /// algorithm = "aes-256"
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
    pub KeyIdRange = "key-id-range" { family: Privacy, level: Error, judged: PerFile, reads: Whole, since: "0.1.0" }
    fn check(it: Each<key::Table>, view, out) {
        let Some(record) = view.whole(it.id()) else { return };
        out_of_range(record, "id", &FieldPath::default(), &mut |path| {
            out.report(
                Anchor::Value(it.id(), path),
                format!("{} has a number outside 1 to 255: no radio can send it, so receivers do not find the key. Write a number from 1 to 255", view.called(it.id())),
            );
        });
    }
}
