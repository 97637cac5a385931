//! What a rule says, and where: by entity and key, never by line. Places are resolved when findings are shown.

use std::fmt::Display;
use std::hash::{Hash, Hasher};

use guywire_plan::{EntityId, FieldPath};
use guywire_text::{FileId, Place};

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

impl Level {
    /// As it is written in settings and shown.
    pub const fn word(self) -> &'static str {
        match self {
            Level::Off => "off",
            Level::Hint => "hint",
            Level::Information => "information",
            Level::Warning => "warning",
            Level::Error => "error",
        }
    }
    /// The level of a word.
    pub fn of_word(word: &str) -> Option<Level> {
        [Level::Off, Level::Hint, Level::Information, Level::Warning, Level::Error]
            .into_iter()
            .find(|level| level.word() == word)
    }
}

/// What a fix may change.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Safety {
    /// No change on the air and one right answer.
    Safe,
    /// It changes what goes on the air, or there is more than one answer: a person decides.
    Choice,
}

/// The number of a rule in the catalog.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct RuleId(pub u16);

/// What tells a finding from others: rule, file, entity, field, arguments; no line, no prose.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct FindingKey(pub u128);

impl Display for FindingKey {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{:032x}", self.0)
    }
}

/// The hash FNV-1a over 128 bits (RFC 9923): the same on every machine and in every version.
#[derive(Debug, Clone, Copy)]
pub struct Fnv(pub u128);

impl Default for Fnv {
    fn default() -> Self {
        Fnv(0x6c62_272e_07bb_0142_62b8_2175_6295_c58d)
    }
}

impl Hasher for Fnv {
    fn finish(&self) -> u64 {
        (self.0 ^ (self.0 >> 64)) as u64
    }
    fn write(&mut self, bytes: &[u8]) {
        for byte in bytes {
            self.0 = (self.0 ^ u128::from(*byte)).wrapping_mul(0x0000_0000_0100_0000_0000_0000_0000_013b);
        }
    }
}

/// Where a finding is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Anchor {
    /// The header of a table.
    Header(EntityId),
    /// The value at a path of a table; its header where nothing stands there.
    Value(EntityId, FieldPath),
    /// The key at a path of a table; its header where nothing stands there.
    Key(EntityId, FieldPath),
    /// Bytes of a text.
    Bytes(Place),
    /// The start of a file.
    File(FileId),
}

/// What a rule found.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Finding {
    /// Which rule.
    pub rule: RuleId,
    /// Where.
    pub at: Anchor,
    /// What is wrong, what happens on the air, what to do.
    pub message: String,
    /// A hash of what the finding is about, beside its place: the same however the message is worded.
    pub about: u64,
    /// Other places, in no order.
    pub related: Vec<(Anchor, String)>,
    /// The rule has a fix for it.
    pub fixable: bool,
    /// How much it matters where settings say nothing, if that is not the rule's level.
    pub level: Option<Level>,
}

/// A way to mend a finding.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fix {
    /// What it does, as an order.
    pub title: String,
    /// Whether it changes what is on the air.
    pub safety: Safety,
    /// What it changes.
    pub edits: Vec<Edit>,
}

/// A change of the text, by entity and key.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Edit {
    /// Writes another value, as TOML.
    Set(EntityId, FieldPath, String),
    /// Writes another key.
    SetKey(EntityId, FieldPath, String),
    /// Writes another header.
    SetHeader(EntityId, String),
    /// Adds a key with a value, as TOML, after the last key of the table.
    Insert(EntityId, &'static str, String),
    /// Takes out a key with its value, or an element of a list.
    Remove(EntityId, FieldPath),
    /// Takes out a whole table.
    RemoveTable(EntityId),
    /// Puts text in the place of bytes.
    Bytes(Place, String),
}

/// Where a rule puts what it finds.
pub struct Sink<'v> {
    rule: RuleId,
    findings: &'v mut Vec<Finding>,
    fixes: Option<&'v mut Vec<(usize, Fix)>>,
    options: &'v dyn Fn(&'static str) -> f64,
}

impl<'v> Sink<'v> {
    /// A place for findings of `rule`, and for fixes (by the number of their finding) where they are wanted.
    pub fn new(
        rule: RuleId,
        findings: &'v mut Vec<Finding>,
        fixes: Option<&'v mut Vec<(usize, Fix)>>,
        options: &'v dyn Fn(&'static str) -> f64,
    ) -> Self {
        Sink { rule, findings, fixes, options }
    }

    /// An option of the rule, as set or by default, in the unit that its name carries.
    pub fn option(&self, name: &'static str) -> f64 {
        (self.options)(name)
    }

    /// Reports a finding. The message says what is wrong, what happens on the air, and what to do.
    pub fn report(&mut self, at: Anchor, message: impl Into<String>) -> Reported<'_> {
        self.findings.push(Finding {
            rule: self.rule,
            at,
            message: message.into(),
            about: 0,
            related: Vec::new(),
            fixable: false,
            level: None,
        });
        let number = self.findings.len() - 1;
        Reported { number, findings: self.findings, fixes: self.fixes.as_deref_mut() }
    }
}

/// A finding just reported, to say more of it.
pub struct Reported<'s> {
    number: usize,
    findings: &'s mut Vec<Finding>,
    fixes: Option<&'s mut Vec<(usize, Fix)>>,
}

impl Reported<'_> {
    /// Says what the finding is about beside its place (a name, a number), so that it is known again after an edit.
    pub fn about(self, argument: &(impl Hash + ?Sized)) -> Self {
        let mut hasher = Fnv::default();
        self.findings[self.number].about.hash(&mut hasher);
        argument.hash(&mut hasher);
        self.findings[self.number].about = hasher.finish();
        self
    }

    /// Says how much it matters where settings say nothing, if that is not the rule's level.
    pub fn level(self, level: Level) -> Self {
        self.findings[self.number].level = Some(level);
        self
    }

    /// Adds another place.
    pub fn related(self, at: Anchor, message: impl Into<String>) -> Self {
        self.findings[self.number].related.push((at, message.into()));
        self
    }

    /// Says that there is a way to mend it; `make` runs only where fixes are wanted, and may find that there is none.
    pub fn fix(self, make: impl FnOnce() -> Option<Fix>) -> Self {
        self.fixes(make)
    }

    /// Says that there may be several ways to mend it; `make` runs only where fixes are wanted.
    pub fn fixes<I: IntoIterator<Item = Fix>>(mut self, make: impl FnOnce() -> I) -> Self {
        self.findings[self.number].fixable = true;
        if let Some(fixes) = self.fixes.as_deref_mut() {
            fixes.extend(make().into_iter().map(|fix| (self.number, fix)));
        }
        self
    }
}

/// A text as a TOML string.
pub fn toml_string(text: &str) -> String {
    let mut written = String::with_capacity(text.len() + 2);
    written.push('"');
    for letter in text.chars() {
        match letter {
            '"' => written.push_str("\\\""),
            '\\' => written.push_str("\\\\"),
            letter if letter.is_control() => written.push_str(&format!("\\u{:04X}", u32::from(letter))),
            letter => written.push(letter),
        }
    }
    written.push('"');
    written
}

/// A text as a TOML key: bare where it can be.
pub(crate) fn toml_key(text: &str) -> String {
    let bare = !text.is_empty() && text.chars().all(|c| c.is_ascii_alphanumeric() || c == '_' || c == '-');
    if bare { text.to_owned() } else { toml_string(text) }
}
