//! What the language table is made of. One [`TableSpec`] for every table of every kind of file; everything that knows
//! keys (checks, completion, hover, rename, redaction, comparison, docs) reads it and repeats nothing.

use super::Computed;

/// The kinds of file, told by the ending of the name.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum FileKind {
    /// `guywire.toml`: the workspace root.
    Settings,
    /// `*.plan.toml`: a plan, or a part that plans share.
    Plan,
    /// `*.model.toml`: what a radio model can do.
    Model,
    /// `*.regime.toml`: the conditions of a radio service.
    Regime,
    /// `*.bench.toml`: one bench session.
    Bench,
    /// `*.field.toml`: one field session.
    Field,
}

impl FileKind {
    /// Every kind with the ending that tells it.
    pub const ENDINGS: [(FileKind, &'static str); 5] = [
        (FileKind::Plan, ".plan.toml"),
        (FileKind::Model, ".model.toml"),
        (FileKind::Regime, ".regime.toml"),
        (FileKind::Bench, ".bench.toml"),
        (FileKind::Field, ".field.toml"),
    ];

    /// The kind of a file by its name (the last part of its path); none for other files.
    pub fn of_name(name: &str) -> Option<FileKind> {
        if name == "guywire.toml" {
            return Some(FileKind::Settings);
        }
        Self::ENDINGS
            .iter()
            .find(|(_, ending)| name.len() > ending.len() && name.ends_with(ending))
            .map(|(kind, _)| *kind)
    }
}

/// What a value must be.
#[derive(Debug, Clone, Copy)]
pub enum Type {
    /// The name of this table, that other tables refer to.
    Name,
    /// Text for people.
    Prose,
    /// Text that is compared or worked with, not only shown: a power level, the place of a button, a serial number.
    Text,
    /// One of these words.
    Word(&'static [&'static str]),
    /// The name of a table of one of these kinds, or one of these words (`""` leaves a position empty).
    Refer(&'static [Kind], &'static [&'static str]),
    /// A path of a file of this kind, from the file that names it; with words: a built-in of that name instead.
    Path(FileKind, &'static [&'static str]),
    /// A path of a file that is no file of the language (a sheet).
    SheetPath,
    /// A frequency in MHz, kept as whole hertz.
    Megahertz,
    /// A frequency difference or bandwidth in kHz, kept as whole hertz.
    Kilohertz,
    /// A whole number in this range, both ends included.
    Whole(i64, i64),
    /// A number in this range, both ends included; its unit is in the key.
    Number(f64, f64),
    /// `true` or `false`.
    Truth,
    /// A date without a time.
    Date,
    /// A squelch tone or code: `CTCSS 127.3`, `DCS 023N`, `DCS 023I`.
    Tone,
    /// A tone, or one of these words.
    ToneOr(&'static [&'static str]),
    /// An ITU emission designator.
    Designator,
    /// A list of these.
    List(&'static Type),
    /// One of these or a list of them.
    OneOrMore(&'static Type),
    /// A table with keys of its own.
    Part(&'static TableSpec),
    /// Any number of tables with keys of their own.
    Parts(&'static TableSpec),
    /// The first where the value has its form, else the second.
    Either(&'static Type, &'static Type),
    /// Anything TOML can say.
    Anything,
}

/// How far a change of a value reaches.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Reach {
    /// Only those who read the plan.
    Paper,
    /// What the user of a radio sees, hears or presses: the radio must be written again.
    Hand,
    /// What is transmitted or what opens a receiver.
    Air,
}

/// One key of a table.
#[derive(Debug, Clone, Copy)]
pub struct KeySpec {
    /// As it is written.
    pub name: &'static str,
    /// What its value must be.
    pub value: Type,
    /// The table means nothing without it.
    pub required: bool,
    /// How far a change reaches.
    pub reach: Reach,
    /// The value is never shown.
    pub secret: bool,
    /// What is computed from its value, in the order in which it is shown.
    pub computed: &'static [Computed],
    /// What it is for, in a sentence or two.
    pub doc: &'static str,
}

impl KeySpec {
    /// A key that is not required, on paper only.
    pub const fn new(name: &'static str, value: Type, doc: &'static str) -> Self {
        // A `///` line keeps the space after the slashes.
        Self {
            name: plain(name),
            value,
            required: false,
            reach: Reach::Paper,
            secret: false,
            computed: &[],
            doc: doc.trim_ascii(),
        }
    }
    /// The table means nothing without it.
    pub const fn required(mut self) -> Self {
        self.required = true;
        self
    }
    /// The radio must be written again when it changes.
    pub const fn hand(mut self) -> Self {
        self.reach = Reach::Hand;
        self
    }
    /// It changes what is transmitted or heard.
    pub const fn air(mut self) -> Self {
        self.reach = Reach::Air;
        self
    }
    /// These are computed from its value.
    pub const fn shows(mut self, computed: &'static [Computed]) -> Self {
        self.computed = computed;
        self
    }
    /// Its value is never shown.
    pub const fn secret(mut self) -> Self {
        self.secret = true;
        self
    }
    /// The unit that the key's name carries (`tx_mhz`) or is (`mhz`), as it is written after a number.
    pub fn unit(&self) -> Option<&'static str> {
        let carries = |ending: &str| self.name.ends_with(ending) || ending.strip_prefix('_') == Some(self.name);
        UNITS.iter().find(|(ending, _)| carries(ending)).map(|(_, unit)| *unit)
    }
}

/// Endings of key names and the units that they stand for. Longer endings first.
const UNITS: [(&str, &str); 28] = [
    ("_percent_of_full_scale", "% of full scale"),
    ("_percent", "%"),
    ("_mhz", "MHz"),
    ("_khz", "kHz"),
    ("_hz", "Hz"),
    ("_dbm", "dBm"),
    ("_dbi", "dBi"),
    ("_ppm", "ppm"),
    ("_mah", "mAh"),
    ("_months", "months"),
    ("_hours", "h"),
    ("_days", "days"),
    ("_deg", "°"),
    ("_ms", "ms"),
    ("_db", "dB"),
    ("_km", "km"),
    ("_ma", "mA"),
    ("_uv", "µV"),
    ("_daq", "DAQ"),
    ("daq_back", "DAQ"),
    ("latitude", "°"),
    ("longitude", "°"),
    ("watts", "W"),
    ("volts", "V"),
    ("_v", "V"),
    ("_w", "W"),
    ("_m", "m"),
    ("_s", "s"),
];

/// Takes the `r#` off a raw identifier.
const fn plain(name: &'static str) -> &'static str {
    let bytes = name.as_bytes();
    if bytes.len() > 2 && bytes[0] == b'r' && bytes[1] == b'#' { name.split_at(2).1 } else { name }
}

/// How many tables of a name a file may hold.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Many {
    /// `[x]`, once.
    One,
    /// `[[x]]`, any number.
    Any,
    /// Inside another table only.
    Part,
}

/// One table of the language.
#[derive(Debug)]
pub struct TableSpec {
    /// What it is.
    pub kind: Kind,
    /// As it is written in a header (a part: the key that holds it).
    pub name: &'static str,
    /// The kind of file that it stands in.
    pub file: FileKind,
    /// How many.
    pub many: Many,
    /// Keys beside those listed are data, not mistakes.
    pub open: bool,
    /// What those other keys hold.
    pub open_value: Type,
    /// The kinds of table that those other keys name; empty where they name none.
    pub open_names: &'static [Kind],
    /// What it is for.
    pub doc: &'static str,
    /// Its keys, the usual order of writing.
    pub keys: &'static [KeySpec],
    /// At least one key of each of these sets must be there.
    pub one_of: &'static [&'static [&'static str]],
}

impl TableSpec {
    /// The number of a key.
    pub fn field(&self, name: &str) -> Option<u8> {
        // At most 64 keys a table, asserted where tables are defined.
        self.keys.iter().position(|key| key.name == name).map(|at| at as u8)
    }
    /// The key of a number.
    pub fn key(&self, field: u8) -> &'static KeySpec {
        &self.keys[field as usize]
    }
    /// The field that holds the table's own name, if tables refer to it by one.
    pub fn name_field(&self) -> Option<u8> {
        self.keys.iter().position(|key| matches!(key.value, Type::Name)).map(|at| at as u8)
    }
    /// What is computed from the table as a whole: what its name shows.
    pub fn computed(&self) -> &'static [Computed] {
        self.name_field().map_or(&[], |field| self.key(field).computed)
    }
    /// The header line that starts it.
    pub fn header(&self) -> String {
        match self.many {
            Many::Any => format!("[[{}]]", self.name),
            Many::One | Many::Part => format!("[{}]", self.name),
        }
    }
}

/// A table of the language as a type, so that keys of one table cannot be asked of another.
pub trait Tabled: 'static {
    /// What it is.
    const KIND: Kind;
    /// Its keys.
    const SPEC: &'static TableSpec;
}

/// A key of the table `T`.
#[derive(Debug)]
pub struct Field<T> {
    number: u8,
    table: std::marker::PhantomData<fn() -> T>,
}

impl<T> Clone for Field<T> {
    fn clone(&self) -> Self {
        *self
    }
}

impl<T> Copy for Field<T> {}

impl<T> Field<T> {
    /// The key with this number.
    pub const fn new(number: u8) -> Self {
        Self { number, table: std::marker::PhantomData }
    }
    /// Its number in the table.
    pub const fn number(self) -> u8 {
        self.number
    }
}

/// A set of fields of one table: bit `n` is field `n`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct FieldSet(pub u64);

impl FieldSet {
    /// Every field, and what belongs to none of them (header, unknown keys, syntax).
    pub const ALL: FieldSet = FieldSet(u64::MAX);
    /// The bit for what belongs to no field: header, unknown keys, unreadable statements.
    pub const REST: FieldSet = FieldSet(1 << 63);
    /// One field.
    pub const fn of(field: u8) -> Self {
        FieldSet(1 << field)
    }
    /// No field at all.
    pub const fn is_empty(self) -> bool {
        self.0 == 0
    }
    /// Both together.
    pub const fn and(self, other: FieldSet) -> Self {
        FieldSet(self.0 | other.0)
    }
    /// Whether they share a field.
    pub const fn meets(self, other: FieldSet) -> bool {
        self.0 & other.0 != 0
    }
}

/// Defines tables: for each a `static` [`TableSpec`] and a module with the number of each key.
///
/// ```text
/// table! {
///     /// What it is for.
///     CHANNEL channel: Channel in Plan, Any; {
///         /// What the display shows.
///         name: Name => required hand;
///     }
/// }
/// ```
///
/// After the flags of a key may follow `, shows` and what is computed from its value. After the count may follow `open true` (with `of` the type of the other keys' values, and `named` the kinds of table
/// that those keys name) and `one_of` sets of keys.
#[macro_export]
macro_rules! table {
    ($(
        $(#[doc = $doc:literal])+
        $spec:ident $module:ident : $kind:ident in $file:ident, $many:ident
        $(, open $open:literal $(of $open_value:expr)? $(, named $open_names:expr)?)? $(, one_of $one_of:expr)? ;
        { $(
            $(#[doc = $key_doc:literal])+
            $key:ident : $value:expr => $($flag:ident)* $(, shows $($computed:ident)+)? ;
        )* }
    )+) => { $(
        $(#[doc = $doc])+
        pub static $spec: $crate::language::TableSpec = $crate::language::TableSpec {
            kind: $crate::language::Kind::$kind,
            name: $crate::language::written(stringify!($module)),
            file: $crate::language::FileKind::$file,
            many: $crate::language::Many::$many,
            open: false $( || $open )?,
            open_value: $crate::language::first(&[ $( $( $open_value, )? )? $crate::language::Type::Anything ]),
            open_names: { #[allow(unused_mut, unused_assignments)] { let mut kinds: &[$crate::language::Kind] = &[]; $( $( kinds = $open_names; )? )? kinds } },
            doc: concat!($($doc),+).trim_ascii(),
            keys: &[ $(
                $crate::language::KeySpec::new(stringify!($key), $value, concat!($($key_doc),+))
                    $( .$flag() )*
                    $( .shows(&[ $( $crate::language::Computed::$computed ),+ ]) )?
            ),* ],
            one_of: { #[allow(unused_mut, unused_assignments)] { let mut sets: &[&[&str]] = &[]; $( sets = $one_of; )? sets } },
        };
        const _: () = assert!($spec.keys.len() < 64, "a table has at most 63 keys");
        #[doc = concat!("The keys of [`", stringify!($spec), "`], typed by the table that they belong to.")]
        #[allow(non_upper_case_globals, non_snake_case, missing_docs)]
        pub mod $module {
            #[allow(non_camel_case_types, clippy::upper_case_acronyms, dead_code)]
            enum Number { $( $key ),* }
            /// The table, as a type.
            #[derive(Debug, Clone, Copy)]
            pub enum Table {}
            impl $crate::language::Tabled for Table {
                const KIND: $crate::language::Kind = $crate::language::Kind::$kind;
                const SPEC: &'static $crate::language::TableSpec = &super::$spec;
            }
            $( pub const $key: $crate::language::Field<Table> = $crate::language::Field::new(Number::$key as u8); )*
        }
    )+ };
}

/// The first of some types: the one that a table gives, else the one that stands in for it.
pub const fn first(types: &[Type]) -> Type {
    types[0]
}

/// How a table is written: the module's name, without the raw mark and the part before `__` (`model__band` is `band`).
pub const fn written(module: &'static str) -> &'static str {
    let name = plain(module);
    let bytes = name.as_bytes();
    let mut at = 0;
    let mut start = 0;
    while at + 1 < bytes.len() {
        if bytes[at] == b'_' && bytes[at + 1] == b'_' {
            start = at + 2;
        }
        at += 1;
    }
    name.split_at(start).1
}

/// What a table is. Entities have an identity and a name index; parts stand inside an entity.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
#[allow(missing_docs)] // Each is the table of its name.
pub enum Kind {
    Plan,
    Site,
    License,
    Network,
    Repeater,
    Station,
    Talkgroup,
    Contact,
    ReceiveGroup,
    Key,
    Channel,
    ScanList,
    Zone,
    Emergency,
    Profile,
    Radio,
    Fleet,
    Report,
    Message,
    Signaling,
    Controls,
    Security,
    Audio,
    Display,
    Shortcut,
    Kit,
    Requirements,
    Model,
    Capacity,
    Receiver,
    Antenna,
    Battery,
    ModelButton,
    Regime,
    RegimeBand,
    RegimeChannel,
    RegimePair,
    Bench,
    Reading,
    Field,
    Trial,
    Workspace,
    RuleLevels,
    WaiverPolicy,
    HouseRule,
    /// A table inside an entity.
    Part,
    /// A table that the language does not have, or whose header cannot be read.
    Unknown,
}

impl Kind {
    /// What people call it, in the middle of a sentence.
    pub fn noun(self) -> &'static str {
        match self {
            Kind::Plan => "plan",
            Kind::Site => "site",
            Kind::License => "license",
            Kind::Network => "network",
            Kind::Repeater => "repeater",
            Kind::Station => "station",
            Kind::Talkgroup => "talkgroup",
            Kind::Contact => "contact",
            Kind::ReceiveGroup => "receive group",
            Kind::Key => "key",
            Kind::Channel => "channel",
            Kind::ScanList => "scan list",
            Kind::Zone => "zone",
            Kind::Emergency => "emergency set-up",
            Kind::Profile => "profile",
            Kind::Radio => "radio",
            Kind::Fleet => "fleet",
            Kind::Report => "report",
            Kind::Message => "message",
            Kind::Signaling => "signaling",
            Kind::Controls => "controls",
            Kind::Security => "security",
            Kind::Audio => "audio",
            Kind::Display => "display",
            Kind::Shortcut => "shortcut",
            Kind::Kit => "kit item",
            Kind::Requirements => "requirements",
            Kind::Model => "model",
            Kind::Capacity => "capacity",
            Kind::Receiver => "receiver",
            Kind::Antenna => "antenna",
            Kind::Battery => "battery",
            Kind::ModelButton => "button",
            Kind::Regime => "regime",
            Kind::RegimeBand => "band",
            Kind::RegimeChannel => "channel",
            Kind::RegimePair => "frequency pair",
            Kind::Bench => "bench session",
            Kind::Reading => "reading",
            Kind::Field => "field session",
            Kind::Trial => "trial",
            Kind::Workspace => "workspace",
            Kind::RuleLevels => "rule levels",
            Kind::WaiverPolicy => "waiver policy",
            Kind::HouseRule => "house rule",
            Kind::Part | Kind::Unknown => "table",
        }
    }
}
