//! What a client may set: how much the server says of itself, and limits. What is checked and how stands in
//! `guywire.toml`, so that every user and the command line see the same.

use std::ops::RangeInclusive;
use std::time::Duration;

use serde_json::Value;
use tower_lsp::lsp_types::TraceValue;

/// Findings that a file may show at most, whatever the client sets.
const FINDINGS: RangeInclusive<u64> = 1..=100_000;
/// How long a check may be kept from the user, in milliseconds.
const UNTOLD_MS: RangeInclusive<u64> = 0..=60_000;

/// The settings that a client sent; what it left out or wrote wrong is none.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(crate) struct Settings {
    /// `guywire.trace.server`: `off`, `messages` or `verbose`.
    pub trace: Option<TraceValue>,
    /// `guywire.limits.findingsPerFile`.
    pub findings: Option<usize>,
    /// `guywire.limits.progressAfterMilliseconds`.
    pub untold: Option<Duration>,
}

impl Settings {
    /// Reads settings, with or without `guywire` around them.
    pub(crate) fn of(value: &Value) -> Self {
        let value = value.get("guywire").unwrap_or(value);
        let limit = |path, range: RangeInclusive<u64>| {
            value.pointer(path).and_then(Value::as_u64).filter(|number| range.contains(number))
        };
        Self {
            trace: value.pointer("/trace/server").and_then(|trace| serde_json::from_value(trace.clone()).ok()),
            findings: limit("/limits/findingsPerFile", FINDINGS).and_then(|findings| findings.try_into().ok()),
            untold: limit("/limits/progressAfterMilliseconds", UNTOLD_MS).map(Duration::from_millis),
        }
    }
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::*;

    #[test]
    fn settings_are_read_in_both_forms() {
        let limits = json!({ "findingsPerFile": 50, "progressAfterMilliseconds": 0 });
        let inner = json!({ "trace": { "server": "verbose" }, "limits": limits });
        let read = Settings { trace: Some(TraceValue::Verbose), findings: Some(50), untold: Some(Duration::ZERO) };
        assert_eq!(Settings::of(&inner), read);
        assert_eq!(Settings::of(&json!({ "guywire": inner, "other": { "trace": { "server": "off" } } })), read);
    }

    #[test]
    fn what_is_wrong_is_left_out() {
        let wrong = [
            json!(null),
            json!({}),
            json!([1]),
            json!({ "trace": { "server": "loud" }, "limits": { "findingsPerFile": "many" } }),
            json!({ "trace": "verbose", "limits": { "findingsPerFile": 0 } }),
            json!({ "guywire": null, "limits": { "findingsPerFile": 5 } }),
            json!({ "limits": { "findingsPerFile": -1 } }),
            json!({ "limits": { "progressAfterMilliseconds": 60_001 } }),
            json!({ "limits": { "progressAfterMilliseconds": "soon" } }),
        ];
        for value in wrong {
            assert_eq!(Settings::of(&value), Settings::default(), "{value}");
        }
    }
}
