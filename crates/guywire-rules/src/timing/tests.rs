use crate::testing::{Said, judge, rules};

const PLAN: &str = "harbor.plan.toml";
const MODEL: &str = "hh.model.toml";

fn names(text: &str) -> Vec<&'static str> {
    rules(&[(PLAN, text)])
}

fn with_model(text: &str, sheet: &str) -> Vec<Said> {
    judge(&[(PLAN, text), (MODEL, &format!("[model]\nname = \"hh\"\n{sheet}\n"))])
}

fn channels(timed: usize, untimed: usize) -> String {
    let channel = |number: usize, more: &str| {
        format!("[[channel]]\nname = \"C{number}\"\nsends = \"analog\"\nrx_mhz = 451.{number:04}\n{more}\n")
    };
    let timed_ones: String = (0..timed).map(|number| channel(number * 25, "time_out_s = 60")).collect();
    let others: String = (0..untimed).map(|number| channel(5_000 + number * 25, "")).collect();
    format!("[plan]\n{timed_ones}{others}")
}

fn missing(timed: usize, untimed: usize) -> Vec<String> {
    let found = judge(&[(PLAN, &channels(timed, untimed))]);
    let found = found.into_iter().filter(|said| said.rule == "time-out-timer-missing");
    found.map(|said| said.message).collect()
}

#[test]
fn a_missing_timer_is_told_where_others_have_one() {
    assert!(missing(0, 5).is_empty());
    assert!(missing(5, 0).is_empty());
    assert_eq!(missing(4, 2).len(), 2);
    let [only] = missing(4, 3).try_into().unwrap();
    assert!(only.starts_with("3 channels"), "{only}");
    let [only] = missing(1, 65).try_into().unwrap();
    assert!(only.starts_with("more than 64 channels"), "{only}");
    assert_eq!(missing(70, 2).len(), 2);
}

#[test]
fn receive_only_channels_need_no_timer() {
    let text = format!("{}[[channel]]\nname = \"T\"\nsends = \"nothing\"\nrx_mhz = 464.9375\n", channels(3, 0));
    assert!(names(&text).is_empty());
}

#[test]
fn a_timer_of_nothing_and_one_of_ever_are_told_apart() {
    let with = |seconds: u32| {
        names(&format!("[plan]\n[[channel]]\nname = \"C\"\nsends = \"analog\"\nrx_mhz = 451\ntime_out_s = {seconds}\n"))
    };
    assert_eq!(with(0), ["time-out-timer-missing"]);
    assert!(with(1).is_empty() && with(300).is_empty());
    assert_eq!(with(301), ["time-out-timer-long"]);
}

#[test]
fn a_repeater_timer_binds_only_what_goes_through_it() {
    let with = |repeater: u32, more: &str| {
        names(&format!(
            "[plan]\n[[repeater]]\nname = \"R\"\ntx_mhz = 453\nrx_mhz = 458\ntime_out_s = {repeater}\n[[channel]]\nname = \"C\"\nsends = \"digital\"\nrepeater = \"R\"\ntime_out_s = 120\n{more}\n"
        ))
    };
    assert_eq!(with(119, ""), ["time-out-longer-than-repeater"]);
    assert!(with(120, "").is_empty() && with(0, "").is_empty());
    assert!(with(119, "talk_around = true").is_empty());
}

#[test]
fn hang_times_may_differ_by_the_tolerance() {
    let with = |signaling: &str, repeater: &str| {
        names(&format!(
            "[plan]\n[signaling]\n{signaling}\n[[repeater]]\nname = \"R\"\ntx_mhz = 453\nrx_mhz = 458\n{repeater}\n"
        ))
    };
    let hang = ["hang-differs-from-repeater"];
    assert!(with("group_hang_ms = 3000", "group_hang_ms = 4000").is_empty());
    assert_eq!(with("group_hang_ms = 3000", "group_hang_ms = 4001"), hang);
    assert_eq!(with("individual_hang_ms = 6000", "individual_hang_ms = 4000"), hang);
    assert!(with("individual_hang_ms = 6000", "group_hang_ms = 4000").is_empty());
    assert_eq!(with("", "group_hang_ms = 4000\nemergency_hang_ms = 3999"), hang);
    assert!(with("", "group_hang_ms = 4000\nemergency_hang_ms = 4000").is_empty());
    assert!(with("group_hang_ms = 9000", "mode = \"analog\"\ngroup_hang_ms = 1000").is_empty());
}

#[test]
fn a_preamble_outlasts_sleep_and_a_round_of_scanning() {
    let plan = |ms: u32| {
        format!(
            "[plan]\nmodel = \"hh.model.toml\"\n[signaling]\npreamble_ms = {ms}\n[[channel]]\nname = \"A\"\nsends = \"digital\"\nrx_mhz = 451\nscan_list = \"L\"\n[[scan_list]]\nname = \"L\"\nchannels = [\"selected\", \"A\"]\nsample_ms = 300\n"
        )
    };
    let told = |ms, sheet: &str| -> Vec<String> {
        let found = with_model(&plan(ms), sheet).into_iter();
        found.filter(|said| said.rule == "preamble-too-short").map(|said| said.message).collect()
    };
    let sleeps = "[receiver]\nsaver_sleep_ms = 240";
    assert!(told(240, sleeps).is_empty());
    assert_eq!(told(239, sleeps).len(), 1);
    // Scanning counts where data comes through while scanning: two members, 300 ms each.
    let scans = "data_while_scanning = true\n[receiver]\nsaver_sleep_ms = 240";
    assert_eq!(told(599, scans).len(), 1);
    assert!(told(600, scans).is_empty());
    assert!(told(240, "data_while_scanning = false\n[receiver]\nsaver_sleep_ms = 240").is_empty());
    assert!(told(1, "").is_empty());
}

/// Two units, 360 ms every 4 s: 18 %, and no more is 18.
#[test]
fn reports_add_up_on_one_slot() {
    let plan = |reports: &[u32], status: &str| {
        let reports: String = reports
            .iter()
            .map(|every| {
                format!("[[report]]\nwhat = \"position\"\nchannel = \"A\"\nevery_s = {every}\nairtime_ms = 360\n")
            })
            .collect();
        format!(
            "[plan]\n[[channel]]\nname = \"A\"\nsends = \"digital\"\nrx_mhz = 451\n[[zone]]\nname = \"Z\"\nchannels = [\"A\"]\n{reports}[[radio]]\nid = 1\nalias = \"one\"\nzones = [\"Z\"]\n[[radio]]\nid = 2\nalias = \"two\"\nzones = [\"Z\"]\n{status}"
        )
    };
    let overloaded = ["slot-overloaded-by-reports"];
    assert!(names(&plan(&[4], "")).is_empty());
    assert_eq!(names(&plan(&[3], "")), overloaded);
    // Each alone is 12 %; the two together are told once each, being alike.
    let both = judge(&[(PLAN, &plan(&[6, 6], ""))]);
    assert_eq!(both.iter().filter(|said| said.rule == overloaded[0]).count(), 2);
    let one = judge(&[(PLAN, &plan(&[5, 10], ""))]);
    assert_eq!(one.iter().filter(|said| said.rule == overloaded[0]).count(), 1);
    assert!(names(&plan(&[3], "status = \"spare\"\n")).is_empty());
    assert!(names(&plan(&[0], "")).is_empty());
}

#[test]
fn a_lone_worker_is_missed_after_reminder_and_warning() {
    let with = |every: u32, warn: u32| {
        names(&format!("[plan]\n[[radio]]\nid = 1\nlone_worker = {{ every_s = {every}, warn_s = {warn} }}\n"))
    };
    assert!(with(1740, 60).is_empty() && with(0, 3600).is_empty());
    assert_eq!(with(1741, 60), ["lone-worker-too-slow"]);
}
