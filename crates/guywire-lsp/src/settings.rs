//! What a client may set: how much the server says of itself, and limits. What is checked and how stands in
//! `guywire.toml`, so that every user and the command line see the same.

use serde_json::Value;
use tower_lsp::lsp_types::TraceValue;

/// Findings that a file may show at most, whatever the client sets.
const FINDINGS: std::ops::RangeInclusive<u64> = 1..=100_000;

/// The settings that a client sent; what it left out or wrote wrong is none.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(crate) struct Settings {
    /// `guywire.trace.server`: `off`, `messages` or `verbose`.
    pub trace: Option<TraceValue>,
    /// `guywire.limits.findingsPerFile`.
    pub findings: Option<usize>,
}

impl Settings {
    /// Reads settings, with or without `guywire` around them.
    pub(crate) fn of(value: &Value) -> Self {
        let value = value.get("guywire").unwrap_or(value);
        let findings = value.pointer("/limits/findingsPerFile").and_then(Value::as_u64);
        Self {
            trace: value.pointer("/trace/server").and_then(|trace| serde_json::from_value(trace.clone()).ok()),
            findings: findings
                .filter(|findings| FINDINGS.contains(findings))
                .and_then(|findings| findings.try_into().ok()),
        }
    }
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::*;

    #[test]
    fn settings_are_read_in_both_forms() {
        let inner = json!({ "trace": { "server": "verbose" }, "limits": { "findingsPerFile": 50 } });
        let read = Settings { trace: Some(TraceValue::Verbose), findings: Some(50) };
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
        ];
        for value in wrong {
            assert_eq!(Settings::of(&value), Settings::default(), "{value}");
        }
    }
}
