//! The tables themselves, one file a kind of file; those of a plan in three: what is on the air, the fleet, and how
//! its radios are handled.

pub mod bench;
pub mod fleet;
pub mod handling;
pub mod model;
pub mod plan;
pub mod regime;
pub mod settings;

use super::Type::*;
use super::{TableSpec, Type};

/// Of a `*.plan.toml`.
pub const PLAN_TABLES: &[&TableSpec] = &[
    &plan::PLAN,
    &plan::SITE,
    &plan::LICENSE,
    &plan::NETWORK,
    &plan::REPEATER,
    &plan::STATION,
    &plan::TALKGROUP,
    &plan::CONTACT,
    &plan::RECEIVE_GROUP,
    &plan::KEY,
    &plan::CHANNEL,
    &plan::SCAN_LIST,
    &plan::ZONE,
    &plan::EMERGENCY,
    &fleet::PROFILE,
    &fleet::RADIO,
    &fleet::RADIOS,
    &fleet::REPORT,
    &handling::MESSAGE,
    &handling::SIGNALING,
    &handling::CONTROLS,
    &handling::SECURITY,
    &handling::AUDIO,
    &handling::DISPLAY,
    &handling::SHORTCUT,
    &handling::KIT,
    &handling::REQUIREMENTS,
];

/// Of a `*.model.toml`.
pub const MODEL_TABLES: &[&TableSpec] =
    &[&model::MODEL, &model::CAPACITY, &model::RECEIVER, &model::ANTENNA, &model::BATTERY, &model::MODEL_BUTTON];

/// Of a `*.regime.toml`.
pub const REGIME_TABLES: &[&TableSpec] =
    &[&regime::REGIME, &regime::REGIME_BAND, &regime::REGIME_CHANNEL, &regime::REGIME_PAIR];

/// Of a `*.bench.toml`.
pub const BENCH_TABLES: &[&TableSpec] = &[&bench::BENCH, &bench::READING];

/// Of a `*.field.toml`.
pub const FIELD_TABLES: &[&TableSpec] = &[&bench::FIELD, &bench::TRIAL];

/// Of `guywire.toml`.
pub const SETTINGS_TABLES: &[&TableSpec] =
    &[&settings::WORKSPACE, &settings::RULES, &settings::WAIVERS, &settings::HOUSE_RULE];

/// A 24-bit address (ETSI TS 102 361-1).
const ADDRESS: Type = Whole(0, 16_777_215);
/// Four bits (ETSI TS 102 361-1, table 9.18).
const COLOR_CODE: Type = Whole(0, 15);
/// A TDMA slot (ETSI TS 102 361-1).
const SLOT: Type = Whole(1, 2);
/// North positive.
const LATITUDE: Type = Number(-90.0, 90.0);
/// East positive.
const LONGITUDE: Type = Number(-180.0, 180.0);
/// Up to well above any land-mobile transmitter.
const WATTS: Type = Number(0.0, 5000.0);
/// Radio services whose conditions are built in.
const REGIMES: &[&str] = &[
    "us-part-90",
    "us-part-95-family",
    "us-part-95-general",
    "us-part-95-multi-use",
    "us-part-97",
    "eu-446",
    "maritime-vhf",
];
/// What a transmission is: a channel's `sends`, a model's modes, a reading's mode.
const MODES: &[&str] = &["digital", "analog"];
/// Ways of making speech unintelligible. None is in an ETSI standard (TS 102 361-1 carries only a privacy indication).
const PRIVACY: &[&str] = &["fixed-scramble", "arc4-40", "aes-128", "aes-256"];
/// How a button is pressed.
const PRESSES: &[&str] = &["short", "long"];
/// Levels of a finding.
const LEVELS: &[&str] = &["off", "hint", "information", "warning", "error"];
/// What a press of a button does.
const ACTIONS: &[&str] = &[
    "none",
    "emergency-on",
    "emergency-off",
    "channel-up",
    "channel-down",
    "zone-up",
    "zone-down",
    "zone-select",
    "scan",
    "scan-skip",
    "monitor",
    "squelch-open",
    "talk-around",
    "power-level",
    "privacy",
    "call-menu",
    "shortcut",
    "messages",
    "lone-worker",
    "man-down",
    "voice-operated",
    "busy-lockout",
    "reset-to-home",
    "backlight",
    "keypad-lock",
    "volume-up",
    "volume-down",
    "battery-level",
    "signal-level",
];
