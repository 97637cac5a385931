use crate::finding::{Anchor, Edit, Fix, Safety, toml_string};
use crate::rule;
use crate::rule::Each;
use guywire_plan::language::{channel, repeater};
use guywire_plan::{FieldPath, Known, Row};

rule! {
    /// An analog channel does not transmit while there is a carrier, and its own repeater leaves one after each call, or
    /// always.
    ///
    /// Reported where the repeater's `tail_ms` is above 0 or its `wake` is `continuous`; talk-around is left out.
    ///
    /// ## On the air
    /// A press right after the other side has spoken does nothing until the repeater's carrier is gone: answers are
    /// late or lost. On a repeater that is always on, no press ever does anything.
    ///
    /// ## Source
    /// Common practice, no source.
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
    /// tail_ms = 2000
    ///
    /// [[channel]]
    /// name = "Marina"
    /// sends = "analog"
    /// repeater = "north mole"
    /// busy_lockout = "carrier"
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
    /// tail_ms = 2000
    ///
    /// [[channel]]
    /// name = "Marina"
    /// sends = "analog"
    /// repeater = "north mole"
    /// busy_lockout = "other-tone"
    /// ```
    pub LockoutAgainstOwnRepeater = "lockout-against-own-repeater" {
        family: Tone, level: Warning, judged: PerPlan, since: "0.1.0", fix: Some(Safety::Choice),
    }
    fn check(it: Each<channel::Table>, view, out) {
        if it.text(channel::busy_lockout).value().is_none_or(|word| view.symbol(word) != "carrier") {
            return;
        }
        let Known::Is(repeater) = view.repeater_of(it) else { return };
        let Some(effective) = view.channel(it.id()).filter(|_| view.sends_analog(it)) else { return };
        let (Known::Is(rx), Known::Is(tx)) = (effective.rx, effective.tx) else { return };
        let is_through = repeater.frequency(repeater::tx_mhz) == Known::Is(rx) && repeater.frequency(repeater::rx_mhz) == Known::Is(tx);
        if !is_through || rx == tx || view.repeats_analog(repeater) != Known::Is(true) {
            return;
        }
        let is_always_on = repeater.text(repeater::wake).value().is_some_and(|word| view.symbol(word) == "continuous");
        let (what, key) = match repeater.whole(repeater::tail_ms) {
            _ if is_always_on => ("is always on: no press ever transmits".to_owned(), repeater::wake),
            Known::Is(tail) if tail > 0 => (format!("leaves its carrier on for {tail} ms after each call: a press does nothing until then"), repeater::tail_ms),
            _ => return,
        };
        let name = repeater.name().unwrap_or_default();
        // Where the channel waits for what the repeater sends, its own repeater is no other tone.
        let sent = view.output_tones(repeater).value().unwrap_or_default();
        let is_own = view.waited_tone(it).value().is_some_and(|waited| !sent.is_empty() && sent.iter().all(|sent| sent.opens(waited)));
        let better = if is_own { "other-tone" } else { "off" };
        let path = FieldPath::key(channel::busy_lockout.number());
        out.report(
            Anchor::Value(it.id(), path),
            format!("{} does not transmit while there is a carrier, and repeater \"{name}\" {what}. Write \"{better}\"", view.called(it.id())),
        )
        .about(name)
        .related(Anchor::Value(repeater.id(), FieldPath::key(key.number())), format!("the carrier of repeater \"{name}\""))
        .fix(|| {
            Some(Fix {
                title: format!("Write \"{better}\"{}", view.touching(it.id())),
                safety: Safety::Choice,
                edits: vec![Edit::Set(it.id(), path, toml_string(better))],
            })
        });
    }
}
