//! What a cell finds: the rules are run, and what they say is kept by cell and by file.

use guywire_plan::{NodeId, NodeKey, Quarters, Recorder, View};
use guywire_rules::{Anchor, ErasedRule, Finding, Fix, Judged, RuleId, Sink, Target};
use guywire_text::FileId;

use super::dispatch::Runs;
use super::{Engine, Kept};

impl Engine {
    /// Runs the rules of a quarter of one cell; with `fixes`, collects them too (by the number of their finding).
    pub fn judge(
        &self,
        key: NodeKey,
        quarter: usize,
        recorder: &Recorder,
        findings: &mut Vec<Finding>,
        mut fixes: Option<&mut Vec<(usize, Fix)>>,
    ) {
        let view = View::new(&self.db, key.viewer, recorder);
        match key.entity {
            // The rules of a text are judged in the first quarter; a sheet that no plan names any more, by nothing.
            None if quarter > 0 || !view.is_read(key.viewer) => {}
            None => {
                for rule in &self.dispatch.text {
                    let known = self.dispatch.rule(*rule);
                    self.run(*rule, known, Target::Text(key.viewer), view, findings, fixes.as_deref_mut());
                }
            }
            Some(id) => {
                let Some(entity) = self.db.entity(id) else { return };
                let (own, plan) = (entity.file == key.viewer, self.db.is_plan(key.viewer));
                for Runs { id: rule, rule: known, judged } in self.dispatch.for_kind(entity.kind, quarter) {
                    let runs = match judged {
                        Judged::PerFile => own,
                        Judged::PerPlan => plan,
                    };
                    if runs {
                        self.run(*rule, *known, Target::Table(id), view, findings, fixes.as_deref_mut());
                    }
                }
            }
        }
    }

    /// What a cell finds as it is now, and the fixes by the number of their finding.
    pub fn judge_whole(&self, key: NodeKey, fixes: &mut Vec<(usize, Fix)>) -> Vec<Finding> {
        let mut findings = Vec::new();
        for quarter in Quarters::ALL.numbers() {
            self.judge(key, quarter, &Recorder::silent_about(key.entity), &mut findings, Some(fixes));
        }
        findings
    }

    fn run<'v>(
        &self,
        rule: RuleId,
        known: &'static dyn ErasedRule,
        target: Target,
        view: View<'v>,
        findings: &mut Vec<Finding>,
        fixes: Option<&mut Vec<(usize, Fix)>>,
    ) {
        if self.asleep[rule.0 as usize] {
            return;
        }
        let viewer = view.viewer();
        let options = |name: &'static str| {
            let set = self.options.get(&viewer).and_then(|options| options.get(&(rule, name)));
            let default =
                || known.about().options.iter().find(|option| option.name == name).map(|option| option.default);
            set.copied().or_else(default).unwrap_or(f64::NAN)
        };
        known.run(target, view, &mut Sink::new(rule, findings, fixes, &options));
    }

    /// Keeps what quarters of a cell found, beside what its others did.
    pub(super) fn keep_findings(&mut self, node: NodeId, quarters: Quarters, mut findings: Vec<Finding>) {
        if let Some(kept) = self.cells.get(&node) {
            let key = self.graph.key(node);
            let quarter = |finding: &Finding| self.dispatch.quarter(key, finding);
            findings.extend(kept.findings.iter().filter(|finding| !quarters.has(quarter(finding))).cloned());
            findings.sort_by_key(quarter);
        }
        if self.cells.get(&node).map_or(findings.is_empty(), |kept| *kept.findings == *findings) {
            return;
        }
        self.ticks += 1;
        if let Some(old) = self.cells.remove(&node) {
            for file in old.files {
                self.touched.insert(file);
                if let Some(nodes) = self.by_file.get_mut(&file) {
                    nodes.remove(&node);
                }
            }
        }
        if findings.is_empty() {
            return;
        }
        let mut files: Vec<FileId> = findings.iter().filter_map(|finding| self.anchor_file(&finding.at)).collect();
        files.sort_unstable();
        files.dedup();
        for file in &files {
            self.touched.insert(*file);
            self.by_file.entry(*file).or_default().insert(node);
        }
        self.cells.insert(node, Kept { findings: findings.into(), files });
    }

    /// The cells that found something in a file, with what they found; in no order.
    pub fn found_in(&self, file: FileId) -> impl Iterator<Item = (NodeKey, &Finding)> + '_ {
        self.by_file
            .get(&file)
            .into_iter()
            .flatten()
            .flat_map(|node| {
                self.cells
                    .get(node)
                    .into_iter()
                    .flat_map(|kept| kept.findings.iter())
                    .map(|finding| (self.graph.key(*node), finding))
            })
            .filter(move |(_, finding)| self.anchor_file(&finding.at) == Some(file))
    }

    /// The file that an anchor is in, where what it names is still there.
    pub fn anchor_file(&self, anchor: &Anchor) -> Option<FileId> {
        match anchor {
            Anchor::Bytes(place) => Some(place.file),
            Anchor::File(file) => Some(*file),
            Anchor::Header(id) | Anchor::Value(id, _) | Anchor::Key(id, _) => {
                self.db.entity(*id).map(|entity| entity.file)
            }
        }
    }
}
