use crate::finding::{Anchor, Edit, Fix, Safety};
use crate::rule;
use crate::rule::Each;
use guywire_plan::language::{channel, repeater};
use guywire_plan::{FieldPath, Known, Row};
use guywire_radio::Hertz;

/// Width of a repeater's channel where it writes none (ETSI TS 102 361-1).
const USUAL: Hertz = Hertz(12_500);

rule! {
    /// A channel uses a repeater and writes another bandwidth than the repeater's; where the repeater writes none, it
    /// is 12.5 kHz wide.
    ///
    /// ## On the air
    /// Wide into narrow is distorted and clipped by the squelch at every loud word; narrow into wide is faint. Digital
    /// between the two widths may not be understood at all.
    ///
    /// ## Source
    /// ETSI TS 102 361-1: 12.5 kHz channels. The rest: common practice, no source.
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[repeater]]
    /// name = "north mole"
    /// tx_mhz = 464.7375
    /// rx_mhz = 469.7375
    /// mode = "analog"
    /// bandwidth_khz = 12.5
    ///
    /// [[channel]]
    /// name = "Marina"
    /// sends = "analog"
    /// repeater = "north mole"
    /// bandwidth_khz = 25
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[repeater]]
    /// name = "north mole"
    /// tx_mhz = 464.7375
    /// rx_mhz = 469.7375
    /// mode = "analog"
    /// bandwidth_khz = 12.5
    ///
    /// [[channel]]
    /// name = "Marina"
    /// sends = "analog"
    /// repeater = "north mole"
    /// bandwidth_khz = 12.5
    /// ```
    pub NarrowWideMismatch = "narrow-wide-mismatch" {
        family: Slot, level: Warning, judged: PerPlan, since: "0.1.0", fix: Some(Safety::Choice),
    }
    fn check(it: Each<channel::Table>, view, out) {
        let Known::Is(own) = it.frequency(channel::bandwidth_khz) else { return };
        let Known::Is(repeater) = view.repeater_of(it) else { return };
        let Known::Is(wanted) = repeater.frequency(repeater::bandwidth_khz).or_value(USUAL) else { return };
        if own == wanted {
            return;
        }
        let name = repeater.name().unwrap_or_default();
        let (own, wanted, is_wide) = (own.khz_text(), wanted.khz_text(), own > wanted);
        let what = if is_wide { "its speech comes out distorted and clipped" } else { "its speech comes out faint" };
        let path = FieldPath::key(channel::bandwidth_khz.number());
        out.report(
            Anchor::Value(it.id(), path),
            format!(
                "{} is {own} kHz wide, and repeater \"{name}\" {wanted} kHz: {what}. Write {wanted}, or take the key out and the repeater's counts",
                view.called(it.id()),
            ),
        )
        .about(&own)
        .about(&wanted)
        .related(Anchor::Value(repeater.id(), FieldPath::key(repeater::bandwidth_khz.number())), format!("repeater \"{name}\" is {wanted} kHz wide"))
        .fix(|| {
            Some(Fix {
                title: format!("Write {wanted} kHz, as repeater \"{name}\"{}", view.touching(it.id())),
                safety: Safety::Choice,
                edits: vec![Edit::Set(it.id(), path, wanted)],
            })
        });
    }
}
