use crate::finding::Anchor;
use crate::rule;
use crate::rule::Each;
use guywire_plan::language::{model, receiver, scan_list, signaling};
use guywire_plan::{EntityId, FieldPath, Known, Ref, Row, View};

rule! {
    /// The preamble before data is shorter than a receiver of the fleet sleeps, or than it takes to look at its scan list
    /// once.
    ///
    /// A round of a scan list is `sample_ms` times its members; it counts where the data sheet of a model says that it
    /// receives data while it scans.
    ///
    /// ## On the air
    /// Texts, position requests and alarms go out while the receiver sleeps or listens elsewhere, and are lost without a
    /// trace.
    ///
    /// ## Source
    /// The preamble is there for that (ETSI TS 102 361-2); the times are those of the data sheet and the plan.
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    /// model = "models/hh-uhf.model.toml"
    ///
    /// [signaling]
    /// preamble_ms = 120
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    /// model = "models/hh-uhf.model.toml"
    ///
    /// [signaling]
    /// preamble_ms = 480
    /// ```
    ///
    /// ## Beside
    /// ```toml models/hh-uhf.model.toml
    /// [model]
    /// name = "hh-uhf"
    ///
    /// [receiver]
    /// saver_sleep_ms = 240
    /// ```
    pub PreambleTooShort = "preamble-too-short" {
        family: Timing, level: Warning, judged: PerPlan, since: "0.1.0",
    }
    fn check(it: Each<signaling::Table>, view, out) {
        let Known::Is(preamble_ms) = it.whole(signaling::preamble_ms) else { return };
        let models = view.plan_models();
        let mut waits: Vec<Wait> = models.iter().filter_map(|model| sleep(view, *model)).collect();
        if models.iter().any(|model| model.truth(model::data_while_scanning) == Known::Is(true)) {
            waits.extend(view.all::<scan_list::Table>().into_iter().filter_map(|list| round(view, list)));
        }
        waits.retain(|wait| wait.ms > preamble_ms);
        if waits.is_empty() {
            return;
        }
        // The same words whichever plan sees it: the times stand at the other places.
        let mut found = out.report(
            Anchor::Value(it.id(), FieldPath::key(signaling::preamble_ms.number())),
            format!("the preamble before data takes {preamble_ms} ms, and receivers sleep or listen elsewhere for longer: texts and alarms to them are lost. Make the preamble longer than that"),
        );
        for wait in &waits {
            found = found.related(Anchor::Value(wait.at.0, wait.at.1), format!("{} {} ms", wait.said, wait.ms));
        }
    }
}

/// A time in which a receiver does not listen.
struct Wait {
    ms: i64,
    said: String,
    at: (EntityId, FieldPath),
}

fn sleep(view: View<'_>, model: Ref<'_, model::Table>) -> Option<Wait> {
    let receiver = view.only::<receiver::Table>(view.file_of(model.id())?)?;
    let ms = receiver.whole(receiver::saver_sleep_ms).value()?;
    let said = format!("the receiver of {} sleeps for", view.called(model.id()));
    Some(Wait { ms, said, at: (receiver.id(), FieldPath::key(receiver::saver_sleep_ms.number())) })
}

fn round(view: View<'_>, list: Ref<'_, scan_list::Table>) -> Option<Wait> {
    let Known::Is(members) = list.list(scan_list::channels) else { return None };
    let ms = list.whole(scan_list::sample_ms).value()?.checked_mul(i64::try_from(members.len()).ok()?)?;
    let said = format!("a round of {} takes", view.called(list.id()));
    Some(Wait { ms, said, at: (list.id(), FieldPath::key(scan_list::sample_ms.number())) })
}
