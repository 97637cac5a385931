use crate::finding::{Anchor, Edit, Fix, Safety};
use crate::rule;
use crate::rule::Each;
use guywire_plan::language::{channel, repeater};
use guywire_plan::{FieldPath, Found, Known, Row};

rule! {
    /// A digital channel uses a repeater and writes another color code than the repeater's.
    ///
    /// Talk-around is looked at too: whoever listens to the repeater's output listens with its color code.
    ///
    /// ## On the air
    /// The repeater does not open for another color code, and receivers mute it: the call is heard by nobody.
    ///
    /// ## Source
    /// ETSI TS 102 361-1, color code (4 bits, 0 to 15).
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
    /// color_code = 5
    ///
    /// [[channel]]
    /// name = "Berths"
    /// sends = "digital"
    /// repeater = "beacon"
    /// color_code = 3
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
    /// color_code = 5
    ///
    /// [[channel]]
    /// name = "Berths"
    /// sends = "digital"
    /// repeater = "beacon"
    /// color_code = 5
    /// ```
    pub ColorCodeDiffersFromRepeater = "color-code-differs-from-repeater" {
        family: Slot, level: Error, judged: PerPlan, since: "0.1.0", fix: Some(Safety::Choice),
    }
    fn check(it: Each<channel::Table>, view, out) {
        let (Known::Is(own), Known::Is(name)) = (it.whole(channel::color_code), it.text(channel::repeater)) else { return };
        let Found::One(repeater) = view.find::<repeater::Table>(it.id(), name) else { return };
        let Known::Is(wanted) = repeater.whole(repeater::color_code) else { return };
        if own == wanted {
            return;
        }
        let repeater_name = view.symbol(name);
        let path = FieldPath::key(channel::color_code.number());
        out.report(
            Anchor::Value(it.id(), path),
            format!(
                "{} sends color code {own}, but repeater \"{repeater_name}\" opens for {wanted} only: it stays shut, and the call is heard by nobody. Write {wanted}, or take the key out and the repeater's counts",
                view.called(it.id()),
            ),
        )
        .about(&own)
        .about(&wanted)
        .related(
            Anchor::Value(repeater.id(), FieldPath::key(repeater::color_code.number())),
            format!("repeater \"{repeater_name}\" has color code {wanted}"),
        )
        .fix(|| {
            Some(Fix {
                title: format!("Write color code {wanted}, as repeater \"{repeater_name}\"{}", view.touching(it.id())),
                safety: Safety::Choice,
                edits: vec![Edit::Set(it.id(), path, wanted.to_string())],
            })
        });
    }
}
