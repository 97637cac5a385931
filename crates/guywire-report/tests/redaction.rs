//! The material of a key, and the codes of the security table, appear in no report: whatever is wrong with the plan,
//! wherever they stand.

mod common;

use common::{colored, report, workspace, written};
use guywire_report::{Json, Sarif};
use guywire_rules::{CATALOG, Page};
use guywire_workspace::Workspace;

/// Stands for key material in the plans below; `~` in a plan is put in its place. It is invented and protects nothing.
const MATERIAL: &str = "c0ffee5a17e0b0a710ad";
/// So many characters in a row of it give it away.
const TELLING: usize = 6;

/// Tables that hold material where it belongs, where it does not, and in lines that are broken.
const TABLES: &[&str] = &[
    "[[key]]\nname = \"a\"\nvalue = \"~\"\n",
    "[[key]]\nname = \"a\"\nvalue = '''\n~'''\n",
    "[[key]]\nname = \"a\"\nvalue = [\"~\", 1]\n",
    "[[key]]\nname = \"a\"\nvalue = { hex = \"~\" }\n",
    "[[key]]\nname = \"a\"\nvalue.hex = \"~\"\n",
    "[[key]]\nname = \"a\"\nvalue = \"~\"\nvalue = \"~\"\n",
    "[[key]]\nname = \"a\"\n\"val\\u0075e\" = \"~\"\n",
    "[[key]]\nname = \"a\"\nvalue = \"~\" # was \"~\"\n",
    "[[key]]\nname = \"a\"\nid = 300 # ~\n",
    "[[key]]\nname = \"a\"\n# waive(key-id-range): ~\nid = 300\n",
    "[[key]]\nname = \"a\"\nid = 300 # waive(key-id-range): was ~\n",
    "[[key]]\nname = \"a\"\nvaleu = \"~\"\n",
    "[[key]]\nname = \"a\"\nmaterial = \"~\"\n",
    "[[key]]\nname = \"a\"\nmaterial = { hex = [\"~\"] }\n",
    "[[key]]\nname = \"a\"\nvalue = \"~\n",
    "[[key]]\nname = \"a\"\nvalue = ~\n",
    "[[key]]\nname = \"a\"\nvalue ~\n",
    "[[key]]\nname = \"a\"\nvalue = \"\"\"\n~\n",
    "[[key]]\nname = \"a\"\nvalue = [\n\"~\",\n",
    "[[key]]\nname = \"a\"\n= \"~\"\n",
    "[[key]]\nname = \"a\"\n~\n",
    "[[key]]\nname = \"a\"\n~==\n",
    "[[key]]\nname = \"a\"\n~ = 1\n",
    "[[key]]\nname = \"a\"\n\"~\" = 1\n",
    "[[key]]\nname = \"a\" value = \"~\"\n",
    "[[key]]\nid = 3 value = \"~\"\n",
    "[[key]]\nname = \"a\"\nvalue = \"~\" id = 3\n",
    "[[key]]\nname = \"a\"\n[key.value]\nhex = \"~\"\n",
    "[[key]]\nname = \"a\"\n[key.more]\nhex = \"~\"\n",
    "[[key]] \"~\"\n",
    "[[key]\nvalue = \"~\"\n",
    "[[key\nvalue = \"~\"\n",
    "[key]\nvalue = \"~\"\n",
    "[[kee]]\nvalue = \"~\"\n",
    "[kee]\nvalue = \"~\nid = 1\n",
    "[[key]]\nname = \"a\"\nvalue = \"~\"\n\n[[key]]\nname = \"a\"\nvalue = \"~\"\n",
    "[security]\npower_on_code = \"~\"\n",
    "[security]\nprogramming_code = { held_in = \"vault:a\", code = \"~\" }\n",
    "[security]\nprograming_code = \"~\"\n",
    "[security]\npower_on_code = ~\n",
    "[security]\npower_on_code \"~\"\n",
    "[[security]]\npower_on_code = \"~\"\n",
    "[[channel]]\nname = \"a\"\nvalue = \"~\"\n",
    "[[channel]]\nname = \"a\"\npower_on_code = \"~\"\n",
];

/// Lines that hold material before the first table.
const ROOTS: &[&str] = &[
    "value = \"~\"\n",
    "value = \"~\n",
    "key = [{ name = \"a\", value = \"~\" }]\n",
    "key = [{ name = \"a\", value = \"~\", colour = 1 }]\n",
    "key = [{ name = \"a\", value = \"~\", }, { value = \"~ }]\n",
    "key = { name = \"a\", value = \"~\" }\n",
    "key = \"~\"\n",
    "key.value = \"~\"\n",
    "security = { power_on_code = \"~\" }\n",
    "security.power_on_code = ~\n",
];

/// What a report of the workspace says, in every way that there is.
fn all_output(workspace: &Workspace) -> String {
    let report = report(workspace);
    format!("{}\n{report:?}\n{}\n{}", colored(&report), written(&Json, &report), written(&Sarif, &report))
}

fn tells(output: &str) -> bool {
    let parts = MATERIAL.as_bytes().windows(TELLING);
    parts.filter_map(|part| str::from_utf8(part).ok()).any(|part| output.contains(part))
}

fn leaks(plans: impl Iterator<Item = Vec<(&'static str, String)>>) -> Vec<String> {
    let leak = |files: Vec<(&'static str, String)>| {
        let files: Vec<_> = files.into_iter().map(|(name, text)| (name, text.replace('~', MATERIAL))).collect();
        let output = all_output(&workspace(files.clone()));
        tells(&output).then(|| format!("{}\n{output}", files[0].1))
    };
    plans.filter_map(leak).collect()
}

#[test]
fn material_in_any_table_is_told_by_no_report() {
    let plans = TABLES.iter().map(|table| vec![("harbor.plan.toml", format!("[plan]\n\n{table}"))]);
    let found = leaks(plans);
    assert!(found.is_empty(), "{} of {}:\n{}", found.len(), TABLES.len(), found.join("\n----\n"));
}

#[test]
fn material_before_the_first_table_is_told_by_no_report() {
    let plans = ROOTS.iter().map(|root| vec![("harbor.plan.toml", format!("{root}\n[plan]\n"))]);
    let found = leaks(plans);
    assert!(found.is_empty(), "{} of {}:\n{}", found.len(), ROOTS.len(), found.join("\n----\n"));
}

#[test]
fn no_rule_tells_material() {
    let tables = TABLES.concat();
    let plans = CATALOG.iter().filter_map(|rule| {
        let mut files: Vec<(&'static str, String)> =
            Page::of(rule.about()).bad.into_iter().map(|example| (example.file, example.text)).collect();
        let (_, plan) = files.iter_mut().find(|(name, _)| name.ends_with(".plan.toml"))?;
        plan.push_str(&format!("\n{tables}"));
        Some(files)
    });
    let found = leaks(plans);
    assert!(found.is_empty(), "{}:\n{}", found.len(), found.first().map_or("", String::as_str));
}

#[test]
fn the_guard_sees_what_it_guards_against() {
    let leaking = workspace([("harbor.plan.toml", format!("[plan]\ntitel = \"{MATERIAL}\"\n"))]);
    assert!(tells(&all_output(&leaking)), "text that is no secret is shown, so a leak would be");
}

#[test]
fn a_cell_of_a_sheet_that_is_not_meant_is_told_by_no_report() {
    let plan = "[plan]\n\n[radios]\nfrom = \"fleet.csv\"\ncolumns = { id = \"Unit\", alias = \"Name\" }\n".to_owned();
    let sheets = [
        "Unit,Name,Material\n21007,Quay 1,~\n21007,Quay 2,~\n",
        "Unit,Name,Material\n21007,Quay 1,~,1\n",
        "Material,Unit,Name\n~,a,Quay 1\n~,21007\n",
        "Unit,Name\n21007,\"Quay\n~,21008\n",
    ];
    let plans = sheets.iter().map(|sheet| vec![("harbor.plan.toml", plan.clone()), ("fleet.csv", (*sheet).to_owned())]);
    let found = leaks(plans);
    assert!(found.is_empty(), "{}", found.join("\n----\n"));
}
