//! The rules: one file a rule, a folder a family; fixes; house rules.

/// How much a finding matters.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Level {
    /// Not shown.
    Off,
    /// A remark.
    Hint,
    /// Worth knowing.
    Information,
    /// Likely wrong.
    Warning,
    /// Wrong.
    Error,
}

/// What a fix may change.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Safety {
    /// No change on the air and one right answer.
    Safe,
    /// It changes what goes on the air, or there is more than one answer: a person decides.
    Choice,
}

/// What tells a finding from others: rule, file, entity, field, arguments; no line, no prose.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct FindingKey(pub u128);
