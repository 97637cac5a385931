use std::ops::ControlFlow;

use guywire_plan::audience::{Emission, Listener, Outcome, Role, receive};
use guywire_plan::language::channel;
use guywire_plan::{Bucket, EntityId, FieldPath, Known, Stored, View};

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
        for heard in heard_elsewhere(view, it.id(), &rays) {
            let there = view.at(heard.viewer);
            let Ok(reply) = there.reply(heard.channel, &emission, None) else { continue };
            let Some(outcome) = comes_back(view, it.id(), &reply) else { continue };
            // Keys that differ have findings of their own.
            let splits = [Kind::Algorithm, Kind::Rollover].into_iter().flat_map(|kind| splits(view, it, kind));
            if splits.into_iter().any(|split| split.id == heard.channel) {
                continue;
            }
            let (radio, channel) = (heard.radio.and_then(|radio| view.name_of(radio)), view.name_of(heard.channel));
            let (Some(radio), Some(channel), Some(why)) = (radio, channel, outcome.words()) else { continue };
            let at = FieldPath::key(channel::name.number());
            out.report(
                Anchor::Value(it.id(), at),
                format!(
                    "a radio that stands by on {0} is heard on \"{channel}\" (\"{radio}\" stands by there) and does not hear the answer: {0} {why}. Give both the same frequencies, codes and tones, or mark the channel with `purpose = \"announce\"`",
                    view.called(it.id()),
                ),
            )
            .about(channel)
            .related(Anchor::Value(heard.channel, at), format!("the answer is sent on {} MHz", carriers(&there.rays(&reply))));
        }
    }
}

/// Radios that stand by on other channels and hear the call: one for each channel.
fn heard_elsewhere(view: View<'_>, own: EntityId, rays: &guywire_plan::audience::Rays) -> Vec<Listener> {
    let mut heard: Vec<Listener> = Vec::new();
    let name = |radio: Option<EntityId>| radio.and_then(|radio| view.name_of(radio));
    let _ = view.each_listener(rays, None, &mut |listener| {
        let counts = listener.role == Role::StandsBy && listener.outcome == Outcome::Heard;
        if !counts || listener.channel == own {
            return ControlFlow::Continue(());
        }
        let is_there = |held: &&mut Listener| held.viewer == listener.viewer && held.channel == listener.channel;
        match heard.iter_mut().find(is_there) {
            // The first by name, in whatever order they come.
            Some(held) if name(listener.radio) < name(held.radio) => *held = listener,
            Some(_) => {}
            None => heard.push(listener),
        }
        ControlFlow::Continue(())
    });
    heard.retain(|listener| !is_announce(view.at(listener.viewer), listener.channel));
    heard
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
