//! What `guywire.toml` says: which files are plans, levels and options of rules, the day to judge by.

use guywire_plan::language::{RULES, WAIVERS, WORKSPACE, rules__options, waivers, workspace};
use guywire_plan::{Db, Known, Record, Row, Stored};
use guywire_rules::{CATALOG, Finding, Level, RuleId};
use guywire_text::FileId;
use jiff::civil::Date;
use rustc_hash::FxHashMap;

use crate::engine::Options;

/// The settings of a root.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Settings {
    pub levels: FxHashMap<RuleId, Level>,
    pub options: Options,
    pub as_of: Option<Date>,
    pub plans: Option<Vec<String>>,
    /// A waiver must give a reason.
    pub reason_required: bool,
    /// Longest time that a waiver may last.
    pub longest_waiver_days: Option<i64>,
}

impl Default for Settings {
    fn default() -> Self {
        Settings {
            levels: FxHashMap::default(),
            options: Options::default(),
            as_of: None,
            plans: None,
            reason_required: true,
            longest_waiver_days: None,
        }
    }
}

impl Settings {
    /// What the file says, as far as it can be read.
    pub fn read(db: &Db, file: FileId) -> Settings {
        let mut settings = Settings::default();
        for id in db.entities_of(file) {
            let Some(entity) = db.entity(id) else { continue };
            if std::ptr::eq(entity.record.spec, &RULES) {
                settings.read_rules(db, &entity.record);
            }
            if std::ptr::eq(entity.record.spec, &WAIVERS) {
                settings.read_waivers(&entity.record);
            }
            if std::ptr::eq(entity.record.spec, &WORKSPACE) {
                settings.read_workspace(db, &entity.record);
            }
        }
        settings
    }

    fn read_waivers(&mut self, record: &Record) {
        let part = guywire_plan::Part::<waivers::Table>::new(record);
        self.reason_required = part.truth(waivers::reason_required).value().unwrap_or(true);
        self.longest_waiver_days = part.whole(waivers::longest_days).value();
    }

    fn read_workspace(&mut self, db: &Db, record: &Record) {
        let part = guywire_plan::Part::<workspace::Table>::new(record);
        self.as_of = part.date(workspace::as_of).value();
        if let Known::Is(patterns) = part.list(workspace::plans) {
            let texts = patterns.iter().filter_map(|element| match &element.value {
                Stored::Text(text) => Some(db.symbols.text(*text).to_owned()),
                _ => None,
            });
            self.plans = Some(texts.collect());
        }
    }

    fn read_rules(&mut self, db: &Db, record: &Record) {
        for extra in &record.extras {
            let name = db.symbols.text(extra.name);
            let Some(number) = CATALOG.iter().position(|rule| rule.about().name == name) else { continue };
            let rule = RuleId(number as u16);
            match &extra.value {
                Stored::Text(word) => self.set_level(rule, db.symbols.text(*word)),
                Stored::Part(table) => {
                    let part = guywire_plan::Part::<rules__options::Table>::new(table);
                    if let Known::Is(word) = part.text(rules__options::level) {
                        self.set_level(rule, db.symbols.text(word));
                    }
                    self.read_options(db, rule, table);
                }
                _ => {}
            }
        }
    }

    fn set_level(&mut self, rule: RuleId, word: &str) {
        if let Some(level) = Level::of_word(word) {
            self.levels.insert(rule, level);
        }
    }

    fn read_options(&mut self, db: &Db, rule: RuleId, table: &Record) {
        for extra in &table.extras {
            let name = db.symbols.text(extra.name);
            let known = CATALOG[rule.0 as usize].about().options.iter().find(|option| option.name == name);
            let number = match extra.value {
                Stored::Whole(number) => Some(number as f64),
                Stored::Number(number) => Some(number),
                Stored::Truth(truth) => Some(f64::from(u8::from(truth))),
                _ => None,
            };
            if let (Some(option), Some(number)) = (known, number) {
                self.options.insert((rule, option.name), number);
            }
        }
    }

    /// The level of a finding here: as settings say, else its own, else its rule's. A rule that is always shown cannot be
    /// turned down.
    pub fn level(&self, finding: &Finding) -> Level {
        let about = CATALOG[finding.rule.0 as usize].about();
        match self.levels.get(&finding.rule) {
            Some(level) if !about.always || *level > about.level => *level,
            _ => finding.level.unwrap_or(about.level),
        }
    }

    /// The level of a rule here, where no finding says another.
    pub fn level_of(&self, rule: RuleId) -> Level {
        self.levels.get(&rule).copied().unwrap_or(CATALOG[rule.0 as usize].about().level)
    }

    /// Whether these settings give a rule a level at which it is shown.
    pub fn turns_on(&self, rule: RuleId) -> bool {
        self.levels.get(&rule).is_some_and(|level| *level != Level::Off)
    }

    /// Whether a file, by its path from the root, is one of the plans; other kinds of file always belong.
    pub fn takes(&self, relative: &str) -> bool {
        let Some(patterns) = &self.plans else { return true };
        if !relative.ends_with(".plan.toml") {
            return true;
        }
        patterns.iter().any(|pattern| {
            globset::GlobBuilder::new(pattern)
                .literal_separator(true)
                .build()
                .is_ok_and(|glob| glob.compile_matcher().is_match(relative))
        })
    }
}
