use super::lists::{by_width, list_of, listed};
use crate::rule;
use crate::rule::AnyTable;
use guywire_plan::language::Kind;

rule! {
    /// Two channels of one zone, or two zones of one radio, show the same: their names differ only past the last character
    /// that the model's display has.
    ///
    /// ## On the air
    /// Whoever reads the display cannot tell them apart, and calls on the wrong one.
    ///
    /// ## Source
    /// The model's data sheet, as written in its model file.
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    /// model = "models/hh-uhf.model.toml"
    ///
    /// [[channel]]
    /// name = "Lock keeper 1"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    ///
    /// [[channel]]
    /// name = "Lock keeper 2"
    /// sends = "digital"
    /// rx_mhz = 453.4625
    ///
    /// [[zone]]
    /// name = "Harbor"
    /// channels = ["Lock keeper 1", "Lock keeper 2"]
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    /// model = "models/hh-uhf-wide.model.toml"
    ///
    /// [[channel]]
    /// name = "Lock keeper 1"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    ///
    /// [[channel]]
    /// name = "Lock keeper 2"
    /// sends = "digital"
    /// rx_mhz = 453.4625
    ///
    /// [[zone]]
    /// name = "Harbor"
    /// channels = ["Lock keeper 1", "Lock keeper 2"]
    /// ```
    ///
    /// ## Beside
    /// ```toml models/hh-uhf.model.toml
    /// [model]
    /// name = "hh-uhf"
    ///
    /// [capacity]
    /// name_characters = 12
    /// ```
    ///
    /// ```toml models/hh-uhf-wide.model.toml
    /// [model]
    /// name = "hh-uhf-wide"
    ///
    /// [capacity]
    /// name_characters = 16
    /// ```
    pub NamesLookAlike = "names-look-alike" { family: Zone, level: Error, judged: PerPlan, since: "0.1.0" }
    fn check(it: AnyTable, view, out) {
        if !matches!(view.kind(it), Kind::Zone | Kind::Profile | Kind::Radio | Kind::Plan) {
            return;
        }
        let Some(list) = list_of(view, it) else { return };
        for (most, models) in by_width(view, &list.models) {
            let models = listed(models);
            for (look, names) in list.alike(view, most) {
                let all: Vec<String> = names.keys().map(|name| format!("\"{name}\"")).collect();
                let Some((_, at)) = names.iter().next_back() else { continue };
                let message = format!(
                    "{} read \"{look}\" on {models}, which shows {most} characters: whoever reads the display calls on the wrong one. Put what tells them apart first",
                    all.join(" and "),
                );
                let mut found = out.report(*at, message).about(&all).about(&models);
                for (name, other) in names.iter().filter(|(_, other)| *other != at) {
                    found = found.related(*other, format!("\"{name}\" reads \"{look}\" too"));
                }
            }
        }
    }
}
