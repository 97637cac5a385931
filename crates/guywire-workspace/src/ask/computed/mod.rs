//! Computed values: what the language table says is computed of a key, one function each. They read through the view, take
//! what reaches the air from the effective channel, and compute with `guywire_radio` only.

mod audience;
mod bench;
mod carrier;
mod fleet;
mod identity;
mod license;
mod path;
mod power;
mod privacy;
mod receiver;
mod service;
mod squelch;
mod station;

use guywire_plan::audience::Hearing;
use guywire_plan::language::{Computed, FileKind, Tabled, channel};
use guywire_plan::{Db, EntityId, FieldPath, Part, Record, Ref, Stored, View, kind_of_path};
use guywire_radio::regime::{self, Regime};
use guywire_radio::{Emission, Hertz};
use guywire_text::FileId;
use jiff::civil::Date;

pub(super) use self::fleet::number_in_list;
pub(super) use self::power::radiated;
use super::page::Page;

/// A value of the text, and where it stands.
#[derive(Clone, Copy)]
pub(crate) struct Ask<'v> {
    pub db: &'v Db,
    pub view: View<'v>,
    /// The table.
    pub id: EntityId,
    /// Where in it; empty for the table as a whole.
    pub path: FieldPath,
    /// What holds the value: the table, or a part of it.
    pub record: &'v Record,
    /// The value; none for the table as a whole.
    pub value: Option<&'v Stored>,
}

impl<'v> Ask<'v> {
    /// About a table as a whole.
    pub(crate) fn of_table(db: &'v Db, view: View<'v>, id: EntityId) -> Option<Ask<'v>> {
        Some(Ask { db, view, id, path: FieldPath::default(), record: view.whole(id)?, value: None })
    }

    /// About what stands at a path.
    pub(crate) fn of_key(db: &'v Db, view: View<'v>, id: EntityId, path: FieldPath) -> Option<Ask<'v>> {
        let whole = view.whole(id)?;
        Some(Ask { db, view, id, path, record: holder(whole, path), value: Some(whole.spot(&path)?.value) })
    }

    /// The whole of the table that the value stands in, where it is this one.
    pub(super) fn row<T: Tabled>(&self) -> Option<Ref<'v, T>> {
        self.view.get(self.id)
    }

    /// The part that holds the value, where it is this one.
    fn part<T: Tabled>(&self) -> Option<Part<'v, T>> {
        std::ptr::eq(self.record.spec, T::SPEC).then(|| Part::new(self.record))
    }

    pub(super) fn frequency(&self) -> Option<Hertz> {
        match self.value {
            Some(Stored::Frequency(hertz) | Stored::Rounded(hertz)) => Some(*hertz),
            _ => None,
        }
    }

    fn number(&self) -> Option<f64> {
        match self.value {
            Some(Stored::Number(number)) => Some(*number),
            Some(Stored::Whole(number)) => Some(*number as f64),
            _ => None,
        }
    }

    fn whole(&self) -> Option<i64> {
        match self.value {
            Some(Stored::Whole(number)) => Some(*number),
            _ => None,
        }
    }

    pub(super) fn text(&self) -> Option<&'v str> {
        match self.value {
            Some(Stored::Text(symbol)) => Some(self.view.symbol(*symbol)),
            _ => None,
        }
    }

    fn date(&self) -> Option<Date> {
        match self.value {
            Some(Stored::Date(date)) => Some(*date),
            _ => None,
        }
    }

    /// The file that the value stands in.
    fn file(&self) -> Option<FileId> {
        self.view.file_of(self.id)
    }

    /// Whether the value stands in a plan or a part of one.
    fn is_in_plan(&self) -> bool {
        self.file().is_some_and(|file| kind_of_path(self.view.path(file)) == Some(FileKind::Plan))
    }

    /// The service whose conditions hold for what the value is part of.
    fn service(&self) -> Option<&'v Regime> {
        self.is_in_plan().then(|| self.view.service(self.row::<channel::Table>()))?
    }

    /// The day by which dated things are judged, as services count it.
    fn day(&self) -> Option<regime::Date> {
        let day = self.view.today()?;
        regime::Date::new(u16::try_from(day.year()).ok()?, day.month().unsigned_abs(), day.day().unsigned_abs())
    }

    /// Tables in the order of their files and places.
    fn sorted<T: Tabled>(&self, mut refs: Vec<Ref<'v, T>>) -> Vec<Ref<'v, T>> {
        refs.sort_by_cached_key(|it| self.db.order(it.id()));
        refs.dedup_by_key(|it| it.id());
        refs
    }

    /// The names of tables in the order of their files and places; those without one are left out.
    fn names<T: Tabled>(&self, refs: Vec<Ref<'v, T>>) -> Vec<String> {
        self.sorted(refs).iter().filter_map(|it| it.name().map(str::to_owned)).collect()
    }
}

/// What holds the value at a path: the innermost table.
fn holder(whole: &Record, path: FieldPath) -> &Record {
    let Some((first, rest)) = path.steps().split_first() else { return whole };
    let mut record = whole;
    let mut at = FieldPath::default().then(*first as usize);
    for step in rest {
        match whole.spot(&at).map(|spot| spot.value) {
            Some(Stored::Part(part)) => record = part,
            Some(_) => {}
            None => return record,
        }
        at = at.then(*step as usize);
    }
    record
}

/// The designator that a channel of a mode and width usually has.
pub(super) fn usual_emission(digital: bool, width: Hertz) -> Option<Emission> {
    use guywire_radio::air_interface::CHANNEL_WIDTH;
    use guywire_radio::emission::{TWO_SLOT_VOICE, usual_analog_voice};
    if digital { (width == CHANNEL_WIDTH).then_some(TWO_SLOT_VOICE) } else { usual_analog_voice(width) }
}

/// Says one computed value.
pub(crate) fn say(computed: Computed, ask: &Ask<'_>, hearing: &Hearing<'_>, page: &mut Page) {
    match computed {
        Computed::Carrier => carrier::say_carrier(ask, page),
        Computed::Edge => carrier::say_edge(ask, page),
        Computed::Width => carrier::say_width(ask, page),
        Computed::Service => service::say_service(ask, page),
        Computed::Emission => license::say_emission(ask, page),
        Computed::License => license::say_license(ask, page),
        Computed::Assignment => license::say_assignment(ask, page),
        Computed::Tone => squelch::say_tone(ask, page),
        Computed::ColorCode => squelch::say_color_code(ask, page),
        Computed::Slot => squelch::say_slot(ask, page),
        Computed::UnitId => identity::say_unit_id(ask, page),
        Computed::TalkgroupId => identity::say_talkgroup_id(ask, page),
        Computed::Talkgroup => {
            identity::say_talkgroup(ask, page);
            audience::say_of_talkgroup(ask, hearing, page);
        }
        Computed::Contact => identity::say_contact(ask, page),
        Computed::ReceiveGroup => identity::say_receive_group(ask, page),
        Computed::Power => power::say_power(ask, page),
        Computed::Radiated => power::say_radiated(ask, page),
        Computed::PowerLimit => power::say_limit(ask, page),
        Computed::Rating => power::say_rating(ask, page),
        Computed::Level => power::say_level(ask, page),
        Computed::Gain => power::say_gain(ask, page),
        Computed::Loss => power::say_loss(ask, page),
        Computed::Sensitivity => receiver::say_sensitivity(ask, page),
        Computed::Microvolts => receiver::say_microvolts(ask, page),
        Computed::Stability => receiver::say_stability(ask, page),
        Computed::Battery => receiver::say_battery(ask, page),
        Computed::Quality => receiver::say_quality(ask, page),
        Computed::Range => path::say_range(ask, page),
        Computed::Site => path::say_site(ask, page),
        Computed::Trial => path::say_trial(ask, page),
        Computed::Day => page.maybe(ask.date().and_then(|day| license::days_until(ask, day))),
        Computed::Calibration => bench::say_calibration(ask, page),
        Computed::Reading => bench::say_reading(ask, page),
        Computed::Reflected => bench::say_reflected(ask, page),
        Computed::FrequencyError => bench::say_frequency_error(ask, page),
        Computed::Meter => bench::say_meter(ask, page),
        Computed::Channel => station::say_channel(ask, hearing, page),
        Computed::Repeater => station::say_repeater(ask, page),
        Computed::Key => privacy::say_key(ask, page),
        Computed::Zone => fleet::say_zone(ask, page),
        Computed::Position => fleet::say_position(ask, page),
        Computed::ScanList => fleet::say_scan_list(ask, page),
        Computed::Emergency => fleet::say_emergency(ask, page),
        Computed::Profile => fleet::say_profile(ask, page),
        Computed::Radio => {
            fleet::say_radio(ask, page);
            audience::say_of_radio(ask, hearing, page);
        }
    }
}
