//! What rules about zones, scan lists and the form of values ask of the view.

use guywire_text::FileId;

use crate::entity::EntityId;
use crate::fact::{Fact, What};
use crate::language::{FieldSet, Kind, model, profile, radio, zone};
use crate::value::{EXTRA, FieldPath, Known, Record, Row, Stored, Why};
use crate::view::{Ref, View};

/// Kinds of table whose reference to a channel makes it of use: a position of the knob, a member of a scan list, where an
/// emergency or a report goes out.
const REACHING: [Kind; 4] = [Kind::Zone, Kind::ScanList, Kind::Emergency, Kind::Report];

impl<'v> View<'v> {
    /// The models of the radios of a profile, in order of path.
    pub fn profile_models(self, profile: EntityId) -> Vec<Ref<'v, model::Table>> {
        let mut models = self.models(What::ProfileModels, profile).to_vec();
        self.sort(&mut models);
        models.into_iter().filter_map(|id| self.get(id)).collect()
    }

    /// Tables of the same kind and name in files that are looked at later for what this plan names: they are hidden by
    /// this one. Empty where this one is hidden itself, or where its own file has the name twice.
    pub fn hidden_by(self, id: EntityId) -> Vec<EntityId> {
        let (Some(entity), Known::Is(name)) = (self.db.entity(id), self.name_symbol(id)) else { return Vec::new() };
        let mut reached = false;
        let mut hidden = Vec::new();
        for file in self.lookup_files(self.viewer) {
            self.reads.fact(Fact::Name(file, entity.kind, name));
            let named = self.db.named(file, entity.kind, name);
            if file == entity.file {
                reached = true;
                if named.len() > 1 {
                    return Vec::new();
                }
            } else if reached {
                hidden.extend_from_slice(named);
            } else if !named.is_empty() {
                return Vec::new();
            }
        }
        self.sort(&mut hidden);
        hidden
    }

    /// Whether a channel is of use to any plan that sees it: in a zone, a scan list, an emergency or a report. Absent where
    /// no zone is seen together with it; unreadable where something that cannot be read might use it.
    pub fn channel_reached(self, channel: EntityId) -> Known<bool> {
        let (Some(entity), Known::Is(name)) = (self.db.entity(channel), self.name_symbol(channel)) else {
            return Known::Unreadable;
        };
        let files = self.files_around(entity.file);
        for file in &files {
            for from in REACHING {
                self.reads.fact(Fact::Referrers(*file, Kind::Channel, name, from));
            }
            let Some(bag) = self.db.referring(*file, Kind::Channel, name) else { continue };
            if bag.iter().filter_map(|id| self.db.entity(id)).any(|by| REACHING.contains(&by.kind)) {
                return Known::Is(true);
            }
        }
        for file in &files {
            self.reads.fact(Fact::UseGap(*file, Kind::Channel));
            if self.db.index.use_gap(*file, Kind::Channel) {
                return Known::Unreadable;
            }
        }
        let has_zone = |file: &FileId| {
            self.reads.fact(Fact::Count(*file, Kind::Zone));
            self.db.index.count(*file, Kind::Zone) > 0
        };
        if files.iter().any(has_zone) { Known::Is(false) } else { Known::Absent }
    }

    /// Whether a file says that it is written for another version of the language than this one.
    pub fn newer_format(self, file: FileId) -> bool {
        let Some(main) = self.main(file).and_then(|id| self.db.entity(id).map(|entity| (id, entity))) else {
            return false;
        };
        let (id, entity) = main;
        let Some(field) = entity.record.spec.field("format") else { return false };
        self.reads.keys(id, FieldSet::of(field));
        entity.record.slot(field).is_some_and(|slot| slot.value == Stored::Unreadable(Why::Range))
    }

    /// How many radios of this plan hold any of these channels.
    pub fn radios_holding_any(self, channels: &[EntityId]) -> usize {
        let mut zones: Vec<EntityId> =
            channels.iter().flat_map(|channel| self.referrers::<zone::Table>(*channel)).map(|zone| zone.id()).collect();
        zones.sort_unstable_by_key(|id| (id.slot, id.generation));
        zones.dedup();
        let mut radios: Vec<EntityId> = Vec::new();
        for zone in zones {
            for profile in self.referrers::<profile::Table>(zone) {
                let by_profile = self.referrers::<radio::Table>(profile.id());
                radios.extend(by_profile.iter().filter(|radio| !radio.has(radio::zones)).map(|radio| radio.id()));
            }
            radios.extend(self.referrers::<radio::Table>(zone).iter().map(Ref::id));
        }
        radios.sort_unstable_by_key(|id| (id.slot, id.generation));
        radios.dedup();
        radios.len()
    }

    /// The text of a value as it is written, in TOML. Not recorded: for fixes, which are made anew whenever they are asked
    /// for. None in a table that has a secret key, under a key that the table does not know, and in a sheet.
    pub fn text_for_fix(self, id: EntityId, path: &FieldPath) -> Option<String> {
        let entity = self.db.entity(id)?;
        self.db.file(entity.file).kind?;
        if !may_be_shown(&entity.record, path.steps()) {
            return None;
        }
        let bytes = self.db.bytes(entity, entity.record.spot(path)?.at)?;
        Some(self.db.document(entity.file)?.slice(bytes)?.into_owned())
    }
}

fn may_be_shown(record: &Record, steps: &[u32]) -> bool {
    if record.spec.keys.iter().any(|key| key.secret) {
        return false;
    }
    let Some((step, rest)) = steps.split_first() else { return true };
    let value = if step & EXTRA != 0 {
        record.extras.get((step & !EXTRA) as usize).filter(|_| record.spec.open).map(|extra| &extra.value)
    } else {
        u8::try_from(*step).ok().and_then(|field| record.slot(field)).map(|slot| &slot.value)
    };
    match (value, rest.split_first()) {
        (None, _) => false,
        (Some(Stored::Part(part)), _) => may_be_shown(part, rest),
        (Some(Stored::List(elements)), Some((number, rest))) => match elements.get(*number as usize) {
            Some(element) => match &element.value {
                Stored::Part(part) => may_be_shown(part, rest),
                _ => true,
            },
            None => false,
        },
        (Some(_), _) => true,
    }
}
