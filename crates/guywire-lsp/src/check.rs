//! Computing in slices between messages, and how far that has come.

use std::sync::atomic::AtomicBool;

use guywire_text::FileId;
use guywire_workspace::{Budget, Progress};
use tower_lsp::lsp_types::{LogTraceParams, TraceValue};

use crate::command;
use crate::engine::Engine;
use crate::progress::Scan;
use crate::worker::{SLICE, Worker, guarded};

impl<E: Engine> Worker<E> {
    /// Computes, tells and answers for a short while. Yields whether nothing is left to do.
    pub(crate) fn slice(&mut self, stop: &AtomicBool) -> bool {
        let idle = self.compute(stop);
        self.answer_pulls();
        self.answer_waiting();
        idle && !self.look_at_an_answer()
    }

    fn compute(&mut self, stop: &AtomicBool) -> bool {
        let Some(engine) = self.engine.as_mut().filter(|_| !self.halted) else { return true };
        let settled = guarded("a check", || {
            let progress = engine.settle(Budget::For(SLICE), stop);
            (progress, engine.changed())
        });
        let Some((progress, fresh)) = settled else {
            self.retry();
            return self.halted;
        };
        self.settled = progress.settled;
        self.excused &= !self.settled;
        self.unsent.extend(&fresh);
        let ready: Vec<FileId> = if self.settled { self.unsent.iter().copied().collect() } else { fresh };
        self.publish(ready);
        let left = self.open_only && self.open_is_settled();
        self.note(progress, left);
        left || (self.settled && self.unsent.is_empty() && progress.unwatched == 0)
    }

    /// A check failed: once for each change all is read anew; should that not help, the next change is waited for.
    fn retry(&mut self) {
        if !self.rebuilt {
            self.rebuild();
            self.rebuilt = true;
            return;
        }
        self.halted = true;
        self.outbox.scan(None);
        if !self.excused {
            self.outbox.note("guywire failed to check the plans. It tries again at the next change.".to_owned());
            self.excused = true;
        }
    }

    /// The user stopped the check of files that are not open.
    pub(crate) fn leave_the_rest(&mut self) {
        if !self.settled {
            self.open_only = true;
            self.pulls.give_up();
            let stopped = self.waiting.drain(..);
            stopped.for_each(|question| question.refuse(command::stopped()));
        }
    }

    fn open_is_settled(&self) -> bool {
        let Some(engine) = &self.engine else { return true };
        self.books.iter().all(|(_, open)| engine.is_settled(open.file))
    }

    fn note(&mut self, progress: Progress, left: bool) {
        self.peak = self.peak.max(progress.remaining);
        if !progress.settled && !left {
            self.outbox.scan(Some(Scan::Checking { done: self.peak - progress.remaining, total: self.peak }));
            return;
        }
        self.outbox.scan(None);
        if let Some(since) = self.since.take() {
            self.trace(since.elapsed().as_secs_f64() * 1e3);
        }
        self.peak = 0;
    }

    fn trace(&mut self, ms: f64) {
        let files = std::mem::take(&mut self.traced);
        if self.trace == TraceValue::Off || files.is_empty() {
            return;
        }
        self.outbox.trace(LogTraceParams {
            message: format!("checked in {ms:.1} ms; told of {} files", files.len()),
            verbose: (self.trace == TraceValue::Verbose).then(|| files.join(", ")),
        });
    }
}
