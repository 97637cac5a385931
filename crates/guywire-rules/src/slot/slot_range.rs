use crate::finding::Anchor;
use crate::range::out_of_range;
use crate::rule;
use crate::rule::AnyTable;
use guywire_plan::FieldPath;
use guywire_plan::language::Kind;

rule! {
    /// A time slot is neither 1 nor 2.
    ///
    /// ## On the air
    /// There are two slots. The radio refuses the value, or falls back to a slot that nobody chose.
    ///
    /// ## Source
    /// ETSI TS 102 361-1: two time slots of 30 ms.
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[repeater]]
    /// name = "beacon"
    /// tx_mhz = 453.2125
    /// rx_mhz = 458.2125
    ///
    /// [[channel]]
    /// name = "Berths"
    /// sends = "digital"
    /// repeater = "beacon"
    /// slot = 3
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[repeater]]
    /// name = "beacon"
    /// tx_mhz = 453.2125
    /// rx_mhz = 458.2125
    ///
    /// [[channel]]
    /// name = "Berths"
    /// sends = "digital"
    /// repeater = "beacon"
    /// slot = 2
    /// ```
    pub SlotRange = "slot-range" { family: Slot, level: Error, judged: PerFile, reads: Whole, since: "0.1.0" }
    fn check(it: AnyTable, view, out) {
        if !matches!(view.kind(it), Kind::Channel | Kind::Network) {
            return;
        }
        let Some(record) = view.whole(it) else { return };
        out_of_range(record, "slot", &FieldPath::default(), &mut |path| {
            out.report(
                Anchor::Value(it, path),
                format!("{} has a slot other than 1 and 2: there is no such slot, so the radio refuses it or uses one that nobody chose. Write 1 or 2", view.called(it)),
            );
        });
    }
}
