//! The rules: one file a rule, a folder a family; fixes; house rules.
