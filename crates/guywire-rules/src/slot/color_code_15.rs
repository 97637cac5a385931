use crate::finding::Anchor;
use crate::rule;
use crate::rule::AnyTable;
use guywire_plan::language::{channel, repeater};
use guywire_plan::{FieldPath, Known, Row};

rule! {
    /// A channel or repeater uses color code 15.
    ///
    /// A channel with a repeater is left out: the repeater's code is the one to change.
    ///
    /// ## On the air
    /// Systems with a control channel use 15 for all of their sites: radios near one may open to it, or it to them. In
    /// between, 15 works like any other code.
    ///
    /// ## Source
    /// ETSI TS 102 361-4, from memory.
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
    /// color_code = 15
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
    /// color_code = 14
    /// ```
    pub ColorCode15 = "color-code-15" { family: Slot, level: Warning, judged: PerFile, since: "0.1.0" }
    fn check(it: AnyTable, view, out) {
        let (code, field) = match (view.get::<channel::Table>(it), view.get::<repeater::Table>(it)) {
            (Some(channel), _) if channel.known(channel::repeater) == Known::Absent => {
                (channel.whole(channel::color_code), channel::color_code.number())
            }
            (_, Some(repeater)) => (repeater.whole(repeater::color_code), repeater::color_code.number()),
            _ => return,
        };
        if code != Known::Is(15) {
            return;
        }
        out.report(
            Anchor::Value(it, FieldPath::key(field)),
            format!("{} uses color code 15, which systems with a control channel use for all of their sites: its radios may open to theirs. Take another from 0 to 14", view.called(it)),
        );
    }
}
