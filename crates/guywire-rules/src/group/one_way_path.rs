use guywire_plan::audience::{Called, Emission, Gear, Outcome, Payload, Rays, Signal, Stance, receive};
use guywire_plan::language::channel;
use guywire_plan::{Bucket, EntityId, FieldPath, Known, Sends, Stored, View};
use guywire_text::FileId;

use crate::finding::Anchor;
use crate::hearing::carriers;
use crate::privacy::split::{Kind, splits};
use crate::rule;
use crate::rule::Each;

rule! {
    /// A radio that stands by hears a call, and its answer is not heard where the call came from.
    ///
    /// Both ends are where they normally are: only channels that some radio stands by on are looked at, at both ends. The
    /// answer goes to the group that was heard, as within the hang time. Channels that only receive, and those with
    /// `purpose = "announce"`, are one way by intent.
    ///
    /// ## On the air
    /// The called unit answers, and the caller hears nothing: each thinks that the other does not listen.
    ///
    /// ## Source
    /// Group hang time: ETSI TS 102 361-2. That a conversation needs both ways is common practice, no source.
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[channel]]
    /// name = "Quay"
    /// sends = "analog"
    /// rx_mhz = 453.2125
    /// tx_tone = "CTCSS 100.0"
    /// rx_tone = "CTCSS 100.0"
    ///
    /// [[channel]]
    /// name = "Hut"
    /// sends = "analog"
    /// rx_mhz = 453.2125
    /// tx_tone = "CTCSS 127.3"
    ///
    /// [[channel]]
    /// name = "Gate"
    /// sends = "analog"
    /// rx_mhz = 453.2125
    /// tx_tone = "CTCSS 100.0"
    ///
    /// [[zone]]
    /// name = "Harbor"
    /// channels = ["Quay", "Hut", "Gate"]
    ///
    /// [[radio]]
    /// id = 21001
    /// alias = "Quay 1"
    /// zones = ["Harbor"]
    /// stands_by = { channel = "Quay" }
    ///
    /// [[radio]]
    /// id = 21002
    /// alias = "Hut 1"
    /// zones = ["Harbor"]
    /// stands_by = { channel = "Hut" }
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[channel]]
    /// name = "Quay"
    /// sends = "analog"
    /// rx_mhz = 453.2125
    /// tx_tone = "CTCSS 100.0"
    /// rx_tone = "CTCSS 100.0"
    ///
    /// [[channel]]
    /// name = "Hut"
    /// sends = "analog"
    /// rx_mhz = 453.2125
    /// tx_tone = "CTCSS 127.3"
    ///
    /// [[channel]]
    /// name = "Gate"
    /// sends = "analog"
    /// rx_mhz = 453.2125
    /// tx_tone = "CTCSS 100.0"
    ///
    /// [[zone]]
    /// name = "Harbor"
    /// channels = ["Quay", "Hut", "Gate"]
    ///
    /// [[radio]]
    /// id = 21001
    /// alias = "Quay 1"
    /// zones = ["Harbor"]
    /// stands_by = { channel = "Quay" }
    ///
    /// [[radio]]
    /// id = 21002
    /// alias = "Hut 1"
    /// zones = ["Harbor"]
    /// stands_by = { channel = "Gate" }
    /// ```
    pub OneWayPath = "one-way-path" {
        family: Group, level: Warning, judged: PerPlan, since: "0.1.0",
    }
    fn check(it: Each<channel::Table>, view, out) {
        if !view.is_stood_by(it.id()) || is_announce(view, it.id()) {
            return;
        }
        let Some(emission) = view.air(it.id()).and_then(|air| air.push_to_talk().ok()) else { return };
        if super::is_to_one_unit(&emission) {
            return;
        }
        let rays = view.rays(&emission);
        for lost in lost_answers(view, it.id(), &emission, &rays) {
            let there = view.at(lost.viewer);
            let Some(radio) = first_to_hear(there, lost.channel, &rays) else { continue };
            // Keys that differ have findings of their own.
            let splits = [Kind::Algorithm, Kind::Rollover].into_iter().flat_map(|kind| splits(view, it, kind));
            if splits.into_iter().any(|split| split.id == lost.channel) {
                continue;
            }
            let (Some(channel), Some(why)) = (view.name_of(lost.channel), lost.outcome.words()) else { continue };
            let at = FieldPath::key(channel::name.number());
            out.report(
                Anchor::Value(it.id(), at),
                format!(
                    "a radio that stands by on {0} is heard on \"{channel}\" (\"{radio}\" stands by there) and does not hear the answer: {0} {why}. Give both the same frequencies, codes and tones, or mark the channel with `purpose = \"announce\"`",
                    view.called(it.id()),
                ),
            )
            .about(channel)
            .related(Anchor::Value(lost.channel, at), format!("the answer is sent on {} MHz", carriers(&there.rays(&lost.reply))));
        }
    }
}

/// An answer that is not heard where the call came from.
struct Lost {
    viewer: FileId,
    channel: EntityId,
    reply: Emission,
    outcome: Outcome,
}

/// The answers from other channels that radios stand by on, and that could hear the call, that are not heard.
fn lost_answers(view: View<'_>, own: EntityId, call: &Emission, rays: &Rays) -> Vec<Lost> {
    let mut lost: Vec<Lost> = Vec::new();
    // Most answer alike: what comes of an answer is made out once.
    let mut known: Vec<(Emission, Option<Outcome>)> = Vec::new();
    view.each_stance(rays, &mut |there, ray| {
        let Stance { air, holds } = there.stance;
        if receive(ray, air, &Gear::UNWRITTEN, false) != Outcome::Heard {
            return false;
        }
        let answer = match called_group(call) {
            Some(group) if *holds && air.sends == Known::Is(Sends::Digital) => air.sent(group, Payload::Speech),
            _ => air.push_to_talk(),
        };
        let Ok(reply) = answer else { return true };
        let outcome = known.iter().find(|(held, _)| *held == reply).map(|(_, outcome)| *outcome).unwrap_or_else(|| {
            let outcome = comes_back(view, own, &reply);
            known.push((reply, outcome));
            outcome
        });
        if let Some(outcome) = outcome {
            let channels = view.attending(there).into_iter().filter(|(_, channel)| *channel != own);
            lost.extend(channels.map(|(viewer, channel)| Lost { viewer, channel, reply, outcome }));
        }
        true
    });
    lost
}

fn called_group(call: &Emission) -> Option<Called> {
    match call.signal {
        Signal::Digital(digital) => Some(digital.called).filter(|called| matches!(called, Called::Group(_))),
        Signal::Analog(_) => None,
    }
}

/// The first by name of the radios that stand by on a channel and hear a call.
fn first_to_hear<'v>(there: View<'v>, channel: EntityId, rays: &Rays) -> Option<&'v str> {
    let air = there.air(channel)?;
    let radios = there.alike(Bucket::StandsOn(there.viewer(), channel));
    let hears = radios.filter(|radio| {
        let Some(post) = there.post(*radio) else { return false };
        rays.rays.iter().any(|ray| receive(&ray.emission, air, &post.gear, false) == Outcome::Heard)
    });
    hears.filter_map(|radio| there.name_of(radio)).min()
}

/// Why no radio that stands by on a channel hears an answer; none where one does or might.
fn comes_back(view: View<'_>, channel: EntityId, reply: &Emission) -> Option<Outcome> {
    let air = view.air(channel)?;
    let rays = view.rays(reply);
    let mut nearest: Option<Outcome> = None;
    for radio in view.alike(Bucket::StandsOn(view.viewer(), channel)) {
        let gear = &view.post(radio)?.gear;
        for ray in &rays.rays {
            let outcome = receive(&ray.emission, air, gear, false);
            if matches!(outcome, Outcome::Heard | Outcome::Unknown) {
                return None;
            }
            if nearest.is_none_or(|held| outcome.depth() > held.depth()) {
                nearest = Some(outcome);
            }
        }
    }
    nearest
}

fn is_announce(view: View<'_>, channel: EntityId) -> bool {
    match view.known(channel, channel::purpose) {
        Known::Is(Stored::Text(word)) => view.symbol(*word) == "announce",
        _ => false,
    }
}
