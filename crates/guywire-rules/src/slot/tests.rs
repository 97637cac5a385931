use crate::testing::rules;

const PLAN: &str = "harbor.plan.toml";

/// Two repeaters with one color code, each on its own hill; the second's input and where it stands, north of the first.
fn two(input: &str, latitude: f64, rest: &str) -> String {
    format!(
        r#"[plan]
[[talkgroup]]
name = "Cranes"
id = 1203
[[site]]
name = "Hill"
latitude = 44.1
longitude = -68.8
antenna_m = 24
[[site]]
name = "Mole"
latitude = {latitude}
longitude = -68.8
antenna_m = 20
[[repeater]]
name = "beacon"
tx_mhz = 453.2125
rx_mhz = 458.2125
color_code = 5
site = "Hill"
[[repeater]]
name = "mole"
tx_mhz = 453.4625
rx_mhz = {input}
color_code = 5
site = "Mole"
[[channel]]
name = "Cranes"
sends = "digital"
repeater = "beacon"
slot = 1
call = "Cranes"
{rest}"#
    )
}

fn is_doubled(text: &str) -> bool {
    rules(&[(PLAN, text)]).contains(&"double-key")
}

/// 24 and 20 m see each other as far as 38.6 km: 0.34 degrees of latitude are 37.8 km, 0.36 are 40.0 km.
#[test]
fn two_repeaters_are_opened_as_far_as_their_horizons_meet() {
    assert!(is_doubled(&two("458.2125", 44.13, "")));
    assert!(is_doubled(&two("458.2125", 44.44, "")));
    assert!(!is_doubled(&two("458.2125", 44.46, "")));
    assert!(!is_doubled(&two("458.2125", 48.9, "")), "in the region beside");
    assert!(!is_doubled(&two("458.2125", 10.0, "")));
}

/// What a receiver takes for its frequency is at most 500 Hz off.
#[test]
fn inputs_that_one_carrier_opens_need_not_be_equal() {
    assert!(is_doubled(&two("458.213", 44.13, "")));
    assert!(!is_doubled(&two("458.2131", 44.13, "")));
}

#[test]
fn members_of_one_network_may_be_opened_together() {
    let network = "[[network]]\nname = \"harbor\"\nrepeaters = [\"beacon\", \"mole\"]\n";
    assert!(!is_doubled(&two("458.2125", 44.13, network)));
}
