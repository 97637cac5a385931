use super::{is_listed, missing, never_sent};
use crate::finding::{Anchor, Edit, Fix, Level, Safety, Sink, toml_string};
use crate::rule;
use crate::rule::AnyTable;
use guywire_plan::language::{channel, model, repeater};
use guywire_plan::{EntityId, FieldPath, Known, Ref, Row, Stored, View};
use guywire_radio::Tone;
use guywire_radio::dcs::CodeSet;

rule! {
    /// A squelch tone or code is none of those in common use, or a radio model that holds the channel does not have it.
    ///
    /// In common use are 50 continuous tones and 104 codes. Where the model's file lists its tones, that list counts for
    /// its radios, as an error; else a tone of no list is a warning. A tone that misses the channel's own repeater is
    /// reported by `tone-missing-for-repeater` and `tone-never-sent`.
    ///
    /// ## On the air
    /// The radio takes the nearest tone that it has, or none: receivers stay shut, or open for others.
    ///
    /// ## Source
    /// TIA-603: 37 tones in groups A, B and C, 83 codes. The further tones and codes: common lists, partly from memory.
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[channel]]
    /// name = "Marina"
    /// sends = "analog"
    /// rx_mhz = 464.4875
    /// tx_tone = "CTCSS 111.9"
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[channel]]
    /// name = "Marina"
    /// sends = "analog"
    /// rx_mhz = 464.4875
    /// tx_tone = "CTCSS 110.9"
    /// ```
    pub ToneNotStandard = "tone-not-standard" {
        family: Tone, level: Warning, judged: PerPlan, since: "0.1.0", fix: Some(Safety::Choice),
    }
    fn check(it: AnyTable, view, out) {
        if let Some(channel) = view.get::<channel::Table>(it) {
            of_channel(channel, view, out);
        } else if let Some(repeater) = view.get::<repeater::Table>(it) {
            of_repeater(repeater, view, out);
        }
    }
}

/// A tone with all the places where a table writes it.
type Written = Vec<(Tone, Vec<FieldPath>)>;

fn write(written: &mut Written, tone: Tone, at: FieldPath) {
    match written.iter_mut().find(|(held, _)| *held == tone) {
        Some((_, places)) => places.push(at),
        None => written.push((tone, vec![at])),
    }
}

fn of_channel(it: Ref<'_, channel::Table>, view: View<'_>, out: &mut Sink<'_>) {
    let sides = [
        (channel::tx_tone, view.sends_analog(it), view.sent_tone(it)),
        (channel::rx_tone, view.hears_analog(it) == Known::Is(true), view.waited_tone(it)),
    ];
    let mut used: Written = Vec::new();
    for (field, _, tone) in sides.into_iter().filter(|(_, counts, _)| *counts) {
        let at = if it.has(field) { field } else { channel::repeater };
        tone.value().into_iter().for_each(|tone| write(&mut used, tone, FieldPath::key(at.number())));
    }
    if used.is_empty() {
        return;
    }
    let mut is_on_a_sheet = false;
    for model in view.channel_models(it.id()) {
        let Known::Is(has) = view.tones(model, model::tones) else { continue };
        is_on_a_sheet |= !has.is_empty();
        for (tone, places) in used.iter().filter(|(tone, _)| !has.is_empty() && !has.iter().any(|it| tone.opens(*it))) {
            lacking(it.id(), view, out, model, *tone, places[0]);
        }
    }
    let from_repeater = FieldPath::key(channel::repeater.number());
    for (tone, mut places) in used {
        places.retain(|place| *place != from_repeater);
        let is_told = |place: &FieldPath| {
            let is_sent = *place == FieldPath::key(channel::tx_tone.number());
            if is_sent { missing(view, it).is_some() } else { never_sent(view, it).is_some() }
        };
        if is_on_a_sheet || is_listed(tone) || places.is_empty() || places.iter().any(is_told) {
            continue;
        }
        // A repeater that works with the same tone is told in its place.
        let repeater = view.repeater_of(it).value();
        let is_repeaters = |repeater: Ref<'_, repeater::Table>| {
            let input = view.tones(repeater, repeater::input_tones).value().unwrap_or_default();
            let output = view.output_tones(repeater).value().unwrap_or_default();
            input.iter().chain(&output).any(|held| *held == tone)
        };
        if !repeater.is_some_and(is_repeaters) {
            unlisted(it.id(), view, out, tone, &places);
        }
    }
}

fn of_repeater(it: Ref<'_, repeater::Table>, view: View<'_>, out: &mut Sink<'_>) {
    let mut used: Written = Vec::new();
    let at = FieldPath::key(repeater::input_tones.number());
    if let Known::Is(elements) = it.list(repeater::input_tones) {
        for (number, element) in elements.iter().enumerate() {
            let Stored::Text(text) = element.value else { continue };
            let read = view.symbol(text).parse::<Tone>();
            read.into_iter().for_each(|tone| write(&mut used, tone, at.then(number)));
        }
    }
    if let Known::Is(tone) = view.tone(it, repeater::output_tone) {
        write(&mut used, tone, FieldPath::key(repeater::output_tone.number()));
    }
    for (tone, places) in used.into_iter().filter(|(tone, _)| !is_listed(*tone)) {
        unlisted(it.id(), view, out, tone, &places);
    }
}

fn lacking(
    it: EntityId,
    view: View<'_>,
    out: &mut Sink<'_>,
    model: Ref<'_, model::Table>,
    tone: Tone,
    place: FieldPath,
) {
    let name = model.name().unwrap_or("the model");
    out.report(
        Anchor::Value(it, place),
        format!(
            "{} uses {tone}, which {name} does not have: that radio sends and waits for another tone or none. Use one of its tones, or take the channel out of that model's zones",
            view.called(it),
        ),
    )
    .level(Level::Error)
    .about(name)
    .about(&tone.to_string())
    .related(Anchor::Value(model.id(), FieldPath::key(model::tones.number())), format!("the tones of {name}"));
}

fn unlisted(it: EntityId, view: View<'_>, out: &mut Sink<'_>, tone: Tone, places: &[FieldPath]) {
    let near = nearest(tone);
    out.report(
        Anchor::Value(it, places[0]),
        format!(
            "{} uses {tone}, which is none of the tones and codes in common use: many radios cannot set it, and stay shut. The nearest is {near}",
            view.called(it),
        ),
    )
    .about(&tone.to_string())
    .fix(|| {
        let text = toml_string(&near.to_string());
        Some(Fix {
            title: format!("Write {near}{}", view.touching(it)),
            safety: Safety::Choice,
            edits: places.iter().map(|place| Edit::Set(it, *place, text.clone())).collect(),
        })
    });
}

/// The listed tone to suggest: for a code one that is the same on the air, where there is one.
fn nearest(tone: Tone) -> Tone {
    match tone {
        Tone::Ctcss(tone) => Tone::Ctcss(tone.nearest().tone),
        Tone::Dcs(code) => {
            let aliases = code
                .aliases()
                .into_iter()
                .filter_map(|alias| guywire_radio::dcs::Dcs::new(alias, code.inverted()).ok());
            let mut listed = aliases.filter(|alias| alias.set() != CodeSet::Other);
            Tone::Dcs(listed.next().unwrap_or_else(|| code.nearest_listed()))
        }
    }
}
