use crate::finding::{Anchor, Sink};
use crate::rule;
use crate::rule::AnyTable;
use guywire_plan::language::{model, profile, radio};
use guywire_plan::{EntityId, FieldPath, Known, Ref, Row, Stored, View};

rule! {
    /// Radios are to raise an alarm when they lie still, and their model has no sensor for that.
    ///
    /// A data sheet that says nothing of sensors is left alone.
    ///
    /// ## On the air
    /// Nothing: somebody falls, and no alarm goes out.
    ///
    /// ## Source
    /// The model's data sheet.
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    /// model = "models/hh-uhf.model.toml"
    ///
    /// [[profile]]
    /// name = "quay"
    /// man_down = { tilt_deg = 60, still_s = 20, warn_s = 10 }
    ///
    /// [[radio]]
    /// id = 21007
    /// profile = "quay"
    /// ```
    /// ```toml models/hh-uhf.model.toml
    /// [model]
    /// name = "hh-uhf"
    /// sensors = []
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    /// model = "models/hh-uhf.model.toml"
    ///
    /// [[profile]]
    /// name = "quay"
    /// man_down = { tilt_deg = 60, still_s = 20, warn_s = 10 }
    ///
    /// [[radio]]
    /// id = 21007
    /// profile = "quay"
    /// ```
    /// ```toml models/hh-uhf.model.toml
    /// [model]
    /// name = "hh-uhf"
    /// sensors = ["man-down"]
    /// ```
    pub ManDownNotSupported = "man-down-not-supported" {
        family: Controls, level: Error, judged: PerPlan, since: "0.1.0",
    }
    fn check(it: AnyTable, view, out) {
        if let Some(profile) = view.get::<profile::Table>(it).filter(|profile| profile.has(profile::man_down)) {
            judge(view, it, profile::man_down.number(), &view.profile_models(profile.id()), out);
        }
        if let Some(radio) = view.get::<radio::Table>(it).filter(|radio| radio.has(radio::man_down)) {
            let models: Vec<_> = view.radio_model(radio).into_iter().collect();
            judge(view, it, radio::man_down.number(), &models, out);
        }
    }
}

fn judge(view: View<'_>, it: EntityId, field: u8, models: &[Ref<'_, model::Table>], out: &mut Sink<'_>) {
    for model in models {
        let Known::Is(sensors) = model.list(model::sensors) else { continue };
        let has = sensors.iter().any(|sensor| match sensor.value {
            Stored::Text(word) => view.symbol(word) == "man-down",
            _ => true,
        });
        if has {
            continue;
        }
        let message = format!(
            "radios of {} are to raise an alarm when they lie still, and {} has no sensor for that: somebody falls, and no alarm goes out. Take it out and say so to the crew, or use another model",
            view.called(it),
            view.called(model.id()),
        );
        out.report(Anchor::Value(it, FieldPath::key(field)), message)
            .about(&view.name_of(model.id()))
            .related(Anchor::Value(model.id(), FieldPath::key(model::sensors.number())), "its sensors");
    }
}
