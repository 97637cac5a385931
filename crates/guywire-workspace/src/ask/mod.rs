//! Questions about a place in the text, answered in plain types.

mod edits;
mod fixes;
mod hover;
mod locate;
mod secrets;

pub(crate) use fixes::fixes;
pub(crate) use hover::hover;
pub(crate) use secrets::secrets;
