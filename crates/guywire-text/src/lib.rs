//! A TOML document as it is edited: rope, positions in every encoding, blocks, statements, recovery.
