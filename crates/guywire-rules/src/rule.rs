//! What a rule is, and how it is told from others.

use std::marker::PhantomData;

use guywire_plan::language::{Kind, Tabled};
use guywire_plan::{EntityId, Ref, View};
use guywire_text::FileId;

use crate::finding::{Level, Safety, Sink};

/// The family of a rule: the folder that its file stands in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Family {
    /// The text itself: syntax, keys, names.
    Text,
    /// Frequencies, bandwidths, power, licenses.
    Band,
    /// Color codes, time slots, repeaters.
    Slot,
    /// Talkgroups and who listens.
    Group,
    /// Unit ids, aliases, serials.
    Identity,
    /// Keys and what they protect.
    Privacy,
    /// Squelch tones and codes.
    Tone,
    /// Zones and knob positions.
    Zone,
    /// Scan lists.
    Scan,
    /// What an emergency button does, and who hears it.
    Emergency,
    /// Timing of transmissions, hang times, reports.
    Timing,
    /// Buttons, alarms, texts.
    Controls,
    /// Transmitters and receivers at one site or on one frequency.
    Interference,
    /// Readings at the bench, trials in the field, exposure.
    Bench,
    /// Waivers of findings.
    Waiver,
    /// Data sheets of models.
    Model,
    /// Files that describe a radio service.
    Regime,
}

impl Family {
    /// As it is shown.
    pub const fn word(self) -> &'static str {
        match self {
            Family::Text => "text",
            Family::Band => "band",
            Family::Slot => "slot",
            Family::Group => "group",
            Family::Identity => "identity",
            Family::Privacy => "privacy",
            Family::Tone => "tone",
            Family::Zone => "zone",
            Family::Scan => "scan",
            Family::Emergency => "emergency",
            Family::Timing => "timing",
            Family::Controls => "controls",
            Family::Interference => "interference",
            Family::Bench => "bench",
            Family::Waiver => "waiver",
            Family::Model => "model",
            Family::Regime => "regime",
        }
    }
}

/// How often a rule looks at a table.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Judged {
    /// Once, in its own file: what it says does not depend on the plan.
    PerFile,
    /// Once for each plan that sees it: what it says depends on the plan.
    PerPlan,
}

/// What a rule reads. Rules that read the same are judged together, so that few are judged again after a change; what is
/// found does not depend on it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Reading {
    /// What most rules of its family read.
    AsFamily,
    /// Its table as a whole.
    Whole,
    /// Whom a channel calls, or who hears it.
    Audience,
}

/// A number that settings may change.
#[derive(Debug, Clone, Copy)]
pub struct OptionSpec {
    /// As it is written, with its unit.
    pub name: &'static str,
    /// Where settings say nothing.
    pub default: f64,
    /// What it does.
    pub doc: &'static str,
}

/// What is known of a rule beside its check.
#[derive(Debug, Clone, Copy)]
pub struct About {
    /// Its one name.
    pub name: &'static str,
    /// Its family.
    pub family: Family,
    /// The level where settings say nothing.
    pub level: Level,
    /// How often it looks.
    pub judged: Judged,
    /// What its fixes may change, where it has any.
    pub fix: Option<Safety>,
    /// The version that brought it.
    pub since: &'static str,
    /// No waiver and no level hides it.
    pub always: bool,
    /// The place that it marks serves nothing.
    pub unnecessary: bool,
    /// What it reads beside what the rules of its family do.
    pub reads: Reading,
    /// Numbers that settings may change.
    pub options: &'static [OptionSpec],
    /// The page: what it catches, what happens on the air, the source, a bad and a good plan.
    pub page: &'static str,
}

/// What a rule looks at.
pub trait Subject: 'static {
    /// What the check gets.
    type Ref<'v>;
    /// Which tables, or the text of a file.
    const ON: On;
    /// The thing itself, where it is what the rule looks at.
    fn get<'v>(view: View<'v>, target: Target) -> Option<Self::Ref<'v>>;
}

/// Which tables a rule looks at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum On {
    /// The text of a file.
    Text,
    /// Every table.
    Any,
    /// Tables of one kind.
    Kind(Kind),
}

/// What one run of a rule looks at.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Target {
    /// The text of a file.
    Text(FileId),
    /// A table.
    Table(EntityId),
}

/// Every table `T`.
pub struct Each<T>(PhantomData<fn() -> T>);

impl<T: Tabled> Subject for Each<T> {
    type Ref<'v> = Ref<'v, T>;
    const ON: On = On::Kind(T::KIND);
    fn get<'v>(view: View<'v>, target: Target) -> Option<Ref<'v, T>> {
        match target {
            Target::Table(id) => view.get(id),
            Target::Text(_) => None,
        }
    }
}

/// Every table of any kind.
pub struct AnyTable;

impl Subject for AnyTable {
    type Ref<'v> = EntityId;
    const ON: On = On::Any;
    fn get(_view: View<'_>, target: Target) -> Option<EntityId> {
        match target {
            Target::Table(id) => Some(id),
            Target::Text(_) => None,
        }
    }
}

/// The text of every file.
pub struct Text;

impl Subject for Text {
    type Ref<'v> = FileId;
    const ON: On = On::Text;
    fn get(_view: View<'_>, target: Target) -> Option<FileId> {
        match target {
            Target::Text(file) => Some(file),
            Target::Table(_) => None,
        }
    }
}

/// A rule: a unit struct with an associated function, no state.
pub trait Rule: Send + Sync + 'static {
    /// What it looks at.
    type Subject: Subject;
    /// What is known of it.
    const ABOUT: About;
    /// Looks at one thing and says what is wrong with it. A value that cannot be read yields nothing.
    fn check<'v>(it: <Self::Subject as Subject>::Ref<'v>, view: View<'v>, out: &mut Sink<'_>);
}

/// A rule without its type: what the catalog lists.
pub trait ErasedRule: Send + Sync {
    /// What is known of it.
    fn about(&self) -> &'static About;
    /// Which tables it looks at.
    fn on(&self) -> On;
    /// Looks at one thing.
    fn run<'v>(&self, target: Target, view: View<'v>, out: &mut Sink<'_>);
}

/// A rule in the catalog.
pub struct Registered<R>(PhantomData<fn() -> R>);

impl<R> Registered<R> {
    /// The entry.
    pub const NEW: Registered<R> = Registered(PhantomData);
}

impl<R: Rule> ErasedRule for Registered<R> {
    fn about(&self) -> &'static About {
        &R::ABOUT
    }
    fn on(&self) -> On {
        R::Subject::ON
    }
    fn run<'v>(&self, target: Target, view: View<'v>, out: &mut Sink<'_>) {
        if let Some(it) = R::Subject::get(view, target) {
            R::check(it, view, out);
        }
    }
}

/// Defines a rule: its page is the doc comment, then what is known of it, then its check.
///
/// ```text
/// rule! {
///     /// What it catches, in a sentence.
///     /// ...
///     pub ZoneOverCapacity = "zone-over-capacity" {
///         family: Zone, level: Error, judged: PerPlan, since: "0.1.0",
///     }
///     fn check(it: Each<zone::Table>, view, out) { ... }
/// }
/// ```
#[macro_export]
macro_rules! rule {
    (
        $(#[doc = $doc:literal])+
        pub $rule:ident = $name:literal { family: $family:ident, level: $level:ident, judged: $judged:ident $(, reads: $reads:ident)?, since: $since:literal $(, $field:ident : $value:expr)* $(,)? }
        fn check($it:ident : $subject:ty, $view:ident, $out:ident) $body:block
    ) => {
        $(#[doc = $doc])+
        pub struct $rule;
        impl $crate::Rule for $rule {
            type Subject = $subject;
            #[allow(clippy::needless_update)]
            const ABOUT: $crate::About = $crate::About {
                $(reads: $crate::Reading::$reads,)?
                $($field: $value,)*
                ..$crate::About::new(
                    $name,
                    $crate::Family::$family,
                    $crate::Level::$level,
                    $crate::Judged::$judged,
                    $since,
                    concat!($($doc, "\n"),+),
                )
            };
            fn check<'v>(
                $it: <$subject as $crate::Subject>::Ref<'v>,
                $view: guywire_plan::View<'v>,
                $out: &mut $crate::Sink<'_>,
            ) $body
        }
    };
}

impl About {
    /// With nothing special about it: no fix, no options, can be waived.
    pub const fn new(
        name: &'static str,
        family: Family,
        level: Level,
        judged: Judged,
        since: &'static str,
        page: &'static str,
    ) -> About {
        About {
            name,
            family,
            level,
            judged,
            fix: None,
            since,
            always: false,
            unnecessary: false,
            reads: Reading::AsFamily,
            options: &[],
            page,
        }
    }
}
