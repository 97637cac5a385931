use super::lists::{called, capacity, list_of};
use crate::finding::Anchor;
use crate::rule;
use crate::rule::AnyTable;
use guywire_plan::language::{Kind, capacity as keys, plan, profile, radio};
use guywire_plan::{EntityId, FieldPath, FoundAny, Known, Row, Symbol, View};

rule! {
    /// A class of radios, or one radio, holds more zones than its model has room for.
    ///
    /// In a plan without profiles and radios, all its zones are counted against the plan's model.
    ///
    /// ## On the air
    /// The radio refuses the plan when it is loaded, or the last zones are not in it and their channels cannot be selected.
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
    /// channels = ["Berths"]
    ///
    /// [[zone]]
    /// name = "Water"
    /// channels = ["Berths"]
    ///
    /// [[profile]]
    /// name = "shore"
    /// zones = ["Harbor", "Water"]
    ///
    /// [[radio]]
    /// id = 21007
    /// profile = "shore"
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
    /// channels = ["Berths"]
    ///
    /// [[zone]]
    /// name = "Water"
    /// channels = ["Berths"]
    ///
    /// [[profile]]
    /// name = "shore"
    /// zones = ["Harbor"]
    ///
    /// [[radio]]
    /// id = 21007
    /// profile = "shore"
    /// ```
    ///
    /// ## Beside
    /// ```toml models/hh-uhf.model.toml
    /// [model]
    /// name = "hh-uhf"
    ///
    /// [capacity]
    /// zones = 1
    /// ```
    pub ZonesOverCapacity = "zones-over-capacity" { family: Zone, level: Error, judged: PerPlan, since: "0.1.0" }
    fn check(it: AnyTable, view, out) {
        let Some((field, what)) = holder(view, it) else { return };
        let Some(list) = list_of(view, it) else { return };
        for model in &list.models {
            let Some(capacity) = capacity(view, *model) else { continue };
            let Known::Is(most) = capacity.whole(keys::zones) else { continue };
            let over = |count: usize| i64::try_from(count).is_ok_and(|count| count > most);
            if !over(list.names.len()) {
                continue;
            }
            let count = defined(view, it, Kind::Zone, list.names.iter().map(|(name, _)| *name));
            if !over(count) {
                continue;
            }
            let name = called(*model);
            out.report(
                Anchor::Value(it, FieldPath::key(field)),
                format!("{what} {count} zones, and {name} has room for {most}: the radio refuses the plan, or the last zones are not in it. Take zones out, or put their channels together"),
            )
            .about(name)
            .related(
                Anchor::Value(capacity.id(), FieldPath::key(keys::zones.number())),
                format!("room for zones on {name}: {most}"),
            );
        }
    }
}

/// Where zones are listed, and the beginning of the message.
pub(super) fn holder(view: View<'_>, it: EntityId) -> Option<(u8, String)> {
    match view.kind(it) {
        Kind::Profile => Some((profile::zones.number(), format!("radios of {} hold", view.called(it)))),
        Kind::Radio => Some((radio::zones.number(), format!("{} holds", view.called(it)))),
        Kind::Plan => Some((plan::model.number(), "this plan has".to_owned())),
        _ => None,
    }
}

/// How many different names lead to a table. A name that leads nowhere has a finding of its own.
pub(super) fn defined(view: View<'_>, from: EntityId, kind: Kind, names: impl Iterator<Item = Symbol>) -> usize {
    let mut names: Vec<Symbol> = names.collect();
    names.sort_unstable_by_key(|name| view.symbol(*name));
    names.dedup();
    names.into_iter().filter(|name| matches!(view.find_any(from, &[kind], *name), FoundAny::Some(_))).count()
}
