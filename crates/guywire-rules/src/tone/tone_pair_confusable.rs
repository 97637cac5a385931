use super::{is_listed, never_sent};
use crate::finding::Anchor;
use crate::rule;
use crate::rule::Each;
use guywire_plan::language::channel;
use guywire_plan::{Bucket, FieldPath, Known, Ref, Row, View};
use guywire_radio::Tone;
use guywire_radio::tone::Confusion;

rule! {
    /// Two channels listen on one frequency for tones or codes that receivers cannot tell apart.
    ///
    /// Continuous tones are reported that are less than 2.5 % apart; codes that are one on the air, such as a code and its
    /// inverse twin (`DCS 023I` and `DCS 047N`). Channels of the same repeater are left out.
    ///
    /// A frequency that more than 64 analog channels of the plan share is left out.
    ///
    /// ## On the air
    /// Each opens for calls that are meant for the other: two crews hear each other's traffic, and take it for theirs.
    ///
    /// ## Source
    /// TIA-603, tone groups and digital code squelch. The 2.5 %: common practice, no source.
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
    /// rx_tone = "CTCSS 203.5"
    ///
    /// [[channel]]
    /// name = "Slipway"
    /// sends = "analog"
    /// rx_mhz = 464.4875
    /// rx_tone = "CTCSS 206.5"
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
    /// rx_tone = "CTCSS 203.5"
    ///
    /// [[channel]]
    /// name = "Slipway"
    /// sends = "analog"
    /// rx_mhz = 464.4875
    /// rx_tone = "CTCSS 186.2"
    /// ```
    pub TonePairConfusable = "tone-pair-confusable" {
        family: Tone, level: Warning, judged: PerPlan, since: "0.1.0",
    }
    fn check(it: Each<channel::Table>, view, out) {
        let Some((own, rx)) = listens(view, it) else { return };
        let heard = Bucket::AnalogHeard(view.viewer(), rx);
        if view.is_crowded(heard) {
            return;
        }
        let here = view.alike_of::<channel::Table>(heard);
        if here.len() < 2 {
            return;
        }
        let waiting: Vec<(Ref<'_, channel::Table>, Tone)> = here
            .into_iter()
            .filter(|other| other.id() != it.id())
            .filter_map(|other| Some((other, listens(view, other)?.0)))
            .collect();
        let alike = 1 + waiting.iter().filter(|(_, tone)| *tone == own).count();
        for confused in distinct(&waiting, own) {
            let others: Vec<_> = waiting.iter().filter(|(_, tone)| *tone == confused).collect();
            // The fewer are told; of as many, those with the greater tone.
            if alike > others.len() || (alike == others.len() && own < confused) {
                continue;
            }
            let is_meant = others.iter().any(|(other, _)| is_one_repeater(view, it, *other));
            let is_told = never_sent(view, it).is_some() || others.iter().any(|(other, _)| never_sent(view, *other).is_some());
            if is_meant || is_told {
                continue;
            }
            let why = match own.confusion(confused) {
                Some(Confusion::CloseTones) => "too close for receivers to tell apart",
                _ => "the same on the air",
            };
            let written = if it.has(channel::rx_tone) { channel::rx_tone } else { channel::repeater };
            let mut found = out
                .report(
                    Anchor::Value(it.id(), FieldPath::key(written.number())),
                    format!(
                        "{} waits for {own} on {rx} MHz, where others wait for {confused}: the two are {why}, so each opens for calls of the other. Use a tone further away",
                        view.called(it.id()),
                    ),
                )
                .about(&own.to_string())
                .about(&confused.to_string());
            for (other, _) in others {
                found = found.related(Anchor::Header(other.id()), format!("{} waits for {confused}", view.called(other.id())));
            }
        }
    }
}

/// The tone that an analog channel waits for, and where. A tone of no list has a finding of its own.
fn listens(view: View<'_>, it: Ref<'_, channel::Table>) -> Option<(Tone, guywire_radio::Hertz)> {
    let tone = view.waited_tone(it).value().filter(|tone| is_listed(*tone))?;
    let Known::Is(rx) = view.channel(it.id())?.rx else { return None };
    (view.hears_analog(it) == Known::Is(true)).then_some((tone, rx))
}

/// The tones that are confused with a channel's own, each once.
fn distinct(waiting: &[(Ref<'_, channel::Table>, Tone)], own: Tone) -> Vec<Tone> {
    let confused = |tone: &Tone| !matches!(own.confusion(*tone), None | Some(Confusion::Same));
    let mut tones: Vec<Tone> = waiting.iter().map(|(_, tone)| *tone).filter(confused).collect();
    tones.sort_unstable();
    tones.dedup();
    tones
}

fn is_one_repeater(view: View<'_>, it: Ref<'_, channel::Table>, other: Ref<'_, channel::Table>) -> bool {
    let used = |channel| view.repeater_of(channel).value().map(|found| found.id());
    used(it).is_some_and(|repeater| used(other) == Some(repeater))
}
