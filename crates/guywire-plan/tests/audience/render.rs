//! Plans as text.

use std::fmt::Write;

use crate::world::*;

/// Every file: its path and text.
pub fn files(world: &World) -> Vec<(String, String)> {
    let mut files = vec![(path(0), tables(world, 0))];
    for home in world.plans() {
        files.push((format!("/harbor/{home}.model.toml"), model(&world.models[home])));
        let mut text =
            format!("[plan]\ntitle = \"Plan {home}\"\nmodel = \"{home}.model.toml\"\nshares = [\"0.plan.toml\"]\n\n");
        text.push_str("[signaling]\n");
        whole(&mut text, "group_hang_ms", world.hangs[home].group);
        whole(&mut text, "individual_hang_ms", world.hangs[home].individual);
        text.push_str(&tables(world, home));
        files.push((path(home), text));
    }
    files
}

pub fn path(home: Home) -> String {
    format!("/harbor/{home}.plan.toml")
}

fn model(it: &Model) -> String {
    let mut text = "[model]\nname = \"hh\"\nkind = \"handheld\"\nsends = [\"digital\", \"analog\"]\n".to_owned();
    truth(&mut text, "hears_own_talkgroup", it.hears_own_talkgroup);
    truth(&mut text, "hears_direct_on_repeater_channel", it.hears_direct);
    let word = it.channel_key_only.map(|only| if only { "channel-key" } else { "any-held" });
    said(&mut text, "decrypts_with", word);
    text
}

fn header(text: &mut String, table: &str, name: &str) {
    let _ = writeln!(text, "\n[[{table}]]\nname = \"{name}\"");
}

fn said(text: &mut String, key: &str, value: Option<&str>) {
    if let Some(value) = value {
        let _ = writeln!(text, "{key} = \"{value}\"");
    }
}

fn whole(text: &mut String, key: &str, value: Option<i64>) {
    if let Some(value) = value {
        let _ = writeln!(text, "{key} = {value}");
    }
}

fn truth(text: &mut String, key: &str, value: Option<bool>) {
    if let Some(value) = value {
        let _ = writeln!(text, "{key} = {value}");
    }
}

fn megahertz(text: &mut String, key: &str, hertz: Option<i64>) {
    if let Some(hertz) = hertz {
        let _ = writeln!(text, "{key} = {}.{:06}", hertz / 1_000_000, hertz % 1_000_000);
    }
}

fn width(text: &mut String, hertz: Option<i64>) {
    if let Some(hertz) = hertz {
        let _ = writeln!(text, "bandwidth_khz = {}.{}", hertz / 1_000, hertz % 1_000 / 100);
    }
}

fn quoted<'a>(names: impl IntoIterator<Item = &'a str>) -> String {
    let names: Vec<String> = names.into_iter().map(|name| format!("\"{name}\"")).collect();
    format!("[{}]", names.join(", "))
}

fn list<'a>(text: &mut String, key: &str, names: impl IntoIterator<Item = &'a str>) {
    let _ = writeln!(text, "{key} = {}", quoted(names));
}

fn mode(it: Sends) -> &'static str {
    match it {
        Sends::Digital => "digital",
        Sends::Analog => "analog",
        Sends::Nothing => "nothing",
    }
}

/// The tables that stand in one file.
fn tables(world: &World, home: Home) -> String {
    let mut text = String::new();
    let out = &mut text;
    for it in world.talkgroups.iter().filter(|it| it.home == home) {
        header(out, "talkgroup", &it.name);
        whole(out, "id", Some(it.id));
    }
    for it in world.contacts.iter().filter(|it| it.home == home) {
        header(out, "contact", &it.name);
        whole(out, "id", it.id);
        truth(out, "all_call", it.id.is_none().then_some(true));
    }
    for it in world.receive_groups.iter().filter(|it| it.home == home) {
        header(out, "receive_group", &it.name);
        list(out, "talkgroups", it.talkgroups.iter().map(|group| &*world.talkgroups[*group].name));
    }
    for it in world.keys.iter().filter(|it| it.home == home) {
        key(out, it);
    }
    for it in world.repeaters.iter().filter(|it| it.home == home) {
        repeater(out, world, it);
    }
    for it in world.networks.iter().filter(|it| it.home == home) {
        header(out, "network", &it.name);
        list(out, "repeaters", it.repeaters.iter().map(|number| &*world.repeaters[*number].name));
        let wide = it.wide.iter().map(|(group, slot)| {
            let slot = slot.map(|slot| format!(", slot = {slot}")).unwrap_or_default();
            format!("{{ talkgroup = \"{}\"{slot} }}", world.talkgroups[*group].name)
        });
        let _ = writeln!(out, "wide = [{}]", wide.collect::<Vec<_>>().join(", "));
    }
    for it in world.channels.iter().filter(|it| it.home == home) {
        channel(out, world, it);
    }
    for it in world.scan_lists.iter().filter(|it| it.home == home) {
        header(out, "scan_list", &it.name);
        let named = it.channels.iter().map(|number| &*world.channels[*number].name);
        list(out, "channels", it.selected.then_some("selected").into_iter().chain(named));
        let reply = it.reply.map(|reply| match reply {
            Reply::LastHeard => "last-heard",
            Reply::Selected => "selected",
            Reply::On(number) => &world.channels[number].name,
        });
        said(out, "reply", reply);
    }
    for it in world.zones.iter().filter(|it| it.home == home) {
        header(out, "zone", &it.name);
        list(out, "channels", it.channels.iter().map(|at| at.map_or("", |number| &world.channels[number].name)));
    }
    for it in world.radios.iter().filter(|it| it.home == home) {
        radio(out, world, it);
    }
    text
}

fn key(out: &mut String, it: &Key) {
    header(out, "key", &it.name);
    let word = match it.algorithm {
        Algorithm::FixedScramble => "fixed-scramble",
        Algorithm::Arc4 => "arc4-40",
        Algorithm::Aes256 => "aes-256",
    };
    said(out, "algorithm", Some(word));
    whole(out, "id", it.id);
    said(out, "check_value", it.check_value);
    said(out, "held_in", it.held_in);
}

fn repeater(out: &mut String, world: &World, it: &Repeater) {
    header(out, "repeater", &it.name);
    megahertz(out, "tx_mhz", Some(it.tx));
    megahertz(out, "rx_mhz", Some(it.rx));
    let word = match it.works {
        Works::Digital => "digital",
        Works::Analog => "analog",
        Works::Dual => "dual",
    };
    said(out, "mode", Some(word));
    width(out, it.width);
    whole(out, "color_code", Some(it.color_code));
    for (number, slot) in it.slots.iter().enumerate() {
        let Some(slot) = slot else { continue };
        let talkgroups = quoted(slot.talkgroups.iter().map(|group| &*world.talkgroups[*group].name));
        let _ = match slot.is_short {
            true => writeln!(out, "slot_{} = {talkgroups}", number + 1),
            false => writeln!(
                out,
                "slot_{} = {{ talkgroups = {talkgroups}, only_listed = {}, individual = {}, all_call = {}, data = {} }}",
                number + 1,
                slot.only_listed,
                !slot.bars_individual,
                !slot.bars_all_call,
                !slot.bars_data
            ),
        };
    }
    if !it.input_tones.is_empty() {
        list(out, "input_tones", it.input_tones.iter().copied());
    }
    let output = match it.output {
        Output::Nothing => "none",
        Output::SameAsInput => "same-as-input",
        Output::Fixed(tone) => tone,
    };
    said(out, "output_tone", Some(output));
}

fn channel(out: &mut String, world: &World, it: &Channel) {
    header(out, "channel", &it.name);
    said(out, "sends", Some(mode(it.sends)));
    if let Some(receives) = &it.receives {
        list(out, "receives", receives.iter().map(|it| mode(*it)));
    }
    said(out, "repeater", it.repeater.map(|number| &*world.repeaters[number].name));
    truth(out, "talk_around", it.talk_around.then_some(true));
    megahertz(out, "rx_mhz", it.rx);
    megahertz(out, "tx_mhz", it.tx);
    width(out, it.width);
    whole(out, "color_code", it.color_code);
    whole(out, "slot", it.slot);
    let call = it.call.map(|call| match call {
        Call::Group(number) => &*world.talkgroups[number].name,
        Call::Contact(number) => &*world.contacts[number].name,
    });
    said(out, "call", call);
    said(out, "receive_group", it.receive_group.map(|number| &*world.receive_groups[number].name));
    let listens = it.listens.map(|listens| match listens {
        Listens::OwnGroups => "own-groups",
        Listens::AnyGroup => "any-group",
        Listens::BothSlots => "both-slots",
    });
    said(out, "listens_to", listens);
    said(out, "privacy", it.key.map(|number| &*world.keys[number].name));
    if !it.more_keys.is_empty() {
        list(out, "privacy_receive", it.more_keys.iter().map(|number| &*world.keys[*number].name));
    }
    truth(out, "receive_clear", it.receive_clear);
    truth(out, "tdma_direct_mode", it.tdma_direct.then_some(true));
    said(out, "rx_tone", it.rx_tone);
    said(out, "tx_tone", it.tx_tone);
    said(out, "unmute", it.opens_to_carrier.then_some("carrier"));
    said(out, "scan_list", it.scan_list.map(|number| &*world.scan_lists[number].name));
}

fn radio(out: &mut String, world: &World, it: &Radio) {
    let _ = writeln!(out, "\n[[radio]]\nalias = \"{}\"\nid = {}", it.name, it.id);
    let status = match it.status {
        Status::Issued => None,
        Status::Spare => Some("spare"),
        Status::Lost => Some("lost"),
        Status::Retired => Some("retired"),
    };
    said(out, "status", status);
    list(out, "zones", it.zones.iter().map(|number| &*world.zones[*number].name));
    if let Some(number) = it.stands_by {
        let _ = writeln!(out, "stands_by = {{ channel = \"{}\" }}", world.channels[number].name);
    }
    if let Some(keys) = &it.keys {
        list(out, "keys", keys.iter().map(|number| &*world.keys[*number].name));
    }
}
