use crate::finding::Anchor;
use crate::range::out_of_range;
use crate::rule;
use crate::rule::AnyTable;
use guywire_plan::FieldPath;
use guywire_plan::language::Kind;

rule! {
    /// A color code is no number from 0 to 15.
    ///
    /// ## On the air
    /// There is no such code: four bits carry it. The radio refuses the value or cuts it to four bits, and then sends
    /// another code than is written here.
    ///
    /// ## Source
    /// ETSI TS 102 361-1, table 9.18: color code, 4 bits.
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[channel]]
    /// name = "Berths"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    /// color_code = 16
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[channel]]
    /// name = "Berths"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    /// color_code = 6
    /// ```
    pub ColorCodeRange = "color-code-range" { family: Slot, level: Error, judged: PerFile, reads: Whole, since: "0.1.0" }
    fn check(it: AnyTable, view, out) {
        if !matches!(view.kind(it), Kind::Channel | Kind::Repeater) {
            return;
        }
        let Some(record) = view.whole(it) else { return };
        out_of_range(record, "color_code", &FieldPath::default(), &mut |path| {
            out.report(
                Anchor::Value(it, path),
                format!("{} has a color code outside 0 to 15: no radio can send it, and one that takes it sends another. Write a number from 0 to 15", view.called(it)),
            );
        });
    }
}
