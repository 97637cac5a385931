//! One owner of the text: changes in, findings and answers out. No protocol.
