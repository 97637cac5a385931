//! Every (radio, channel, radio) of random plans.

use std::collections::BTreeMap;

use guywire_plan::audience::{
    Answer as Made, Audience, Called, ClassAnswer, Emission, Hearing, Others, Outcome, Payload, Reason, Signal, Status,
};
use guywire_plan::language::Kind;
use guywire_plan::{EntityId, Known, View};

use crate::engine::{Read, emitted, read, told};
use crate::oracle::{Answer, Sent, To, Verdict, judge, push_to_talk, sent, ways};
use crate::render::files;
use crate::world::{Chance, Home, World, random};

/// How often each answer and reason came up.
type Tally = BTreeMap<String, usize>;

/// Plans a run: all of them where `GUYWIRE_STEPS` says `full`.
pub fn plans(few: u64, full: u64) -> u64 {
    if std::env::var("GUYWIRE_STEPS").is_ok_and(|steps| steps == "full") { full } else { few }
}

#[test]
fn every_radio_answers_as_the_oracle_does() {
    let mut tally = Tally::new();
    for seed in 0..plans(1_500, 20_000) {
        let world = random(&mut Chance::new(seed));
        let texts = files(&world);
        let read = read(&texts);
        for plan in world.plans() {
            if let Err(difference) = read.ask(plan, |view| compare(&world, plan, &read, view, &mut tally)) {
                let texts: Vec<String> = texts.iter().map(|(path, text)| format!("# {path}\n{text}")).collect();
                panic!("seed {seed}, plan {plan}: {difference}\n\n{}", texts.join("\n"));
            }
        }
    }
    let wanted = [
        "Hears",
        "IfScanning",
        "CouldTune",
        "Unknown",
        "Noise",
        "No",
        "Heard",
        "NotWritten",
        "Frequency",
        "Mode",
        "DigitalIntoAnalog",
        "TooWide",
        "Pattern(Mobile)",
        "Pattern(Base)",
        "Pattern(TdmaDirect)",
        "ColorCode",
        "Slot",
        "Group",
        "Unit",
        "Clear",
        "UnknownKey",
        "OtherMaterial",
        "Tone",
        "refused Mode",
        "refused Direct",
        "refused ColorCode",
        "refused Tone",
        "refused NotListed",
        "refused Barred",
    ];
    for kind in wanted {
        let times = tally.get(kind).copied().unwrap_or(0);
        assert!(times >= 100, "{kind} came up {times} times: {tally:#?}");
    }
}

/// Asks of every channel that some radio could send on.
fn compare(world: &World, plan: Home, read: &Read, view: View, tally: &mut Tally) -> Result<(), String> {
    let (channels, radios, repeaters) =
        (read.channels(view, world), read.radios(view, world), read.repeaters(view, world));
    let keys: Vec<EntityId> = world.keys.iter().map(|it| read.table(view, it.home, Kind::Key, &it.name)).collect();
    let hearing = Hearing::new(view);
    for (number, channel) in world.channels.iter().enumerate().filter(|(_, it)| [0, plan].contains(&it.home)) {
        let air = view.air(channels[number]).expect("a channel");
        let ours = push_to_talk(world, channel);
        let theirs = air.push_to_talk().ok();
        if ours != theirs.map(|it| emitted(&it, &keys)) {
            return Err(format!("{} sends {theirs:?}, not {ours:?}", channel.name));
        }
        let (Some(ours), Some(theirs)) = (ours, theirs) else { continue };
        let data = |called: Called, to: To| air.sent(called, Payload::Data).ok().zip(sent(world, channel, to, true));
        let data = match theirs.signal {
            Signal::Digital(_) => data(Called::Group(1_202), To::Group(1_202)),
            Signal::Analog(_) => None,
        };
        for (theirs, ours) in [(theirs, ours)].into_iter().chain(data) {
            let senders = senders(world, number);
            for sender in [None].into_iter().chain(senders.into_iter().map(Some)) {
                answers(
                    (world, plan),
                    (&hearing, view),
                    (&theirs, ours),
                    sender,
                    [&channels, &radios, &repeaters],
                    tally,
                )
                .map_err(|difference| format!("on {}: {difference}", channel.name))?;
            }
        }
    }
    Ok(())
}

/// The radios that have a channel in their zones.
fn senders(world: &World, channel: usize) -> Vec<usize> {
    let holds = |zone: &usize| world.zones[*zone].channels.contains(&Some(channel));
    (0..world.radios.len()).filter(|radio| world.radios[*radio].zones.iter().any(holds)).collect()
}

fn answers(
    (world, plan): (&World, Home),
    (hearing, view): (&Hearing, View),
    (theirs, ours): (&Emission, Sent),
    sender: Option<usize>,
    [channels, radios, repeaters]: [&[EntityId]; 3],
    tally: &mut Tally,
) -> Result<(), String> {
    let audience = hearing.of(theirs, sender.map(|sender| radios[sender]));
    // Asked first, with nothing made out before.
    let alone = Hearing::new(view).near(theirs, sender.map(|sender| radios[sender]));
    near_tells_the_same(&alone, &audience)?;
    let (rays, refused) = ways(world, plan, ours);
    for (number, radio) in radios.iter().enumerate() {
        let told = told(&audience, *radio, channels, repeaters);
        if sender == Some(number) {
            if told.is_some() {
                return Err(format!("{} hears itself", world.radios[number].name));
            }
            continue;
        }
        let judged = judge(world, number, &rays, &refused);
        let agrees = told.is_some_and(|(answer, why)| answer == judged.answer && judged.reasons.contains(&why));
        if !agrees {
            let name = &world.radios[number].name;
            return Err(format!("{name} answers {told:?}, not {judged:?}; {ours:?} as {rays:?}, refused {refused:?}"));
        }
        if sender.is_none() {
            let (answer, (_, verdict, refused)) = told.expect("it agrees");
            count(tally, answer, verdict, refused.map(|(_, why)| format!("{why:?}")));
        }
    }
    Ok(())
}

/// Who is only counted hears nothing, and all others are told alike.
fn near_tells_the_same(near: &Audience, all: &Audience) -> Result<(), String> {
    let mut others = Others::default();
    for it in &all.answers {
        for radio in it.radios.iter() {
            let told = |it: &ClassAnswer| (it.answer, it.on, it.outcome, it.refused);
            match near.of(*radio) {
                Some(near) if told(near) != told(it) => return Err(format!("{near:?} near, {it:?} of all")),
                Some(_) => {}
                None if it.class.post.status == Known::Is(Status::Away) => others.away += 1,
                None if told(it) == (Made::No, None, Outcome::No(Reason::Frequency), None) => others.elsewhere += 1,
                None => return Err(format!("{it:?} is left out")),
            }
        }
    }
    let is_same = others == near.others && near.total() == all.total() && near.stations == all.stations;
    if is_same { Ok(()) } else { Err(format!("{:?} counted, not {others:?}", near.others)) }
}

fn count(tally: &mut Tally, answer: Answer, verdict: Verdict, refused: Option<String>) {
    let short = |text: &str| if text.starts_with("Pattern") { text.to_owned() } else { word(text) };
    *tally.entry(format!("{answer:?}")).or_default() += 1;
    *tally.entry(short(&format!("{verdict:?}"))).or_default() += 1;
    if let Some(why) = refused {
        *tally.entry(format!("refused {}", word(&why))).or_default() += 1;
    }
}

fn word(text: &str) -> String {
    text.split('(').next().unwrap_or(text).to_owned()
}
