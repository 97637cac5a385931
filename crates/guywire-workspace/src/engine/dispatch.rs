//! Which rules look at what, and in which quarter of a cell they are judged.

use guywire_plan::language::Kind;
use guywire_plan::{NodeKey, Quarters};
use guywire_rules::{About, ErasedRule, Family, Finding, Judged, On, Reading, RuleId};
use rustc_hash::FxHashMap;

/// A rule that looks at tables.
#[derive(Clone, Copy)]
pub(super) struct Runs {
    pub id: RuleId,
    pub rule: &'static dyn ErasedRule,
    pub judged: Judged,
}

/// Rules by the quarter of a cell that they are judged in.
type ByQuarter = [Vec<Runs>; Quarters::COUNT];

/// The rules to run, sorted by what they look at.
pub(crate) struct Dispatch {
    rules: &'static [&'static dyn ErasedRule],
    pub(super) text: Vec<RuleId>,
    /// Those for tables of every kind.
    any: ByQuarter,
    /// Those for a kind of tables, after those for every kind; a kind without rules of its own is not here.
    by_kind: FxHashMap<Kind, ByQuarter>,
}

/// The quarter of a cell that a rule is judged in: with the rules that mostly read what it reads. Which one it is changes
/// how much of a cell is judged again after an edit, and nothing that is found.
fn quarter_of(about: &About) -> usize {
    match about.family {
        _ if about.reads == Reading::Whole => 0,
        _ if about.reads == Reading::Audience => 3,
        Family::Text | Family::Waiver | Family::Model | Family::Regime => 0,
        Family::Band | Family::Tone | Family::Interference | Family::Bench => 1,
        Family::Slot | Family::Zone | Family::Scan | Family::Timing | Family::Controls | Family::Identity => 2,
        Family::Group | Family::Privacy | Family::Emergency => 3,
    }
}

impl Dispatch {
    pub fn new(rules: &'static [&'static dyn ErasedRule]) -> Self {
        let mut dispatch = Dispatch { rules, text: Vec::new(), any: Default::default(), by_kind: FxHashMap::default() };
        // The catalog has a few hundred rules.
        let numbered = || rules.iter().enumerate().map(|(number, rule)| (RuleId(number as u16), *rule));
        let runs = |id, rule: &'static dyn ErasedRule| {
            (quarter_of(rule.about()), Runs { id, rule, judged: rule.about().judged })
        };
        for (id, rule) in numbered() {
            match rule.on() {
                On::Text => dispatch.text.push(id),
                On::Any => {
                    let (quarter, runs) = runs(id, rule);
                    dispatch.any[quarter].push(runs);
                }
                On::Kind(_) => {}
            }
        }
        for (id, rule) in numbered() {
            if let On::Kind(kind) = rule.on() {
                let (quarter, runs) = runs(id, rule);
                dispatch.by_kind.entry(kind).or_insert_with(|| dispatch.any.clone())[quarter].push(runs);
            }
        }
        dispatch
    }

    pub fn rule(&self, id: RuleId) -> &'static dyn ErasedRule {
        self.rules[id.0 as usize]
    }

    pub(super) fn for_kind(&self, kind: Kind, quarter: usize) -> &[Runs] {
        &self.by_kind.get(&kind).unwrap_or(&self.any)[quarter]
    }

    /// The quarter of the cell that found something. What is wrong with a text is found in the first.
    pub(super) fn quarter(&self, node: NodeKey, finding: &Finding) -> usize {
        if node.entity.is_none() { 0 } else { quarter_of(self.rule(finding.rule).about()) }
    }
}
