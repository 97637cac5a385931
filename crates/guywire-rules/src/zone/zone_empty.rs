use crate::finding::Anchor;
use crate::rule;
use crate::rule::Each;
use guywire_plan::language::zone;
use guywire_plan::{FieldPath, Known, Row, Stored};

rule! {
    /// A zone has no channel: its list is empty, or every position of it is.
    ///
    /// ## On the air
    /// Whoever turns to this zone hears nothing and calls nobody, whatever the knob is on.
    ///
    /// ## Source
    /// Common practice, no source.
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
    ///
    /// [[zone]]
    /// name = "Water"
    /// channels = ["Berths"]
    ///
    /// [[zone]]
    /// name = "Harbor"
    /// channels = [""]
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
    ///
    /// [[zone]]
    /// name = "Water"
    /// channels = ["Berths"]
    ///
    /// [[zone]]
    /// name = "Harbor"
    /// channels = ["Berths"]
    /// ```
    pub ZoneEmpty = "zone-empty" { family: Zone, level: Warning, judged: PerFile, since: "0.1.0" }
    fn check(it: Each<zone::Table>, view, out) {
        let Known::Is(elements) = it.list(zone::channels) else { return };
        let empty = |value: &Stored| matches!(value, Stored::Text(name) if view.symbol(*name).is_empty());
        if !elements.iter().all(|element| empty(&element.value)) {
            return;
        }
        out.report(
            Anchor::Value(it.id(), FieldPath::key(zone::channels.number())),
            format!(
                "{} has no channel: whoever turns to it hears nothing and calls nobody. Put channels in it, or take it out",
                view.called(it.id()),
            ),
        );
    }
}
