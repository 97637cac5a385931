use crate::finding::Anchor;
use crate::range::out_of_range;
use crate::rule;
use crate::rule::AnyTable;
use guywire_plan::FieldPath;
use guywire_plan::language::Kind;
use guywire_radio::address::HIGHEST_ORDINARY;

const ADDRESSED: [Kind; 5] = [Kind::Talkgroup, Kind::Contact, Kind::Radio, Kind::Repeater, Kind::Station];

rule! {
    /// The number of a talkgroup, contact, radio, repeater or station does not fit the 24 bits of an address.
    ///
    /// ## On the air
    /// There is no such address: the radio refuses the number or cuts it to 24 bits, and then calls, or answers for,
    /// somebody else.
    ///
    /// ## Source
    /// ETSI TS 102 361-1, annex A: 24-bit addresses.
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[radio]]
    /// alias = "Crane 2"
    /// id = 16777216
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[radio]]
    /// alias = "Crane 2"
    /// id = 21007
    /// ```
    pub AddressRange = "address-range" { family: Group, level: Error, judged: PerFile, reads: Whole, since: "0.1.0" }
    fn check(it: AnyTable, view, out) {
        if !ADDRESSED.contains(&view.kind(it)) {
            return;
        }
        let Some(record) = view.whole(it) else { return };
        for name in ["id", "ids"] {
            out_of_range(record, name, &FieldPath::default(), &mut |path| {
                out.report(
                    Anchor::Value(it, path),
                    format!(
                        "{} has an address that 24 bits do not hold: no radio can send it, and one that takes it answers for somebody else. Use 1 to {HIGHEST_ORDINARY}",
                        view.called(it),
                    ),
                );
            });
        }
    }
}
