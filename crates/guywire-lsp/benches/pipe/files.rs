//! The generated files on a disk, and what tells TOML servers what is in them.

use std::path::{Path, PathBuf};

use crate::Outcome;
use crate::generate::Workload;

/// What a TOML server is told of plans: the types of a channel's keys, and the codes that there are.
const SCHEMA: &str = r#"{
  "$schema": "http://json-schema.org/draft-07/schema#",
  "type": "object",
  "properties": {
    "channel": {
      "type": "array",
      "items": {
        "type": "object",
        "properties": {
          "name": { "type": "string" },
          "sends": { "enum": ["analog", "digital", "either"] },
          "rx_mhz": { "type": "number", "exclusiveMinimum": 0 },
          "tx_mhz": { "type": "number", "exclusiveMinimum": 0 },
          "color_code": { "type": "integer", "minimum": 0, "maximum": 15 },
          "slot": { "type": "integer", "minimum": 1, "maximum": 2 },
          "call": { "type": "string" },
          "repeater": { "type": "string" },
          "receive_group": { "type": "string" },
          "power": { "type": "string" }
        }
      }
    }
  }
}
"#;

/// Writes the files below a folder; yields the path of the plan that is edited.
pub fn write(workload: &Workload, folder: &Path) -> Outcome<PathBuf> {
    let under = |path: &Path| Ok::<_, Box<dyn std::error::Error>>(folder.join(path.strip_prefix(&workload.root)?));
    for (path, text) in &workload.files {
        let path = under(path)?;
        std::fs::create_dir_all(path.parent().ok_or("a file without a folder")?)?;
        std::fs::write(path, text)?;
    }
    std::fs::write(folder.join("schema.json"), SCHEMA)?;
    let schema = folder.join("schema.json").display().to_string();
    std::fs::write(
        folder.join(".taplo.toml"),
        format!("include = [\"**/*.toml\"]\n[schema]\npath = \"{schema}\"\nenabled = true\n"),
    )?;
    std::fs::write(folder.join("tombi.toml"), "[[schemas]]\npath = \"schema.json\"\ninclude = [\"*.toml\"]\n")?;
    under(&workload.plans.first().ok_or("no plan")?.0)
}
