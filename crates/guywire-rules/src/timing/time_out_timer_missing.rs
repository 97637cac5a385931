use crate::finding::{Anchor, Sink};
use crate::rule;
use crate::rule::{AnyTable, OptionSpec};
use guywire_plan::language::{channel, plan};
use guywire_plan::{Bucket, FieldPath, Known, Ref, Row, Sends, View};

rule! {
    /// A channel that sends has no time-out timer, or one of 0, while others of the plan have one.
    ///
    /// A plan in which no channel has a timer is left alone: it is silent about them. Where more than one channel in three
    /// lacks a timer, or more than 64 do, there is one finding for the whole plan. Where the radio service limits a
    /// transmission, a timer of 0 is reported by `transmission-too-long`.
    ///
    /// ## On the air
    /// A key that is held down by a seat or a stuck button blocks the channel for everybody, until the battery is empty.
    ///
    /// ## Options
    /// `longest_s`: a timer longer than this counts as none, in seconds; 3600 unless set, which no timer exceeds.
    ///
    /// ## Source
    /// Common practice, no source; EN 300 296 speaks of 180 s for license-free equipment.
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[channel]]
    /// name = "Berths"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    /// time_out_s = 0
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[channel]]
    /// name = "Berths"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    /// time_out_s = 60
    /// ```
    pub TimeOutTimerMissing = "time-out-timer-missing" {
        family: Timing, level: Warning, judged: PerPlan, since: "0.1.0",
        options: &[OptionSpec {
            name: "longest_s",
            default: 3600.0,
            doc: "A timer longer than this counts as none, in seconds.",
        }],
    }
    fn check(it: AnyTable, view, out) {
        if let Some(channel) = view.get::<channel::Table>(it) {
            written(view, channel, out);
        }
        if let Some(plan) = view.get::<plan::Table>(it).filter(|_| view.plan().map(|plan| plan.id()) == Some(it)) {
            unwritten(view, plan, out);
        }
    }
}

const STUCK: &str = "a stuck key blocks the channel for everybody";

fn written(view: View<'_>, it: Ref<'_, channel::Table>, out: &mut Sink<'_>) {
    let Known::Is(seconds) = it.whole(channel::time_out_s) else { return };
    let longest_s = out.option("longest_s");
    let sends = view.channel(it.id()).map(|effective| effective.sends);
    if !matches!(sends, Some(Known::Is(Sends::Analog | Sends::Digital)))
        || (1.0..=longest_s).contains(&(seconds as f64))
    {
        return;
    }
    if super::has_limit(view, it) {
        return;
    }
    let what = match seconds {
        0 => "the time-out timer is off".to_owned(),
        _ => format!("the time-out timer of {seconds} s counts as none (limit {longest_s} s)"),
    };
    out.report(
        Anchor::Value(it.id(), FieldPath::key(channel::time_out_s.number())),
        format!("{what} on {}: {STUCK}. Set one, such as 60 s", view.called(it.id())),
    );
}

fn unwritten(view: View<'_>, it: Ref<'_, plan::Table>, out: &mut Sink<'_>) {
    let (timed, untimed) = (Bucket::Timed(view.viewer()), Bucket::Untimed(view.viewer()));
    let others = if view.is_crowded(timed) { Bucket::FEW + 1 } else { view.alike(timed).count() };
    if others == 0 {
        return;
    }
    let missing = if view.is_crowded(untimed) { None } else { Some(view.alike_of::<channel::Table>(untimed)) };
    if missing.as_ref().is_some_and(Vec::is_empty) {
        return;
    }
    match missing {
        Some(few) if few.len() * 2 <= others => few.into_iter().for_each(|channel| {
            let message = format!(
                "{} has no time-out timer, and others of the plan have: {STUCK}. Set `time_out_s`, such as 60",
                view.called(channel.id()),
            );
            out.report(Anchor::Header(channel.id()), message);
        }),
        few => {
            let how_many = few.map_or("more than 64".to_owned(), |few| few.len().to_string());
            let message = format!(
                "{how_many} channels of this plan have no time-out timer, and others have: {STUCK}. Set `time_out_s` on each, such as 60",
            );
            out.report(Anchor::Header(it.id()), message);
        }
    }
}
