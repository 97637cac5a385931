//! Who hears what is sent on a channel, to a talkgroup, or from where a radio stands by.

use guywire_plan::audience::{Audience, Hearing, Suppose};
use guywire_plan::language::{channel, radio, talkgroup};
use guywire_plan::{EntityId, Known, Ref};

use super::Ask;
use crate::ask::figures::listed;
use crate::ask::page::Page;
use crate::audience::{reasons, says_no_more, summary};

/// Reasons that are told apart.
const MOST_REASONS: usize = 4;
/// Channels of a talkgroup that are told apart.
const MOST_CHANNELS: usize = 4;

pub(super) fn say_of_channel(ask: &Ask<'_>, hearing: &Hearing<'_>, row: Ref<'_, channel::Table>, page: &mut Page) {
    let Some(Ok(emission)) = ask.view.air(row.id()).map(|air| air.push_to_talk()) else { return };
    let audience = hearing.near(&emission, None);
    if audience.total() == 0 && audience.stations.is_empty() {
        return;
    }
    page.fact(format!("push-to-talk, {}", summary(&audience)));
    // A line of its own each: a float in an editor is narrow.
    say_reasons(ask, &audience, page);
    match audience.stations.len() {
        0 => {}
        1 => page.fact("1 station listens"),
        many => page.fact(format!("{many} stations listen")),
    }
}

fn say_reasons(ask: &Ask<'_>, audience: &Audience, page: &mut Page) {
    let reasons = reasons(ask.view, audience);
    if says_no_more(&reasons) {
        return;
    }
    reasons.iter().take(MOST_REASONS).for_each(|reason| page.fact(reason.clone()));
    if reasons.len() > MOST_REASONS {
        page.fact(format!("and {} more reasons", reasons.len() - MOST_REASONS));
    }
}

pub(super) fn say_of_talkgroup(ask: &Ask<'_>, hearing: &Hearing<'_>, page: &mut Page) {
    let Some(row) = ask.row::<talkgroup::Table>() else { return };
    let channels: Vec<EntityId> =
        ask.sorted(ask.view.referrers::<channel::Table>(row.id())).iter().map(Ref::id).collect();
    let mut told = Vec::new();
    // Channels on which as many hear it are one line.
    let mut lines: Vec<(String, Vec<String>)> = Vec::new();
    for channel in channels {
        let Some(Ok(emission)) = ask.view.air(channel).map(|air| air.push_to_talk()) else { continue };
        if told.contains(&emission) || told.len() == MOST_CHANNELS {
            continue;
        }
        told.push(emission);
        let name = format!("\"{}\"", ask.view.name_of(channel).unwrap_or_default());
        let reached = summary(&hearing.radios_near(&emission, None, &Suppose::Nothing));
        match lines.iter_mut().find(|(known, _)| *known == reached) {
            Some((_, names)) => names.push(name),
            None => lines.push((reached, vec![name])),
        }
    }
    lines
        .into_iter()
        .for_each(|(reached, names)| page.fact(format!("called on {}, {reached}", listed(&names, MOST_CHANNELS))));
}

pub(super) fn say_of_radio(ask: &Ask<'_>, hearing: &Hearing<'_>, page: &mut Page) {
    let Some(row) = ask.row::<radio::Table>() else { return };
    let Some(Known::Is(home)) = ask.view.post(row.id()).map(|post| post.stands_by) else { return };
    let Some(Ok(emission)) = ask.view.air(home).map(|air| air.push_to_talk()) else { return };
    let audience = hearing.near(&emission, Some(row.id()));
    let name = ask.view.name_of(home).unwrap_or_default();
    page.fact(format!("push-to-talk where it stands by, \"{name}\", {}", summary(&audience)));
    say_reasons(ask, &audience, page);
}
