//! Who hears a transmission, worked out the long way over plain structs: every ray against every position of every radio.

use std::cmp::Reverse;

use crate::world::*;

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Pattern {
    Mobile,
    Base,
    TdmaDirect,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum To {
    Group(i64),
    Unit(i64),
    All,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Signal {
    Digital { pattern: Pattern, color_code: i64, slot: Option<i64>, to: To, key: Option<Number>, is_data: bool },
    Analog(Option<Tone>),
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Sent {
    pub carrier: i64,
    pub width: i64,
    pub signal: Signal,
}

/// What a position makes of a ray.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Verdict {
    Heard,
    NotWritten,
    Frequency,
    Mode,
    DigitalIntoAnalog,
    TooWide,
    Pattern(Pattern),
    ColorCode(i64, i64),
    Slot(i64, i64),
    Group(i64),
    Unit(i64),
    Clear,
    UnknownKey,
    OtherMaterial,
    Tone,
}

/// Why a repeater does not repeat.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Refused {
    Mode,
    Direct,
    ColorCode(i64, i64),
    Tone,
    NotListed,
    Barred,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Answer {
    Hears,
    IfScanning,
    CouldTune,
    Unknown,
    Noise,
    No,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Role {
    StandsBy,
    Scans,
    OnKnob,
}

/// The channel, what it makes of the transmission, and the repeater that would have brought it there.
pub type Why = (Option<Number>, Verdict, Option<(Number, Refused)>);

/// The answer of a radio, with all the reasons that are as good as each other.
#[derive(Clone, Debug)]
pub struct Judged {
    pub answer: Answer,
    pub reasons: Vec<Why>,
}

impl Judged {
    /// The least is nearest to hearing; the reasons are as near as each other.
    fn nearness(&self) -> impl Ord + use<> {
        let (on, verdict, refusal) = &self.reasons[0];
        (self.answer, Reverse((stage(*verdict), refusal.is_some(), on.is_some())))
    }
}

/// Something that may be missing where it would decide.
enum Written<T> {
    Is(T),
    Absent,
    Undecided,
}

// ---- what channels are -----------------------------------------------------------------------------

fn rx(world: &World, it: &Channel) -> i64 {
    it.rx.or(it.repeater.map(|number| world.repeaters[number].tx)).expect("a channel receives somewhere")
}

fn tx(world: &World, it: &Channel) -> Option<i64> {
    if it.sends == Sends::Nothing {
        return None;
    }
    let through = match it.repeater {
        Some(number) if !it.talk_around => world.repeaters[number].rx,
        _ => rx(world, it),
    };
    Some(it.tx.unwrap_or(through))
}

fn width(world: &World, it: &Channel) -> i64 {
    it.width.or(it.repeater.and_then(|number| world.repeaters[number].width)).unwrap_or(12_500)
}

fn color_code(world: &World, it: &Channel) -> Option<i64> {
    it.color_code.or(it.repeater.map(|number| world.repeaters[number].color_code))
}

fn is_simplex(world: &World, it: &Channel) -> bool {
    tx(world, it) == Some(rx(world, it))
}

fn sent_tone(world: &World, it: &Channel) -> Option<Tone> {
    it.tx_tone.or_else(|| match world.repeaters[it.repeater?].input_tones.as_slice() {
        [only] => Some(*only),
        _ => None,
    })
}

fn waited_tone(world: &World, it: &Channel) -> Written<Tone> {
    if it.opens_to_carrier {
        return Written::Absent;
    }
    if let Some(tone) = it.rx_tone {
        return Written::Is(tone);
    }
    let Some(repeater) = it.repeater.map(|number| &world.repeaters[number]) else { return Written::Absent };
    match (repeater.output, repeater.input_tones.as_slice()) {
        (Output::Nothing, _) | (Output::SameAsInput, []) => Written::Absent,
        (Output::Fixed(tone), _) => Written::Is(tone),
        (Output::SameAsInput, [only]) => Written::Is(only),
        (Output::SameAsInput, _) => Written::Undecided,
    }
}

/// 023 inverted is 047 normal, and the other way about; the 83 codes have no other pair among those used here.
fn opens(sent: Tone, wanted: Tone) -> bool {
    let stream = |tone| if tone == "DCS 047I" { "DCS 023N" } else { tone };
    stream(sent) == stream(wanted)
}

fn number_of(world: &World, call: Call) -> To {
    match call {
        Call::Group(number) => To::Group(world.talkgroups[number].id),
        Call::Contact(number) => world.contacts[number].id.map_or(To::All, To::Unit),
    }
}

/// What push-to-talk sends.
pub fn push_to_talk(world: &World, it: &Channel) -> Option<Sent> {
    let to = match (it.sends, it.call) {
        (Sends::Digital, call) => number_of(world, call?),
        _ => To::All,
    };
    sent(world, it, to, false)
}

/// What goes out where a channel calls `to`.
pub fn sent(world: &World, it: &Channel, to: To, is_data: bool) -> Option<Sent> {
    let signal = match it.sends {
        Sends::Nothing => return None,
        Sends::Analog => Signal::Analog(sent_tone(world, it)),
        Sends::Digital => {
            let has_slot = it.tdma_direct || !is_simplex(world, it);
            Signal::Digital {
                pattern: if it.tdma_direct { Pattern::TdmaDirect } else { Pattern::Mobile },
                color_code: color_code(world, it)?,
                slot: if has_slot { Some(it.slot?) } else { None },
                to,
                key: it.key,
                is_data,
            }
        }
    };
    Some(Sent { carrier: tx(world, it)?, width: width(world, it), signal })
}

// ---- ways ------------------------------------------------------------------------------------------

fn tolerance(signal: Signal) -> i64 {
    if let Signal::Digital { .. } = signal { 500 } else { 1_000 }
}

/// Every carrier that a transmission of a plan is on, and the repeaters that refuse it. A repeater sends a transmission
/// once.
pub fn ways(world: &World, plan: Home, bare: Sent) -> (Vec<Sent>, Vec<(Number, Refused)>) {
    let (mut rays, mut refused) = (Vec::new(), Vec::new());
    follow(world, plan, bare, &[], &mut rays, &mut refused);
    (rays, refused)
}

fn follow(
    world: &World,
    plan: Home,
    ray: Sent,
    way: &[Number],
    rays: &mut Vec<Sent>,
    refused: &mut Vec<(Number, Refused)>,
) {
    if !rays.contains(&ray) {
        rays.push(ray);
    }
    // Repeaters listen for radios, not for each other; analog ones cannot tell.
    if let Signal::Digital { pattern: Pattern::Base, .. } = ray.signal {
        return;
    }
    for number in 0..world.repeaters.len() {
        let it = &world.repeaters[number];
        if (it.rx - ray.carrier).abs() > tolerance(ray.signal) {
            continue;
        }
        let out = match repeated(world, plan, number, ray) {
            Ok(out) => out,
            Err(why) => {
                if !refused.contains(&(number, why)) {
                    refused.push((number, why));
                }
                continue;
            }
        };
        let mut next = vec![(number, out)];
        for network in networks(world, plan, number) {
            for member in network.repeaters.iter().filter(|member| **member != number) {
                next.extend(passed_on(world, network, *member, out).map(|out| (*member, out)));
            }
        }
        for (sender, out) in next.into_iter().filter(|(sender, _)| !way.contains(sender)) {
            follow(world, plan, out, &[way, &[sender]].concat(), rays, refused);
        }
    }
}

/// The networks of a repeater: a plan sees its own and those of the part, and looks at another plan's repeater as that plan.
fn networks(world: &World, plan: Home, number: Number) -> impl Iterator<Item = &Network> {
    let by = if world.repeaters[number].home == 0 { plan } else { world.repeaters[number].home };
    let networks = world.networks.iter().filter(move |network| [0, by].contains(&network.home));
    networks.filter(move |network| network.repeaters.contains(&number))
}

fn repeated(world: &World, plan: Home, number: Number, heard: Sent) -> Result<Sent, Refused> {
    let it = &world.repeaters[number];
    let signal = match heard.signal {
        Signal::Analog(_) if it.works == Works::Digital => return Err(Refused::Mode),
        Signal::Digital { .. } if it.works == Works::Analog => return Err(Refused::Mode),
        Signal::Analog(tone) => {
            let is_open = it.input_tones.is_empty();
            if !is_open && !it.input_tones.iter().any(|wanted| tone.is_some_and(|tone| opens(tone, wanted))) {
                return Err(Refused::Tone);
            }
            Signal::Analog(output(it, tone))
        }
        Signal::Digital { pattern: Pattern::TdmaDirect, .. } => return Err(Refused::Direct),
        Signal::Digital { color_code, slot, to, key, is_data, .. } => {
            if color_code != it.color_code && color_code != 15 && it.color_code != 15 {
                return Err(Refused::ColorCode(color_code, it.color_code));
            }
            if let Some(slot) = slot {
                admitted(world, plan, number, slot, to, is_data)?;
            }
            Signal::Digital { pattern: Pattern::Base, color_code: it.color_code, slot, to, key, is_data }
        }
    };
    Ok(Sent { carrier: it.tx, width: it.width.unwrap_or(12_500), signal })
}

fn output(it: &Repeater, heard: Option<Tone>) -> Option<Tone> {
    match it.output {
        Output::Nothing => None,
        Output::SameAsInput => heard,
        Output::Fixed(tone) => Some(tone),
    }
}

fn admitted(world: &World, plan: Home, number: Number, on: i64, to: To, is_data: bool) -> Result<(), Refused> {
    let Some(slot) = &world.repeaters[number].slots[on as usize - 1] else { return Ok(()) };
    if slot.is_short {
        return Ok(());
    }
    let is_barred = match to {
        _ if is_data => slot.bars_data,
        To::Unit(_) => slot.bars_individual,
        To::All => slot.bars_all_call,
        To::Group(_) => false,
    };
    if is_barred {
        return Err(Refused::Barred);
    }
    let To::Group(group) = to else { return Ok(()) };
    let is_wide = || networks(world, plan, number).any(|it| is_wide(world, it, group, on));
    if slot.only_listed && !lists(world, number, group, on) && !is_wide() {
        return Err(Refused::NotListed);
    }
    Ok(())
}

fn lists(world: &World, number: Number, group: i64, on: i64) -> bool {
    let slot = &world.repeaters[number].slots[on as usize - 1];
    slot.iter().flat_map(|slot| &slot.talkgroups).any(|listed| world.talkgroups[*listed].id == group)
}

fn is_wide(world: &World, network: &Network, group: i64, on: i64) -> bool {
    network.wide.iter().any(|(wide, slot)| world.talkgroups[*wide].id == group && slot.is_none_or(|slot| slot == on))
}

/// What a network makes a member send of what another member sends.
fn passed_on(world: &World, network: &Network, member: Number, sent: Sent) -> Option<Sent> {
    let it = &world.repeaters[member];
    let signal = match sent.signal {
        Signal::Analog(tone) if it.works != Works::Digital => Signal::Analog(output(it, tone)),
        Signal::Digital { slot: Some(slot), to: To::Group(group), key, is_data, .. } if it.works != Works::Analog => {
            if !lists(world, member, group, slot) && !is_wide(world, network, group, slot) {
                return None;
            }
            let (pattern, color_code, to) = (Pattern::Base, it.color_code, To::Group(group));
            Signal::Digital { pattern, color_code, slot: Some(slot), to, key, is_data }
        }
        _ => return None,
    };
    Some(Sent { carrier: it.tx, width: it.width.unwrap_or(12_500), signal })
}

// ---- reception -------------------------------------------------------------------------------------

/// A radio as one plan has it.
struct Listener<'w> {
    world: &'w World,
    radio: &'w Radio,
    model: &'w Model,
}

fn received(ray: Sent, it: &Channel, by: &Listener) -> Verdict {
    let world = by.world;
    if (rx(world, it) - ray.carrier).abs() > tolerance(ray.signal) {
        return Verdict::Frequency;
    }
    let receives = match (&it.receives, it.sends) {
        (Some(receives), _) => receives.clone(),
        (None, Sends::Nothing) => return Verdict::NotWritten,
        (None, sends) => vec![sends],
    };
    match ray.signal {
        Signal::Analog(tone) => analog(ray, tone, &receives, it, world),
        Signal::Digital { .. } if !receives.contains(&Sends::Digital) => {
            let is_open = receives.contains(&Sends::Analog) && matches!(waited_tone(world, it), Written::Absent);
            if is_open { Verdict::DigitalIntoAnalog } else { Verdict::Mode }
        }
        Signal::Digital { .. } => digital(ray.signal, it, by),
    }
}

fn analog(ray: Sent, tone: Option<Tone>, receives: &[Sends], it: &Channel, world: &World) -> Verdict {
    if !receives.contains(&Sends::Analog) {
        return Verdict::Mode;
    }
    if ray.width > width(world, it) {
        return Verdict::TooWide;
    }
    match waited_tone(world, it) {
        Written::Undecided => Verdict::NotWritten,
        Written::Is(wanted) if !tone.is_some_and(|tone| opens(tone, wanted)) => Verdict::Tone,
        Written::Is(_) | Written::Absent => Verdict::Heard,
    }
}

fn digital(signal: Signal, it: &Channel, by: &Listener) -> Verdict {
    let Signal::Digital { pattern, color_code: sent, slot, to, key, .. } = signal else { return Verdict::Mode };
    let world = by.world;
    let is_repeater_channel = !is_simplex(world, it) && tx(world, it).is_some();
    let fits = match pattern {
        Pattern::TdmaDirect => it.tdma_direct,
        Pattern::Base => !it.tdma_direct,
        Pattern::Mobile => !it.tdma_direct && (!is_repeater_channel || by.model.hears_direct.unwrap_or(true)),
    };
    if !fits {
        return Verdict::Pattern(pattern);
    }
    let Some(wanted) = color_code(world, it) else { return Verdict::NotWritten };
    if sent != wanted && sent != 15 && wanted != 15 {
        return Verdict::ColorCode(sent, wanted);
    }
    // What a mobile sends carries no slot that others could tell; a plain direct channel without a slot waits for none.
    let is_slotless = is_simplex(world, it) && !it.tdma_direct && it.slot.is_none();
    if let Some(sent) = slot
        && pattern != Pattern::Mobile
        && it.listens != Some(Listens::BothSlots)
        && !is_slotless
    {
        let Some(wanted) = it.slot else { return Verdict::NotWritten };
        if sent != wanted {
            return Verdict::Slot(sent, wanted);
        }
    }
    match to {
        To::All => {}
        To::Unit(unit) if is_unit(by.radio, unit) => {}
        To::Unit(unit) => return Verdict::Unit(unit),
        To::Group(group) if takes(group, it, by) => {}
        To::Group(group) => return Verdict::Group(group),
    }
    privacy(key, it, by)
}

/// A spare or retired radio has given its number away.
fn is_unit(radio: &Radio, unit: i64) -> bool {
    radio.id == unit && !matches!(radio.status, Status::Spare | Status::Retired)
}

fn takes(group: i64, it: &Channel, by: &Listener) -> bool {
    if let Some(Listens::AnyGroup | Listens::BothSlots) = it.listens {
        return true;
    }
    let world = by.world;
    let listed = it.receive_group.iter().flat_map(|number| &world.receive_groups[*number].talkgroups);
    let is_own = it.call.map(|call| number_of(world, call)) == Some(To::Group(group));
    listed.into_iter().any(|listed| world.talkgroups[*listed].id == group)
        || is_own && by.model.hears_own_talkgroup.unwrap_or(true)
}

fn privacy(key: Option<Number>, it: &Channel, by: &Listener) -> Verdict {
    let world = by.world;
    let Some(sent) = key else {
        return if it.receive_clear.unwrap_or(true) { Verdict::Heard } else { Verdict::Clear };
    };
    let is_same = |own: Number| is_one_material(world, own, sent);
    if world.keys[sent].algorithm == Algorithm::FixedScramble {
        return match it.key {
            Some(own) if world.keys[own].algorithm != Algorithm::FixedScramble => Verdict::UnknownKey,
            Some(own) if is_same(own) => Verdict::Heard,
            Some(_) | None => Verdict::OtherMaterial,
        };
    }
    let on_channel = || it.key.iter().chain(&it.more_keys).copied();
    let looked_at: Vec<Number> = match (&by.radio.keys, by.model.channel_key_only) {
        (None, _) => on_channel().collect(),
        (Some(held), Some(true)) => on_channel().filter(|key| held.contains(key)).collect(),
        (Some(held), _) => held.clone(),
    };
    let names = |own: &Number| {
        let (own, sent) = (&world.keys[*own], &world.keys[sent]);
        own.algorithm == sent.algorithm && own.id == sent.id
    };
    match looked_at.into_iter().filter(names).map(is_same).max() {
        Some(true) => Verdict::Heard,
        Some(false) => Verdict::OtherMaterial,
        None => Verdict::UnknownKey,
    }
}

/// What the plans say of it, the surest first.
fn is_one_material(world: &World, a: Number, b: Number) -> bool {
    let (one, other) = (&world.keys[a], &world.keys[b]);
    if a == b {
        return true;
    }
    if let (Some(one), Some(other)) = (one.check_value, other.check_value) {
        return one == other;
    }
    if let (Some(one), Some(other)) = (one.held_in, other.held_in) {
        return one == other;
    }
    one.name == other.name
}

// ---- radios ----------------------------------------------------------------------------------------

fn positions(world: &World, radio: &Radio) -> Vec<(Number, Role)> {
    if matches!(radio.status, Status::Lost | Status::Retired) {
        return Vec::new();
    }
    let knob = |zone: &Number| world.zones[*zone].channels.iter().flatten().copied().collect::<Vec<_>>();
    let mut found: Vec<(Number, Role)> = radio.zones.iter().flat_map(knob).map(|it| (it, Role::OnKnob)).collect();
    if radio.status == Status::Spare {
        return found;
    }
    let Some(home) = home(world, radio) else { return found };
    if let Some(list) = world.channels[home].scan_list {
        let members = world.scan_lists[list].channels.iter().filter(|member| **member != home);
        found.extend(members.map(|member| (*member, Role::Scans)));
    }
    found.push((home, Role::StandsBy));
    found
}

/// Where a radio stands by: where it says, else the first position of its first zone.
pub fn home(world: &World, radio: &Radio) -> Option<Number> {
    radio.stands_by.or_else(|| world.zones[*radio.zones.first()?].channels.iter().flatten().next().copied())
}

/// How late a check is that fails.
fn stage(verdict: Verdict) -> u8 {
    match verdict {
        Verdict::NotWritten => 0,
        Verdict::Frequency => 1,
        Verdict::Mode | Verdict::DigitalIntoAnalog => 2,
        Verdict::TooWide => 3,
        Verdict::Pattern(_) => 4,
        Verdict::ColorCode(..) => 5,
        Verdict::Slot(..) => 6,
        Verdict::Group(_) | Verdict::Unit(_) => 7,
        Verdict::Clear => 8,
        Verdict::UnknownKey => 9,
        Verdict::OtherMaterial => 10,
        Verdict::Tone => 11,
        Verdict::Heard => 12,
    }
}

fn answer(verdict: Verdict, role: Role) -> Answer {
    match (verdict, role) {
        (Verdict::Heard, Role::StandsBy) => Answer::Hears,
        (Verdict::Heard, Role::Scans) => Answer::IfScanning,
        (Verdict::Heard, Role::OnKnob) => Answer::CouldTune,
        (Verdict::NotWritten, _) => Answer::Unknown,
        (Verdict::DigitalIntoAnalog | Verdict::TooWide | Verdict::OtherMaterial, Role::StandsBy | Role::Scans) => {
            Answer::Noise
        }
        _ => Answer::No,
    }
}

/// What a radio makes of a transmission: the best over its positions, of several alike the one whose check fails last.
pub fn judge(world: &World, radio: Number, rays: &[Sent], refused: &[(Number, Refused)]) -> Judged {
    let it = &world.radios[radio];
    let plans = if it.home == 0 { world.plans() } else { it.home..it.home + 1 };
    let in_plans = plans.map(|plan| judge_in(world, plan, it, rays, refused));
    // A radio of the part is counted where it comes nearest to hearing.
    in_plans.min_by_key(|judged| judged.nearness()).expect("a plan")
}

fn judge_in(world: &World, plan: Home, radio: &Radio, rays: &[Sent], refused: &[(Number, Refused)]) -> Judged {
    let by = Listener { world, radio, model: &world.models[plan] };
    let mut found = vec![(Answer::No, Verdict::Frequency, Role::OnKnob, None, None)];
    for (number, role) in positions(world, radio) {
        let channel = &world.channels[number];
        for ray in rays {
            let verdict = received(*ray, channel, &by);
            let on = (verdict != Verdict::Frequency).then_some(number);
            found.push((answer(verdict, role), verdict, role, on, None));
        }
        for refusal in refused {
            let near = tolerance(rays[0].signal);
            if (rx(world, channel) - world.repeaters[refusal.0].tx).abs() <= near {
                found.push((Answer::No, Verdict::Frequency, role, Some(number), Some(*refusal)));
            }
        }
    }
    let rank = |(answer, verdict, role, on, refusal): &(Answer, Verdict, Role, Option<Number>, Option<_>)| {
        // Among those that receive nowhere near, no role is nearer than another.
        let role = if on.is_some() { *role } else { Role::OnKnob };
        (*answer, Reverse(stage(*verdict)), Reverse(refusal.is_some()), role, on.map(|on| place(world, on)))
    };
    let best = found.iter().map(rank).min().expect("the first");
    let alike = found.iter().filter(|it| rank(it) == best);
    let mut reasons: Vec<_> = alike.map(|(_, verdict, _, on, refusal)| (*on, *verdict, *refusal)).collect();
    reasons.dedup();
    Judged { answer: best.0, reasons }
}

/// Where a channel stands: the part is first by path.
fn place(world: &World, channel: Number) -> (Home, Number) {
    (world.channels[channel].home, channel)
}
