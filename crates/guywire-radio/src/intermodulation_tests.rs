use super::*;
use proptest::prelude::*;

fn carrier(mhz: &str) -> Carrier {
    Carrier::new(Hertz::from_mhz_text(mhz).unwrap(), Hertz(1)).unwrap()
}

fn site(mhz: &[&str]) -> Intermodulation {
    Intermodulation::new(mhz.iter().map(|it| carrier(it)))
}

fn found(mhz: &[&str], receiver: &str, order: Order) -> Vec<String> {
    site(mhz).first(carrier(receiver), order, 10).iter().map(Product::to_string).collect()
}

#[test]
fn textbook_products() {
    // 2A-B, A+B-C and 3A-2B are the textbook third- and fifth-order products.
    let pair = ["151.500", "153.000"];
    assert_eq!(found(&pair, "154.500", Order::Third), ["2 x 153.0000 - 151.5000"]);
    assert!(found(&pair, "156.000", Order::Third).is_empty());
    assert_eq!(found(&pair, "156.000", Order::Fifth), ["3 x 153.0000 - 2 x 151.5000"]);
    assert_eq!(found(&["155.250", "154.100", "153.850"], "155.500", Order::Third), ["154.1000 + 155.2500 - 153.8500"]);
    let uhf = ["455.0000", "455.5000", "456.2500"];
    for receiver in ["454.250", "455.750", "456.750"] {
        assert!(found(&uhf, receiver, Order::Third).iter().any(|it| it.contains('+')), "{receiver}");
    }
    assert_eq!(found(&uhf, "454.500", Order::Third), ["2 x 455.0000 - 455.5000"]);
    assert_eq!(found(&uhf[..2], "454.000", Order::Fifth), ["3 x 455.0000 - 2 x 455.5000"]);
    let mixed = ["453.125", "453.500", "458.125"];
    for receiver in ["457.750", "458.500", "448.500"] {
        assert_eq!(found(&mixed, receiver, Order::Third).len(), 1, "{receiver}");
    }
}

#[test]
fn an_even_raster_always_hits_itself() {
    // Channels 1 and 2 of ECC/DEC/(15)05 make channel 3.
    assert_eq!(found(&["446.00625", "446.01875"], "446.03125", Order::Third), ["2 x 446.01875 - 446.00625"]);
}

#[test]
fn products_are_as_wide_as_their_carriers() {
    let wide = |mhz: &str, khz: i64| Carrier::new(Hertz::from_mhz_text(mhz).unwrap(), Hertz::khz(khz)).unwrap();
    let site = Intermodulation::new([wide("453.000", 10), wide("454.000", 20)]);
    // 2B - A = 455.000, 2 * 20 + 10 = 50 kHz wide; a 10 kHz receiver is hit up to 30 kHz away.
    assert_eq!(site.count(wide("455.030", 10), Order::Third), 1);
    assert_eq!(site.count(Carrier::new(Hertz(455_030_001), Hertz::khz(10)).unwrap(), Order::Third), 0);
    let product = site.first(wide("455.030", 10), Order::Third, 1)[0];
    assert_eq!((product.frequency(), product.width()), (Hertz::mhz(455), Hertz::khz(50)));
}

#[test]
fn a_carrier_on_the_receiver_is_no_product() {
    // A + B - A only gives B back.
    let alone = site(&["453.000", "460.000"]);
    assert_eq!(alone.count(carrier("460.000"), Order::Fifth), 0);
    assert_eq!(Intermodulation::new([]).count(carrier("460.000"), Order::Fifth), 0);
}

#[test]
fn carriers_on_one_frequency_count_once_with_the_largest_width() {
    let at = |khz: i64| Carrier::new(Hertz::mhz(453), Hertz::khz(khz)).unwrap();
    let mut site = Intermodulation::new([at(12), at(25), at(12)]);
    assert_eq!(site.carriers(), [at(25)]);
    assert!(site.remove(at(25)));
    assert_eq!(site.carriers(), [at(12)]);
    assert!(!site.remove(at(25)));
    assert!(site.remove(at(12)) && site.remove(at(12)) && !site.remove(at(12)));
    assert!(site.carriers().is_empty());
}

fn brute(carriers: &[Carrier], receiver: Carrier, order: Order) -> Vec<Product> {
    let (mut two, mut three, mut fifth) = (Vec::new(), Vec::new(), Vec::new());
    for (at, a) in carriers.iter().enumerate() {
        for b in carriers.iter().filter(|it| *it != a) {
            two.push(Product::TwoSignalThird { doubled: *a, subtracted: *b });
            fifth.push(Product::TwoSignalFifth { tripled: *a, doubled: *b });
        }
        for b in &carriers[at + 1..] {
            for c in carriers.iter().filter(|it| *it != a && *it != b) {
                three.push(Product::ThreeSignalThird { added: [*a, *b], subtracted: *c });
            }
        }
    }
    let fifth = if order == Order::Fifth { fifth } else { Vec::new() };
    two.into_iter().chain(three).chain(fifth).filter(|it| it.hits(receiver)).collect()
}

fn any_carrier() -> impl Strategy<Value = Carrier> {
    let width = prop_oneof![Just(7_600), Just(11_200), Just(16_000), Just(25_001)];
    let frequency = prop_oneof![
        4 => (0_i64..160).prop_map(|n| 453_000_000 + n * 6_250),
        1 => (0_i64..1_000_000).prop_map(|n| 453_000_000 + n),
        1 => (0_i64..160).prop_map(|n| 153_000_000 + n * 7_500),
    ];
    (frequency, width).prop_map(|(f, w)| Carrier::new(Hertz(f), Hertz(w)).unwrap())
}

proptest! {
    #[test]
    fn agrees_with_every_product_tried(carriers in proptest::collection::vec(any_carrier(), 0..10), receiver in any_carrier(), fifth: bool) {
        let order = if fifth { Order::Fifth } else { Order::Third };
        let site = Intermodulation::new(carriers);
        let expected = brute(site.carriers(), receiver, order);
        prop_assert_eq!(site.count(receiver, order), expected.len() as u64);
        prop_assert_eq!(&site.first(receiver, order, usize::MAX), &expected);
        let few = site.first(receiver, order, 3);
        prop_assert_eq!(few.as_slice(), &expected[..expected.len().min(3)]);
    }

    #[test]
    fn a_change_equals_a_fresh_site(carriers in proptest::collection::vec(any_carrier(), 1..10), more in any_carrier(), gone in 0_usize..10, receiver in any_carrier()) {
        let mut site = Intermodulation::new(carriers.clone());
        let mut list = carriers;
        let gone = list.remove(gone % list.len());
        prop_assert!(site.remove(gone));
        list.push(more);
        site.insert(more);
        let fresh = Intermodulation::new(list);
        prop_assert_eq!(site.carriers(), fresh.carriers());
        prop_assert_eq!(site.count(receiver, Order::Fifth), fresh.count(receiver, Order::Fifth));
    }

    #[test]
    fn a_carrier_adds_the_products_that_hold_it(carriers in proptest::collection::vec(any_carrier(), 0..10), more in any_carrier(), receiver in any_carrier()) {
        let mut site = Intermodulation::new(carriers);
        prop_assume!(site.carriers().iter().all(|it| it.frequency() != more.frequency()));
        for order in [Order::Third, Order::Fifth] {
            let before = site.count(receiver, order);
            site.insert(more);
            let with = site.count_with(more.frequency(), receiver, order);
            prop_assert_eq!(site.count(receiver, order), before + with);
            prop_assert!(site.remove(more));
            prop_assert_eq!(site.count(receiver, order), before);
        }
    }

    #[test]
    fn the_order_of_carriers_does_not_matter(carriers in proptest::collection::vec(any_carrier(), 0..10), receiver in any_carrier()) {
        let mut turned = carriers.clone();
        turned.reverse();
        let products = |it: Vec<Carrier>| Intermodulation::new(it).first(receiver, Order::Fifth, usize::MAX);
        prop_assert_eq!(products(carriers), products(turned));
    }
}
