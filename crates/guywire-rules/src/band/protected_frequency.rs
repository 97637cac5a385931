use crate::finding::{Anchor, Sink};
use crate::rule;
use crate::rule::AnyTable;
use guywire_plan::language::{channel, license, repeater};
use guywire_plan::{EntityId, FieldPath, Known, Ref, Row, Sends, View};
use guywire_radio::protected::{Protected, Protection, protected_by};
use guywire_radio::{Band, Hertz};

/// The service that the maritime voice channels belong to.
const MARITIME: &str = "maritime-vhf";
/// Maritime distress and calling, channel 16 (RR Appendix 15).
const CHANNEL_16: Hertz = Hertz(156_800_000);

/// Digital voice in a 12.5 kHz channel occupies 7.6 kHz (7K60, from memory).
const DIGITAL: Hertz = Hertz(7_600);
/// Analog FM in a 12.5 kHz channel: Carson's rule, 2.5 kHz deviation and 3 kHz of speech (47 CFR 2.202).
const NARROW: Hertz = Hertz(11_000);
/// Analog FM in a 20 or 25 kHz channel: 5 kHz deviation and 3 kHz of speech (47 CFR 2.202).
const WIDE: Hertz = Hertz(16_000);
/// Width of a channel that says none (ETSI TS 102 361-1).
const USUAL: Hertz = Hertz(12_500);

rule! {
    /// A channel or a repeater sends where others call for help, or where aircraft, ships and weather warnings are kept
    /// clear of everybody else.
    ///
    /// Distress beacons (406.0 to 406.1 MHz), aeronautical distress (121.5 and 243.0 MHz), digital selective calling and
    /// the automatic identification of ships are for nobody's channel plan. Maritime and aeronautical voice channels and
    /// weather broadcasts are reported unless an assignment of a license of the plan names that carrier. Receiving is never
    /// reported.
    ///
    /// ## On the air
    /// A transmission there can drown a call for help, or start a search. Never transmit there to test a radio, a plan or
    /// an antenna, not even for a moment: use a dummy load, and another frequency. What you may send, your license and
    /// the local rules decide.
    ///
    /// ## Source
    /// Radio Regulations, Article 31 and Appendices 15 and 18; 47 CFR 80.313, 80.379, 87.195. Aeronautical bands: Radio
    /// Regulations, Article 5.
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor boats"
    ///
    /// [[channel]]
    /// name = "Watch"
    /// sends = "analog"
    /// receives = ["analog"]
    /// rx_mhz = 156.8
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor boats"
    ///
    /// [[channel]]
    /// name = "Watch"
    /// sends = "nothing"
    /// receives = ["analog"]
    /// rx_mhz = 156.8
    /// ```
    pub ProtectedFrequency = "protected-frequency" {
        family: Band, level: Error, judged: PerPlan, since: "0.1.0", always: true,
    }
    fn check(it: AnyTable, view, out) {
        if let Some(channel) = view.get::<channel::Table>(it) {
            of_channel(channel, view, out);
        } else if let Some(repeater) = view.get::<repeater::Table>(it) {
            of_repeater(repeater, view, out);
        }
    }
}

/// A carrier that comes from a repeater is reported there, once.
fn of_channel(it: Ref<'_, channel::Table>, view: View<'_>, out: &mut Sink<'_>) {
    let Some(effective) = view.channel(it.id()) else { return };
    let Known::Is(tx) = effective.tx else { return };
    let field = if it.has(channel::tx_mhz) {
        channel::tx_mhz
    } else if it.frequency(channel::rx_mhz) == Known::Is(tx) {
        channel::rx_mhz
    } else {
        return;
    };
    let Known::Is(sends) = effective.sends else { return };
    let width = emitted(sends == Sends::Digital, effective.bandwidth.value());
    let Some(kept) = kept_clear(view, Some(it), tx, width) else { return };
    let message = format!(
        "{} sends on {tx} MHz, {}. Write `sends = \"nothing\"`, or correct the frequency",
        view.called(it.id()),
        said(kept, tx)
    );
    report(out, it.id(), field.number(), &message, tx);
}

fn of_repeater(it: Ref<'_, repeater::Table>, view: View<'_>, out: &mut Sink<'_>) {
    let is_digital = match it.text(repeater::mode) {
        Known::Is(mode) => view.symbol(mode) == "digital",
        Known::Absent => true,
        Known::Unreadable => return,
    };
    let width = emitted(is_digital, it.frequency(repeater::bandwidth_khz).value());
    for (field, does) in [(repeater::tx_mhz, "sends"), (repeater::rx_mhz, "has its users send")] {
        let Known::Is(carrier) = it.frequency(field) else { continue };
        let Some(kept) = kept_clear(view, None, carrier, width) else { continue };
        let message =
            format!("{} {does} on {carrier} MHz, {}. Correct the frequency", view.called(it.id()), said(kept, carrier));
        report(out, it.id(), field.number(), &message, carrier);
    }
}

fn report(out: &mut Sink<'_>, id: EntityId, field: u8, message: &str, carrier: Hertz) {
    out.report(Anchor::Value(id, FieldPath::key(field)), message).about(&carrier.0);
}

fn said(kept: &Protected, carrier: Hertz) -> String {
    let reaches = if kept.band.contains(carrier) { "which is kept for" } else { "and reaches into what is kept for" };
    let unless = match kept.protection {
        Protection::Never => "",
        Protection::UnlessAssigned => ", and no license of the plan assigns it",
    };
    format!(
        "{reaches} {}{unless}: it can drown a call for help or a warning, so never send there, not even to test",
        kept.purpose
    )
}

/// What an emission occupies in a channel.
fn emitted(is_digital: bool, channel: Option<Hertz>) -> Hertz {
    match channel.unwrap_or(USUAL) {
        width if is_digital => width.min(DIGITAL),
        width if width < Hertz(20_000) => width.min(NARROW),
        _ => WIDE,
    }
}

/// What a transmission would disturb, unless it may be there.
pub(super) fn kept_clear<'v>(
    view: View<'v>,
    channel: Option<Ref<'v, channel::Table>>,
    carrier: Hertz,
    width: Hertz,
) -> Option<&'static Protected> {
    let kept = protected_by(Band::around(carrier, width).ok()?)?;
    if !kept.source.standing.supports_error() {
        return None;
    }
    if kept.protection == Protection::Never {
        return Some(kept);
    }
    if !view.assigned(carrier).is_empty() || view.has_unread_licenses() {
        return None;
    }
    // A plan of the service without a license table says nothing of what its ships may use, channel 16 apart.
    let is_of_service = view.service(channel).is_some_and(|service| {
        let terms = service.terms();
        terms.name == MARITIME && terms.channels.iter().any(|listed| listed.carrier == carrier)
    });
    if is_of_service && carrier != CHANNEL_16 && view.count::<license::Table>() == 0 {
        return None;
    }
    Some(kept)
}
