use crate::finding::Safety;
use crate::testing::{Said, judge, rules};

const PLAN: &str = "harbor.plan.toml";
const SETTINGS: &str = "guywire.toml";

fn only(files: &[(&str, &str)]) -> Said {
    let mut said = judge(files);
    assert_eq!(said.len(), 1, "{said:#?}");
    said.remove(0)
}

fn channel(line: &str) -> String {
    format!("[plan]\n[[channel]]\nname = \"Berths\"\nsends = \"digital\"\nrx_mhz = 453.2125\n{line}\n")
}

#[test]
fn a_rule_that_there_is_not_is_told_with_the_nearest() {
    let said = only(&[(SETTINGS, "[rules]\nzone-emtpy = \"off\"\n")]);
    assert_eq!((said.rule, said.fixes), ("unknown-key", vec![(Safety::Choice, "zone-empty".to_owned())]));
}

#[test]
fn house_rules_and_rules_are_known() {
    let text = "[rules]\nzone-empty = \"off\"\nrescue-everywhere = \"hint\"\n[[house_rule]]\nname = \"rescue-everywhere\"\nfor = \"zone\"\nrequire = \"true\"\n";
    assert!(rules(&[(SETTINGS, text)]).is_empty());
}

#[test]
fn an_option_is_one_of_its_rule_and_a_number() {
    let of = |options: &str| format!("[rules]\nscan-revisit-too-slow = {{ {options} }}\n");
    assert!(rules(&[(SETTINGS, &of("level = \"hint\", longest_revisit_s = 5"))]).is_empty());
    let said = only(&[(SETTINGS, &of("longest_revist_s = 5"))]);
    assert_eq!((said.rule, said.fixes), ("unknown-key", vec![(Safety::Choice, "longest_revisit_s".to_owned())]));
    let said = only(&[(SETTINGS, &of("longest_revisit_s = \"5\""))]);
    assert_eq!((said.rule, said.fixes), ("wrong-type", vec![(Safety::Safe, "5".to_owned())]));
    let said = only(&[(SETTINGS, &of("level = \"Hint\""))]);
    assert_eq!((said.rule, said.fixes), ("value-out-of-form", vec![(Safety::Safe, "\"hint\"".to_owned())]));
}

#[test]
fn a_level_that_is_no_level_is_told() {
    let said = only(&[(SETTINGS, "[rules]\nzone-empty = 3\n")]);
    assert_eq!((said.rule, said.fixes.len()), ("wrong-type", 0));
}

#[test]
fn values_in_lists_and_tables_are_looked_at() {
    let said = only(&[(PLAN, &channel("receives = [\"digital\", 5]"))]);
    assert_eq!((said.rule, said.fixes.len()), ("wrong-type", 0));
    let text = "[model]\nname = \"hh-uhf\"\n[[model.band]]\nlow_mhz = \"403\"\nhigh_mhz = 473\n";
    let said = only(&[("hh-uhf.model.toml", text)]);
    assert_eq!((said.rule, said.fixes), ("wrong-type", vec![(Safety::Safe, "403".to_owned())]));
    let text = "[model]\nname = \"hh-uhf\"\n[model.power]\nlevel = \"high\"\nwatts = 4\n";
    let said = only(&[("hh-uhf.model.toml", text)]);
    assert_eq!((said.rule, said.fixes), ("wrong-type", vec![(Safety::Safe, "[[model.power]]".to_owned())]));
}

#[test]
fn widths_have_units_too() {
    let said = only(&[(PLAN, &channel("bandwidth_khz = 12500"))]);
    assert_eq!((said.rule, said.fixes), ("not-in-megahertz", vec![(Safety::Safe, "12.5".to_owned())]));
    let said = only(&[(PLAN, &channel("bandwidth_khz = 12.5001"))]);
    assert_eq!((said.rule, said.fixes), ("below-one-hertz", vec![(Safety::Safe, "12.5".to_owned())]));
}

#[test]
fn what_cannot_be_guessed_has_no_fix() {
    for line in ["time_out_s = 4000", "time_out_s = \"a minute\"", "rx_tone = \"buzz\"", "tx_mhz = -453.2125"] {
        assert!(only(&[(PLAN, &channel(line))]).fixes.is_empty(), "{line}");
    }
}

#[test]
fn a_misspelled_word_is_for_a_person_to_decide() {
    let said = only(&[(PLAN, &channel("timing_leader = \"perfer\""))]);
    assert_eq!((said.rule, said.fixes), ("value-out-of-form", vec![(Safety::Choice, "\"prefer\"".to_owned())]));
}

#[test]
fn a_file_of_a_newer_format_has_one_finding() {
    let text = "[plan]\nformat = 2\nsomething_new = 1\n[[new_table]]\nname = \"x\"\n[[channel]]\nname = \"Berths\"\nsends = \"laser\"\nrx_mhz = [453.2125]\n";
    assert_eq!(rules(&[(PLAN, text)]), ["format-too-new"]);
    let said = only(&[("hh-uhf.model.toml", "[model]\nformat = \"1\"\nname = \"hh-uhf\"\n")]);
    assert_eq!((said.rule, said.fixes), ("wrong-type", vec![(Safety::Safe, "1".to_owned())]));
}

#[test]
fn nothing_of_a_table_with_secrets_is_shown() {
    let text = "[plan]\n[[key]]\nname = \"harbor-2026\"\nid = \"17\"\nheld_in = 112233445566778899\nalgorithm = \"AES-256\"\n[[channel]]\nname = \"Berths\"\nsends = \"digital\"\nrx_mhz = 453.2125\nprivacy = \"harbor-2026\"\n";
    let said = judge(&[(PLAN, text)]);
    assert_eq!(said.iter().filter(|said| said.rule == "wrong-type").count(), 2, "{said:#?}");
    assert!(said.iter().all(|said| said.fixes.is_empty() && !said.message.contains("1122")), "{said:#?}");
}

#[test]
fn a_share_is_hidden_by_the_plan_and_by_an_earlier_share() {
    let repeater = |rx: &str| format!("[[repeater]]\nname = \"beacon\"\ntx_mhz = 453.2125\nrx_mhz = {rx}\n");
    let plan = "[plan]\nshares = [\"a.plan.toml\", \"b.plan.toml\", \"c.plan.toml\"]\n";
    let (a, b, c) = (repeater("458.2125"), repeater("458.4625"), repeater("458.2125"));
    let files = |plan| [(PLAN, plan), ("a.plan.toml", &*a), ("b.plan.toml", &*b), ("c.plan.toml", &*c)];
    let said = only(&files(plan));
    assert_eq!(said.rule, "share-shadowed");
    assert!(said.message.contains("b.plan.toml") && !said.message.contains("c.plan.toml"), "{}", said.message);
    let own = format!("{plan}{}", repeater("458.7125"));
    let said = only(&files(&own));
    assert!(said.message.contains("a.plan.toml and b.plan.toml and c.plan.toml"), "{}", said.message);
}

#[test]
fn a_share_that_says_the_same_is_not_hidden() {
    let repeater = "[[repeater]]\nname = \"beacon\"\ntx_mhz = 453.2125\nrx_mhz = 458.2125\n";
    let plan = format!("[plan]\nshares = [\"a.plan.toml\"]\n{repeater}");
    assert!(rules(&[(PLAN, &plan), ("a.plan.toml", repeater)]).is_empty());
}

#[test]
fn cells_of_a_sheet_are_told_without_a_fix_in_toml() {
    let plan = "[plan]\n[radios]\nfrom = \"fleet.csv\"\n";
    let said = only(&[(PLAN, plan), ("fleet.csv", "id,alias,status\n21007,Crane 2,Spare\n")]);
    assert_eq!((said.rule, said.fixes.len()), ("value-out-of-form", 0));
}
