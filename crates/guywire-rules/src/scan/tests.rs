use crate::finding::Safety;
use crate::testing::{judge, rules};

const PLAN: &str = "harbor.plan.toml";
const MODEL: &str = "hh.model.toml";

fn files(list: &str, members: usize) -> [(&'static str, String); 2] {
    let channel = |name: &str, mhz: &str, more: &str| {
        format!("[[channel]]\nname = \"{name}\"\nsends = \"analog\"\nrx_mhz = {mhz}\n{more}")
    };
    let text = format!(
        "[plan]\nmodel = \"hh.model.toml\"\n{}{}{}[[scan_list]]\nname = \"Watch\"\n{list}\n",
        channel("A", "450", "scan_list = \"Watch\"\n"),
        channel("B", "451", ""),
        channel("C", "452", ""),
    );
    [(PLAN, text), (MODEL, format!("[model]\nname = \"hh\"\n[capacity]\nscan_list_members = {members}\n"))]
}

fn said(list: &str, members: usize) -> Vec<(&'static str, Vec<(Safety, String)>)> {
    let [(plan, text), (model, sheet)] = files(list, members);
    judge(&[(plan, &text), (model, &sheet)]).into_iter().map(|said| (said.rule, said.fixes)).collect()
}

fn names(list: &str, members: usize) -> Vec<&'static str> {
    let [(plan, text), (model, sheet)] = files(list, members);
    rules(&[(plan, &text), (model, &sheet)])
}

#[test]
fn the_selected_channel_takes_no_room_and_a_channel_counts_once() {
    assert!(names("channels = [\"selected\", \"B\", \"C\", \"B\"]", 2).is_empty());
    assert_eq!(names("channels = [\"selected\", \"A\", \"B\", \"C\"]", 2), ["scan-list-over-capacity"]);
}

#[test]
fn an_empty_list_has_one_finding() {
    assert_eq!(names("channels = []", 9), ["scan-list-empty"]);
    assert_eq!(names("channels = [\"selected\"]\npriority_1 = \"B\"", 9), ["scan-list-empty"]);
}

#[test]
fn a_priority_is_added_where_there_is_room() {
    let list = "channels = [\"selected\", \"B\"]\npriority_1 = \"C\"\npriority_2 = \"C\"";
    let added = vec![(Safety::Choice, "\"B\", \"C\"".to_owned())];
    assert_eq!(said(list, 3), [("priority-not-in-list", added)]);
    assert_eq!(said(list, 2), [("priority-not-in-list", vec![])]);
}

#[test]
fn an_undefined_or_selected_priority_is_left_alone() {
    assert!(names("channels = [\"A\", \"B\"]\npriority_1 = \"selected\"", 9).is_empty());
    assert_eq!(names("channels = [\"A\", \"B\"]\npriority_1 = \"Nobody\"", 9), ["undefined-name"]);
    assert_eq!(names("channels = [\"A\", 5]\npriority_1 = \"C\"", 9), ["wrong-type"]);
}

#[test]
fn home_is_looked_at_by_name_by_selected_or_by_priority() {
    assert!(names("channels = [\"A\", \"B\"]", 9).is_empty());
    assert!(names("channels = [\"B\"]\npriority_1 = \"selected\"", 9).is_empty());
    let added = vec![(Safety::Choice, "\"selected\", \"B\"".to_owned())];
    assert_eq!(said("channels = [\"B\"]", 2), [("scan-swallows-home", added)]);
    assert_eq!(names("channels = [\"Nobody\"]", 9), ["undefined-name"]);
}
