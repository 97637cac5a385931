//! The members of a scan list.

use guywire_plan::language::{capacity, channel, model, scan_list};
use guywire_plan::{EntityId, FieldPath, Found, Known, Ref, Row, Stored, Symbol, View};

/// A member of a scan list: its name and its number in the list.
pub(super) type Member = (Symbol, usize);

/// The members of a scan list in text order, empty texts left out. None where one of them, or the list, cannot be read.
pub(super) fn members(view: View<'_>, list: Ref<'_, scan_list::Table>) -> Option<Vec<Member>> {
    let Known::Is(elements) = list.list(scan_list::channels) else { return None };
    let mut found = Vec::with_capacity(elements.len());
    for (number, element) in elements.iter().enumerate() {
        let Stored::Text(name) = element.value else { return None };
        if !view.symbol(name).is_empty() {
            found.push((name, number));
        }
    }
    Some(found)
}

/// Whether a member is the channel that the knob is on.
pub(super) fn is_selected(view: View<'_>, name: Symbol) -> bool {
    view.symbol(name) == "selected"
}

/// The members that are channels, each with its number in the list. None where a name leads to none or to several.
pub(super) fn channels<'v>(
    view: View<'v>,
    list: Ref<'v, scan_list::Table>,
    members: &[Member],
) -> Option<Vec<(Ref<'v, channel::Table>, usize)>> {
    let named = members.iter().filter(|(name, _)| !is_selected(view, *name));
    let channel = |(name, number): &Member| match view.find::<channel::Table>(list.id(), *name) {
        Found::One(channel) => Some((channel, *number)),
        _ => None,
    };
    named.map(channel).collect()
}

/// The place of a member in its table.
pub(super) fn place(number: usize) -> FieldPath {
    FieldPath::key(scan_list::channels.number()).then(number)
}

/// How many members a scan list may have on each model of the radios that scan it, where that is written.
pub(super) fn rooms<'v>(
    view: View<'v>,
    list: EntityId,
) -> Vec<(Ref<'v, model::Table>, Ref<'v, capacity::Table>, usize)> {
    let room = |model: Ref<'v, model::Table>| {
        let capacity = view.only::<capacity::Table>(view.file_of(model.id())?)?;
        let most = capacity.whole(capacity::scan_list_members).value()?;
        Some((model, capacity, usize::try_from(most).ok()?))
    };
    view.models_using(list).into_iter().filter_map(room).collect()
}

/// Whether every model that scans the list has room for another member.
pub(super) fn has_room(view: View<'_>, list: EntityId, members: &[Member]) -> bool {
    rooms(view, list).iter().all(|(.., most)| members.len() < *most)
}

/// How many radios scan the list, as the end of a title.
pub(super) fn touching(view: View<'_>, list: EntityId) -> String {
    let channels: Vec<EntityId> = view.referrers::<channel::Table>(list).iter().map(Ref::id).collect();
    match view.radios_holding_any(&channels) {
        0 => " (no listed radio scans it)".to_owned(),
        1 => " (touches 1 radio)".to_owned(),
        many => format!(" (touches {many} radios)"),
    }
}
