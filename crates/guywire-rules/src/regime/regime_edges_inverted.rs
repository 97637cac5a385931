use crate::finding::{Anchor, Edit, Fix, Safety};
use crate::rule;
use crate::rule::AnyTable;
use guywire_plan::language::{regime__band as band, regime__pair as pair};
use guywire_plan::{FieldPath, Known, Row};

rule! {
    /// A band of a radio service, or the outputs of a pair, begin at or above where they end.
    ///
    /// ## On the air
    /// Nothing, but no frequency is inside, so no plan can be checked against the service: what it forbids is not reported.
    ///
    /// ## Source
    /// The plan language (docs/language.md).
    ///
    /// ## Bad
    /// ```toml quay.regime.toml
    /// [regime]
    /// name = "saltmarsh-quay"
    ///
    /// [[band]]
    /// low_mhz = 454.0
    /// high_mhz = 453.0
    /// ```
    ///
    /// ## Good
    /// ```toml quay.regime.toml
    /// [regime]
    /// name = "saltmarsh-quay"
    ///
    /// [[band]]
    /// low_mhz = 454.0
    /// high_mhz = 455.0
    /// ```
    pub RegimeEdgesInverted = "regime-edges-inverted" {
        family: Regime, level: Error, judged: PerFile, since: "0.1.0", fix: Some(Safety::Choice),
    }
    fn check(it: AnyTable, view, out) {
        let (low, high, low_at, high_at, what) = if let Some(band) = view.get::<band::Table>(it) {
            let fields = (band::low_mhz.number(), band::high_mhz.number());
            (band.frequency(band::low_mhz), band.frequency(band::high_mhz), fields.0, fields.1, "the band")
        } else if let Some(pair) = view.get::<pair::Table>(it) {
            let fields = (pair::output_low_mhz.number(), pair::output_high_mhz.number());
            let edges = (pair.frequency(pair::output_low_mhz), pair.frequency(pair::output_high_mhz));
            (edges.0, edges.1, fields.0, fields.1, "the range of outputs")
        } else {
            return;
        };
        let (Known::Is(low), Known::Is(high)) = (low, high) else { return };
        // One pair alone is a range of one output.
        if low < high || (low == high && what != "the band") {
            return;
        }
        let (low_at, high_at) = (FieldPath::key(low_at), FieldPath::key(high_at));
        let found = out
            .report(
                Anchor::Value(it, low_at),
                format!(
                    "{what} begins at {low} MHz and ends at {high} MHz: no frequency is inside, so no plan is checked against the service. Swap the edges, or correct them"
                ),
            )
            .about(&low.0)
            .about(&high.0);
        if low == high {
            return;
        }
        found.fix(|| {
            Some(Fix {
                title: format!("Swap the edges: {high} to {low} MHz"),
                safety: Safety::Choice,
                edits: vec![Edit::Set(it, low_at, high.mhz_text()), Edit::Set(it, high_at, low.mhz_text())],
            })
        });
    }
}
