use crate::finding::{Anchor, Level};
use crate::rule;
use crate::rule::Each;
use guywire_plan::language::{field, repeater, site, trial, trial__position};
use guywire_plan::{FieldPath, Known, Part, Ref, Row, View};
use guywire_radio::geodesy::Position;
use guywire_radio::path::horizon_km;

/// From this many times the horizon on, a mistake is likelier than luck.
const FAR: f64 = 1.3;

rule! {
    /// A transmission was heard over a path that goes beyond the radio horizon.
    ///
    /// A warning past 1.3 times the horizon. Through a repeater, each of the two legs is judged. Sites count with their
    /// ground above sea level where that is written, people with the height of their antenna above ground.
    ///
    /// ## On the air
    /// It may have come around a hill, by a bend of warm air or from a height that is not written: another day it does not.
    ///
    /// ## Source
    /// The 4/3-earth radio horizon over smooth ground; how far beyond is suspicious is common practice, no source.
    ///
    /// ## Bad
    /// ```toml 2026-11-05.field.toml
    /// [field]
    /// date = 2026-11-05
    /// plan = "harbor.plan.toml"
    ///
    /// [[trial]]
    /// channel = "Berths"
    /// from = { latitude = 44.1000, longitude = -68.8000, antenna_m = 1.5 }
    /// to = { latitude = 44.1000, longitude = -68.6000, antenna_m = 1.5 }
    /// heard = true
    /// ```
    ///
    /// ## Good
    /// ```toml 2026-11-05.field.toml
    /// [field]
    /// date = 2026-11-05
    /// plan = "harbor.plan.toml"
    ///
    /// [[trial]]
    /// channel = "Berths"
    /// from = { latitude = 44.1000, longitude = -68.8000, antenna_m = 1.5 }
    /// to = { latitude = 44.1000, longitude = -68.7500, antenna_m = 1.5 }
    /// heard = true
    /// ```
    ///
    /// ## Beside
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[channel]]
    /// name = "Berths"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    /// ```
    pub BeyondHorizon = "beyond-horizon" {
        family: Bench, level: Information, judged: PerFile, since: "0.1.0",
    }
    fn check(it: Each<trial::Table>, view, out) {
        if it.truth(trial::heard) != Known::Is(true) {
            return;
        }
        for leg in legs(view, it) {
            let (Some(from_m), Some(to_m), Some(km)) = (leg.from.height_m, leg.to.height_m, leg.km()) else { continue };
            let Ok(horizon) = horizon_km(from_m, to_m) else { continue };
            if km <= horizon {
                continue;
            }
            let message = format!(
                "heard over {km:.1} km from {} to {}, and the radio horizon of antennas at {from_m} and {to_m} m is {horizon:.1} km over smooth ground: do not count on it. Check positions and heights, and try on another day",
                leg.from.called, leg.to.called,
            );
            let level = if km > horizon * FAR { Level::Warning } else { Level::Information };
            let at = Anchor::Value(it.id(), FieldPath::key(trial::heard.number()));
            out.report(at, message).about(&(leg.from.called, leg.to.called)).level(level);
        }
    }
}

/// One end of a leg.
#[derive(Clone)]
struct End {
    called: String,
    at: Option<Position>,
    height_m: Option<f64>,
}

fn person(called: &str, part: Known<Part<'_, trial__position::Table>>) -> End {
    let part = part.value();
    let number = |field| part.and_then(|part| part.number(field).value());
    let at = number(trial__position::latitude).zip(number(trial__position::longitude));
    End {
        called: called.to_owned(),
        at: at.and_then(|(latitude, longitude)| Position::new(latitude, longitude).ok()),
        height_m: number(trial__position::antenna_m),
    }
}

fn mast<'v>(view: View<'v>, site: Ref<'v, site::Table>) -> End {
    let ground_m = site.number(site::ground_m).or_value(0.0).value().map(|ground_m| ground_m.max(0.0));
    End {
        called: view.called(site.id()),
        at: view.position(site),
        height_m: site.number(site::antenna_m).value().zip(ground_m).map(|(antenna_m, ground_m)| antenna_m + ground_m),
    }
}

/// A transmission from one antenna to the next.
struct Leg {
    from: End,
    to: End,
    /// Where only the distance is written.
    written_km: Option<f64>,
}

impl Leg {
    fn km(&self) -> Option<f64> {
        self.from.at.zip(self.to.at).map(|(from, to)| from.distance_km(to)).or(self.written_km)
    }
}

/// The legs of a trial as the plan of its session has sites and repeaters.
fn legs<'v>(view: View<'v>, it: Ref<'v, trial::Table>) -> Vec<Leg> {
    let session =
        view.file_of(it.id()).and_then(|file| view.main(file)).and_then(|main| view.get::<field::Table>(main));
    let Some(Known::Is(plan)) = session.map(|session| session.file(field::plan)) else { return Vec::new() };
    let view = view.at(plan);
    let from = match view.named::<site::Table, _>(it, trial::site) {
        Known::Is(site) => mast(view, site),
        Known::Absent => person("the sender", it.part(trial::from)),
        Known::Unreadable => return Vec::new(),
    };
    let to = person("the listener", it.part(trial::to));
    let via = match view.named::<repeater::Table, _>(it, trial::via) {
        Known::Is(repeater) => view.named::<site::Table, _>(repeater, repeater::site),
        Known::Absent => return vec![Leg { from, to, written_km: it.number(trial::distance_km).value() }],
        Known::Unreadable => return Vec::new(),
    };
    let Known::Is(site) = via else { return Vec::new() };
    let middle = mast(view, site);
    vec![Leg { from, to: middle.clone(), written_km: None }, Leg { from: middle, to, written_km: None }]
}
