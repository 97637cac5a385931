//! What is computed of squelch tones and codes, color codes and slots.

use guywire_plan::language::{channel, plan, repeater};
use guywire_plan::{Known, Row, Sends};
use guywire_radio::ctcss::{Ctcss, STANDARD_TONES, ToneSet};
use guywire_radio::dcs::{CodeSet, DCS_BITS_PER_S, DCS_EXTRA_SOURCE, DCS_SOURCE, Dcs};
use guywire_radio::{Caution, ColorCode, Tone};

use super::super::figures::{cited, listed, tenth};
use super::super::page::Page;
use super::Ask;

/// Names of a list that are shown.
const NAMED: usize = 5;

pub(super) fn say_tone(ask: &Ask<'_>, page: &mut Page) {
    let Some(Ok(tone)) = ask.text().map(str::parse::<Tone>) else { return };
    match tone {
        Tone::Ctcss(tone) => say_ctcss(ask, tone, page),
        Tone::Dcs(code) => say_dcs(code, page),
    }
    page.caution(Caution::Tone);
}

fn say_ctcss(ask: &Ask<'_>, tone: Ctcss, page: &mut Page) {
    page.fact(match tone.standard() {
        Some(standard) => format!("CTCSS {tone} Hz, {} ({})", set(standard.set), cited(&standard.set.source())),
        None => format!("CTCSS {tone} Hz is no standard tone; the nearest is {} Hz", tone.nearest().tone),
    });
    let apart = |other: Ctcss| format!("{other} Hz ({} %)", tenth(tone.separation_percent(other).abs()));
    let below = STANDARD_TONES.iter().rev().find(|it| it.tone < tone).map(|it| apart(it.tone));
    let above = STANDARD_TONES.iter().find(|it| it.tone > tone).map(|it| apart(it.tone));
    let neighbors: Vec<String> = below.into_iter().chain(above).collect();
    page.fact(format!("neighbors: {}", listed(&neighbors, 2)));
    let confused: Vec<String> =
        STANDARD_TONES.iter().filter(|it| tone.confusable(it.tone)).map(|it| format!("{} Hz", it.tone)).collect();
    page.fact(match confused.as_slice() {
        [] => "no standard tone is near enough to be confused with it (2.5 %, common practice, no source)".to_owned(),
        _ => format!(
            "decoders may confuse it with {} (under 2.5 % apart, common practice, no source)",
            listed(&confused, 4)
        ),
    });
    let mains = ask.view.plan().and_then(|plan| plan.whole(plan::mains_hz).value());
    if let Some(near) = mains.and_then(|hz| u16::try_from(hz).ok()).and_then(|hz| tone.near_mains(hz)) {
        page.fact(format!(
            "{} Hz from {} Hz, a harmonic of the mains: hum may open the receiver (TIA-603 tone list)",
            tenth(f64::from(near.offset_tenths.abs()) / 10.0),
            near.harmonic_hz
        ));
    }
    if tone.near_dcs_turn_off() {
        page.fact("near the 134.4 Hz that ends a DCS transmission (from memory)");
    }
}

fn set(set: ToneSet) -> &'static str {
    match set {
        ToneSet::GroupA => "group A",
        ToneSet::GroupB => "group B",
        ToneSet::GroupC => "group C",
        ToneSet::Extra38 => "the usual 38th tone",
        ToneSet::Extra42 => "one of the four that complete lists of 42",
        ToneSet::Extra50 => "one of the eight that complete lists of 50, which many radios lack",
    }
}

fn say_dcs(code: Dcs, page: &mut Page) {
    let polarity = if code.inverted() { "inverted" } else { "normal" };
    let digits = format!("{:03o}", code.code());
    page.fact(match code.set() {
        CodeSet::Standard => format!("DCS {digits} {polarity}, one of the 83 codes ({DCS_SOURCE})"),
        CodeSet::Extra => {
            format!("DCS {digits} {polarity}, one of the 21 that complete lists of 104 ({DCS_EXTRA_SOURCE})")
        }
        CodeSet::Other => {
            format!("DCS {digits} {polarity} is on no list; the nearest that is: {}", code.nearest_listed())
        }
    });
    page.fact(format!(
        "word {:06X} hexadecimal, 23 bits at {DCS_BITS_PER_S} bit/s, lowest bit first ({DCS_SOURCE})",
        code.word()
    ));
    if let Some(twin) = code.listed_twin() {
        page.fact(format!("the same on the air as DCS {twin}: each opens the other"));
    }
    let aliases: Vec<String> = code.aliases().iter().map(|it| format!("{it:03o}")).collect();
    if !aliases.is_empty() {
        page.fact(format!("its stream holds {} too, in the same polarity", listed(&aliases, NAMED)));
    }
}

pub(super) fn say_color_code(ask: &Ask<'_>, page: &mut Page) {
    let Some(Ok(code)) = ask.whole().map(ColorCode::new) else { return };
    page.fact(format!(
        "color code {code} ({:04b}) of 16: receivers and repeaters with another stay shut (ETSI TS 102 361-1, table 9.18)",
        code.get()
    ));
    if code.all_sites() {
        page.fact("trunked systems read 15 as every site (ETSI TS 102 361-4, from memory)");
    }
    let same = |it: &guywire_plan::Ref<'_, repeater::Table>| {
        it.id() != ask.id && it.whole(repeater::color_code) == Known::Is(i64::from(code.get()))
    };
    let others = ask.names(ask.view.all::<repeater::Table>().into_iter().filter(same).collect());
    if !others.is_empty() {
        page.fact(format!("also the code of {}", listed(&others, NAMED)));
    }
}

pub(super) fn say_slot(ask: &Ask<'_>, page: &mut Page) {
    let Some(slot) = ask.whole() else { return };
    let which = if slot == 1 { "the first" } else { "the second" };
    page.fact(format!("{which} of two slots of 30 ms: a radio is keyed for 27.5 of every 60 ms (ETSI TS 102 361-1)"));
    let Some(effective) = ask.row::<channel::Table>().and_then(|row| ask.view.channel(row.id())) else { return };
    let is_direct = effective.rx.value().is_some() && effective.rx == effective.tx;
    match (effective.sends, effective.tdma_direct) {
        (Known::Is(Sends::Analog), _) => page.fact("analog has no slots: it does nothing here"),
        (Known::Is(Sends::Digital), Known::Is(true)) => {
            page.fact("TDMA direct mode: two calls share the frequency (ETSI TS 102 361-2)")
        }
        (Known::Is(Sends::Digital), _) if is_direct => {
            page.fact("plain direct mode has one call a frequency: the slot says nothing (from memory)")
        }
        _ => {}
    }
}
