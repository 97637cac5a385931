//! Tables of `guywire.toml`: the workspace root.

use super::super::Type::*;
use super::{LEVELS, PLAN_TABLES};
use crate::table;

/// Tables that a house rule can be about: those of a plan.
const SUBJECTS: [&str; PLAN_TABLES.len()] = {
    let mut names = [""; PLAN_TABLES.len()];
    let mut at = 0;
    while at < names.len() {
        names[at] = PLAN_TABLES[at].name;
        at += 1;
    }
    names
};

table! {
    /// What belongs to the workspace, and when it is judged.
    WORKSPACE workspace: Workspace in Settings, One; {
        /// Version of the plan language; absent: 1.
        format: Whole(1, 1) =>;
        /// Patterns of the plan files, from this folder; absent: `**/*.plan.toml`.
        plans: List(&Text) =>;
        /// Day by which expiry and rotation are judged; absent: today.
        as_of: Date =>;
    }

    /// Levels and options of rules: each key is the name of a rule, its value a level, or a table of options.
    RULES rules: RuleLevels in Settings, One, open true of Either(&Word(LEVELS), &Part(&RULE_OPTIONS)); {
    }

    /// Level and options of one rule: keys beside `level` are the rule's own options.
    RULE_OPTIONS rules__options: Part in Settings, Part, open true; {
        /// Level of its findings; absent: the rule's own.
        level: Word(LEVELS) =>;
    }

    /// What a waiver must say.
    WAIVERS waivers: WaiverPolicy in Settings, One; {
        /// Whether a waiver without a reason is a finding; absent: `true`.
        reason_required: Truth =>;
        /// Longest time that a waiver may last; absent: no limit.
        longest_days: Whole(0, 36_500) =>;
    }

    /// A rule of the house's own.
    HOUSE_RULE house_rule: HouseRule in Settings, Any; {
        /// What findings, levels and waivers call it.
        name: Name => required;
        /// Table of a plan that it is about.
        r#for: Word(&SUBJECTS) => required;
        /// Condition (Common Expression Language) that says which of those tables it judges; absent: all.
        r#where: Text =>;
        /// Condition (Common Expression Language) that must hold.
        require: Text => required;
        /// What the finding says; expressions stand in braces.
        message: Text =>;
        /// Level of its findings; absent: `warning`.
        level: Word(LEVELS) =>;
        /// The reason for it, shown with each finding.
        why: Prose =>;
    }
}
