//! Lists of names as radios show them: the channels of a zone, the zones of a radio.

use std::collections::{BTreeMap, BTreeSet};

use guywire_plan::language::{Kind, capacity, model, plan, profile, radio, zone};
use guywire_plan::{Element, EntityId, FieldPath, Found, FoundAny, Known, Ref, Row, Stored, Symbol, View};

use crate::finding::Anchor;

/// Names that stand in one list of a display.
pub(super) struct List<'v> {
    /// The table that holds it.
    pub holder: EntityId,
    /// What the names name.
    pub kind: Kind,
    /// Each name with the table that uses it and its place; empty positions are left out.
    pub names: Vec<(Symbol, Anchor)>,
    /// The models that show it.
    pub models: Vec<Ref<'v, model::Table>>,
}

/// The list that a zone, profile or radio holds; of a plan, all its zones, where it has neither profile nor radio.
pub(super) fn list_of(view: View<'_>, it: EntityId) -> Option<List<'_>> {
    let list = |kind, field: u8, elements: Known<&[Element]>, models| {
        let path = FieldPath::key(field);
        let name = |(number, element): (usize, &Element)| match element.value {
            Stored::Text(name) if !view.symbol(name).is_empty() => Some((name, Anchor::Value(it, path.then(number)))),
            _ => None,
        };
        let names = elements.value()?.iter().enumerate().filter_map(name).collect();
        Some(List { holder: it, kind, names, models })
    };
    match view.kind(it) {
        Kind::Zone => {
            let of = view.get::<zone::Table>(it)?;
            list(Kind::Channel, zone::channels.number(), of.list(zone::channels), view.zone_models(it))
        }
        Kind::Profile => {
            let of = view.get::<profile::Table>(it)?;
            list(Kind::Zone, profile::zones.number(), of.list(profile::zones), view.profile_models(it))
        }
        Kind::Radio => {
            let of = view.get::<radio::Table>(it)?;
            let zones = of.list(radio::zones);
            zones.value()?;
            list(Kind::Zone, radio::zones.number(), zones, view.radio_model(of).into_iter().collect())
        }
        Kind::Plan => whole_plan(view, it),
        _ => None,
    }
}

fn whole_plan(view: View<'_>, it: EntityId) -> Option<List<'_>> {
    if view.plan().map(|plan| plan.id()) != Some(it) || has_classes(view) {
        return None;
    }
    let model = view.get::<model::Table>(view.plan_model()?)?;
    let name = |zone: Ref<'_, zone::Table>| {
        let at = Anchor::Value(zone.id(), FieldPath::key(zone::name.number()));
        Some((view.name_symbol(zone.id()).value()?, at))
    };
    let names = view.all::<zone::Table>().into_iter().filter_map(name).collect();
    Some(List { holder: it, kind: Kind::Zone, names, models: vec![model] })
}

/// Whether the plan says which radios hold which zones.
fn has_classes(view: View<'_>) -> bool {
    view.count::<profile::Table>() > 0 || view.count::<radio::Table>() > 0
}

/// The profiles and radios that hold a zone; the plan, where it has neither.
pub(super) fn holders_of(view: View<'_>, zone: EntityId) -> Vec<EntityId> {
    let mut holders: Vec<EntityId> = view.referrers::<profile::Table>(zone).iter().map(Ref::id).collect();
    holders.extend(view.referrers::<radio::Table>(zone).iter().map(Ref::id));
    if holders.is_empty() && !has_classes(view) {
        holders.extend(view.plan().map(|plan: Ref<'_, plan::Table>| plan.id()));
    }
    holders
}

/// The zones that a profile, radio or plan holds, in the order of its list.
pub(super) fn zones_of(view: View<'_>, holder: EntityId) -> Vec<EntityId> {
    let found = |elements: Known<&[Element]>| -> Vec<EntityId> {
        let names = elements.value().unwrap_or_default().iter().filter_map(|element| match element.value {
            Stored::Text(name) => Some(name),
            _ => None,
        });
        let zone = |name| match view.find::<zone::Table>(holder, name) {
            Found::One(zone) => Some(zone.id()),
            _ => None,
        };
        names.filter_map(zone).collect()
    };
    match view.kind(holder) {
        Kind::Profile => view.get::<profile::Table>(holder).map_or_else(Vec::new, |of| found(of.list(profile::zones))),
        Kind::Radio => view.get::<radio::Table>(holder).map_or_else(Vec::new, |of| found(of.list(radio::zones))),
        _ => view.all::<zone::Table>().iter().map(Ref::id).collect(),
    }
}

/// The lists that show the name of a channel or zone.
pub(super) fn lists_with(view: View<'_>, it: EntityId) -> Vec<List<'_>> {
    let holders = match view.kind(it) {
        Kind::Channel => view.referrers::<zone::Table>(it).iter().map(Ref::id).collect(),
        Kind::Zone => holders_of(view, it),
        _ => Vec::new(),
    };
    holders.into_iter().filter_map(|holder| list_of(view, holder)).collect()
}

/// The one table that a name of a list leads to.
pub(super) fn only(view: View<'_>, list: &List<'_>, name: Symbol) -> Option<EntityId> {
    match view.find_any(list.holder, &[list.kind], name) {
        FoundAny::Some(found) if found.len() == 1 => found.first().copied(),
        _ => None,
    }
}

/// The capacity table of a model.
pub(super) fn capacity<'v>(view: View<'v>, model: Ref<'v, model::Table>) -> Option<Ref<'v, capacity::Table>> {
    view.only(view.file_of(model.id())?)
}

/// What people call a model in a message.
pub(super) fn called<'v>(model: Ref<'v, model::Table>) -> &'v str {
    model.name().unwrap_or("the model")
}

/// Models by how many characters of a name they show, fewest first.
pub(super) fn by_width<'v>(view: View<'v>, models: &[Ref<'v, model::Table>]) -> BTreeMap<usize, BTreeSet<&'v str>> {
    let mut widths: BTreeMap<usize, BTreeSet<&str>> = BTreeMap::new();
    for model in models {
        let Some(Known::Is(most)) = capacity(view, *model).map(|of| of.whole(capacity::name_characters)) else {
            continue;
        };
        if let Ok(most) = usize::try_from(most) {
            widths.entry(most).or_default().insert(called(*model));
        }
    }
    widths
}

/// Names in a row, for a message.
pub(super) fn listed<'n>(names: impl IntoIterator<Item = &'n str>) -> String {
    names.into_iter().collect::<Vec<_>>().join(" and ")
}

/// A name as a display of this many characters shows it.
pub(super) fn shown(name: &str, most: usize) -> &str {
    let end = name.char_indices().nth(most).map_or(name.len(), |(at, _)| at);
    name[..end].trim_end()
}

impl List<'_> {
    /// Names that stand in the list under one look: each group has two or more different names, with the places of each.
    /// Names of nothing are left out.
    pub fn alike<'v>(&self, view: View<'v>, most: usize) -> BTreeMap<&'v str, BTreeMap<&'v str, Anchor>> {
        let whole = |text: &str| text.len() <= most && !text.ends_with(' ');
        if self.names.iter().all(|(name, _)| whole(view.symbol(*name))) {
            return BTreeMap::new();
        }
        let mut looks: BTreeMap<&str, BTreeMap<&str, (Symbol, Anchor)>> = BTreeMap::new();
        for (name, at) in &self.names {
            let text = view.symbol(*name);
            looks.entry(shown(text, most)).or_default().entry(text).or_insert((*name, *at));
        }
        let is_one = |name: Symbol| matches!(view.find_any(self.holder, &[self.kind], name), FoundAny::Some(_));
        let mut found = BTreeMap::new();
        for (look, names) in looks.into_iter().filter(|(_, names)| names.len() > 1) {
            let there: BTreeMap<&str, Anchor> =
                names.into_iter().filter(|(_, (name, _))| is_one(*name)).map(|(text, (_, at))| (text, at)).collect();
            if there.len() > 1 {
                found.insert(look, there);
            }
        }
        found
    }
}
