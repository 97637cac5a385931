use crate::finding::Anchor;
use crate::rule;
use crate::rule::Each;
use guywire_plan::language::{capacity, zone};
use guywire_plan::{FieldPath, Known, Row};

rule! {
    /// A zone has more positions than the knob of a radio model that holds the zone.
    ///
    /// Empty positions count: they take a click of the knob. Looked at for each model of the radios that hold the zone.
    ///
    /// ## On the air
    /// The positions past the last click cannot be selected: whoever needs that channel cannot reach it, or the radio
    /// refuses the whole plan when it is loaded.
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
    /// name = "Berths"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    ///
    /// [[zone]]
    /// name = "Harbor"
    /// channels = ["Berths", "", ""]
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    /// model = "models/hh-uhf.model.toml"
    ///
    /// [[channel]]
    /// name = "Berths"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    ///
    /// [[zone]]
    /// name = "Harbor"
    /// channels = ["Berths", ""]
    /// ```
    ///
    /// ## Beside
    /// ```toml models/hh-uhf.model.toml
    /// [model]
    /// name = "hh-uhf"
    ///
    /// [capacity]
    /// channels_per_zone = 2
    /// ```
    pub ZoneOverCapacity = "zone-over-capacity" { family: Zone, level: Error, judged: PerPlan, since: "0.1.0" }
    fn check(it: Each<zone::Table>, view, out) {
        let Known::Is(positions) = it.list(zone::channels) else { return };
        for model in view.zone_models(it.id()) {
            let Some(capacity) = view.file_of(model.id()).and_then(|file| view.only::<capacity::Table>(file)) else { continue };
            let Known::Is(most) = capacity.whole(capacity::channels_per_zone) else { continue };
            let Some(first_over) = usize::try_from(most).ok().filter(|most| positions.len() > *most) else { continue };
            let name = model.name().unwrap_or("the model");
            out.report(
                Anchor::Value(it.id(), FieldPath::key(zone::channels.number()).then(first_over)),
                format!(
                    "{} has {} positions, and the knob of {name} has {most}: from here on nothing can be selected. Move these channels to another zone",
                    view.called(it.id()),
                    positions.len(),
                ),
            )
            .about(name)
            .related(
                Anchor::Value(capacity.id(), FieldPath::key(capacity::channels_per_zone.number())),
                format!("{name} has {most} positions in a zone"),
            );
        }
    }
}
