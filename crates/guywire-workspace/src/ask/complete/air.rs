//! What goes on the air: carriers, with all that belongs to a channel of the service; tones and codes; emission
//! designators.

use guywire_plan::language::{
    CHANNEL, Kind, READING, REPEATER, license, license__assignment, model, model__band, repeater,
};
use guywire_plan::{Known, Ref, Row, Stored};
use guywire_radio::ctcss::{STANDARD_TONES, ToneSet};
use guywire_radio::dcs::{Dcs, EXTRA_CODES, STANDARD_CODES};
use guywire_radio::emission::{
    Emission, TWO_SLOT_DATA, TWO_SLOT_VOICE, fm_voice_bandwidth, peak_deviation, usual_analog_voice,
};
use guywire_radio::frequency::Band;
use guywire_radio::protected::{Protection, protected_by};
use guywire_radio::regime::{ChannelUse, Date, Place, Regime, ServiceChannel};
use guywire_radio::{Hertz, Tone};

use super::context::{Asked, Want};
use super::cursor::is_line_end;
use super::item::{Content, Draft, Written};
use super::known;
use crate::answer::{CompletionKind, TextEdit};

/// The other carrier of a pair, then channels of the service, then carriers of the license.
const PAIR: u8 = 0;
const SERVICE: u8 = 1;
const LICENSED: u8 = 2;
/// Shown with each list of a service's channels.
const CAUTION: &str = "A list is no license: the license and the regulation in force decide.";

pub(crate) fn carriers(asked: &Asked<'_>, want: Want) -> Vec<Draft> {
    let key = want.key.map(|key| key.name).unwrap_or_default();
    let (is_channel, is_repeater) = (std::ptr::eq(want.table, &CHANNEL), std::ptr::eq(want.table, &REPEATER));
    if std::ptr::eq(want.table, &READING) {
        return band_edges(asked);
    }
    if !(is_channel || is_repeater) || !matches!(key, "rx_mhz" | "tx_mhz") {
        return Vec::new();
    }
    let mut drafts = other_of_pair(asked, key, is_repeater);
    if let Some(service) = known::service(asked).filter(|_| is_channel) {
        drafts.extend(of_service(asked, service, key));
    }
    drafts.extend(licensed(asked));
    drafts
}

fn carrier(mhz: Hertz) -> Draft {
    Draft::of_raw(CompletionKind::Carrier, mhz.mhz_text())
}

/// The edges and the middle of what a model tunes: where a bench session measures.
fn band_edges(asked: &Asked<'_>) -> Vec<Draft> {
    let mut drafts = Vec::new();
    for model in known::models(asked) {
        for band in model.parts::<model__band::Table>(model::band) {
            let edges = (band.frequency(model__band::low_mhz), band.frequency(model__band::high_mhz));
            let (Known::Is(low), Known::Is(high)) = edges else { continue };
            let middle = Hertz(low.get() + (high.get() - low.get()) / 2);
            let whole = Hertz(middle.get() / 1_000_000 * 1_000_000);
            for (at, what) in [(low, "lower edge"), (whole, "middle"), (high, "upper edge")] {
                drafts.push(carrier(at).detail(format!("{what} of {}", model.name().unwrap_or("the model"))));
            }
        }
    }
    drafts
}

/// The carrier that goes with the one that is written: by the pairs of the service, else the same.
fn other_of_pair(asked: &Asked<'_>, key: &str, is_repeater: bool) -> Vec<Draft> {
    let other = if key == "rx_mhz" { "tx_mhz" } else { "rx_mhz" };
    let Some(written) = asked.written(other).and_then(|text| Hertz::from_mhz_text(text).ok()) else {
        return Vec::new();
    };
    // A repeater sends on the output, a radio receives it.
    let is_output = is_repeater == (other == "tx_mhz");
    let mut drafts: Vec<Draft> = Vec::new();
    for pair in known::service(asked).map(|service| service.terms().pairs.as_slice()).unwrap_or_default() {
        let found = if is_output { written + pair.shift } else { written - pair.shift };
        let output = if is_output { written } else { found };
        if pair.output.contains(output) {
            let sign = if pair.shift.get() < 0 { '−' } else { '+' };
            let detail = format!("pair of {written}: input {sign}{} MHz from the output", pair.shift.abs());
            drafts.push(carrier(found).detail(detail).doc(format!("{}. {CAUTION}", pair.source)).rank(PAIR));
        }
    }
    if let [only] = drafts.as_mut_slice() {
        only.preselect = true;
    }
    if !is_repeater {
        drafts.push(carrier(written).detail(format!("simplex: as `{other}`").replace('`', "")).rank(PAIR));
    }
    drafts
}

/// A channel of a service as a radio would be set to it.
struct Setting<'r> {
    label: String,
    rx: Hertz,
    tx: Hertz,
    channel: &'r ServiceChannel,
}

fn of_service(asked: &Asked<'_>, service: &Regime, key: &str) -> Vec<Draft> {
    let mut settings = settings(service);
    settings.sort_by(|a, b| natural(&a.label).cmp(&natural(&b.label)));
    settings.iter().filter(|setting| !is_never(setting)).map(|setting| of_setting(asked, setting, key)).collect()
}

/// Channels by number, then by the rest of what they are called.
fn natural(label: &str) -> (u32, &str) {
    let digits = label.len() - label.trim_start_matches(|letter: char| letter.is_ascii_digit()).len();
    (label[..digits].parse().unwrap_or(u32::MAX), &label[digits..])
}

fn settings(service: &Regime) -> Vec<Setting<'_>> {
    let terms = service.terms();
    let input_of = |output: Hertz| {
        let pair = terms.pairs.iter().find(|pair| pair.output.contains(output))?;
        terms.channels.iter().map(|channel| channel.carrier).find(|carrier| *carrier == output + pair.shift)
    };
    let mut settings = Vec::new();
    for channel in &terms.channels {
        let (label, carrier) = (channel.label.to_string(), channel.carrier);
        let one = |label: String| Setting { label, rx: carrier, tx: carrier, channel };
        match channel.usage {
            ChannelUse::Simplex => settings.push(one(label)),
            ChannelUse::OutputOrSimplex => {
                settings.push(one(label.clone()));
                settings.extend(input_of(carrier).map(|tx| Setting {
                    label: format!("{label} through a repeater"),
                    rx: carrier,
                    tx,
                    channel,
                }));
            }
            // The coast's side stands for the pair: a ship receives it.
            ChannelUse::CoastSide => {
                let number = label.trim_end_matches(" coast");
                if let Some(ship) = input_of(carrier) {
                    settings.push(Setting { label: format!("{number} as ship"), rx: carrier, tx: ship, channel });
                    settings.push(Setting { label: format!("{number} as coast"), rx: ship, tx: carrier, channel });
                }
            }
            ChannelUse::ShipSide | ChannelUse::RepeaterInput => {}
        }
    }
    settings
}

/// Whether nothing may ever be sent there but what it is for.
fn is_never(setting: &Setting<'_>) -> bool {
    [setting.rx, setting.tx].into_iter().filter_map(reserved).any(|(_, protection)| protection == Protection::Never)
}

fn reserved(carrier: Hertz) -> Option<(&'static str, Protection)> {
    let found = protected_by(Band::around(carrier, Hertz::khz(1)).ok()?)?;
    Some((found.purpose, found.protection))
}

fn of_setting(asked: &Asked<'_>, setting: &Setting<'_>, key: &str) -> Draft {
    let Setting { label, rx, tx, channel } = setting;
    let own = if key == "rx_mhz" { *rx } else { *tx };
    let width = width_of(asked, channel);
    let mut rest: Vec<(&str, String)> = Vec::new();
    if key != "rx_mhz" {
        rest.push(("rx_mhz", rx.mhz_text()));
    }
    if key != "tx_mhz" && (rx != tx || asked.written("tx_mhz").is_some()) {
        rest.push(("tx_mhz", tx.mhz_text()));
    }
    rest.extend(
        width.filter(|_| asked.written("bandwidth_khz").is_none()).map(|width| ("bandwidth_khz", width.khz_text())),
    );
    let mut written = Written::of(&own.mhz_text());
    let more = beside(asked, &rest, &mut written);
    let detail = if rx == tx { format!("simplex {rx} MHz") } else { format!("receives {rx}, sends {tx} MHz") };
    let mut draft =
        Draft::new(CompletionKind::Carrier, format!("{} ({label})", own.mhz_text()), Content::Made(written))
            .detail(detail)
            .doc(doc_of(setting, width, &rest))
            .filter(format!("{} {label}", own.mhz_text()))
            .rank(SERVICE);
    draft.more = more;
    draft
}

fn doc_of(setting: &Setting<'_>, width: Option<Hertz>, rest: &[(&str, String)]) -> String {
    let mut doc = format!("Channel {} of {}.", setting.label, setting.channel.source);
    if let Some(width) = width {
        doc.push_str(&format!(" At most {} kHz wide.", width.khz_text()));
    }
    if let Some(note) = &setting.channel.note {
        doc.push_str(&format!(" For {note}."));
    }
    if !rest.is_empty() {
        let set: Vec<String> = rest.iter().map(|(key, value)| format!("`{key} = {value}`")).collect();
        doc.push_str(&format!("\n\nAlso writes {}.", set.join(", ")));
    }
    if let Some((purpose, _)) = reserved(setting.tx) {
        doc.push_str(&format!("\n\n**Kept for {purpose}:** never test here, and transmit only what it is for."));
    }
    doc.push_str(&format!("\n\n{CAUTION}"));
    doc
}

fn width_of(asked: &Asked<'_>, channel: &ServiceChannel) -> Option<Hertz> {
    let today = asked.view.today()?;
    let (year, month, day) = (today.year(), today.month(), today.day());
    let day = Date::new(u16::try_from(year).ok()?, u8::try_from(month).ok()?, u8::try_from(day).ok()?)?;
    channel.widths.iter().filter(|rule| rule.period.holds(day)).map(|rule| rule.most).min()
}

/// The edits that write other keys of the same table: where a key is there its value is changed, else a line is added
/// below. Where there is no line below, the lines become part of what is written itself.
fn beside(asked: &Asked<'_>, rest: &[(&str, String)], written: &mut Written) -> Vec<TextEdit> {
    let file = asked.file;
    let mut more: Vec<TextEdit> = Vec::new();
    let (mut lines, eol) = (String::new(), asked.document.line_ending());
    let bytes = asked.text.as_bytes();
    let rest_of_line = bytes[asked.at..].iter().position(|it| is_line_end(*it));
    for (key, value) in rest {
        let pair = asked.cursor.statements.iter().find(|pair| pair.key.len() == 1 && pair.key[0] == *key);
        match pair {
            Some(pair) if asked.text.get(pair.value.clone()).is_some_and(|text| text.trim() == value) => {}
            Some(pair) => {
                let bytes = asked.base + pair.value.start..asked.base + pair.value.end;
                let space =
                    if pair.value.is_empty() && asked.text[..pair.value.start].ends_with('=') { " " } else { "" };
                more.push(TextEdit { file, bytes, text: format!("{space}{value}") });
            }
            None if rest_of_line.is_some() => lines.push_str(&format!("{key} = {value}{eol}")),
            None => lines.push_str(&format!("{eol}{key} = {value}")),
        }
    }
    match rest_of_line {
        Some(offset) if !lines.is_empty() => {
            let end = asked.at + offset;
            let next = end + if bytes[end..].starts_with(b"\r\n") { 2 } else { 1 };
            more.push(TextEdit { file, bytes: asked.base + next..asked.base + next, text: lines });
        }
        Some(_) => {}
        None => written.text(&lines),
    }
    more.sort_by_key(|edit| edit.bytes.start);
    more
}

/// Carriers that the licenses of the plan grant.
fn licensed(asked: &Asked<'_>) -> Vec<Draft> {
    let view = asked.view;
    let mut found: Vec<(Hertz, String)> = Vec::new();
    for id in view.nameable(asked.file, Kind::License) {
        let Some(license): Option<Ref<'_, license::Table>> = view.get(id) else { continue };
        for grant in license.parts::<license__assignment::Table>(license::assignment) {
            let Known::Is(tx) = grant.frequency(license__assignment::tx_mhz) else { continue };
            let station = grant.text(license__assignment::station).value().map(|word| view.symbol(word));
            let who = station.map(|station| format!(" to {station} stations")).unwrap_or_default();
            let detail = format!("granted{who} by {}", license.name().unwrap_or("a license"));
            found.push((tx, detail));
        }
    }
    found.sort();
    found.dedup_by(|next, kept| {
        let same = next.0 == kept.0;
        if same && next.1 != kept.1 {
            kept.1.push_str(&format!("; {}", next.1));
        }
        same
    });
    found.into_iter().map(|(tx, detail)| carrier(tx).detail(detail).doc(CAUTION).rank(LICENSED)).collect()
}

// ---- tones ------------------------------------------------------------------------------------------

/// The tones and codes in common use; the repeater's and those of the plan's other channels first.
pub(crate) fn tones(asked: &Asked<'_>, want: Want, words: &[&str]) -> Vec<Draft> {
    let mut drafts: Vec<Draft> = words.iter().map(|word| Draft::of_text(CompletionKind::Word, *word)).collect();
    let opening = if want.is(&CHANNEL, "tx_tone") { repeater_tones(asked, true) } else { repeater_tones(asked, false) };
    let only = opening.len() == 1;
    let of_repeater = |tone: &String| {
        let detail = if want.is(&CHANNEL, "tx_tone") { "opens the repeater" } else { "sent by the repeater" };
        Draft::of_text(CompletionKind::Tone, tone.clone()).detail(detail).preselect(only).rank(PAIR)
    };
    if std::ptr::eq(want.table, &CHANNEL) {
        drafts.extend(opening.iter().map(of_repeater));
    }
    let listed: Vec<String> = drafts.iter().map(|draft| draft.label.clone()).collect();
    let ctcss = STANDARD_TONES.iter().map(|standard| {
        let detail = match standard.set {
            ToneSet::GroupA | ToneSet::GroupB | ToneSet::GroupC => "Hz, one of the 37 of TIA-603",
            ToneSet::Extra38 | ToneSet::Extra42 => "Hz, in lists of 42",
            ToneSet::Extra50 => "Hz, in lists of 50: many radios lack it",
        };
        Draft::of_text(CompletionKind::Tone, Tone::Ctcss(standard.tone).to_string()).detail(detail)
    });
    let codes = |inverted: bool| {
        let code = move |code: &u16| Dcs::new(*code, inverted).ok();
        STANDARD_CODES.iter().chain(&EXTRA_CODES).filter_map(code).map(move |code| {
            let list = if EXTRA_CODES.contains(&code.code()) { "in lists of 104" } else { "one of the 83 of TIA-603" };
            let polarity = if inverted { "inverted, " } else { "" };
            Draft::of_text(CompletionKind::Tone, Tone::Dcs(code).to_string()).detail(format!("{polarity}{list}"))
        })
    };
    let all = ctcss.chain(codes(false)).chain(codes(true));
    drafts.extend(all.filter(|draft| !listed.contains(&draft.label)));
    drafts
}

/// The tones of the channel's repeater: those that open it, or the one that it sends.
fn repeater_tones(asked: &Asked<'_>, input: bool) -> Vec<String> {
    let Some(repeater) = known::repeater(asked) else { return Vec::new() };
    let text = |value: &Stored| match value {
        Stored::Text(tone) => Some(asked.view.symbol(*tone).to_owned()),
        _ => None,
    };
    let inputs: Vec<String> = match repeater.list(repeater::input_tones) {
        Known::Is(elements) => elements.iter().filter_map(|element| text(&element.value)).collect(),
        _ => Vec::new(),
    };
    if input {
        return inputs;
    }
    match repeater.text(repeater::output_tone).value().map(|tone| asked.view.symbol(tone)) {
        Some("same-as-input") => inputs,
        Some("none") | None => Vec::new(),
        Some(tone) => vec![tone.to_owned()],
    }
}

// ---- emissions --------------------------------------------------------------------------------------

/// Highest modulating frequency of telephony (47 CFR 2.202(g), from memory).
const VOICE: Hertz = Hertz(3_000);
/// Widths of land mobile channels.
const WIDTHS: [Hertz; 3] = [Hertz(12_500), Hertz(20_000), Hertz(25_000)];

/// The usual designators of the trade, with the channel that each is for and its necessary bandwidth.
pub(crate) fn designators(asked: &Asked<'_>) -> Vec<Draft> {
    let mut found: Vec<(Emission, String)> = vec![
        (TWO_SLOT_VOICE, "two-slot digital voice in 12.5 kHz".to_owned()),
        (TWO_SLOT_DATA, "two-slot digital data in 12.5 kHz".to_owned()),
    ];
    for width in WIDTHS {
        found.extend(
            usual_analog_voice(width)
                .map(|emission| (emission, format!("analog FM voice in {} kHz", width.khz_text()))),
        );
    }
    let service = known::service(asked);
    let carrier = asked.written("tx_mhz").and_then(|text| Hertz::from_mhz_text(text).ok());
    let place = service.zip(carrier).map_or(Place::Outside, |(service, carrier)| service.place(carrier));
    for width in WIDTHS {
        found.extend(
            carson(width)
                .map(|emission| (emission, format!("analog FM voice in {} kHz, computed: 2M + 2D", width.khz_text()))),
        );
    }
    let mut listed: Vec<Emission> = Vec::new();
    found.retain(|(emission, _)| {
        let fresh = !listed.contains(emission);
        listed.push(*emission);
        fresh
    });
    found
        .into_iter()
        .map(|(emission, what)| {
            let barred = service.and_then(|service| service.bars_emission(place, emission.kind()));
            let doc = barred.map(|source| format!(" The plan's service does not list this emission ({source})."));
            let doc = doc.unwrap_or_default();
            let width = emission.bandwidth().khz_text();
            Draft::of_text(CompletionKind::Word, emission.to_string())
                .detail(format!("{what}; necessary bandwidth {width} kHz"))
                .doc(format!("ITU Radio Regulations, Appendix 1.{doc}"))
                .rank(if doc.is_empty() { SERVICE } else { LICENSED })
        })
        .collect()
}

/// Analog FM voice as the formula has it.
fn carson(width: Hertz) -> Option<Emission> {
    let bandwidth = fm_voice_bandwidth(VOICE, peak_deviation(width)?).ok()?;
    Emission::new(bandwidth, usual_analog_voice(width)?.kind()).ok()
}

/// Emissions without their bandwidth: what a service permits.
pub(crate) fn kinds() -> Vec<Draft> {
    const KINDS: [(&str, &str); 5] = [
        ("F3E", "analog FM voice"),
        ("G3E", "analog PM voice"),
        ("FXE", "digital voice"),
        ("FXD", "digital data"),
        ("FXW", "digital voice and data"),
    ];
    KINDS.iter().map(|(kind, what)| Draft::of_text(CompletionKind::Word, *kind).detail(*what)).collect()
}
