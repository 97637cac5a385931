use crate::finding::{Anchor, Sink};
use crate::rule;
use crate::rule::{AnyTable, OptionSpec};
use guywire_plan::language::{Field, Tabled, profile, profile__lone_worker, radio};
use guywire_plan::{FieldPath, Known, Ref, Row, View};

rule! {
    /// A lone worker who does not answer is missed only after a long time.
    ///
    /// Counted is the time between reminders and the time of the reminder itself. 0 between reminders is none at all.
    ///
    /// ## On the air
    /// Nothing, for that long: somebody may lie hurt, and no alarm goes out.
    ///
    /// ## Options
    /// `longest_s`: longest time until the alarm, in seconds; 1800 unless set. Local rules on work alone may ask for much
    /// less, and decide.
    ///
    /// ## Source
    /// Common practice, no source.
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[profile]]
    /// name = "quay"
    /// lone_worker = { every_s = 7200, warn_s = 60 }
    ///
    /// [[radio]]
    /// id = 21007
    /// profile = "quay"
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[profile]]
    /// name = "quay"
    /// lone_worker = { every_s = 720, warn_s = 60 }
    ///
    /// [[radio]]
    /// id = 21007
    /// profile = "quay"
    /// ```
    pub LoneWorkerTooSlow = "lone-worker-too-slow" {
        family: Timing, level: Warning, judged: PerFile, since: "0.1.0",
        options: &[OptionSpec {
            name: "longest_s",
            default: 1800.0,
            doc: "Longest time until the alarm, in seconds.",
        }],
    }
    fn check(it: AnyTable, view, out) {
        if let Some(profile) = view.get::<profile::Table>(it) {
            judge(view, profile, profile::lone_worker, out);
        }
        if let Some(radio) = view.get::<radio::Table>(it) {
            judge(view, radio, radio::lone_worker, out);
        }
    }
}

fn judge<T: Tabled>(view: View<'_>, it: Ref<'_, T>, field: Field<T>, out: &mut Sink<'_>) {
    let Known::Is(part) = it.part::<profile__lone_worker::Table>(field) else { return };
    let Known::Is(every_s) = part.whole(profile__lone_worker::every_s) else { return };
    let Known::Is(warn_s) = part.whole(profile__lone_worker::warn_s).or_value(0) else { return };
    let longest_s = out.option("longest_s");
    let whole_s = every_s + warn_s;
    if every_s == 0 || whole_s as f64 <= longest_s {
        return;
    }
    out.report(
        Anchor::Value(it.id(), FieldPath::key(field.number())),
        format!(
            "a lone worker with a radio of {} is missed after {whole_s} s (limit {longest_s} s): somebody may lie hurt for that long before an alarm goes out. Remind more often; local rules on work alone decide",
            view.called(it.id()),
        ),
    );
}
