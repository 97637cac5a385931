use super::sent::{level_of, named};
use crate::finding::Anchor;
use crate::rule;
use crate::rule::AnyTable;
use guywire_plan::language::{antenna, plan, profile};
use guywire_plan::{FieldPath, Known, Row};

rule! {
    /// The antenna of a radio model can be taken off, and the radio service of the plan wants one that cannot.
    ///
    /// Reported where the plan or a profile names the model. A model file that does not say is not judged.
    ///
    /// ## On the air
    /// With another antenna the radio radiates more than the service allows; such a radio is not made for the service.
    ///
    /// ## Source
    /// The service's rule, which the message names, such as 47 CFR 95.587(b).
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor visitors"
    /// model = "models/uhf.model.toml"
    /// regime = "us-part-95-family"
    /// ```
    ///
    /// ```toml models/uhf.model.toml
    /// [model]
    /// name = "uhf"
    ///
    /// [antenna]
    /// removable = true
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor visitors"
    /// model = "models/uhf.model.toml"
    /// regime = "us-part-95-family"
    /// ```
    ///
    /// ```toml models/uhf.model.toml
    /// [model]
    /// name = "uhf"
    ///
    /// [antenna]
    /// removable = false
    /// ```
    pub AntennaNotPermitted = "antenna-not-permitted" {
        family: Band, level: Warning, judged: PerPlan, since: "0.1.0",
    }
    fn check(it: AnyTable, view, out) {
        let (file, field) = if let Some(plan) = view.get::<plan::Table>(it) {
            (plan.file(plan::model), plan::model.number())
        } else if let Some(profile) = view.get::<profile::Table>(it) {
            (profile.file(profile::model), profile::model.number())
        } else {
            return;
        };
        let Some(service) = view.service(None).filter(|service| !service.terms().removable_antenna.value) else { return };
        let Known::Is(file) = file else { return };
        let Some(model) = view.main(file) else { return };
        if view.has_removable_antenna(model) != Known::Is(true) {
            return;
        }
        let source = &service.terms().removable_antenna.source;
        let name = view.name_of(model).unwrap_or("the model");
        let found = out
            .report(
                Anchor::Value(it, FieldPath::key(field)),
                format!(
                    "the antenna of {name} can be taken off, and {} wants one that cannot ({source}): such a radio is not for that service. Use a model that is",
                    named(service),
                ),
            )
            .about(name)
            .level(level_of(source).min(crate::Level::Warning));
        if let Some(antenna) = view.only::<antenna::Table>(file) {
            found.related(Anchor::Value(antenna.id(), FieldPath::key(antenna::removable.number())), "the antenna of the model");
        }
    }
}
