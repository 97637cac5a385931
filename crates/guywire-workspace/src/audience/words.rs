//! The audience in words.

use std::collections::BTreeMap;

use guywire_plan::audience::{
    Answer, Audience, Called, ClassAnswer, Emission, Outcome, Payload, Reason, Signal, Status, Sync,
};
use guywire_plan::language::{contact, radio, talkgroup};
use guywire_plan::{Bucket, EntityId, Known, Row, Target, View};

/// `18 radios: 9 standing by, 3 if scanning, 5 could tune, 1 no (color code)`.
pub(crate) fn summary(audience: &Audience) -> String {
    const WORDS: [(Answer, &str); 5] = [
        (Answer::Hears, "standing by"),
        (Answer::IfScanning, "if scanning"),
        (Answer::CouldTune, "could tune"),
        (Answer::Unknown, "not known"),
        (Answer::Noise, "noise"),
    ];
    let mut counts = [0; WORDS.len()];
    let mut none: Vec<(&'static str, usize)> = Vec::new();
    for it in &audience.answers {
        match WORDS.iter().position(|(answer, _)| *answer == it.answer) {
            Some(at) => counts[at] += it.radios.len(),
            None => count(&mut none, kind(it), it.radios.len()),
        }
    }
    count(&mut none, Reason::Frequency.kind(), audience.others.elsewhere);
    count(&mut none, AWAY, audience.others.away);
    let said = WORDS.iter().zip(counts).filter(|(_, count)| *count > 0);
    let mut parts: Vec<String> = said.map(|((_, word), count)| format!("{count} {word}")).collect();
    let deaf: usize = none.iter().map(|(_, count)| count).sum();
    if deaf > 0 {
        parts.push(format!("{deaf} no ({})", kinds(none).join(", ")));
    }
    let total: usize = counts.iter().sum::<usize>() + deaf;
    let line = format!("{total} radio{}", if total == 1 { "" } else { "s" });
    if parts.is_empty() { line } else { format!("{line}: {}", parts.join(", ")) }
}

fn count(counts: &mut Vec<(&'static str, usize)>, word: &'static str, more: usize) {
    if more == 0 {
        return;
    }
    match counts.iter_mut().find(|(held, _)| *held == word) {
        Some((_, count)) => *count += more,
        None => counts.push((word, more)),
    }
}

/// The kinds of reason for which radios hear nothing, the most frequent first; with counts where there are several.
fn kinds(mut counts: Vec<(&'static str, usize)>) -> Vec<String> {
    counts.sort_by_key(|(word, count)| (std::cmp::Reverse(*count), *word));
    match counts.as_slice() {
        [(word, _)] => vec![(*word).to_owned()],
        many => many.iter().map(|(word, count)| format!("{count} {word}")).collect(),
    }
}

/// Of radios that are out of use: where they would listen says nothing then.
const AWAY: &str = "lost or retired";

fn kind(it: &ClassAnswer) -> &'static str {
    match it.outcome {
        _ if is_away(it) => AWAY,
        _ if it.refused.is_some() => "not repeated",
        Outcome::No(reason) => reason.kind(),
        Outcome::Noise(_) => "noise if tuned",
        Outcome::Heard | Outcome::Unknown => "not known",
    }
}

/// The reasons of all who do not hear it, a line for each: `1 no: waits for color code 5, the call has 3`. What is nearest
/// to hearing comes first; that a radio is not on the frequency comes last.
pub(crate) fn reasons(view: View<'_>, audience: &Audience) -> Vec<String> {
    let mut counts: BTreeMap<(Answer, bool, String), usize> = BTreeMap::new();
    for it in audience.answers.iter().filter(|it| it.answer > Answer::CouldTune) {
        if let Some(why) = why(view.at(it.class.viewer), it) {
            let is_elsewhere = it.refused.is_none() && it.outcome == Outcome::No(Reason::Frequency);
            *counts.entry((it.answer, is_elsewhere, why)).or_default() += it.radios.len();
        }
    }
    let others = [(Reason::Frequency.words(), audience.others.elsewhere), (AWAY.to_owned(), audience.others.away)];
    for (why, more) in others.into_iter().filter(|(_, more)| *more > 0) {
        *counts.entry((Answer::No, true, why)).or_default() += more;
    }
    let mut lines: Vec<((Answer, bool, String), usize)> = counts.into_iter().collect();
    lines.sort_by(|((a, away, why), count), ((b, other, reason), more)| {
        (a, away, more, why).cmp(&(b, other, count, reason))
    });
    let word = |answer: Answer| match answer {
        Answer::Noise => "noise",
        Answer::Unknown => "not known",
        _ => "no",
    };
    lines.into_iter().map(|((answer, _, why), count)| format!("{count} {}: {why}", word(answer))).collect()
}

/// Whether [`reasons`] tell no more than [`summary`] does: a lone one that has no figures.
pub(crate) fn says_no_more(reasons: &[String]) -> bool {
    let [only] = reasons else { return false };
    [&Reason::Frequency.words(), AWAY].iter().any(|why| only.ends_with(*why))
}

/// Why the radios of an answer do not hear the message; none where they do.
pub(super) fn why(view: View<'_>, it: &ClassAnswer) -> Option<String> {
    if it.answer <= Answer::CouldTune {
        return None;
    }
    if is_away(it) {
        return Some(AWAY.to_owned());
    }
    if let Some(refused) = it.refused {
        let name = view.name_of(refused.repeater).unwrap_or("the repeater");
        return Some(format!("not repeated: \"{name}\" {}", refused.why.words()));
    }
    let words = match it.outcome {
        Outcome::No(Reason::Group { sent }) => {
            format!("does not listen for {}", group(view, sent))
        }
        outcome => outcome.words()?,
    };
    Some(words)
}

fn is_away(it: &ClassAnswer) -> bool {
    it.class.post.status == Known::Is(Status::Away)
}

/// A radio by its alias, else by its unit id.
pub(super) fn radio_name(view: View<'_>, id: EntityId) -> String {
    let number = || view.get::<radio::Table>(id).and_then(|radio| radio.whole(radio::id).value());
    match view.name_of(id) {
        Some(alias) => alias.to_owned(),
        None => number().map_or_else(|| "(a radio without alias)".to_owned(), |number| format!("unit {number}")),
    }
}

/// What goes out on a channel.
pub(super) fn sent(view: View<'_>, channel: EntityId, emission: &Emission) -> String {
    let called = match emission.signal {
        Signal::Analog(_) => "speech".to_owned(),
        Signal::Digital(digital) => {
            let what = if digital.payload == Payload::Data { "data" } else { "speech" };
            format!("{what} to {}", target(view, channel, digital.called))
        }
    };
    format!("{called} on {}", air_of(emission))
}

fn target(view: View<'_>, channel: EntityId, called: Called) -> String {
    let own = view.get(channel).map(|it| view.target(it));
    match (called, own) {
        (Called::Group(number), Some(Known::Is(Target::Talkgroup(group))))
            if group.whole(talkgroup::id) == Known::Is(number) =>
        {
            format!("talkgroup \"{}\" ({number})", group.name().unwrap_or_default())
        }
        (Called::Unit(number), Some(Known::Is(Target::Contact(contact))))
            if contact.whole(contact::id) == Known::Is(number) =>
        {
            format!("contact \"{}\" (unit {number})", contact.name().unwrap_or_default())
        }
        (Called::Group(number), _) => group(view, number),
        (Called::Unit(number), _) => format!("unit {number}"),
        (Called::All, _) => "all units".to_owned(),
    }
}

/// A talkgroup by name where the plan has one of that number.
fn group(view: View<'_>, number: i64) -> String {
    let mut names: Vec<&str> = view
        .alike_of::<talkgroup::Table>(Bucket::TalkgroupId(view.viewer(), number))
        .iter()
        .filter_map(|group| view.name_of(group.id()))
        .collect();
    names.sort_unstable();
    match names.first() {
        Some(name) => format!("talkgroup \"{name}\" ({number})"),
        None => format!("talkgroup {number}"),
    }
}

/// The carrier and what is on it.
pub(super) fn air_of(emission: &Emission) -> String {
    let mut parts = vec![format!("{} MHz", emission.carrier.mhz_text())];
    match emission.signal {
        Signal::Analog(tone) => {
            parts.push("analog".to_owned());
            parts.push(tone.map_or_else(|| "no tone".to_owned(), |tone| tone.to_string()));
        }
        Signal::Digital(digital) => {
            parts.push(format!("color code {}", digital.color_code));
            match (digital.slot, digital.sync) {
                (Some(slot), Sync::TdmaDirect) => parts.push(format!("slot {slot} of TDMA direct mode")),
                (Some(slot), _) => parts.push(format!("slot {slot}")),
                (None, _) => parts.push("direct".to_owned()),
            }
            if let Some(key) = digital.key {
                parts.push(key.id.map_or_else(|| "private".to_owned(), |id| format!("private, key {id}")));
            }
        }
    }
    parts.join(", ")
}
