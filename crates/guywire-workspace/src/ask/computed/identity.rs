//! What is computed of addresses and of those who have them.

use guywire_plan::language::{channel, contact, network, receive_group, repeater, talkgroup};
use guywire_plan::{Bucket, Known, Row};
use guywire_radio::address::{ALL_CALL, HIGHEST_ORDINARY};
use guywire_radio::{AddressError, TalkgroupId, UnitId};

use super::super::figures::{counted, listed};
use super::super::page::Page;
use super::Ask;

/// Names of a list that are shown.
const NAMED: usize = 5;

pub(super) fn say_unit_id(ask: &Ask<'_>, page: &mut Page) {
    let Some(number) = ask.whole() else { return };
    page.fact(address(number, "unit", UnitId::new(number).err()));
    let others: Vec<String> = ask
        .view
        .alike(Bucket::Number(ask.view.viewer(), number))
        .filter(|other| *other != ask.id)
        .map(|other| ask.view.called(other))
        .collect();
    say_others(others, page);
}

pub(super) fn say_talkgroup_id(ask: &Ask<'_>, page: &mut Page) {
    let Some(number) = ask.whole() else { return };
    page.fact(address(number, "talkgroup", TalkgroupId::new(number).err()));
    let others: Vec<String> = ask
        .view
        .alike(Bucket::TalkgroupId(ask.view.viewer(), number))
        .filter(|other| *other != ask.id)
        .map(|other| ask.view.called(other))
        .collect();
    say_others(others, page);
}

fn say_others(mut others: Vec<String>, page: &mut Page) {
    others.sort_unstable();
    page.fact(match others.as_slice() {
        [] => "nothing else that this plan sees has it".to_owned(),
        _ => format!("{} has it too", listed(&others, NAMED)),
    });
}

/// An address in hexadecimal and the space that it is from.
fn address(number: i64, whose: &str, problem: Option<AddressError>) -> String {
    let range = match problem {
        None => format!("an ordinary {whose} address, 1 to {HIGHEST_ORDINARY} (ETSI TS 102 361-1, annex A)"),
        Some(problem) => format!("no {whose} address: {problem}"),
    };
    format!("{number} = {number:06X} hexadecimal, {range}")
}

pub(super) fn say_talkgroup(ask: &Ask<'_>, page: &mut Page) {
    let Some(row) = ask.row::<talkgroup::Table>() else { return };
    if let Known::Is(number) = row.whole(talkgroup::id) {
        page.fact(format!("id {number}"));
    }
    let view = ask.view;
    let calling = ask.names(view.referrers::<channel::Table>(row.id()));
    if !calling.is_empty() {
        page.fact(format!("called on {}", listed(&calling, NAMED)));
    }
    let hearing = ask.names(view.referrers::<receive_group::Table>(row.id()));
    page.fact(match hearing.as_slice() {
        [] => "in no receive group".to_owned(),
        _ => format!("heard with {}", listed(&hearing, NAMED)),
    });
    let mut carried: Vec<String> = Vec::new();
    for it in ask.sorted(view.all::<repeater::Table>()) {
        let slots = (1..=2).filter(|slot| view.carried(it, *slot).value().is_some_and(|listed| listed.lists(row.id())));
        carried.extend(slots.map(|slot| format!("{} slot {slot}", it.name().unwrap_or("a repeater"))));
    }
    if !carried.is_empty() {
        page.fact(format!("carried by {}", listed(&carried, NAMED)));
    }
    for it in ask.sorted(view.referrers::<network::Table>(row.id())) {
        let wide = view.wide(it).value().unwrap_or_default();
        for (_, slot, _) in wide.iter().filter(|(group, ..)| *group == row.id()) {
            let slot = slot.map(|slot| format!(" on slot {slot}")).unwrap_or_default();
            page.fact(format!("passed on everywhere in network {}{slot}", it.name().unwrap_or_default()));
        }
    }
}

pub(super) fn say_contact(ask: &Ask<'_>, page: &mut Page) {
    let Some(row) = ask.row::<contact::Table>() else { return };
    if row.truth(contact::all_call) == Known::Is(true) {
        page.fact(format!(
            "calls every unit on the channel: {ALL_CALL} = {ALL_CALL:06X} hexadecimal (ETSI TS 102 361-1, annex A)"
        ));
        return;
    }
    let Known::Is(number) = row.whole(contact::id) else { return };
    page.fact(format!("id {number}"));
    let mut whose: Vec<String> =
        ask.view.alike(Bucket::Number(ask.view.viewer(), number)).map(|it| ask.view.called(it)).collect();
    whose.sort_unstable();
    page.fact(match whose.as_slice() {
        [] => "no radio, station or repeater that this plan sees has that address".to_owned(),
        _ => format!("the address of {}", listed(&whose, NAMED)),
    });
}

pub(super) fn say_receive_group(ask: &Ask<'_>, page: &mut Page) {
    let Some(row) = ask.row::<receive_group::Table>() else { return };
    let Known::Is(groups) = ask.view.named_all::<talkgroup::Table, _>(row, receive_group::talkgroups) else { return };
    let members: Vec<String> = groups
        .iter()
        .map(|it| match it.whole(talkgroup::id) {
            Known::Is(number) => format!("{} ({number})", it.name().unwrap_or_default()),
            _ => it.name().unwrap_or_default().to_owned(),
        })
        .collect();
    page.fact(format!("{}: {}", counted(members.len(), "talkgroup"), listed(&members, 12)));
    let channels = ask.names(ask.view.referrers::<channel::Table>(row.id()));
    page.fact(match channels.as_slice() {
        [] => "no channel listens with it".to_owned(),
        _ => format!("used on {}", listed(&channels, NAMED)),
    });
}
