//! What must hold of any plans.

use std::ops::ControlFlow;

use guywire_plan::audience::{self, Called, Emission, Hearing, Outcome, Role, Signal};
use guywire_plan::{EntityId, View};

use crate::brute::plans;
use crate::engine::{Read, read, told};
use crate::oracle::{Answer, Why, home};
use crate::render::files;
use crate::world::*;

/// An answer by plan, channel and radio.
type Matrix = Vec<((Home, Number, Number), (Answer, Why))>;

/// Random plans, for a share of the plans of the comparison.
fn worlds(salt: u64) -> impl Iterator<Item = (u64, Chance, World)> {
    (0..plans(150, 2_000)).map(move |seed| {
        let mut chance = Chance::new(seed + (salt << 32));
        let world = random(&mut chance);
        (seed, chance, world)
    })
}

fn matrix(world: &World) -> Matrix {
    matrix_of(world, &read(&files(world)))
}

fn matrix_of(world: &World, read: &Read) -> Matrix {
    world.plans().flat_map(|plan| read.ask(plan, |view| rows(world, read, plan, view))).collect()
}

fn rows(world: &World, read: &Read, plan: Home, view: View) -> Matrix {
    let (channels, radios) = (read.channels(view, world), read.radios(view, world));
    let repeaters = read.repeaters(view, world);
    let hearing = Hearing::new(view);
    let mut rows = Matrix::new();
    for number in seen(world, plan) {
        let Some(emission) = pressed(view, channels[number]) else { continue };
        let audience = hearing.of(&emission, None);
        for (radio, id) in radios.iter().enumerate() {
            rows.push(((plan, number, radio), told(&audience, *id, &channels, &repeaters).expect("it is counted")));
        }
    }
    rows
}

/// The channels that a plan sees.
fn seen(world: &World, plan: Home) -> Vec<Number> {
    (0..world.channels.len()).filter(|number| [0, plan].contains(&world.channels[*number].home)).collect()
}

fn pressed(view: View, channel: EntityId) -> Option<Emission> {
    view.air(channel)?.push_to_talk().ok()
}

/// One frequency, no repeaters, and nothing by which a channel sends otherwise than it listens.
fn make_symmetric(world: &mut World) {
    world.repeaters.clear();
    world.networks.clear();
    world.models.iter_mut().for_each(|model| model.hears_own_talkgroup = Some(true));
    for it in &mut world.channels {
        (it.repeater, it.talk_around, it.tx, it.width) = (None, false, None, None);
        it.rx = Some(if it.rx.is_some_and(|rx| rx % 1_000 == 300) { 453_000_300 } else { 453_000_000 });
        (it.receives, it.receive_group, it.listens, it.opens_to_carrier) = (None, None, None, false);
        if it.sends == Sends::Nothing {
            it.sends = Sends::Digital;
        }
        let group = if it.home == 0 { 0 } else { it.home + 1 };
        it.call = Some(Call::Group(group));
        (it.color_code, it.slot) = (it.color_code.or(Some(1)), it.slot.or(Some(1)));
        it.more_keys.clear();
        it.receive_clear = Some(it.key.is_none());
        it.tx_tone = it.tx_tone.or(Some(TONES[0]));
        it.rx_tone = it.tx_tone;
    }
    world.radios.iter_mut().for_each(|radio| radio.keys = None);
}

#[test]
fn symmetric_plans_are_heard_both_ways() {
    let (mut heard, mut unheard) = (0, 0);
    for (seed, _, mut world) in worlds(1) {
        make_symmetric(&mut world);
        let matrix = matrix(&world);
        let hears = |from: Number, by: Number| {
            let home = home(&world, &world.radios[from]).expect("it stands by somewhere");
            let mut rows = matrix.iter().filter(|((_, channel, radio), _)| (*channel, *radio) == (home, by));
            rows.any(|(_, (answer, _))| *answer == Answer::Hears)
        };
        let issued: Vec<Number> =
            (0..world.radios.len()).filter(|radio| world.radios[*radio].status == Status::Issued).collect();
        for (a, b) in issued.iter().flat_map(|a| issued.iter().map(move |b| (*a, *b))) {
            assert_eq!(hears(a, b), hears(b, a), "seed {seed}: radios {a} and {b}");
            if a == b {
                continue;
            }
            *if hears(a, b) { &mut heard } else { &mut unheard } += 1;
        }
    }
    assert!(heard > 100 && unheard > 100, "{heard} heard, {unheard} not");
}

#[test]
fn names_do_not_matter() {
    for (seed, _, mut world) in worlds(2) {
        let before = matrix(&world);
        let renamed = |name: &str| format!("{} anew", name.chars().rev().collect::<String>());
        world.talkgroups.iter_mut().for_each(|it| it.name = renamed(&it.name));
        world.contacts.iter_mut().for_each(|it| it.name = renamed(&it.name));
        world.receive_groups.iter_mut().for_each(|it| it.name = renamed(&it.name));
        world.keys.iter_mut().for_each(|it| it.name = renamed(&it.name));
        world.repeaters.iter_mut().for_each(|it| it.name = renamed(&it.name));
        world.networks.iter_mut().for_each(|it| it.name = renamed(&it.name));
        world.channels.iter_mut().for_each(|it| it.name = renamed(&it.name));
        world.scan_lists.iter_mut().for_each(|it| it.name = renamed(&it.name));
        world.zones.iter_mut().for_each(|it| it.name = renamed(&it.name));
        world.radios.iter_mut().for_each(|it| it.name = renamed(&it.name));
        assert_eq!(before, matrix(&world), "seed {seed}");
    }
}

#[test]
fn waivers_do_not_matter() {
    for (seed, _, world) in worlds(3) {
        let waived: Vec<(String, String)> = files(&world)
            .into_iter()
            .map(|(path, text)| {
                let waiver = "# waive(nobody-listens) until 2027-01-31: agreed with the harbor master\n[[";
                (path, text.replace("[[", waiver))
            })
            .collect();
        assert_eq!(matrix(&world), matrix_of(&world, &read(&waived)), "seed {seed}");
    }
}

/// Takes one kind of filter away, or adds one scan list.
fn open(world: &mut World, chance: &mut Chance) {
    match chance.below(5) {
        0 => {
            let own_groups = |it: &&mut Channel| matches!(it.listens, None | Some(Listens::OwnGroups));
            world.channels.iter_mut().filter(own_groups).for_each(|it| it.listens = Some(Listens::AnyGroup));
        }
        1 => world.channels.iter_mut().for_each(|it| it.opens_to_carrier = true),
        2 => world.channels.iter_mut().for_each(|it| it.receive_clear = Some(true)),
        3 => {
            let slots = world.repeaters.iter_mut().flat_map(|it| &mut it.slots).flatten();
            slots.for_each(|slot| slot.only_listed = false);
        }
        _ => add_scan_list(world, chance.below(world.channels.len())),
    }
}

fn add_scan_list(world: &mut World, at: Number) {
    if world.channels[at].scan_list.is_some() {
        return;
    }
    let home = world.channels[at].home;
    let channels = (0..world.channels.len()).filter(|it| [0, home].contains(&world.channels[*it].home)).collect();
    world.channels[at].scan_list = Some(world.scan_lists.len());
    world.scan_lists.push(ScanList { home, name: "one more".to_owned(), selected: true, channels, reply: None });
}

#[test]
fn opening_never_removes_a_listener() {
    let mut gained = 0;
    for (seed, mut chance, mut world) in worlds(4) {
        let before = matrix(&world);
        open(&mut world, &mut chance);
        for (was, is) in before.iter().zip(&matrix(&world)) {
            assert_eq!(was.0, is.0);
            let heard = was.1.0 <= Answer::CouldTune;
            assert!(!heard || is.1.0 <= was.1.0, "seed {seed}: {was:?} became {is:?}");
            gained += usize::from(is.1.0 < was.1.0);
        }
    }
    assert!(gained > 100, "{gained}");
}

#[test]
fn without_hang_time_a_reply_is_a_plain_press() {
    let (mut plain, mut held) = (0, 0);
    for (seed, _, world) in worlds(5) {
        let read = read(&files(&world));
        for plan in world.plans() {
            read.ask(plan, |view| {
                let channels = read.channels(view, &world);
                for (on, heard) in seen(&world, plan).into_iter().flat_map(|on| channels.iter().map(move |it| (on, it)))
                {
                    let Some(heard) = pressed(view, *heard) else { continue };
                    let reply = view.reply(channels[on], &heard, Some(21_009));
                    let press = view.air(channels[on]).expect("a channel").push_to_talk();
                    let Signal::Digital(digital) = heard.signal else { continue };
                    let (hang, to) = match digital.called {
                        Called::Group(_) => (world.hangs[plan].group, digital.called),
                        Called::Unit(_) => (world.hangs[plan].individual, Called::Unit(21_009)),
                        Called::All => (Some(0), digital.called),
                    };
                    if hang == Some(0) || world.channels[on].sends != Sends::Digital {
                        assert_eq!(reply, press, "seed {seed}");
                        plain += 1;
                    } else if let Ok(reply) = reply {
                        let Signal::Digital(sent) = reply.signal else { panic!("it sends digital") };
                        assert_eq!(sent.called, to, "seed {seed}");
                        held += 1;
                    }
                }
            });
        }
    }
    assert!(plain > 100 && held > 100, "{plain} plain, {held} held");
}

#[test]
fn rules_are_told_of_the_same_listeners() {
    let mut listeners = [0, 0];
    for (seed, _, world) in worlds(6) {
        let read = read(&files(&world));
        for plan in world.plans() {
            read.ask(plan, |view| {
                let (channels, radios) = (read.channels(view, &world), read.radios(view, &world));
                for number in seen(&world, plan) {
                    let Some(emission) = pressed(view, channels[number]) else { continue };
                    let told = best_roles(view, &emission, &radios);
                    let audience = Hearing::new(view).of(&emission, None);
                    for (radio, role) in radios.iter().zip(told) {
                        let heard = match audience.of(*radio).expect("it is counted").answer {
                            audience::Answer::Hears => Some(Role::StandsBy),
                            audience::Answer::IfScanning => Some(Role::Scans),
                            _ => None,
                        };
                        assert_eq!(heard, role, "seed {seed}, plan {plan}, {}", world.channels[number].name);
                        listeners[0] += usize::from(role == Some(Role::StandsBy));
                        listeners[1] += usize::from(role == Some(Role::Scans));
                    }
                }
            });
        }
    }
    assert!(listeners.iter().all(|count| *count > 20), "{listeners:?}");
}

/// How each radio is told to hear, best first.
fn best_roles(view: View, emission: &Emission, radios: &[EntityId]) -> Vec<Option<Role>> {
    let mut best: Vec<Option<Role>> = vec![None; radios.len()];
    let _ = view.each_listener(&view.rays(emission), None, &mut |it| {
        if it.outcome == Outcome::Heard {
            let radio = it.radio.expect("one that hears is named");
            let at = radios.iter().position(|id| *id == radio).expect("one of them");
            best[at] = Some(best[at].map_or(it.role, |held| held.min(it.role)));
        }
        ControlFlow::Continue(())
    });
    best
}
