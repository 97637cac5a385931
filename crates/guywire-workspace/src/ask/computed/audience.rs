//! Who hears what is sent on a channel, to a talkgroup, or from where a radio stands by.

use guywire_plan::audience::Hearing;
use guywire_plan::language::{channel, radio, talkgroup};
use guywire_plan::{EntityId, Known, Ref};

use super::Ask;
use crate::ask::page::Page;
use crate::audience::{reasons, summary};

/// Reasons that are told apart.
const MOST_REASONS: usize = 4;
/// Channels of a talkgroup that are told apart.
const MOST_CHANNELS: usize = 4;

pub(super) fn say_of_channel(ask: &Ask<'_>, row: Ref<'_, channel::Table>, page: &mut Page) {
    let hearing = Hearing::new(ask.view);
    let Some(Ok(emission)) = ask.view.air(row.id()).map(|air| air.push_to_talk()) else { return };
    let audience = hearing.of(&emission, None);
    if audience.total() == 0 && audience.stations.is_empty() {
        return;
    }
    let stations = match audience.stations.len() {
        0 => String::new(),
        1 => "; 1 station".to_owned(),
        many => format!("; {many} stations"),
    };
    page.fact(format!("push to talk reaches {}{stations}", summary(&audience)));
    let reasons = reasons(ask.view, &audience);
    for reason in reasons.iter().take(MOST_REASONS) {
        page.fact(reason.clone());
    }
    if reasons.len() > MOST_REASONS {
        page.fact(format!("and {} more reasons", reasons.len() - MOST_REASONS));
    }
}

pub(super) fn say_of_talkgroup(ask: &Ask<'_>, page: &mut Page) {
    let Some(row) = ask.row::<talkgroup::Table>() else { return };
    let hearing = Hearing::new(ask.view);
    let channels: Vec<EntityId> =
        ask.sorted(ask.view.referrers::<channel::Table>(row.id())).iter().map(Ref::id).collect();
    let mut told = Vec::new();
    for channel in channels {
        let Some(Ok(emission)) = ask.view.air(channel).map(|air| air.push_to_talk()) else { continue };
        if told.contains(&emission) || told.len() == MOST_CHANNELS {
            continue;
        }
        told.push(emission);
        let name = ask.view.name_of(channel).unwrap_or_default();
        page.fact(format!("called on \"{name}\": {}", summary(&hearing.of(&emission, None))));
    }
}

pub(super) fn say_of_radio(ask: &Ask<'_>, page: &mut Page) {
    let Some(row) = ask.row::<radio::Table>() else { return };
    let Some(Known::Is(home)) = ask.view.post(row.id()).map(|post| post.stands_by) else { return };
    let Some(Ok(emission)) = ask.view.air(home).map(|air| air.push_to_talk()) else { return };
    let audience = Hearing::new(ask.view).of(&emission, Some(row.id()));
    let name = ask.view.name_of(home).unwrap_or_default();
    page.fact(format!("push to talk where it stands by (\"{name}\") reaches {}", summary(&audience)));
}
