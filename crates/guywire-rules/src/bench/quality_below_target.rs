use crate::finding::Anchor;
use crate::rule;
use crate::rule::Each;
use guywire_plan::language::{Field, field, requirements, trial};
use guywire_plan::{FieldPath, Known, Ref, Row, View};

rule! {
    /// A transmission was heard in a trial with less quality than the plan requires.
    ///
    /// Held against `quality_at_least_daq` of the plan that the field session names, there and back.
    ///
    /// ## On the air
    /// Messages have to be repeated from there, or are misunderstood.
    ///
    /// ## Source
    /// Delivered audio quality is that of TIA TSB-88; the target is the plan's own.
    ///
    /// ## Bad
    /// ```toml 2026-11-05.field.toml
    /// [field]
    /// date = 2026-11-05
    /// plan = "harbor.plan.toml"
    ///
    /// [[trial]]
    /// channel = "Berths"
    /// heard = true
    /// daq = 2.0
    /// ```
    ///
    /// ## Good
    /// ```toml 2026-11-05.field.toml
    /// [field]
    /// date = 2026-11-05
    /// plan = "harbor.plan.toml"
    ///
    /// [[trial]]
    /// channel = "Berths"
    /// heard = true
    /// daq = 3.4
    /// ```
    ///
    /// ## Beside
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[channel]]
    /// name = "Berths"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    ///
    /// [requirements]
    /// quality_at_least_daq = 3.0
    /// ```
    pub QualityBelowTarget = "quality-below-target" {
        family: Bench, level: Warning, judged: PerFile, since: "0.1.0",
    }
    fn check(it: Each<trial::Table>, view, out) {
        if it.truth(trial::heard) != Known::Is(true) {
            return;
        }
        let Some(wanted) = wanted(view, it) else { return };
        for (field, what) in [(trial::daq, "it"), (trial::daq_back, "the answer")] {
            let Known::Is(daq) = it.number(field) else { continue };
            if daq >= wanted {
                continue;
            }
            let channel = it.text(trial::channel).value().map(|name| view.symbol(name)).unwrap_or_default();
            let message = format!(
                "{what} was heard on \"{channel}\" with a quality of {daq}, and the plan requires {wanted}: messages from there have to be repeated. Raise an antenna, use a repeater, or keep the work nearer",
            );
            out.report(at(it, field), message).about(channel);
        }
    }
}

fn at(it: Ref<'_, trial::Table>, field: Field<trial::Table>) -> Anchor {
    Anchor::Value(it.id(), FieldPath::key(field.number()))
}

/// The quality that the plan of a trial's session requires.
fn wanted<'v>(view: View<'v>, it: Ref<'v, trial::Table>) -> Option<f64> {
    let session = view.get::<field::Table>(view.main(view.file_of(it.id())?)?)?;
    let plan = session.file(field::plan).value()?;
    let all = view.at(plan).all::<requirements::Table>();
    let [only] = all.as_slice() else { return None };
    only.number(requirements::quality_at_least_daq).value()
}
