//! Questions about a place in the text, answered in plain types.

mod complete;
mod computed;
mod edits;
mod extent;
mod figures;
mod fixes;
mod folding;
mod hover;
mod inlay;
mod lens;
mod links;
pub(crate) mod locate;
mod names;
mod navigate;
mod offers;
mod outline;
mod page;
mod rename;
mod secrets;
mod selection;

pub(crate) use complete::{Gathered, complete};
pub(crate) use fixes::fixes;
pub use folding::{Fold, FoldKind};
pub(crate) use hover::hover;
pub use inlay::InlayHint;
pub use lens::Lens;
pub use links::FileLink;
pub use names::FileBytes;
pub use navigate::{Definition, DefinitionTarget, Highlight};
pub use offers::Offer;
pub use outline::{FoundName, ItemKind, MOST_FOUND, OutlineItem};
pub use rename::{Renamable, RenameRefusal};
pub(crate) use secrets::secrets;
