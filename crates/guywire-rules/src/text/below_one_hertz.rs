use super::values::each_unread;
use crate::finding::{Anchor, Edit, Fix, Safety};
use crate::rule;
use crate::rule::AnyTable;
use guywire_plan::language::{Kind, Type};
use guywire_plan::{FieldPath, Stored};

rule! {
    /// A frequency is written with digits below one hertz.
    ///
    /// It is read rounded to the nearest hertz, halves up.
    ///
    /// ## On the air
    /// No synthesizer of a land-mobile radio can set them, and its stability is hundreds of hertz: such digits come from a
    /// slip of the pen or of a conversion, and another digit may be wrong too.
    ///
    /// ## Source
    /// The plan language (docs/language.md). Frequency stability of a few parts in a million: ETSI EN 300 086, from memory.
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[channel]]
    /// name = "Berths"
    /// sends = "digital"
    /// rx_mhz = 453.21250004
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
    /// ```
    pub BelowOneHertz = "below-one-hertz" {
        family: Text, level: Warning, judged: PerFile, since: "0.1.0", fix: Some(Safety::Safe),
    }
    fn check(it: AnyTable, view, out) {
        if view.kind(it) == Kind::Unknown {
            return;
        }
        let Some(record) = view.whole(it) else { return };
        each_unread(record, view, &FieldPath::default(), &mut |held| {
            let Stored::Rounded(hertz) = held.value else { return };
            let (read, unit) = match held.form {
                Type::Kilohertz => (hertz.khz_text(), "kHz"),
                _ => (hertz.mhz_text(), "MHz"),
            };
            let message = format!(
                "`{}` has digits below 1 Hz, which no radio can set: it is read as {read} {unit}. Look at the other digits too, and write what is meant",
                held.name,
            );
            out.report(Anchor::Value(it, held.path), message).about(held.name).about(&hertz.0).fix(|| {
                view.text_for_fix(it, &held.path)?;
                Some(Fix {
                    title: format!("Write `{read}`"),
                    safety: Safety::Safe,
                    edits: vec![Edit::Set(it, held.path, read)],
                })
            });
        });
    }
}
