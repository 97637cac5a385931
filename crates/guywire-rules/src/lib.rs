//! The rules: one file a rule, a folder a family; fixes; house rules.
//!
//! A rule is a unit struct made by the `rule!` macro. Its page is its doc comment. The list of all of them is
//! [`CATALOG`]; nothing else names them.

mod band;
mod bench;
mod catalog;
mod controls;
mod emergency;
mod finding;
mod group;
mod hearing;
mod identity;
mod interference;
mod model;
mod nearest;
mod page;
mod privacy;
mod range;
mod regime;
mod rule;
mod scan;
mod slot;
#[cfg(test)]
mod testing;
mod text;
mod timing;
mod tone;
mod waiver;
mod zone;

pub use catalog::{CATALOG, find};
pub use finding::{Anchor, Edit, Finding, FindingKey, Fix, Fnv, Level, Reported, RuleId, Safety, Sink, toml_string};
pub use nearest::nearest;
pub use page::{Example, Page};
pub use rule::{
    About, AnyTable, Each, ErasedRule, Family, Judged, On, OptionSpec, Reading, Registered, Rule, Subject, Target, Text,
};
pub use slot::key_without_effect::idle_keys;
