//! What can be known of a value without any rule: from the plan, its model and the published service.

use std::collections::BTreeMap;

use guywire_radio::convention::{PairVerdict, RadioKind, judge_pair};
use guywire_radio::dcs::CodeSet;
use guywire_radio::power::{AntennaChain, Power};
use guywire_radio::regime::{ChannelUse, Date, Place, Regime, Station, Transmitter, built_in};
use guywire_radio::tone::Confusion;
use guywire_radio::{Hertz, Tone};

use super::cells::{Row, rows as rows_of};
use super::{Kind, Slip, published};

/// What became of a slip.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Fate {
    /// A new finding of level warning or error.
    Caught,
    /// The same is on the air.
    SameAir,
    /// Rules that there are should tell it, and do not.
    Missed(&'static str),
    /// Something published or written contradicts it, and no rule says so at warning or above.
    Unsaid(&'static str),
    /// Nothing contradicts it.
    Unknowable(&'static str),
}

use Fate::{Missed, SameAir, Unknowable, Unsaid};

const FREE: Fate = Unknowable("another carrier of the service that the plan leaves free");

/// What the plan, its model and the published service say of a value, without any rule.
pub struct Judge {
    pub rows: Vec<Row>,
    regime: &'static Regime,
    bands: Vec<(Hertz, Hertz)>,
    step: Hertz,
    kind: RadioKind,
    watts: BTreeMap<String, f64>,
    gain_dbi: f64,
}

impl Judge {
    pub fn new(name: &str, service: &str, rows: Vec<Row>) -> Judge {
        let plan = rows.iter().find(|row| row.table == "plan").unwrap();
        let model = rows_of(&published(plan.get("model").unwrap()));
        assert!(plan.get("regime").is_some_and(|regime| service.starts_with(regime)), "{name}");
        let of = |table: &'static str| model.iter().filter(move |row| row.table == table);
        let sheet = of("model").next().unwrap();
        let edge = |row: &Row, key: &str| row.hertz(key).unwrap();
        let level = |row: &Row| (row.get("level").unwrap().to_owned(), row.get("watts").unwrap().parse().unwrap());
        Judge {
            regime: built_in(service).unwrap(),
            bands: of("model.band").map(|row| (edge(row, "low_mhz"), edge(row, "high_mhz"))).collect(),
            step: Hertz::from_khz_text(sheet.get("step_khz").unwrap()).unwrap(),
            kind: if sheet.get("kind") == Some("mobile") { RadioKind::Mobile } else { RadioKind::Handheld },
            watts: of("model.power").map(level).collect(),
            gain_dbi: of("antenna").next().unwrap().get("gain_dbi").unwrap().parse().unwrap(),
            rows,
        }
    }

    fn of<'r>(&'r self, table: &'r str) -> impl Iterator<Item = &'r Row> {
        self.rows.iter().filter(move |row| row.table == table)
    }

    fn named<'r>(&'r self, table: &'r str, name: &str) -> Option<&'r Row> {
        self.of(table).find(|row| row.get("name") == Some(name))
    }

    fn repeater_of(&self, channel: &Row) -> Option<&Row> {
        self.named("repeater", channel.get("repeater")?)
    }

    fn users<'r>(&'r self, repeater: &'r Row) -> impl Iterator<Item = &'r Row> {
        self.of("channel").filter(|channel| channel.get("repeater") == repeater.get("name"))
    }

    /// What can be said of the value as it stands in `rows` now; `old` is what stood there.
    pub fn fate(&self, kind: Kind, slip: &Slip, old: &str) -> Fate {
        let row = &self.rows[slip.row];
        let new = &row.keys[&slip.key][slip.item].text;
        match kind {
            Kind::ChannelFrequency | Kind::RepeaterFrequency => self.frequency(row, new, old),
            Kind::Ctcss | Kind::Dcs => self.tone(row, new, old),
            Kind::Talkgroup | Kind::Unit => self.number(row, new),
            Kind::Slot => self.slot(row, new),
            Kind::ColorCode => self.color_code(row, new),
        }
    }

    fn frequency(&self, row: &Row, new: &str, old: &str) -> Fate {
        let Ok(carrier) = Hertz::from_mhz_text(new) else { return Missed("no frequency") };
        if Hertz::from_mhz_text(old) == Ok(carrier) && new != old {
            return SameAir;
        }
        if !self.bands.iter().any(|(low, high)| (*low..=*high).contains(&carrier)) {
            return Missed("outside the band of the model");
        }
        if carrier.0 % self.step.0 != 0 {
            return Missed("off the step of the model");
        }
        if row.table == "repeater" { self.repeater(row) } else { self.channel(row) }
    }

    fn repeater(&self, row: &Row) -> Fate {
        let (Some(output), Some(input)) = (row.hertz("tx_mhz"), row.hertz("rx_mhz")) else { return Missed("no pair") };
        if output == input {
            return Unsaid("a repeater sends where it receives");
        }
        self.pair(output, input, RadioKind::Repeater)
            .or_else(|| self.unlicensed(output))
            .or_else(|| self.unlicensed(input))
            .unwrap_or(FREE)
    }

    fn channel(&self, row: &Row) -> Fate {
        let Some(rx) = row.hertz("rx_mhz") else { return Missed("no frequency") };
        let tx = row.hertz("tx_mhz").unwrap_or(rx);
        let sends = row.get("sends") != Some("nothing");
        if sends && tx == rx && self.of("repeater").any(|it| it.hertz("rx_mhz") == Some(tx)) {
            return Missed("direct on the input of a repeater");
        }
        let against = if sends {
            self.pair(tx, rx, self.kind).or_else(|| self.terms(row, tx)).or_else(|| self.unlicensed(tx))
        } else {
            self.place(rx)
        };
        let twin = |other: &&Row| other.get("name") != row.get("name") && other.hertz("rx_mhz") == Some(rx);
        against.unwrap_or(if self.of("channel").any(|other| twin(&other)) {
            Unknowable("another channel of the plan")
        } else {
            FREE
        })
    }

    /// Whether the service knows the carrier.
    fn place(&self, carrier: Hertz) -> Option<Fate> {
        match self.regime.place(carrier) {
            Place::Channel(_) | Place::Band(_) => None,
            _ => Some(Unsaid("no channel of the service")),
        }
    }

    /// Whether two carriers belong together, or one stands alone rightly.
    fn pair(&self, sends: Hertz, receives: Hertz, kind: RadioKind) -> Option<Fate> {
        if sends != receives {
            let usual = matches!(judge_pair(&self.regime.terms().pairs, sends, receives, kind), PairVerdict::Usual(_));
            return (!usual).then_some(Unsaid("no pair of the service"));
        }
        match self.regime.place(sends) {
            Place::Channel(it) if !matches!(it.usage, ChannelUse::Simplex | ChannelUse::OutputOrSimplex) => {
                Some(Unsaid("one side of a pair of the service, alone"))
            }
            _ => self.place(sends),
        }
    }

    /// Whether the service allows the channel's width and power on the carrier.
    fn terms(&self, row: &Row, carrier: Hertz) -> Option<Fate> {
        let (day, place) = (Date::new(2026, 11, 25).unwrap(), self.regime.place(carrier));
        let width = Hertz::from_khz_text(row.get("bandwidth_khz").unwrap_or("12.5")).unwrap();
        if place.width_rule(day).is_some_and(|rule| width > rule.most) {
            return Some(Unsaid("wider than the service allows there"));
        }
        let watts = self.watts[row.get("power").unwrap()];
        let antenna = Some(AntennaChain::new(self.gain_dbi, 0.0).unwrap());
        let transmitter = Transmitter { output: Power::from_w(watts).unwrap(), antenna };
        let over = place.power_over(Station::possible(self.kind), transmitter, day);
        over.map(|_| Unsaid("more power than the service allows there"))
    }

    /// Whether the plan has licenses, and none of them grants the carrier.
    fn unlicensed(&self, carrier: Hertz) -> Option<Fate> {
        let mut grants = self.of("license.assignment").peekable();
        grants.peek()?;
        let covers = |row: &Row| match (row.hertz("low_mhz"), row.hertz("high_mhz")) {
            (Some(low), Some(high)) => (low..=high).contains(&carrier),
            _ => row.hertz("tx_mhz") == Some(carrier),
        };
        (!grants.any(covers)).then_some(Unsaid("no license of the plan grants it"))
    }

    fn tone(&self, row: &Row, new: &str, old: &str) -> Fate {
        let Ok(tone) = new.parse::<Tone>() else { return Missed("no tone or code") };
        let before: Tone = old.parse().unwrap();
        if new != old && matches!(tone.confusion(before), Some(Confusion::Same | Confusion::SameStream)) {
            return SameAir;
        }
        let is_common = match tone {
            Tone::Ctcss(tone) => tone.standard().is_some(),
            Tone::Dcs(code) => code.set() != CodeSet::Other,
        };
        if !is_common {
            return Unsaid("no tone or code in common use");
        }
        let fits = match self.repeater_of(row) {
            Some(repeater) => self.agrees(row, repeater),
            None if row.table == "repeater" => self.users(row).all(|channel| self.agrees(channel, row)),
            None => row.tone("rx_tone") == row.tone("tx_tone"),
        };
        match (fits, row.get("repeater").is_some() || row.table == "repeater") {
            (true, _) => Unknowable("another tone or code in common use"),
            (false, true) => Unsaid("channel and repeater differ"),
            (false, false) => Unsaid("a simplex channel sends one and waits for another"),
        }
    }

    fn agrees(&self, channel: &Row, repeater: &Row) -> bool {
        let input = repeater.tone("input_tones");
        let output =
            if repeater.get("output_tone") == Some("same-as-input") { input } else { repeater.tone("output_tone") };
        let same = |key: &str, theirs: Option<Tone>| channel.get(key).is_none() || channel.tone(key) == theirs;
        same("tx_tone", input) && same("rx_tone", output)
    }

    fn number(&self, row: &Row, new: &str) -> Fate {
        let Some(id) = plain_number(new) else { return Missed("no number") };
        // ETSI TS 102 361-1, annex A.
        if !(1..=16_776_415).contains(&id) {
            return Missed("no ordinary address");
        }
        if self.of(&row.table).filter(|other| other.whole("id") == Some(id)).count() > 1 {
            return if row.table == "contact" {
                Unsaid("the number of another contact")
            } else {
                Missed("the number of another")
            };
        }
        if row.table == "talkgroup" || row.table == "repeater" {
            return Unknowable("a number that nobody else has");
        }
        let radio = |contact: &Row| self.of("radio").any(|radio| radio.whole("id") == contact.whole("id"));
        let repeater = |contact: &Row| self.of("repeater").any(|it| it.whole("id") == contact.whole("id"));
        if self.of("contact").any(|contact| !radio(contact) && !repeater(contact)) {
            return Unsaid("a contact that nobody of the complete fleet answers for");
        }
        if row.table == "contact" {
            return Unknowable("another of the fleet is called");
        }
        Unknowable("a number that nobody else has")
    }

    fn slot(&self, row: &Row, new: &str) -> Fate {
        let Some(slot) = plain_number(new).filter(|slot| (1..=2).contains(slot)) else { return Missed("no slot") };
        let group = row.get("call").or_else(|| row.get("talkgroup")).unwrap_or_default();
        let lists = |repeater: &Row, slot: i64| repeater.all(&format!("slot_{slot}")).any(|listed| listed == group);
        if row.table == "network.wide" && self.of("repeater").any(|repeater| lists(repeater, 3 - slot)) {
            return Missed("repeaters carry the talkgroup on the other slot");
        }
        match self.repeater_of(row) {
            Some(repeater) if lists(repeater, 3 - slot) => {
                Missed("the repeater carries the talkgroup on the other slot")
            }
            Some(_) => Unknowable("an individual call, which passes on either slot"),
            None => Unknowable("TDMA direct mode, where either slot will do"),
        }
    }

    fn color_code(&self, row: &Row, new: &str) -> Fate {
        let Some(code) = plain_number(new).filter(|code| (0..=15).contains(code)) else {
            return Missed("no color code");
        };
        let differs = match self.repeater_of(row) {
            Some(repeater) => repeater.whole("color_code") != Some(code),
            None if row.table == "repeater" => self.users(row).any(|channel| channel.whole("color_code") != Some(code)),
            None => false,
        };
        if differs {
            return Missed("channel and repeater differ");
        }
        Unknowable("another color code of a direct channel")
    }
}

/// A whole number as TOML takes it: no zero in front of others.
fn plain_number(text: &str) -> Option<i64> {
    if text.len() > 1 && text.starts_with('0') { None } else { text.parse().ok() }
}
