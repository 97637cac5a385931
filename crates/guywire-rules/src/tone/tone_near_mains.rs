use crate::finding::{Anchor, Sink};
use crate::rule;
use crate::rule::AnyTable;
use guywire_plan::language::{channel, plan, repeater};
use guywire_plan::{EntityId, FieldPath, Known, Ref, Row, Stored, View};
use guywire_radio::Tone;

rule! {
    /// A receiver opens for a continuous tone within 2 Hz of a harmonic of the mains.
    ///
    /// Reported only where the plan says `mains_hz`. A channel that waits for its repeater's tone is reported there.
    ///
    /// ## On the air
    /// Hum from a charger, a lamp or a power line can open the receiver, or hold it open: the crew hears noise and turns
    /// the radio down.
    ///
    /// ## Source
    /// TIA-603 tone groups; a published tone list marks 100.0, 118.8, 151.4 and 179.9 Hz so. The 2 Hz: common practice,
    /// no source.
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    /// mains_hz = 60
    ///
    /// [[channel]]
    /// name = "Marina"
    /// sends = "analog"
    /// rx_mhz = 464.4875
    /// rx_tone = "CTCSS 118.8"
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    /// mains_hz = 60
    ///
    /// [[channel]]
    /// name = "Marina"
    /// sends = "analog"
    /// rx_mhz = 464.4875
    /// rx_tone = "CTCSS 110.9"
    /// ```
    pub ToneNearMains = "tone-near-mains" {
        family: Tone, level: Information, judged: PerPlan, since: "0.1.0",
    }
    fn check(it: AnyTable, view, out) {
        if let Some(channel) = view.get::<channel::Table>(it) {
            of_channel(channel, view, out);
        } else if let Some(repeater) = view.get::<repeater::Table>(it) {
            of_repeater(repeater, view, out);
        }
    }
}

fn of_channel(it: Ref<'_, channel::Table>, view: View<'_>, out: &mut Sink<'_>) {
    if !it.has(channel::rx_tone) || view.hears_analog(it) != Known::Is(true) {
        return;
    }
    let Known::Is(tone) = view.waited_tone(it) else { return };
    let repeater = view.repeater_of(it).value();
    if repeater.is_some_and(|repeater| view.output_tones(repeater).value().is_some_and(|sent| sent.contains(&tone))) {
        return;
    }
    report(it.id(), FieldPath::key(channel::rx_tone.number()), tone, view, out);
}

/// A tone that opens the repeater and that it sends too is told once.
fn of_repeater(it: Ref<'_, repeater::Table>, view: View<'_>, out: &mut Sink<'_>) {
    if view.repeats_analog(it) != Known::Is(true) {
        return;
    }
    let mut told: Vec<Tone> = Vec::new();
    let at = FieldPath::key(repeater::input_tones.number());
    if let Known::Is(elements) = it.list(repeater::input_tones) {
        for (number, element) in elements.iter().enumerate() {
            let Stored::Text(text) = element.value else { continue };
            let Ok(tone) = view.symbol(text).parse::<Tone>() else { continue };
            if !told.contains(&tone) {
                report(it.id(), at.then(number), tone, view, out);
                told.push(tone);
            }
        }
    }
    if let Known::Is(tone) = view.tone(it, repeater::output_tone)
        && !told.contains(&tone)
    {
        report(it.id(), FieldPath::key(repeater::output_tone.number()), tone, view, out);
    }
}

fn report(it: EntityId, place: FieldPath, tone: Tone, view: View<'_>, out: &mut Sink<'_>) {
    let Tone::Ctcss(tone) = tone else { return };
    let Some(Known::Is(mains)) = view.plan().map(|plan| plan.whole(plan::mains_hz)) else { return };
    let Some(near) = u16::try_from(mains).ok().and_then(|mains| tone.near_mains(mains)) else { return };
    let offset = near.offset_tenths.unsigned_abs();
    let how = match near.offset_tenths {
        0 => "is".to_owned(),
        below if below < 0 => format!("lies {}.{} Hz below", offset / 10, offset % 10),
        _ => format!("lies {}.{} Hz above", offset / 10, offset % 10),
    };
    out.report(
        Anchor::Value(it, place),
        format!(
            "{} opens for CTCSS {tone}, which {how} {} Hz, a harmonic of the {mains} Hz mains: hum may open the receiver. A tone further away is safer",
            view.called(it),
            near.harmonic_hz,
        ),
    )
    .about(&tone.to_string());
}
