use super::shown;
use crate::finding::{Anchor, Edit, Fix, Safety, toml_string};
use crate::rule;
use crate::rule::Each;
use guywire_plan::language::{channel, repeater};
use guywire_plan::{FieldPath, Known, Ref, Row, View};
use guywire_radio::Tone;

rule! {
    /// An analog channel uses a repeater that opens for a tone or code, and sends another or none.
    ///
    /// A channel that writes none sends the repeater's where it has only one. An inverted code and its twin (`DCS 023I`
    /// and `DCS 047N`) are one on the air.
    ///
    /// ## On the air
    /// The repeater stays shut, and the call is heard only by those who listen to its input.
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
    /// input_tones = ["CTCSS 127.3"]
    ///
    /// [[channel]]
    /// name = "Marina"
    /// sends = "analog"
    /// repeater = "north mole"
    /// tx_tone = "CTCSS 123.0"
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
    /// input_tones = ["CTCSS 127.3"]
    ///
    /// [[channel]]
    /// name = "Marina"
    /// sends = "analog"
    /// repeater = "north mole"
    /// tx_tone = "CTCSS 127.3"
    /// ```
    pub ToneMissingForRepeater = "tone-missing-for-repeater" {
        family: Tone, level: Error, judged: PerPlan, since: "0.1.0", fix: Some(Safety::Choice),
    }
    fn check(it: Each<channel::Table>, view, out) {
        let Some(missing) = missing(view, it) else { return };
        let name = missing.repeater.name().unwrap_or_default();
        let wanted = shown(&missing.wanted);
        let sent = missing.sent.map_or_else(|| "no tone".to_owned(), |tone| tone.to_string());
        let path = FieldPath::key(channel::tx_tone.number());
        out.report(
            Anchor::Value(it.id(), path),
            format!(
                "{} sends {sent}, but repeater \"{name}\" opens for {wanted} only: it stays shut, and the call is heard by nobody. Write that as `tx_tone`",
                view.called(it.id()),
            ),
        )
        .about(&sent)
        .about(&wanted)
        .related(
            Anchor::Value(missing.repeater.id(), FieldPath::key(repeater::input_tones.number())),
            format!("repeater \"{name}\" opens for {wanted}"),
        )
        .fixes(|| {
            let fix = |tone: &Tone| {
                let text = toml_string(&tone.to_string());
                let edit = if it.has(channel::tx_tone) {
                    Edit::Set(it.id(), path, text)
                } else {
                    Edit::Insert(it.id(), "tx_tone", text)
                };
                Fix {
                    title: format!("Send {tone}, as repeater \"{name}\" wants{}", view.touching(it.id())),
                    safety: Safety::Choice,
                    edits: vec![edit],
                }
            };
            missing.wanted.iter().map(fix).collect::<Vec<_>>()
        });
    }
}

/// What a repeater opens for and a channel does not send.
pub(super) struct Missing<'v> {
    pub repeater: Ref<'v, repeater::Table>,
    pub wanted: Vec<Tone>,
    pub sent: Option<Tone>,
}

/// What is wrong between an analog channel and the input of its repeater.
pub(super) fn missing<'v>(view: View<'v>, it: Ref<'v, channel::Table>) -> Option<Missing<'v>> {
    if !view.sends_analog(it) {
        return None;
    }
    let repeater = view.repeater_of(it).value()?;
    let Known::Is(tx) = view.channel(it.id())?.tx else { return None };
    if repeater.frequency(repeater::rx_mhz) != Known::Is(tx) || view.repeats_analog(repeater) != Known::Is(true) {
        return None;
    }
    let wanted = view.tones(repeater, repeater::input_tones).value().filter(|wanted| !wanted.is_empty())?;
    let sent = match view.sent_tone(it) {
        Known::Is(tone) => Some(tone),
        Known::Absent => None,
        Known::Unreadable => return None,
    };
    let opens = sent.is_some_and(|sent| wanted.iter().any(|wanted| sent.opens(*wanted)));
    (!opens).then_some(Missing { repeater, wanted, sent })
}
