use super::{is_listed, shown};
use crate::finding::{Anchor, Edit, Fix, Level, Safety, toml_string};
use crate::rule;
use crate::rule::Each;
use guywire_plan::language::{channel, repeater, station};
use guywire_plan::{Bucket, FieldPath, Known, Ref, Row, Stored, View};
use guywire_radio::{Hertz, Tone};

rule! {
    /// A channel waits for a tone or code that nothing sends on the frequency that it receives: no repeater, and no
    /// other channel.
    ///
    /// Reported of channels of a repeater that the plan describes, and of direct channels where the fleet is complete. Where it
    /// is not, a direct channel that sends one tone in common use and waits for another is a warning: two radios on it do
    /// not hear each other. One that says `purpose = "announce"` is left out then.
    ///
    /// Nothing is said where a station calls on the frequency, since a plan does not say which tone it sends.
    ///
    /// A frequency that more than 64 analog channels of the plan share is left out.
    ///
    /// ## On the air
    /// The loudspeaker stays shut: whoever stands by on the channel hears nobody, and takes it for a quiet day.
    ///
    /// ## Source
    /// TIA-603, continuous tones and digital code squelch.
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[repeater]]
    /// name = "north mole"
    /// tx_mhz = 464.7375
    /// rx_mhz = 469.7375
    /// mode = "analog"
    /// output_tone = "CTCSS 127.3"
    ///
    /// [[channel]]
    /// name = "Marina"
    /// sends = "analog"
    /// repeater = "north mole"
    /// rx_tone = "CTCSS 123.0"
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[repeater]]
    /// name = "north mole"
    /// tx_mhz = 464.7375
    /// rx_mhz = 469.7375
    /// mode = "analog"
    /// output_tone = "CTCSS 127.3"
    ///
    /// [[channel]]
    /// name = "Marina"
    /// sends = "analog"
    /// repeater = "north mole"
    /// rx_tone = "CTCSS 127.3"
    /// ```
    pub ToneNeverSent = "tone-never-sent" {
        family: Tone, level: Error, judged: PerPlan, since: "0.1.0", fix: Some(Safety::Choice),
    }
    fn check(it: Each<channel::Table>, view, out) {
        let Some(unsent) = never_sent(view, it) else { return };
        let NeverSent { waited, rx, sent, repeater, .. } = &unsent;
        let path = FieldPath::key(channel::rx_tone.number());
        let instead = match sent.as_slice() {
            [] => "no tone is sent there".to_owned(),
            tones => format!("what is sent there is {}", shown(tones)),
        };
        let found = out
            .report(
                Anchor::Value(it.id(), path),
                format!(
                    "{} waits for {waited} on {rx} MHz, and {instead}: its loudspeaker stays shut. Correct the tone, or write `unmute = \"carrier\"`",
                    view.called(it.id()),
                ),
            )
            .about(&waited.to_string())
            .level(if unsent.is_sure { Level::Error } else { Level::Warning });
        let found = match repeater {
            None => found,
            Some(repeater) => {
                let name = repeater.name().unwrap_or_default();
                let at = Anchor::Value(repeater.id(), FieldPath::key(repeater::output_tone.number()));
                found.related(at, format!("what repeater \"{name}\" sends"))
            }
        };
        found.fixes(|| {
            let fix = |tone: &Tone| Fix {
                title: format!("Wait for {tone}{}", view.touching(it.id())),
                safety: Safety::Choice,
                edits: vec![Edit::Set(it.id(), path, toml_string(&tone.to_string()))],
            };
            let mut tones = sent.clone();
            tones.sort_unstable();
            tones.dedup();
            tones.iter().map(fix).collect::<Vec<_>>()
        });
    }
}

/// A tone that is waited for, and what is sent in its place.
pub(super) struct NeverSent<'v> {
    pub waited: Tone,
    pub rx: Hertz,
    pub sent: Vec<Tone>,
    pub repeater: Option<Ref<'v, repeater::Table>>,
    /// Everything that sends there is in the plan.
    pub is_sure: bool,
}

/// What is wrong between the tone that a channel writes to wait for and all that is sent on its frequency.
pub(super) fn never_sent<'v>(view: View<'v>, it: Ref<'v, channel::Table>) -> Option<NeverSent<'v>> {
    if !it.has(channel::rx_tone) || view.hears_analog(it) != Known::Is(true) {
        return None;
    }
    let waited = view.waited_tone(it).value()?;
    let Known::Is(rx) = view.channel(it.id())?.rx else { return None };
    let (heard, sent) = (Bucket::AnalogHeard(view.viewer(), rx), Bucket::AnalogSent(view.viewer(), rx));
    if view.is_crowded(heard) || view.is_crowded(sent) {
        return None;
    }
    let sent = sent_on(view, rx)?;
    if sent.iter().any(|sent| sent.opens(waited)) {
        return None;
    }
    let repeater = match view.repeater_of(it) {
        Known::Is(repeater) => Some(repeater),
        Known::Absent => None,
        Known::Unreadable => return None,
    };
    let is_known = match repeater {
        Some(repeater) => {
            repeater.frequency(repeater::tx_mhz) == Known::Is(rx) && view.repeats_analog(repeater) == Known::Is(true)
        }
        None => view.is_fleet_complete() && is_direct_for_all(view, rx),
    };
    let is_told = is_known || (repeater.is_none() && hears_not_itself(view, it, waited, rx));
    (is_told && !a_station_calls_on(view, rx)).then_some(NeverSent { waited, rx, sent, repeater, is_sure: is_known })
}

/// Whether a direct channel writes that it sends another tone in common use than the one that it waits for.
fn hears_not_itself(view: View<'_>, it: Ref<'_, channel::Table>, waited: Tone, rx: Hertz) -> bool {
    let Known::Is(sent) = view.tone(it, channel::tx_tone) else { return false };
    let is_direct = view.channel(it.id()).is_some_and(|effective| effective.tx == Known::Is(rx));
    let is_usual = is_listed(waited) && is_listed(sent);
    is_direct && is_usual && view.sends_analog(it) && it.known(channel::purpose) == Known::Absent
}

/// The tones that repeaters and channels of the plan send with analog on a frequency; none where that is not all known.
fn sent_on(view: View<'_>, rx: Hertz) -> Option<Vec<Tone>> {
    let mut sent = Vec::new();
    for repeater in view.alike_of::<repeater::Table>(Bucket::Output(view.viewer(), rx)) {
        match view.repeats_analog(repeater) {
            Known::Is(true) => sent.extend(view.output_tones(repeater).value()?),
            Known::Is(false) | Known::Absent => {}
            Known::Unreadable => return None,
        }
    }
    for channel in view.alike_of::<channel::Table>(Bucket::AnalogSent(view.viewer(), rx)) {
        match view.sent_tone(channel) {
            Known::Is(tone) => sent.push(tone),
            Known::Absent => {}
            Known::Unreadable => return None,
        }
    }
    (!view.is_any(Bucket::CarrierUnread(view.viewer()))).then_some(sent)
}

/// Whether every channel that listens on a frequency sends there too: else somebody else does.
fn is_direct_for_all(view: View<'_>, rx: Hertz) -> bool {
    let mut listeners = view.alike(Bucket::AnalogHeard(view.viewer(), rx));
    listeners.all(|id| view.channel(id).is_some_and(|listener| listener.tx == Known::Is(rx)))
}

fn a_station_calls_on(view: View<'_>, rx: Hertz) -> bool {
    let listeners = view.alike(Bucket::AnalogHeard(view.viewer(), rx));
    let senders = view.alike(Bucket::AnalogSent(view.viewer(), rx));
    let names: Vec<_> = listeners.chain(senders).map(|id| view.name_symbol(id)).collect();
    let may_call = |station: &Ref<'_, station::Table>| match station.list(station::sends) {
        Known::Is(elements) => elements.iter().any(|element| match element.value {
            Stored::Text(name) => names.contains(&Known::Is(name)),
            _ => true,
        }),
        Known::Absent => false,
        Known::Unreadable => true,
    };
    view.all::<station::Table>().iter().any(may_call)
}
