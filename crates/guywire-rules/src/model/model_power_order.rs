use crate::finding::Anchor;
use crate::rule;
use crate::rule::Each;
use guywire_plan::language::{model, model__power};
use guywire_plan::{Element, FieldPath, Known, Part, Row, Stored, View};

rule! {
    /// A model lists a power level that is stronger than the one before it, or the same level twice.
    ///
    /// Levels are listed from the strongest down. Two levels of the same power are left alone.
    ///
    /// ## On the air
    /// A channel on "low" sends with more power than one on "high": the battery is empty early, and a power limit may be
    /// broken where the plan seems to keep it.
    ///
    /// ## Source
    /// The plan language (docs/language.md).
    ///
    /// ## Bad
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
    /// watts = 10
    /// ```
    ///
    /// ## Good
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
    pub ModelPowerOrder = "model-power-order" { family: Model, level: Error, judged: PerFile, since: "0.1.0" }
    fn check(it: Each<model::Table>, view, out) {
        let Known::Is(elements) = it.list(model::power) else { return };
        let at = |number: usize, field: u8| {
            Anchor::Value(it.id(), FieldPath::key(model::power.number()).then(number).then(field as usize))
        };
        let levels: Vec<Level<'_>> = elements.iter().enumerate().filter_map(|element| level(view, element)).collect();
        for (place, now) in levels.iter().enumerate() {
            if let Some(first) = levels[..place].iter().find(|other| other.name == now.name) {
                let message = format!(
                    "the level \"{}\" stands twice, so which power a channel on it has is not known. Rename one of them",
                    now.name,
                );
                let field = model__power::level.number();
                out.report(at(now.number, field), message).about(now.name).related(at(first.number, field), "the other is here");
                continue;
            }
            let Some(before) = place.checked_sub(1).and_then(|place| levels.get(place)) else { continue };
            if now.watts <= before.watts {
                continue;
            }
            let message = format!(
                "the level \"{}\" has {} W, more than \"{}\" before it with {} W: a channel on it sends with more power than its name says. List the strongest first, or correct the power",
                now.name, now.watts, before.name, before.watts,
            );
            let field = model__power::watts.number();
            out.report(at(now.number, field), message).about(now.name).related(at(before.number, field), "the level before it");
        }
    }
}

/// A power level that can be read.
struct Level<'v> {
    number: usize,
    name: &'v str,
    watts: f64,
}

fn level<'v>(view: View<'v>, (number, element): (usize, &Element)) -> Option<Level<'v>> {
    let Stored::Part(record) = &element.value else { return None };
    let part = Part::<model__power::Table>::new(record);
    let name = view.symbol(part.text(model__power::level).value()?);
    Some(Level { number, name, watts: part.number(model__power::watts).value()? })
}
