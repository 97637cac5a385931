use crate::finding::{Anchor, Edit, Fix, Safety, toml_string};
use crate::nearest;
use crate::rule;
use crate::rule::Each;
use guywire_plan::language::{channel, model, model__power};
use guywire_plan::{FieldPath, Known, Row, Sends};

rule! {
    /// A channel names a power level that a radio model holding it does not have.
    ///
    /// Looked at for each model of the radios whose zones hold the channel. Channels that send nothing, and models of
    /// which no level is written, are not judged.
    ///
    /// ## On the air
    /// The radio refuses the channel, or sends at a level that nobody chose: too weak to be heard, or stronger than
    /// its license.
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
    /// power = "hihg"
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
    /// power = "high"
    /// ```
    ///
    /// ## Beside
    /// ```toml models/hh-uhf.model.toml
    /// [model]
    /// name = "hh-uhf"
    ///
    /// [[model.power]]
    /// level = "high"
    /// watts = 4.0
    ///
    /// [[model.power]]
    /// level = "low"
    /// watts = 1.0
    /// ```
    pub PowerLevelUnknown = "power-level-unknown" {
        family: Band, level: Error, judged: PerPlan, since: "0.1.0", fix: Some(Safety::Choice),
    }
    fn check(it: Each<channel::Table>, view, out) {
        let Known::Is(level) = it.text(channel::power) else { return };
        if view.channel(it.id()).is_none_or(|effective| !matches!(effective.sends, Known::Is(Sends::Digital | Sends::Analog))) {
            return;
        }
        let path = FieldPath::key(channel::power.number());
        let level = view.symbol(level);
        for model in view.channel_models(it.id()) {
            let powers = model.parts::<model__power::Table>(model::power);
            let levels: Option<Vec<&str>> =
                powers.iter().map(|power| power.text(model__power::level).value().map(|level| view.symbol(level))).collect();
            let Some(levels) = levels.filter(|levels| !levels.is_empty() && !levels.contains(&level)) else { continue };
            if model.list(model::power) == Known::Unreadable {
                continue;
            }
            let (name, has) = (model.name().unwrap_or("the model"), levels.join("\", \""));
            out.report(
                Anchor::Value(it.id(), path),
                format!(
                    "{} sends at level \"{level}\", and {name} has \"{has}\": it refuses the channel, or sends at a level that nobody chose. Write a level that it has",
                    view.called(it.id()),
                ),
            )
            .about(name)
            .about(level)
            .related(Anchor::Value(model.id(), FieldPath::key(model::power.number())), format!("the power levels of {name}"))
            .fix(|| {
                let meant = nearest(level, levels.iter().copied())?;
                Some(Fix {
                    title: format!("Write \"{meant}\"{}", view.touching(it.id())),
                    safety: Safety::Choice,
                    edits: vec![Edit::Set(it.id(), path, toml_string(meant))],
                })
            });
        }
    }
}
