use super::offset::{Offset, offset};
use crate::finding::{Anchor, Edit, Fix, Safety};
use crate::rule;
use crate::rule::AnyTable;
use guywire_plan::language::{channel, repeater};
use guywire_plan::{FieldPath, Row, View};

rule! {
    /// A channel or a repeater has the two frequencies of a published pair the wrong way round.
    ///
    /// Looked at where the plan or the channel names a built-in service that publishes pairs, for each model of the
    /// radios that hold the channel: a handheld or mobile radio sends on the input, a repeater on the output, and a base
    /// station on either. Where the licenses assign the frequencies so, nothing is said. A channel that takes its pair
    /// from a repeater is reported there.
    ///
    /// ## On the air
    /// The radio sends where it should listen: it disturbs those who listen to the output, opens no repeater and hears
    /// none.
    ///
    /// ## Source
    /// 47 CFR 95.1763 (general mobile), 90.20, 90.35, 90.311, 90.715 (land mobile), 80.871 (maritime). The license and
    /// the rules in force decide.
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    /// model = "models/uhf.model.toml"
    /// regime = "us-part-90"
    ///
    /// [[license]]
    /// name = "harbor-uhf"
    ///
    /// [[channel]]
    /// name = "Berths"
    /// sends = "digital"
    /// rx_mhz = 458.2125
    /// tx_mhz = 453.2125
    /// ```
    ///
    /// ```toml models/uhf.model.toml
    /// [model]
    /// name = "uhf"
    /// kind = "handheld"
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    /// model = "models/uhf.model.toml"
    /// regime = "us-part-90"
    ///
    /// [[license]]
    /// name = "harbor-uhf"
    ///
    /// [[channel]]
    /// name = "Berths"
    /// sends = "digital"
    /// rx_mhz = 458.2125
    /// tx_mhz = 453.2125
    /// ```
    ///
    /// ```toml models/uhf.model.toml
    /// [model]
    /// name = "uhf"
    /// kind = "base"
    /// ```
    pub OffsetReversed = "offset-reversed" {
        family: Band, level: Warning, judged: PerPlan, since: "0.1.0", fix: Some(Safety::Choice),
    }
    fn check(it: AnyTable, view, out) {
        let Some(found) = offset(view, it).filter(|found| found.is_reversed) else { return };
        let Offset { sends, receives, at, convention, model, .. } = &found;
        let who = model.as_deref().map_or_else(String::new, |model| format!(" for {model}"));
        let wrong = if model.is_some() {
            "it disturbs those who listen there, and opens no repeater"
        } else {
            "radios that go by the published pair neither open it nor hear it"
        };
        out.report(
            Anchor::Value(it, *at),
            format!(
                "{} sends on {sends} and receives on {receives} MHz, the wrong way round{who} ({}): {wrong}. Exchange the two, unless your license has them so",
                view.called(it),
                convention.source.cite,
            ),
        )
        .about(&sends.0)
        .about(&receives.0)
        .fix(|| exchange(view, &found));
    }
}

/// Writes each frequency in the place of the other, where both are written.
fn exchange(view: View<'_>, found: &Offset) -> Option<Fix> {
    let (rx, tx) = match view.get::<channel::Table>(found.id) {
        Some(it) => it.has(channel::rx_mhz).then_some((channel::rx_mhz.number(), channel::tx_mhz.number()))?,
        None => (repeater::rx_mhz.number(), repeater::tx_mhz.number()),
    };
    let (sends, receives) = (found.sends, found.receives);
    Some(Fix {
        title: format!("Receive on {sends} and send on {receives} MHz{}", view.touching(found.id)),
        safety: Safety::Choice,
        edits: vec![
            Edit::Set(found.id, FieldPath::key(rx), sends.mhz_text()),
            Edit::Set(found.id, FieldPath::key(tx), receives.mhz_text()),
        ],
    })
}
