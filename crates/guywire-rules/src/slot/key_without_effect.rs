use crate::finding::{Anchor, Edit, Fix, Safety};
use crate::rule;
use crate::rule::Each;
use guywire_plan::language::{CHANNEL, Field, channel};
use guywire_plan::{Channel, FieldPath, Known, Ref, Row, Sends, Stored, View};

rule! {
    /// A key of a channel has no effect, since the channel does not do what the key is about: a slot on a channel that
    /// is analog only, a tone on one that is digital only, a time-out on one that only receives.
    ///
    /// ## On the air
    /// Nothing: the radio does not look at the key. But somebody wrote it for a reason, and the mode may be what is
    /// wrong.
    ///
    /// ## Source
    /// ETSI TS 102 361-1: analog FM has no slot, color code, talkgroup or privacy key; digital has no squelch tone.
    /// Clause 6.2 of ETSI TS 102 361-2: TDMA direct mode.
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
    /// color_code = 5
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
    pub KeyWithoutEffect = "key-without-effect" {
        family: Slot, level: Hint, judged: PerPlan, since: "0.1.0", fix: Some(Safety::Choice), unnecessary: true,
    }
    fn check(it: Each<channel::Table>, view, out) {
        let Some(effective) = view.channel(it.id()) else { return };
        let Some(does) = does(view, it, effective) else { return };
        for (field, needs) in KEYS {
            if matches!(it.known(*field), Known::Absent | Known::Unreadable | Known::Is(Stored::Truth(false))) {
                continue;
            }
            if let Some(why) = missing(*needs, does) {
                report(view, out, it, *field, why);
            }
        }
        if does.sends == Sends::Analog && !does.digital && it.text(channel::access).value().is_some_and(|word| view.symbol(word) == "polite-to-own-color-code") {
            report(view, out, it, channel::access, "an analog transmission has no color code to wait for");
        }
    }
}

/// What a channel must do for a key to say something.
#[derive(Clone, Copy)]
enum Needs {
    Sending,
    SendingAnalog,
    Digital,
    ReceivingAnalog,
    ATwinFrequency,
    TdmaDirect,
    ARepeater,
}

const KEYS: &[(Field<channel::Table>, Needs)] = &[
    (channel::slot, Needs::Digital),
    (channel::color_code, Needs::Digital),
    (channel::call, Needs::Digital),
    (channel::receive_group, Needs::Digital),
    (channel::listens_to, Needs::Digital),
    (channel::privacy, Needs::Digital),
    (channel::privacy_receive, Needs::Digital),
    (channel::receive_clear, Needs::Digital),
    (channel::tdma_direct_mode, Needs::ATwinFrequency),
    (channel::timing_leader, Needs::TdmaDirect),
    (channel::talk_around, Needs::ARepeater),
    (channel::access, Needs::Sending),
    (channel::time_out_s, Needs::Sending),
    (channel::busy_lockout, Needs::SendingAnalog),
    (channel::tail, Needs::SendingAnalog),
    (channel::tx_tone, Needs::SendingAnalog),
    (channel::power, Needs::Sending),
    (channel::power_at_most_w, Needs::Sending),
    (channel::rx_tone, Needs::ReceivingAnalog),
    (channel::unmute, Needs::ReceivingAnalog),
    (channel::opens, Needs::ReceivingAnalog),
];

/// What a channel does, as far as keys depend on it.
#[derive(Clone, Copy)]
struct Does {
    sends: Sends,
    digital: bool,
    receives_analog: bool,
    /// It sends on the frequency that it receives; where that is not known, it may.
    one_frequency: bool,
    tdma_direct: bool,
    repeater: bool,
}

/// The keys that say nothing in a channel that sends so and receives (digital, analog) so, each with the reason in the
/// middle of a sentence. Whether it has a repeater or is in TDMA direct mode is not looked at.
pub fn idle_keys(sends: Sends, (digital, analog): (bool, bool)) -> Vec<(&'static str, &'static str)> {
    let does = Does {
        sends,
        digital: sends == Sends::Digital || digital,
        receives_analog: analog,
        one_frequency: true,
        tdma_direct: true,
        repeater: true,
    };
    let named = |field: Field<channel::Table>| CHANNEL.key(field.number()).name;
    KEYS.iter().filter_map(|(field, needs)| Some((named(*field), missing(*needs, does)?))).collect()
}

/// None where it is not known.
fn does(view: View<'_>, it: Ref<'_, channel::Table>, effective: &Channel) -> Option<Does> {
    let sends = effective.sends.value()?;
    let receives = |word: &str, mode: Sends| match it.list(channel::receives) {
        Known::Is(elements) => elements
            .iter()
            .map(|element| match element.value {
                Stored::Text(symbol) => Some(view.symbol(symbol) == word),
                _ => None,
            })
            .try_fold(false, |any, one| Some(any | one?)),
        // Absent: the mode sent; what a channel that sends nothing hears is then not known.
        Known::Absent if sends == Sends::Nothing => None,
        Known::Absent => Some(sends == mode),
        Known::Unreadable => None,
    };
    let (receives_digital, receives_analog) =
        (receives("digital", Sends::Digital)?, receives("analog", Sends::Analog)?);
    let one_frequency = match (effective.rx, effective.tx) {
        (Known::Is(rx), Known::Is(tx)) => rx == tx,
        _ => true,
    };
    Some(Does {
        sends,
        digital: sends == Sends::Digital || receives_digital,
        receives_analog,
        one_frequency,
        tdma_direct: matches!(it.truth(channel::tdma_direct_mode), Known::Is(true) | Known::Unreadable),
        repeater: it.known(channel::repeater) != Known::Absent,
    })
}

/// Why a key with such a need says nothing, in the middle of a sentence.
fn missing(needs: Needs, does: Does) -> Option<&'static str> {
    match needs {
        Needs::Sending | Needs::SendingAnalog if does.sends == Sends::Nothing => Some("the channel sends nothing"),
        // A radio may answer in the mode just heard.
        Needs::SendingAnalog if does.sends == Sends::Digital && !does.receives_analog => {
            Some("the channel sends digital")
        }
        Needs::ARepeater if does.sends == Sends::Nothing => Some("the channel sends nothing"),
        Needs::Digital | Needs::ATwinFrequency | Needs::TdmaDirect if !does.digital => {
            Some("the channel neither sends nor receives digital")
        }
        Needs::ReceivingAnalog if !does.receives_analog => Some("the channel does not receive analog"),
        Needs::ATwinFrequency if !does.one_frequency => Some("the channel sends and receives on two frequencies"),
        Needs::TdmaDirect if !does.tdma_direct => Some("the channel is not in TDMA direct mode"),
        Needs::ARepeater if !does.repeater => Some("the channel names no repeater to talk around"),
        _ => None,
    }
}

fn report(
    view: View<'_>,
    out: &mut crate::Sink<'_>,
    it: Ref<'_, channel::Table>,
    field: Field<channel::Table>,
    why: &str,
) {
    let path = FieldPath::key(field.number());
    let Some(key) = view.spec(it.id()).map(|spec| spec.key(field.number()).name) else { return };
    out.report(
        Anchor::Key(it.id(), path),
        format!("`{key}` has no effect here: {why}. Take it out, or correct the mode of {}", view.called(it.id())),
    )
    .about(key)
    .fix(|| {
        Some(Fix {
            title: format!("Take out `{key}`{}", view.touching(it.id())),
            safety: Safety::Choice,
            edits: vec![Edit::Remove(it.id(), path)],
        })
    });
}
