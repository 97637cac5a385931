use super::{NEAR_M, input, receivers, transmitters, with_transmitters};
use crate::finding::Sink;
use crate::rule;
use crate::rule::{Each, OptionSpec};
use guywire_plan::language::{repeater, site};
use guywire_plan::{Ref, Transmitter, View};
use guywire_radio::Hertz;
use guywire_radio::interference::Carrier;
use guywire_radio::intermodulation::{Intermodulation, Order, Product};

/// Products that a message names.
const NAMED: usize = 3;

rule! {
    /// An intermodulation product of the transmitters of a site falls on the input of a repeater there.
    ///
    /// Counted are repeaters and co-tenants (`[[site.other]]`) of the site and of sites nearer than `near_m`. A product is
    /// as wide as its carriers together, each as often as it counts; it falls on the input where it is no further from it
    /// than half of that width and the input's. A co-tenant whose width is not written counts as a bare carrier. One
    /// finding an input, however many products fall on it.
    ///
    /// ## On the air
    /// While those transmitters are on together, the repeater hears their mixture, made in a loose connector, a guy wire
    /// or another transmitter: weak radios do not open it, or it opens by itself. No tone or color code helps.
    ///
    /// ## Options
    /// `near_m`: sites nearer than this are one place, in meters; 100 unless set, at most 1000.
    ///
    /// `highest_order`: 3 for 2A-B and A+B-C, 5 to count 3A-2B too; 3 unless set.
    ///
    /// ## Source
    /// Textbook products; which of them matter in practice is common practice, no source.
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[site]]
    /// name = "Beacon Hill"
    ///
    /// [[site.other]]
    /// name = "tide readings"
    /// tx_mhz = 448.2125
    /// bandwidth_khz = 12.5
    ///
    /// [[repeater]]
    /// name = "beacon"
    /// site = "Beacon Hill"
    /// tx_mhz = 453.2125
    /// rx_mhz = 458.2125
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[site]]
    /// name = "Beacon Hill"
    ///
    /// [[site.other]]
    /// name = "tide readings"
    /// tx_mhz = 448.6125
    /// bandwidth_khz = 12.5
    ///
    /// [[repeater]]
    /// name = "beacon"
    /// site = "Beacon Hill"
    /// tx_mhz = 453.2125
    /// rx_mhz = 458.2125
    /// ```
    pub IntermodulationOnInput = "intermodulation" {
        family: Interference, level: Warning, judged: PerPlan, since: "0.1.0",
        options: &[
            NEAR_M,
            OptionSpec { name: "highest_order", default: 3.0, doc: "3 for 2A-B and A+B-C; 5 to count 3A-2B too." },
        ],
    }
    fn check(it: Each<site::Table>, view, out) {
        let victims = receivers(view, it);
        if victims.is_empty() {
            return;
        }
        let senders = transmitters(view, it, out.option("near_m"));
        if senders.len() < 2 {
            return;
        }
        let order = if out.option("highest_order") >= 5.0 { Order::Fifth } else { Order::Third };
        let mixture = Intermodulation::new(senders.iter().filter_map(|sender| sender.carrier()));
        for (victim, receiver) in victims {
            let count = mixture.count(receiver, order);
            if count > 0 {
                let products = mixture.first(receiver, order, NAMED);
                report(view, it, victim, (count, &products), &senders, out);
            }
        }
    }
}

fn report(
    view: View<'_>,
    site: Ref<'_, site::Table>,
    victim: Ref<'_, repeater::Table>,
    (count, products): (u64, &[Product]),
    senders: &[Transmitter],
    out: &mut Sink<'_>,
) {
    let Some(receiver) = view.receiver(victim) else { return };
    let shown: Vec<String> = products.iter().map(|it| format!("{it} = {}", it.frequency())).collect();
    let what = match count {
        1 => "an intermodulation product".to_owned(),
        many => format!("{many} intermodulation products"),
    };
    let first = if count > products.len() as u64 { "the first " } else { "" };
    let falls = if count == 1 { "falls" } else { "fall" };
    let message = format!(
        "{what} of the transmitters at {} {falls} on the input {} MHz of {} ({first}{}){}: while those are on together, weak radios do not open it, or it opens by itself. Move a carrier, or have filters and isolators fitted and measured",
        view.called(site.id()),
        receiver.frequency(),
        view.called(victim.id()),
        shown.join("; "),
        raster(senders, receiver).unwrap_or_default(),
    );
    let in_products = |it: &&Transmitter| products.iter().any(|product| carriers(*product).contains(&it.frequency));
    let mixed: Vec<Transmitter> = senders.iter().filter(in_products).copied().collect();
    with_transmitters(out.report(input(victim), message), view, &mixed);
}

/// The frequencies that a product is made of.
fn carriers(product: Product) -> Vec<Hertz> {
    let of: Vec<Carrier> = match product {
        Product::TwoSignalThird { doubled, subtracted } => vec![doubled, subtracted],
        Product::ThreeSignalThird { added: [a, b], subtracted } => vec![a, b, subtracted],
        Product::TwoSignalFifth { tripled, doubled } => vec![tripled, doubled],
    };
    of.into_iter().map(Carrier::frequency).collect()
}

/// What to say where all transmitters and the input stand on one raster no finer than 5 kHz.
fn raster(senders: &[Transmitter], receiver: Carrier) -> Option<String> {
    let divisor = |a: i64, b: i64| {
        let (mut a, mut b) = (a, b);
        while b != 0 {
            (a, b) = (b, a % b);
        }
        a
    };
    let apart = senders.iter().map(|it| it.frequency.spacing(receiver.frequency()).get());
    let step = apart.fold(0, divisor);
    (senders.len() > 2 && step >= 5_000).then(|| {
        format!(
            "; all of them stand on one raster of {} kHz, where every evenly spaced set does that",
            step as f64 / 1_000.0
        )
    })
}
