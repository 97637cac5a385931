//! What was counted, and the page that says it.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use super::judge::Fate::{self, Missed, SameAir, Unknowable, Unsaid};
use super::{KINDS, Kind, PLANS};

/// What was counted of a kind.
#[derive(Debug, Default)]
pub struct Tally {
    pub all: usize,
    pub tried: usize,
    pub fates: BTreeMap<Fate, usize>,
    /// Not caught, but told as a hint or information.
    pub quietly: BTreeMap<Fate, usize>,
    pub rules: BTreeMap<&'static str, usize>,
    pub missed: Vec<String>,
    /// By plan: how many were tried, how many caught.
    pub plans: [(usize, usize); PLANS.len()],
}

impl Tally {
    fn count(&self, of: impl Fn(Fate) -> bool) -> usize {
        self.fates.iter().filter(|(fate, _)| of(**fate)).map(|(_, count)| count).sum()
    }

    pub fn caught(&self) -> usize {
        self.count(|fate| fate == Fate::Caught)
    }

    pub fn missed(&self) -> usize {
        self.count(|fate| matches!(fate, Missed(_)))
    }

    pub fn unsaid(&self) -> usize {
        self.count(|fate| matches!(fate, Unsaid(_)))
    }

    pub fn unknowable(&self) -> usize {
        self.count(|fate| matches!(fate, Unknowable(_)))
    }

    pub fn changed(&self) -> usize {
        self.tried - self.count(|fate| fate == SameAir)
    }
}

const INTRODUCTION: &str = "\
# One wrong digit

How many slips of one digit the linter tells, counted on the plans in `tests/fixtures/published`. Written by the test
`published` of `guywire-workspace`; run it with `GUYWIRE_BLESS=1` after a change of rules or plans.

Every digit of every value of a kind is changed to every other digit, or a seeded sample of 2000 where there are more.
The unchanged plans have no finding. A slip is

- *caught* when the plan then has a finding of level warning or error;
- the *same on the air* when the value means the same, such as a DCS code that is another spelling of the same stream;
- *missed* when a rule that exists should tell it, and none does;
- *unsaid* when something published or written in the plan contradicts it, and no rule says so at warning or above;
- *not to be known* when nothing contradicts it: the text is a sound plan, only another one.

What is not caught is judged by the band and step of the model, the table of the service, the license and the other keys
of the plan, without any rule.

";

fn percent(part: usize, whole: usize) -> String {
    if whole == 0 { "–".to_owned() } else { format!("{:.1} %", 100.0 * part as f64 / whole as f64) }
}

pub fn page(tallies: &BTreeMap<Kind, Tally>) -> String {
    let mut page = INTRODUCTION.to_owned();
    counts(&mut page, tallies);
    below(&mut page, tallies);
    reasons(&mut page, tallies);
    rules(&mut page, tallies);
    page
}

fn counts(page: &mut String, tallies: &BTreeMap<Kind, Tally>) {
    page.push_str("## By kind\n\n");
    page.push_str("| kind | there are | tried | same on the air | caught | missed | unsaid | not to be known |\n");
    page.push_str("| --- | --- | --- | --- | --- | --- | --- | --- |\n");
    for (kind, name) in KINDS {
        let it = &tallies[&kind];
        let (all, tried, same, caught, missed) = (it.all, it.tried, it.tried - it.changed(), it.caught(), it.missed());
        let (unsaid, unknowable) = (it.unsaid(), it.unknowable());
        let _ = writeln!(page, "| {name} | {all} | {tried} | {same} | {caught} | {missed} | {unsaid} | {unknowable} |");
    }
    page.push_str("\nThe share that is caught: of all slips that change the air; of those that can be known from the text and the\n");
    page.push_str("published tables; and of those that the rules that exist can know.\n\n");
    page.push_str(
        "| kind | of those that change the air | of those that can be known | of those that rules can know |\n",
    );
    page.push_str("| --- | --- | --- | --- |\n");
    for (kind, name) in KINDS {
        let it = &tallies[&kind];
        let share = |whole| percent(it.caught(), whole);
        let (changed, known, ruled) =
            (share(it.changed()), share(it.changed() - it.unknowable()), share(it.caught() + it.missed()));
        let _ = writeln!(page, "| {name} | {changed} | {known} | {ruled} |");
    }
    page.push_str(
        "\nFrequencies of channels and repeaters, by plan:\n\n| plan | tried | caught | |\n| --- | --- | --- | --- |\n",
    );
    for (plan, (name, _)) in PLANS.iter().enumerate() {
        let [one, other] = [Kind::ChannelFrequency, Kind::RepeaterFrequency].map(|kind| tallies[&kind].plans[plan]);
        let (tried, caught) = (one.0 + other.0, one.1 + other.1);
        let _ = writeln!(page, "| {name} | {tried} | {caught} | {} |", percent(caught, tried));
    }
}

fn below(page: &mut String, tallies: &BTreeMap<Kind, Tally>) {
    page.push_str("\n## Kinds under 90 %\n\nOf the slips that change the air, less than 90 % are caught of:\n\n");
    for (kind, name) in KINDS {
        let it = &tallies[&kind];
        let (caught, changed) = (it.caught(), it.changed());
        if caught * 10 < changed * 9 {
            let (share, unsaid, unknowable) = (percent(caught, changed), it.unsaid(), it.unknowable());
            let _ =
                writeln!(page, "- {name}, {share}: {unsaid} want a rule, {unknowable} cannot be known from the text.");
        }
    }
}

fn reasons(page: &mut String, tallies: &BTreeMap<Kind, Tally>) {
    page.push_str("\n## What is not caught\n\nSome of these are told more quietly, as a hint or as information.\n\n");
    page.push_str("| kind | slip | reason | slips | told quietly |\n| --- | --- | --- | --- | --- |\n");
    for (kind, name) in KINDS {
        for (fate, count) in &tallies[&kind].fates {
            let (what, why) = match fate {
                Fate::Caught => continue,
                SameAir => ("same on the air", "the same tone or stream"),
                Missed(why) => ("missed", *why),
                Unsaid(why) => ("unsaid", *why),
                Unknowable(why) => ("not to be known", *why),
            };
            let quietly = tallies[&kind].quietly.get(fate).copied().unwrap_or_default();
            let _ = writeln!(page, "| {name} | {what} | {why} | {count} | {quietly} |");
        }
    }
}

fn rules(page: &mut String, tallies: &BTreeMap<Kind, Tally>) {
    page.push_str(
        "\n## What catches\n\nA slip may be told by several rules.\n\n| kind | rule | slips |\n| --- | --- | --- |\n",
    );
    for (kind, name) in KINDS {
        for (rule, count) in &tallies[&kind].rules {
            let _ = writeln!(page, "| {name} | `{rule}` | {count} |");
        }
    }
}
